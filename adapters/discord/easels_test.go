package discord

import (
	"context"
	"log/slog"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
)

// heldDrawing answers row with a picture that is drawn once held is closed, and
// anything else in words.
func heldDrawing(held chan bool) answerer {
	return func(_ context.Context, r bot.Request) bot.Reply {
		if r.Command != "row" {
			return bot.Reply{Title: "Noted", Instead: true}
		}
		draw := func() ([]byte, error) {
			<-held
			return []byte("png"), nil
		}
		return bot.Reply{
			Title: "The plan", Body: []bot.Block{bot.Picture{Name: "row", Alt: "three eyelets", Draw: draw}},
			Buttons: []bot.Button{{Label: "Start", Line: "loom from:left"}},
		}
	}
}

// TestHerNextAnswerDoesNotWaitForPictures: the drawing is held until the words of
// the next answer are there; then each answer gets its own.
func TestHerNextAnswerDoesNotWaitForPictures(t *testing.T) {
	held := make(chan bool)
	s := newScene(t, Options{}, heldDrawing(held))
	var shown []discordtest.Message
	for range 2 {
		shown = append(shown, s.slash(s.ann, s.room, "row", nil))
	}
	view := s.ann.View(s.room)
	close(held)
	for _, words := range shown {
		whole, err := view.Next(s.ctx)
		if err != nil || whole.ID != words.ID || len(whole.Files) != 1 || whole.Content != words.Content {
			t.Fatalf("%q with %d files, of %v: %v", whole.Content, len(whole.Files), words.ID, err)
		}
	}
}

// TestPicturesOfAnAnswerThatIsReplaced: what takes the place of an answer comes
// after its pictures, which must not stand with other words.
func TestPicturesOfAnAnswerThatIsReplaced(t *testing.T) {
	held := make(chan bool)
	s := newScene(t, Options{}, heldDrawing(held))
	words := s.slash(s.ann, s.room, "row", nil)
	view := s.ann.View(s.room)
	s.begun(s.ann.Press(words, "Start"))
	close(held)
	for n, want := range []struct {
		text  string
		files int
	}{{words.Content, 1}, {"Noted", 0}} {
		m, err := view.Next(s.ctx)
		if err != nil || m.Content != want.text || len(m.Files) != want.files {
			t.Fatalf("%d: %q with %d files: %v", n, m.Content, len(m.Files), err)
		}
	}
}

// TestAnUploadThatHangs holds neither what takes the place of the answer nor the end
// of Run for longer than a bound, however many answers wait behind it.
func TestAnUploadThatHangs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := &Chat{o: Options{Log: slog.New(slog.DiscardHandler)}}
		picture := message{content: "words", files: []upload{{draw: func() ([]byte, error) { return []byte("png"), nil }}}}
		begun := time.Now()
		for range bot.PerPerson - 1 {
			messages := []message{picture, picture}
			c.later(t.Context(), "1", "request", messages, func(ctx context.Context) error {
				return c.illustrate(ctx, messages, func(ctx context.Context, _ int, _ illustration, _ []upload) error {
					<-ctx.Done()
					return nil // so that it goes on with the next
				})
			})
		}
		if took := time.Since(begun); took > 0 {
			t.Errorf("the words of her next answers waited for %v", took)
		}
		c.easels.settled("1")
		c.work.Wait()
		if took := time.Since(begun); took != pictureTime {
			t.Errorf("they waited for %v, not %v", took, pictureTime)
		}
	})
}

// TestManyAnswersWithoutPictures: the one over the bound waits for its pictures.
func TestManyAnswersWithoutPictures(t *testing.T) {
	var e easels
	var dones []chan struct{}
	for n := range bot.PerPerson {
		before, done, many := e.join("1")
		if (before == nil) != (n == 0) || n > 0 && before != dones[n-1] || many != (n+1 >= bot.PerPerson) {
			t.Fatalf("%d: before %v, many %v", n, before, many)
		}
		dones = append(dones, done)
	}
	for _, done := range dones {
		e.leave("1", done)
	}
	e.settled("1")
	if len(e.people) > 0 {
		t.Error("she is remembered")
	}
}
