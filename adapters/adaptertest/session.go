package adaptertest

import (
	"context"
	"runtime"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"weftroom/bot"
)

// patience is how long a case waits for all that must come; nothing waits for it to
// pass. On a busy machine a real homeserver takes many seconds for one thing.
const patience = 2 * time.Minute

// handler is a Handler made of a function.
type handler func(ctx context.Context, r bot.Request) bot.Reply

// Handle implements bot.Handler.
func (h handler) Handle(ctx context.Context, r bot.Request) bot.Reply { return h(ctx, r) }

// title is a reply of one line.
func title(s string) bot.Reply { return bot.Reply{Title: s} }

// always gives the same reply to every request.
func always(r bot.Reply) handler {
	return func(context.Context, bot.Request) bot.Reply { return r }
}

// session is an adapter at work.
type session struct {
	Fixture
	t     *testing.T
	ctx   context.Context // ends when patience does
	end   func()          // ends Run's context
	ended chan error      // what Run returned
	heard []Message
}

// begin runs the adapter until the case is over.
func begin(t *testing.T, f Fixture, h bot.Handler) *session {
	t.Helper()
	running, end := context.WithCancel(context.Background())
	return run(t, running, end, f, h)
}

func run(t *testing.T, running context.Context, end func(), f Fixture, h bot.Handler) *session {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	t.Cleanup(cancel)
	s := &session{Fixture: f, t: t, ctx: ctx, end: end, ended: make(chan error, 1)}
	go func() { s.ended <- f.Adapter.Run(running, h) }()
	t.Cleanup(func() {
		end()
		s.wantEnd()
	})
	return s
}

// wantEnd waits for Run to return. It may be called again.
func (s *session) wantEnd() {
	s.t.Helper()
	select {
	case err := <-s.ended:
		if err != nil {
			s.t.Errorf("Run: %v", err)
		}
		s.ended <- nil
	case <-time.After(patience):
		s.t.Fatalf("Run has not returned %v after its context ended", patience)
	}
}

func (s *session) say(line string) {
	s.t.Helper()
	s.Say(s.t, line)
}

// until collects messages until all texts are among their words, and gives the
// words. Blanks and line breaks count alike.
func (s *session) until(texts ...string) string {
	s.t.Helper()
	for {
		all := s.words()
		missing := ""
		for _, text := range texts {
			if !strings.Contains(all, text) {
				missing = text
			}
		}
		if missing == "" {
			return all
		}
		m, err := s.Next(s.ctx)
		if err != nil {
			s.t.Fatalf("%q has not arrived (%v); what has:\n%s", missing, err, all)
		}
		s.heard = append(s.heard, m)
	}
}

func (s *session) words() string {
	var all []string
	for _, m := range s.heard {
		all = append(all, strings.Fields(m.Text)...)
	}
	return strings.Join(all, " ")
}

// file waits for an attachment.
func (s *session) file() (File, Message) {
	s.t.Helper()
	for {
		for _, m := range s.heard {
			if len(m.Files) > 0 {
				return m.Files[0], m
			}
		}
		m, err := s.Next(s.ctx)
		if err != nil {
			s.t.Fatalf("no file has arrived (%v)", err)
		}
		s.heard = append(s.heard, m)
	}
}

// wantHarmless checks everything heard for what a screen could obey.
func (s *session) wantHarmless() {
	s.t.Helper()
	for _, m := range s.heard {
		texts := []string{m.Text}
		for _, f := range m.Files {
			texts = append(texts, f.Name, f.Alt)
		}
		for _, text := range texts {
			if i := strings.IndexFunc(text, harmful); i >= 0 || !utf8.ValidString(text) {
				s.t.Errorf("arrived with something harmful in it: %q", text)
			}
		}
	}
}

func harmful(r rune) bool {
	return unicode.IsControl(r) && r != '\n' || unicode.Is(unicode.Bidi_Control, r)
}

// receive waits for what a handler reports.
func receive[T any](s *session, from <-chan T, what string) T {
	s.t.Helper()
	select {
	case v := <-from:
		return v
	case <-s.ctx.Done():
		s.t.Fatalf("%s: nothing has come", what)
		panic("not reached")
	}
}

// goroutines gives the stacks of all goroutines by their ids.
func goroutines() map[string]string {
	buf := make([]byte, 1<<20)
	for {
		n := runtime.Stack(buf, true)
		if n < len(buf) {
			buf = buf[:n]
			break
		}
		buf = make([]byte, 2*len(buf))
	}
	all := map[string]string{}
	for stack := range strings.SplitSeq(string(buf), "\n\n") {
		id, _, _ := strings.Cut(stack, " [")
		all[id] = stack
	}
	return all
}

// wantNoneLeft checks that all goroutines that have begun since before are
// gone, as soon as they have had the chance.
func wantNoneLeft(t *testing.T, f Fixture, before map[string]string) {
	t.Helper()
	own := append([]string{"os/signal.loop", "adaptertest.run"}, f.Server...)
	var left []string
	for deadline := time.Now().Add(patience / 4); time.Now().Before(deadline); runtime.Gosched() {
		left = nil
		for id, stack := range goroutines() {
			if _, old := before[id]; !old && !containsAny(stack, own) {
				left = append(left, stack)
			}
		}
		if len(left) == 0 {
			return
		}
	}
	t.Errorf("%d goroutines are left:\n%s", len(left), strings.Join(left, "\n\n"))
}

func containsAny(s string, texts []string) bool {
	for _, text := range texts {
		if strings.Contains(s, text) {
			return true
		}
	}
	return false
}
