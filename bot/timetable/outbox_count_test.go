package timetable_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

// editor is a chat in which changing a message may fail.
type editor struct {
	*loopback.Chat
	mu    sync.Mutex
	fault func(try int) error
	tries int
}

func (e *editor) Edit(ctx context.Context, in bot.Place, id string, r bot.Reply) error {
	e.mu.Lock()
	e.tries++
	fault, try := e.fault, e.tries
	e.mu.Unlock()
	if fault != nil {
		if err := fault(try); err != nil {
			return err
		}
	}
	return e.Chat.Edit(ctx, in, id, r)
}

// lasting is a chat that changes no messages.
type lasting struct{ bot.Adapter }

// counting is a bench on which a post about a session says how many are coming.
func counting(t *testing.T, test func(t *testing.T, b *bench, e *editor, coming *int)) {
	atBench(t, func(t *testing.T, b *bench) {
		e, coming := &editor{Chat: b.chat}, 0
		b.joined = e
		b.render = func(_ context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
			if p.Kind == timetable.KindSay {
				d, err := timetable.DetailsOf(p)
				return bot.Reply{Title: d.Text}, timetable.Send, err
			}
			if coming < 0 {
				return bot.Reply{}, timetable.SessionMoved, nil
			}
			return bot.Reply{
				Title: fmt.Sprint(p.Kind, coming), Files: []bot.File{{Name: "lace.ics"}}, Events: []bot.Event{{Key: "session-1"}},
				Body: []bot.Block{bot.Picture{Name: "card.png"}},
			}, timetable.Send, nil
		}
		test(t, b, e, &coming)
	})
}

// announce adds an announcement of the session to a room.
func (b *bench) announce(kind timetable.Kind, rooms ...string) {
	b.t.Helper()
	s := class.Session{ID: "session1", Class: "class1", Start: b.o.Now().Add(24 * time.Hour), Minutes: 90}
	for _, room := range rooms {
		posts := timetable.Announcements(kind, s, time.Time{}, b.o.Now(), bot.Place{Chat: "loopback", Room: room})
		if _, err := b.box.Add(b.t.Context(), b.o.Now(), posts...); err != nil {
			b.t.Fatal(err)
		}
	}
}

// answer has one more be coming, and adds what that brings.
func (b *bench) answer(coming *int) {
	b.t.Helper()
	*coming++
	posts, err := timetable.Counts(b.t.Context(), b.box, "session1", b.o.Now())
	if err == nil {
		_, err = b.box.Add(b.t.Context(), b.o.Now(), posts...)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

func TestAnswersChangeThePost(t *testing.T) {
	counting(t, func(t *testing.T, b *bench, e *editor, coming *int) {
		b.announce(timetable.KindAdded, "a", "b")
		defer b.run()()
		b.sleep(time.Second)
		b.wantShown("", "added0 added0")
		for range 5 { // within ten seconds: one change in each room
			b.answer(coming)
			b.sleep(time.Second)
		}
		b.sleep(10 * time.Second)
		b.wantShown("a", "added0 added5")
		b.wantShown("b", "added0 added5")
		b.answer(coming)
		b.sleep(10 * time.Second)
		b.wantShown("a", "added0 added5 added6")
		if e.tries != 4 {
			t.Errorf("%d changes, want 4", e.tries)
		}
		if m := b.chat.Messages(bot.Place{Chat: "loopback", Room: "a"}); len(m[2].Files) != 1 || len(m[2].Reply.Events) != 1 || len(m[2].Reply.Body) != 1 {
			t.Error("a change loses what was posted beside the words")
		}
	})
}

func TestTheNewestPostIsChanged(t *testing.T) {
	counting(t, func(t *testing.T, b *bench, e *editor, coming *int) {
		b.announce(timetable.KindAdded, "a", "b")
		defer b.run()()
		b.sleep(time.Second)
		b.announce(timetable.KindMoved, "a")
		b.sleep(time.Second)
		b.announce(timetable.KindLink, "a", "b") // says nothing of who comes
		b.sleep(time.Second)
		b.answer(coming)
		b.sleep(10 * time.Second)
		b.wantShown("a", "added0 moved0 link0 moved1")
		b.wantShown("b", "added0 link0 added1")
	})
}

// TestAnAnswerWhileThePostIsOnItsWay: the post was worded before the answer, and
// its message is not known yet.
func TestAnAnswerWhileThePostIsOnItsWay(t *testing.T) {
	counting(t, func(t *testing.T, b *bench, e *editor, coming *int) {
		b.chat.Script(func(bot.Place, string, int) loopback.Fault { return loopback.Fault{Wait: 8 * time.Second} })
		b.announce(timetable.KindAdded, "a")
		defer b.run()()
		b.sleep(time.Second)
		b.answer(coming)
		b.sleep(20 * time.Second)
		b.wantShown("a", "added0 added1")
	})
}

// TestAChangeThatFails is given up quietly, and holds up its room for moments.
func TestAChangeThatFails(t *testing.T) {
	gone := &bot.SendError{Permanent: true, Err: errors.New("no such message")}
	for _, row := range []struct {
		shows string
		fault func(try int) error
		want  string // in the room, after two minutes
		tries int
		state string // of the change, at last
	}{
		{"no fault", nil, "added0 added1 later", 1, "sent"},
		{"the message is gone", func(int) error { return gone }, "added0 later", 1, "cancelled"},
		{"refused", func(int) error { return &bot.SendError{Permanent: true, Refused: true, Err: errors.New("no")} }, "added0 later", 1, "cancelled"},
		{"out of reach for a moment", func(try int) error {
			if try < 3 {
				return errors.New("out of reach")
			}
			return nil
		}, "added0 added1 later", 3, "sent"},
		{"out of reach", func(int) error { return errors.New("out of reach") }, "added0 later", 4, "cancelled"},
		{"too much at once", func(try int) error {
			if try == 1 {
				return &bot.SendError{RetryAfter: 20 * time.Second, Err: errors.New("slowly")}
			}
			return nil
		}, "added0 added1 later", 2, "sent"},
		{"too much for an hour", func(int) error { return &bot.SendError{RetryAfter: time.Hour, Err: errors.New("slowly")} }, "added0 later", 1, "cancelled"},
	} {
		counting(t, func(t *testing.T, b *bench, e *editor, coming *int) {
			e.fault = row.fault
			b.announce(timetable.KindAdded, "a")
			defer b.run()()
			b.sleep(time.Second)
			b.answer(coming)
			b.due("a", "later", 15*time.Second)
			b.sleep(2 * time.Minute)
			b.wantShown("a", row.want)
			if e.tries != row.tries {
				t.Errorf("%s: tried %d times, want %d", row.shows, e.tries, row.tries)
			}
			if states := b.statesOf(timetable.KindCount); states[len(states)-1] != row.state {
				t.Errorf("%s: %q", row.shows, states)
			}
			dead, err := b.box.DeadOf(t.Context(), "")
			if err != nil || len(dead) > 0 {
				t.Errorf("%s: %d posts wait for somebody, %v", row.shows, len(dead), err)
			}
		})
	}
}

// statesOf is what Observe was told of one kind of post, in order.
func (b *bench) statesOf(kind timetable.Kind) []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []string
	for _, o := range b.outcomes {
		if o.Post.Kind == kind {
			out = append(out, string(o.State))
		}
	}
	return out
}

func TestWhatCannotBeChanged(t *testing.T) {
	for _, row := range []struct {
		shows  string
		spoil  func(b *bench, coming *int)
		reason string
	}{
		{"a chat that changes no messages", func(b *bench, _ *int) { b.joined = lasting{b.chat} }, "this chat changes no messages"},
		{"a session that was moved", func(_ *bench, coming *int) { *coming = -9 }, string(timetable.SessionMoved)},
		{"a post that never was", func(b *bench, _ *int) {
			at := b.o.Now()
			_, err := b.box.Add(b.t.Context(), at, timetable.Post{
				Key: "lost", To: bot.Place{Chat: "loopback", Room: "b"}, Session: "session1", Kind: timetable.KindCount,
				Payload: []byte(`{"of":"nothing"}`), Due: at, Expires: at.Add(time.Minute),
			})
			if err != nil {
				b.t.Fatal(err)
			}
		}, "no message to change"},
	} {
		counting(t, func(t *testing.T, b *bench, e *editor, coming *int) {
			b.announce(timetable.KindAdded, "a")
			end := b.run()
			b.sleep(time.Second)
			end()
			row.spoil(b, coming)
			b.answer(coming)
			defer b.run()()
			b.sleep(time.Minute)
			found := false
			b.mu.Lock()
			defer b.mu.Unlock()
			for _, o := range b.outcomes {
				found = found || o.Post.Kind == timetable.KindCount && o.State == timetable.Cancelled && o.Reason == row.reason
			}
			if !found {
				t.Errorf("%s: %+v", row.shows, b.outcomes)
			}
		})
	}
}

// TestAChangeOutlivesTheProcess: the process ends between the answer and the
// change, and after a change of which nobody heard.
func TestAChangeOutlivesTheProcess(t *testing.T) {
	counting(t, func(t *testing.T, b *bench, e *editor, coming *int) {
		b.announce(timetable.KindAdded, "a")
		end := b.run()
		b.sleep(time.Second)
		b.answer(coming)
		end()
		b.sleep(time.Minute)
		b.wantShown("a", "added0")
		end = b.run()
		b.sleep(time.Second)
		b.wantShown("a", "added0 added1")
		b.answer(coming)
		b.box.spoil(nil, func() error { return errGone }) // turns take place, and nobody hears
		b.sleep(20 * time.Second)
		b.box.spoil(nil, nil)
		b.sleep(2 * time.Minute)
		end()
		if got := b.shown("a"); !strings.HasSuffix(got, "added2") {
			t.Errorf("in the room stands %q", got)
		}
	})
}

// TestAChangeTooLate: after a long downtime nothing is changed, and nothing is
// left over.
func TestAChangeTooLate(t *testing.T) {
	counting(t, func(t *testing.T, b *bench, e *editor, coming *int) {
		b.announce(timetable.KindAdded, "a")
		end := b.run()
		b.sleep(time.Second)
		end()
		b.answer(coming)
		if n, err := b.box.Waiting(t.Context()); n != 1 || err != nil {
			t.Errorf("%d changes wait, %v", n, err)
		}
		b.sleep(time.Hour)
		defer b.run()()
		b.sleep(time.Minute)
		if dead, err := b.box.DeadOf(t.Context(), ""); e.tries > 0 || err != nil || len(dead) > 0 {
			t.Errorf("%d changes, %d dead, %v", e.tries, len(dead), err)
		}
	})
}

func TestOnlyPostsOfASessionToRoomsCount(t *testing.T) {
	room, ada := bot.Place{Chat: "loopback", Room: "a"}, bot.DirectRoom(bot.Account{Chat: "loopback", User: "ada"})
	for _, row := range []struct {
		p    timetable.Post
		want bool
	}{
		{timetable.Post{To: room, Session: "s", Kind: timetable.KindAdded}, true},
		{timetable.Post{To: room, Session: "s", Kind: timetable.KindMoved}, true},
		{timetable.Post{To: room, Session: "s", Kind: timetable.KindReminder}, true},
		{timetable.Post{To: room, Session: "s", Kind: timetable.KindCancelled}, false},
		{timetable.Post{To: room, Session: "s", Kind: timetable.KindCount}, false},
		{timetable.Post{To: room, Session: "", Kind: timetable.KindAdded}, false}, // of a series
		{timetable.Post{To: ada, Session: "s", Kind: timetable.KindReminder}, false},
	} {
		if got := timetable.Counting(row.p); got != row.want {
			t.Errorf("%+v: %v", row.p, got)
		}
	}
}
