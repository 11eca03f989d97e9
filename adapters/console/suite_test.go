package console

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/adaptertest"
	"weftroom/bot"
)

// TestAdapter holds the room to the suite, with lines from a pipe. The line
// editor is tried in a terminal of its own, see terminal_test.go.
func TestAdapter(t *testing.T) {
	adaptertest.Run(t, func(t *testing.T) adaptertest.Fixture {
		r, w := pipe(t)
		o := options(t)
		o.In = r
		heard := newEar(o.Files)
		o.Out = heard
		room := New(o)
		say := func(t *testing.T, line string) {
			t.Helper()
			if _, err := io.WriteString(w, line+"\n"); err != nil {
				t.Fatal(err)
			}
		}
		return adaptertest.Fixture{
			Adapter: room, User: room.User(), Place: room.Place(), Direct: true,
			Say:  say,
			Next: heard.next,
			Press: func(t *testing.T, label string) {
				t.Helper()
				m := regexp.MustCompile(`([a-z])\) ` + regexp.QuoteMeta(label)).FindStringSubmatch(heard.all())
				if m == nil {
					t.Fatalf("no letter for %q in %q", label, heard.all())
				}
				say(t, m[1])
			},
		}
	})
}

var words = Words{
	Prompt: "room> ", More: "more> ", Leave: []string{"quit", "exit"}, Bye: "Goodbye.",
	Saved: "Saved as %s", Unsaved: "Could not save %s", Failed: "Failed.", NoFile: "No file %s.",
}

// options are those of a room that nobody has furnished yet.
func options(t *testing.T) Options {
	t.Helper()
	return Options{
		User: "you", Role: bot.Teacher, Files: filepath.Join(t.TempDir(), "out"), Words: words,
		Log: slog.New(slog.DiscardHandler),
	}
}

// pipe is closed when the test is over; writing to it fails when nobody reads
// for long.
func pipe(t *testing.T) (r, w *os.File) {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := w.SetWriteDeadline(time.Now().Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		r.Close()
		w.Close()
	})
	return r, w
}

// ear hears what the room writes, one message a Write, and finds its files.
type ear struct {
	folder string

	mu       sync.Mutex
	messages []adaptertest.Message
	taken    int
	seen     map[string]bool
	more     chan struct{}
}

func newEar(folder string) *ear {
	return &ear{folder: folder, seen: map[string]bool{}, more: make(chan struct{}, 1)}
}

// Write implements io.Writer.
func (e *ear) Write(p []byte) (int, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	m := adaptertest.Message{Text: string(p)}
	paths, err := filepath.Glob(filepath.Join(e.folder, "*"))
	if err != nil {
		return 0, err
	}
	for _, path := range paths {
		if e.seen[path] {
			continue
		}
		e.seen[path] = true
		raw, err := os.ReadFile(path)
		if err != nil {
			return 0, err
		}
		m.Files = append(m.Files, adaptertest.File{Name: filepath.Base(path), Bytes: raw})
	}
	e.messages = append(e.messages, m)
	select {
	case e.more <- struct{}{}:
	default:
	}
	return len(p), nil
}

func (e *ear) take() (adaptertest.Message, bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.taken == len(e.messages) {
		return adaptertest.Message{}, false
	}
	e.taken++
	return e.messages[e.taken-1], true
}

func (e *ear) next(ctx context.Context) (adaptertest.Message, error) {
	for {
		if m, ok := e.take(); ok {
			return m, nil
		}
		select {
		case <-e.more:
		case <-ctx.Done():
			return adaptertest.Message{}, fmt.Errorf("nothing more has been written: %w", ctx.Err())
		}
	}
}

func (e *ear) all() string {
	e.mu.Lock()
	defer e.mu.Unlock()
	var b strings.Builder
	for _, m := range e.messages {
		b.WriteString(m.Text)
	}
	return b.String()
}
