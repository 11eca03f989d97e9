package timetable_test

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// bench is a Sender at work in faked time, on SQLite and the loopback chat.
type bench struct {
	t      *testing.T
	db     *store.DB
	box    *spoilt
	chat   *loopback.Chat
	joined bot.Adapter // what the Sender has of it
	render timetable.Render
	o      timetable.Options
	ahead  atomic.Int64 // by how much the wall clock is wrong, in nanoseconds

	mu       sync.Mutex
	outcomes []timetable.Outcome
	held     []string
}

// spoilt is an Outbox whose turns fail on demand.
type spoilt struct {
	timetable.Outbox
	mu     sync.Mutex
	before func() error // fails a turn that then does not take place
	after  func() error // fails a turn that did
	turns  int
}

func (s *spoilt) Turn(ctx context.Context, t timetable.Turn) (timetable.Claim, error) {
	s.mu.Lock()
	before, after := s.before, s.after
	s.turns++
	s.mu.Unlock()
	if before != nil {
		if err := before(); err != nil {
			return timetable.Claim{}, err
		}
	}
	c, err := s.Outbox.Turn(ctx, t)
	if after != nil && err == nil {
		err = after()
	}
	return c, err
}

func (s *spoilt) spoil(before, after func() error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.before, s.after = before, after
}

func (s *spoilt) taken() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.turns
}

// atBench runs a test in a bubble of faked time, with everything open but the
// Sender not yet running.
func atBench(t *testing.T, test func(t *testing.T, b *bench)) {
	synctest.Test(t, func(t *testing.T) {
		db, err := store.OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "class.db"), store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		box, err := store.NewOutbox(t.Context(), db, quiet)
		if err != nil {
			t.Fatal(err)
		}
		b := &bench{t: t, db: db, box: &spoilt{Outbox: box}, chat: loopback.New("loopback", "a", "ada")}
		b.joined = b.chat
		for _, room := range []string{"b", "c"} {
			b.chat.Open(room)
		}
		b.render = func(_ context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
			d, err := timetable.DetailsOf(p)
			return bot.Reply{Title: d.Text}, timetable.Send, err
		}
		b.o = timetable.Options{
			Log: quiet, Now: func() time.Time { return time.Now().Add(time.Duration(b.ahead.Load())) }, Jitter: func() float64 { return 0 },
			Observe: func(o timetable.Outcome) {
				b.mu.Lock()
				defer b.mu.Unlock()
				b.outcomes = append(b.outcomes, o)
			},
			Held: func(chat string, held bool) {
				b.mu.Lock()
				defer b.mu.Unlock()
				b.held = append(b.held, fmt.Sprint(chat, " ", held))
			},
		}
		test(t, b)
	})
}

var quiet = slog.New(slog.DiscardHandler)

// run runs a Sender until the function that it returns is called, which waits
// for its end.
func (b *bench) run() (end func()) {
	b.t.Helper()
	s := timetable.NewSender(b.box, []bot.Adapter{b.joined}, func(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
		return b.render(ctx, p)
	}, b.o)
	ctx, cancel := context.WithCancel(b.t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	return func() {
		b.t.Helper()
		cancel()
		if err := <-done; err != nil {
			b.t.Errorf("Run: %v", err)
		}
	}
}

// sleep lets time pass, and waits until everyone is asleep again.
func (b *bench) sleep(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

// due adds a post to a room that is due in d and good for an hour.
func (b *bench) due(room, text string, d time.Duration) timetable.Post {
	b.t.Helper()
	at := b.o.Now().Add(d)
	p := timetable.Post{
		Key: timetable.PostKey(room, text), To: bot.Place{Chat: "loopback", Room: room}, Kind: timetable.KindSay,
		Payload: []byte(fmt.Sprintf(`{"text":%q}`, text)), Due: at, Expires: at.Add(time.Hour),
	}
	if _, err := b.box.Add(b.t.Context(), b.o.Now(), p); err != nil {
		b.t.Fatal(err)
	}
	return p
}

// shown is what stands in a room, all rooms for "", in order.
func (b *bench) shown(room string) string {
	in := bot.Place{}
	if room != "" {
		in = bot.Place{Chat: "loopback", Room: room}
	}
	var out []string
	for _, m := range b.chat.Messages(in) {
		out = append(out, m.Reply.Title)
	}
	return strings.Join(out, " ")
}

func (b *bench) wantShown(room, want string) {
	b.t.Helper()
	if got := b.shown(room); got != want {
		b.t.Errorf("in room %q stands %q, want %q", room, got, want)
	}
}

// states is what Observe was told, in order.
func (b *bench) states() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []string
	for _, o := range b.outcomes {
		out = append(out, string(o.State))
	}
	return strings.Join(out, " ")
}

// heldSoFar is what Held was told, in order.
func (b *bench) heldSoFar() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return strings.Join(b.held, ", ")
}

// wrong sets the wall clock wrong by d.
func (b *bench) wrong(d time.Duration) { b.ahead.Store(int64(d)) }
