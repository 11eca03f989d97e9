package adaptertest

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"

	"weftroom/bot"
)

func tryRequest(t *testing.T, open func(t *testing.T) Fixture) {
	got := make(chan bot.Request, 1)
	f := open(t)
	s := begin(t, f, handler(func(_ context.Context, r bot.Request) bot.Reply {
		got <- r
		return title("answered")
	}))
	const line = `row ends:97 yarn:"8/2 cotton" width:15½" — zwölf`
	s.say(line)
	r := receive(s, got, "the request")
	s.until("answered")
	if r.From.Chat != f.Adapter.Name() || r.In.Chat != f.Adapter.Name() || f.Adapter.Name() == "" {
		t.Errorf("the request is from chat %q, in chat %q; the adapter is %q", r.From.Chat, r.In.Chat, f.Adapter.Name())
	}
	if r.From != f.User {
		t.Errorf("from %v, want %v", r.From, f.User)
	}
	if r.In != f.Place {
		t.Errorf("in %v, want %v", r.In, f.Place)
	}
	if r.Direct != f.Direct {
		t.Errorf("direct is %v, want %v", r.Direct, f.Direct)
	}
	if r.ID == "" {
		t.Error("no id")
	}
	if strings.TrimSpace(r.Line) != line {
		t.Errorf("line %q, want %q", r.Line, line)
	}
}

func tryIDs(t *testing.T, open func(t *testing.T) Fixture) {
	got := make(chan bot.Request, 3)
	s := begin(t, open(t), handler(func(_ context.Context, r bot.Request) bot.Reply {
		got <- r
		return title("answered " + r.Line)
	}))
	ids := map[string]bool{}
	for _, line := range []string{"one", "two", "one"} {
		s.say(line)
		ids[receive(s, got, "the request").ID] = true
	}
	if len(ids) != 3 {
		t.Errorf("three requests have the ids %v", ids)
	}
}

func tryNone(t *testing.T, open func(t *testing.T) Fixture) {
	s := begin(t, open(t), handler(func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line == "nothing" {
			return bot.Reply{}
		}
		return title("answered")
	}))
	s.say("nothing")
	s.say("something")
	s.until("answered")
	for _, m := range s.heard[:len(s.heard)-1] {
		if m.Text != "" || m.ID != "" {
			t.Errorf("%q has arrived before the answer", m.Text)
		}
	}
}

func tryPanic(t *testing.T, open func(t *testing.T) Fixture) {
	s := begin(t, open(t), handler(func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line == "panic" {
			panic("on purpose")
		}
		return title("still here")
	}))
	s.say("panic")
	s.say("hello")
	s.until("still here")
}

// trySlow posts while a request is being answered.
func trySlow(t *testing.T, open func(t *testing.T) Fixture) {
	begun, release := make(chan bool, 1), make(chan bool)
	f := open(t)
	s := begin(t, f, handler(func(ctx context.Context, r bot.Request) bot.Reply {
		if r.Line == "slow" {
			begun <- true
			select {
			case <-release:
			case <-ctx.Done():
			}
		}
		return title("answered " + r.Line)
	}))
	s.say("slow")
	receive(s, begun, "the slow request")
	if _, err := f.Adapter.Post(s.ctx, f.Place, "meanwhile", title("something else")); err != nil {
		t.Fatalf("a post while a request is being answered: %v", err)
	}
	s.until("something else")
	s.say("next")
	close(release)
	s.until("answered slow", "answered next")
}

// tryOrder has the requests wait for each other, as the core does; the adapter
// must hand them over as they come.
func tryOrder(t *testing.T, open func(t *testing.T) Fixture) {
	begun, release := make(chan bool, 1), make(chan bool)
	s := begin(t, open(t), &inTurn{answer: func(ctx context.Context, r bot.Request) bot.Reply {
		select {
		case begun <- true:
		default:
		}
		select {
		case <-release:
		case <-ctx.Done():
		}
		return title("answer to " + r.Line + ".")
	}})
	var want []string
	for n := range bot.PerPerson - 1 {
		s.say(fmt.Sprintf("request %d", n))
		want = append(want, fmt.Sprintf("answer to request %d.", n))
	}
	receive(s, begun, "the first request")
	close(release)
	if got := s.until(want...); !inOrder(got, want) {
		t.Errorf("not in the order of the requests: %s", got)
	}
}

// inTurn answers one request at a time, in the order in which they come.
type inTurn struct {
	answer handler
	mu     sync.Mutex
	last   chan struct{} // closed when the last request so far is through
}

// Handle implements bot.Handler.
func (q *inTurn) Handle(ctx context.Context, r bot.Request) bot.Reply {
	q.mu.Lock()
	before, done := q.last, make(chan struct{})
	q.last = done
	q.mu.Unlock()
	defer close(done)
	if before != nil {
		<-before
	}
	return q.answer(ctx, r)
}

// inOrder tells whether the texts follow each other in s.
func inOrder(s string, texts []string) bool {
	for _, text := range texts {
		i := strings.Index(s, text)
		if i < 0 {
			return false
		}
		s = s[i+len(text):]
	}
	return true
}
