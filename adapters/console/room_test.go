package console

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/calc"
)

// answers is a Handler made of a function.
type answers func(ctx context.Context, r bot.Request) bot.Reply

func (a answers) Handle(ctx context.Context, r bot.Request) bot.Reply { return a(ctx, r) }

// echo repeats what was said, and offers two answers when asked to.
var echo = answers(func(_ context.Context, r bot.Request) bot.Reply {
	switch r.Line {
	case "ask":
		return bot.Reply{Command: "ask", Title: "Which?", Buttons: []bot.Button{{Label: "10", Line: "ask heddle:10"}, {Label: "12", Line: "ask heddle:12"}}}
	case "ask heddle:12":
		return bot.Reply{Command: "ask", Title: "12 it is"}
	case "wrong":
		return bot.Reply{Command: "ask", Problem: &bot.Problem{Code: calc.BadValue, Message: "That is wrong", Hint: "ask"}}
	}
	return bot.Reply{Command: "echo", Title: fmt.Sprintf("%.30q from %s", r.Line, r.ID)}
})

// talk runs a room on what a pipe brings, and gives all that it wrote.
func talk(t *testing.T, o Options, input string, h bot.Handler) string {
	t.Helper()
	r, w := pipe(t)
	go func() {
		_, _ = io.WriteString(w, input) // fails when the room closes before the end
		w.Close()
	}()
	var out strings.Builder
	o.In, o.Out = r, &out
	if err := New(o).Run(t.Context(), h); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestPipedLines(t *testing.T) {
	for _, c := range []struct{ name, input, want string }{
		{"nothing", "", ""},
		{"one line", "row\n", "\"row\" from console-1\n\n"},
		{"a last line without an end", "row", "\"row\" from console-1\n\n"},
		{"lines from Windows", "row\r\nfit\r\n", "\"row\" from console-1\n\n\"fit\" from console-2\n\n"},
		{"blank lines are no requests", "\n  \t \n\nrow\n\n", "\"row\" from console-1\n\n"},
		{"quit ends it", "quit\nrow\n", ""},
		{"exit ends it, however written", " Exit \nrow\n", ""},
		{"words that end nothing", "quit now\n", "\"quit now\" from console-1\n\n"},
		{"what is no text is the handler's business", "\xff\x00\n", "\"\\xff\\x00\" from console-1\n\n"},
		{
			"the letter of a button runs its line", "ask\nb\n",
			"Which?\n\n  a) 10   b) 12\n\n12 it is\n\n",
		},
		{
			"letters as phones and people write them", "ask\nA\nask\n b) \nask\na.\n",
			"Which?\n\n  a) 10   b) 12\n\n\"ask heddle:10\" from console-2\n\n" +
				"Which?\n\n  a) 10   b) 12\n\n12 it is\n\n" +
				"Which?\n\n  a) 10   b) 12\n\n\"ask heddle:10\" from console-6\n\n",
		},
		{
			"a number is an answer, and a letter with a command no button", "ask\n1\nword a\nc\n",
			"Which?\n\n  a) 10   b) 12\n\n\"1\" from console-2\n\n\"word a\" from console-3\n\n\"c\" from console-4\n\n",
		},
		{
			"letters outlast another command and a mistake", "ask\nrow\nwrong\nb\n",
			"Which?\n\n  a) 10   b) 12\n\n\"row\" from console-2\n\nThat is wrong, for example `ask`.\n\n12 it is\n\n",
		},
		{
			"letters end with the command that offered them", "ask\nb\na\n",
			"Which?\n\n  a) 10   b) 12\n\n12 it is\n\n\"a\" from console-3\n\n",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(c.want, talk(t, options(t), c.input, echo)); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestLongLines(t *testing.T) {
	for _, c := range []struct {
		name      string
		long, got int
	}{
		{"longer than a buffer", 5000, 5000},
		{"as long as is kept", longest, longest},
		{"longer than is kept", longest + 100_000, longest},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []int
			count := answers(func(_ context.Context, r bot.Request) bot.Reply {
				got = append(got, len(r.Line))
				return bot.Reply{Title: "read"}
			})
			talk(t, options(t), strings.Repeat("x", c.long)+"\nrow\n", count)
			if d := cmp.Diff([]int{c.got, 3}, got); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestIDsOfASession(t *testing.T) {
	o := options(t)
	o.Session = "s7"
	if got := talk(t, o, "row\n", echo); !strings.Contains(got, "from console-s7-1\n") {
		t.Errorf("got %s", got)
	}
}

func TestPipesAreNotGreeted(t *testing.T) {
	o := options(t)
	o.Greeting = "hello"
	if got := talk(t, o, "quit\n", echo); got != "" {
		t.Errorf("got %q", got)
	}
}

func TestPanicIsSaidAndLogged(t *testing.T) {
	var log strings.Builder
	o := options(t)
	o.Log = slog.New(slog.NewTextHandler(&log, nil))
	got := talk(t, o, "row\n", answers(func(context.Context, bot.Request) bot.Reply { panic("on purpose") }))
	if got != "Failed.\n\n" {
		t.Errorf("said %q", got)
	}
	if !strings.Contains(log.String(), "on purpose") || !strings.Contains(log.String(), "console-1") {
		t.Errorf("logged %q", log.String())
	}
}

func TestOutputThatFailsEndsTheRoom(t *testing.T) {
	r, w := pipe(t)
	if _, err := io.WriteString(w, "row\nrow\n"); err != nil {
		t.Fatal(err)
	}
	o := options(t)
	o.In, o.Out = r, full{}
	if err := New(o).Run(t.Context(), echo); !errors.Is(err, errFull) {
		t.Errorf("got %v", err)
	}
}

var errFull = errors.New("the disk is full")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestInputThatIsClosed(t *testing.T) {
	r, _ := pipe(t)
	r.Close()
	o := options(t)
	o.In, o.Out = r, io.Discard
	if err := New(o).Run(t.Context(), echo); err == nil {
		t.Error("no error")
	}
}

// TestInputFromAFile ends where the file does.
func TestInputFromAFile(t *testing.T) {
	path := t.TempDir() + "/lines"
	if err := os.WriteFile(path, []byte("row\nfit"), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out strings.Builder
	o := options(t)
	o.In, o.Out = f, &out
	if err := New(o).Run(t.Context(), echo); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff("\"row\" from console-1\n\n\"fit\" from console-2\n\n", out.String()); d != "" {
		t.Error(d)
	}
}

// TestStay: when the input of a room that stays is at its end, posts still
// appear, and only the context ends it.
func TestStay(t *testing.T) {
	r, w := pipe(t)
	o := options(t)
	heard := newEar(o.Files)
	o.In, o.Out, o.Stay = r, heard, true
	room := New(o)
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- room.Run(ctx, echo) }()
	w.Close()
	for i := range 200 { // by then it has seen the end
		if _, err := room.Post(ctx, room.Place(), fmt.Sprint("key", i), bot.Reply{Title: fmt.Sprint("It begins ", i)}); err != nil {
			t.Fatal(err)
		}
	}
	end()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if got := heard.all(); !strings.Contains(got, "It begins 199") {
		t.Errorf("what was written: %q", got)
	}
}
