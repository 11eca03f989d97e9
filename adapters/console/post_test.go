package console

import (
	"context"
	"errors"
	"strings"
	"testing"

	"weftroom/bot"
)

// TestPostBeforeRun waits for the room to open, and comes before any answer.
func TestPostBeforeRun(t *testing.T) {
	r, w := pipe(t)
	var out strings.Builder
	o := options(t)
	o.In, o.Out = r, &out
	room := New(o)
	posted := make(chan error)
	go func() {
		_, err := room.Post(t.Context(), room.Place(), "key", bot.Reply{Title: "first of all"})
		posted <- err
	}()
	waitForWaiting(t, room)
	if _, err := w.WriteString("row\n"); err != nil {
		t.Fatal(err)
	}
	w.Close()
	if err := room.Run(t.Context(), echo); err != nil {
		t.Fatal(err)
	}
	if err := <-posted; err != nil {
		t.Fatal(err)
	}
	if got := out.String(); got != "first of all\n\n\"row\" from console-1\n\n" {
		t.Errorf("got %q", got)
	}
}

// TestPostTakenBack frees the key of a post that nobody has seen.
func TestPostTakenBack(t *testing.T) {
	room := New(options(t))
	ctx, cancel := context.WithCancel(t.Context())
	posted := make(chan error)
	go func() {
		_, err := room.Post(ctx, room.Place(), "key", bot.Reply{Title: "never mind"})
		posted <- err
	}()
	waitForWaiting(t, room)
	cancel()
	if err := <-posted; !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	r, w := pipe(t)
	w.Close()
	var out strings.Builder
	room.o.In, room.o.Out = r, &out
	again := make(chan error)
	go func() {
		_, err := room.Post(t.Context(), room.Place(), "key", bot.Reply{Title: "after all"})
		again <- err
	}()
	waitForWaiting(t, room)
	if err := room.Run(t.Context(), echo); err != nil {
		t.Fatal(err)
	}
	if err := <-again; err != nil {
		t.Error(err)
	}
	if got := out.String(); got != "after all\n\n" {
		t.Errorf("got %q", got)
	}
}

func TestPostIntoAClosedRoom(t *testing.T) {
	room := New(options(t))
	talked := make(chan error)
	r, w := pipe(t)
	w.Close()
	room.o.In, room.o.Out = r, full{}
	go func() {
		_, err := room.Post(t.Context(), room.Place(), "waits", bot.Reply{Title: "too late"})
		talked <- err
	}()
	waitForWaiting(t, room)
	if err := room.Run(t.Context(), echo); !errors.Is(err, errFull) {
		t.Errorf("Run: %v", err)
	}
	if err := <-talked; !errors.Is(err, errFull) {
		t.Errorf("the post that could not be written: %v", err)
	}
	if _, err := room.Post(t.Context(), room.Place(), "later", bot.Reply{Title: "later"}); !errors.Is(err, ErrClosed) {
		t.Errorf("a post afterwards: %v", err)
	}
}

// TestPostButtonsAreCommands leaves the letters to the question being answered.
func TestPostButtonsAreCommands(t *testing.T) {
	o := options(t)
	var room *Room
	post := bot.Reply{Title: "We meet on Tuesday", Buttons: []bot.Button{{Label: "I am coming", Line: "session coming"}}}
	r, w := pipe(t)
	if _, err := w.WriteString("ask\nmeanwhile\nb\n"); err != nil {
		t.Fatal(err)
	}
	w.Close()
	var out strings.Builder
	o.In, o.Out = r, &out
	room = New(o)
	err := room.Run(t.Context(), answers(func(ctx context.Context, r bot.Request) bot.Reply {
		if r.Line == "meanwhile" {
			if _, err := room.Post(ctx, room.Place(), "key", post); err != nil {
				t.Error(err)
			}
		}
		return echo(ctx, r)
	}))
	if err != nil {
		t.Fatal(err)
	}
	want := "Which?\n\n  a) 10   b) 12\n\nWe meet on Tuesday\n\n  I am coming: session coming\n\n\"meanwhile\" from console-2\n\n12 it is\n\n"
	if got := out.String(); got != want {
		t.Errorf("got %q", got)
	}
}

func TestDirect(t *testing.T) {
	room := New(options(t))
	if p, err := room.Direct(t.Context(), "you"); err != nil || p != room.Place() {
		t.Errorf("got %v, %v", p, err)
	}
	_, err := room.Direct(t.Context(), "someone else")
	if send, ok := errors.AsType[*bot.SendError](err); !ok || !send.Permanent {
		t.Errorf("got %v", err)
	}
}

// waitForWaiting returns when a post is in the queue.
func waitForWaiting(t *testing.T, r *Room) {
	t.Helper()
	for t.Context().Err() == nil {
		r.mu.Lock()
		n := len(r.waiting)
		r.mu.Unlock()
		if n > 0 {
			return
		}
	}
}
