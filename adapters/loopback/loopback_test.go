package loopback_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/adapters/adaptertest"
	"weftroom/adapters/loopback"
	"weftroom/bot"
)

var room = bot.Place{Chat: "loopback", Room: "class"}

func TestConformance(t *testing.T) {
	for _, c := range []struct {
		name  string
		place bot.Place
	}{
		{"in a room", room},
		{"to the bot alone", bot.Place{Chat: "loopback", Room: "direct:ada"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			adaptertest.Run(t, func(*testing.T) adaptertest.Fixture { return fixture(c.place) })
		})
	}
}

func fixture(place bot.Place) adaptertest.Fixture {
	chat := loopback.New("loopback", room.Room, "ada")
	seen := 0
	return adaptertest.Fixture{
		Adapter: chat,
		User:    bot.Account{Chat: "loopback", User: "ada"},
		Place:   place,
		Direct:  place != room,
		Say:     func(_ *testing.T, line string) { chat.Say("ada", place.Room, line) },
		Next: func(ctx context.Context) (adaptertest.Message, error) {
			m, err := chat.After(ctx, place, seen)
			if err != nil {
				return adaptertest.Message{}, err
			}
			seen++
			out := adaptertest.Message{ID: m.ID, Text: m.Text}
			for _, f := range m.Files {
				out.Files = append(out.Files, adaptertest.File{Name: f.Name, Alt: f.Alt, Bytes: f.Bytes})
			}
			return out, nil
		},
		Press: func(t *testing.T, label string) {
			if !chat.Press("ada", place.Room, label) {
				t.Fatalf("no button %q in:\n%v", label, chat)
			}
		},
	}
}

func TestFaults(t *testing.T) {
	for _, c := range []struct {
		name      string
		fault     loopback.Fault
		shown     int
		permanent bool
		refused   bool
		retry     time.Duration
	}{
		{name: "temporary: nothing appears", fault: loopback.Temporary()},
		{name: "permanent: nothing appears", fault: loopback.Permanent(), permanent: true},
		{name: "refused: nothing appears", fault: loopback.Refused(), permanent: true, refused: true},
		{name: "retry after: nothing appears", fault: loopback.RetryAfter(time.Minute), retry: time.Minute},
		{name: "answer lost: it appears", fault: loopback.AnswerLost(), shown: 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			chat := loopback.New("loopback", room.Room)
			chat.Script(func(_ bot.Place, _ string, try int) loopback.Fault {
				if try == 1 {
					return c.fault
				}
				return loopback.Fault{}
			})
			_, err := chat.Post(t.Context(), room, "k", bot.Reply{Title: "hello"})
			e := bot.AsSendError(err)
			if err == nil || e.Permanent != c.permanent || e.Refused != c.refused || e.RetryAfter != c.retry {
				t.Errorf("got %v", err)
			}
			if got := len(chat.Messages(room)); got != c.shown {
				t.Errorf("%d messages appeared, want %d", got, c.shown)
			}
			if _, err := chat.Post(t.Context(), room, "k", bot.Reply{Title: "hello"}); err != nil {
				t.Errorf("again: %v", err)
			}
			if got := len(chat.Messages(room)); got != 1 || chat.Tries("k") != 2 {
				t.Errorf("%d messages after two tries, counted as %d", got, chat.Tries("k"))
			}
		})
	}
}

func TestSlow(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		chat := loopback.New("loopback", room.Room)
		chat.Script(func(bot.Place, string, int) loopback.Fault { return loopback.Fault{Wait: time.Minute} })
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if _, err := chat.Post(ctx, room, "k", bot.Reply{}); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v", err)
		}
		if n := len(chat.Messages(room)); n != 0 {
			t.Errorf("%d messages of a post that was given up", n)
		}
		if _, err := chat.Post(t.Context(), room, "k", bot.Reply{}); err != nil || len(chat.Messages(room)) != 1 {
			t.Errorf("a patient one: %v, %d messages", err, len(chat.Messages(room)))
		}
	})
}

func TestForgetKeys(t *testing.T) {
	chat := loopback.New("loopback", room.Room)
	chat.ForgetKeys()
	for range 2 {
		if _, err := chat.Post(t.Context(), room, "k", bot.Reply{}); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(chat.Messages(room)); n != 2 {
		t.Errorf("%d messages without keys, want 2", n)
	}
	if id, err := chat.Sent(t.Context(), room, "k"); err != nil || id == "" {
		t.Errorf("Sent gives %q, %v", id, err)
	}
}
