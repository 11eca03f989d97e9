package bot

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"testing"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// enclosing are commands that take files: one that must come, one that may, two.
func enclosing() []*Command {
	tell := func(ctx context.Context, c *Call) (Reply, error) {
		var said []string
		for _, name := range []string{"picture", "back"} {
			if f, ok := c.Args.File(name); ok {
				raw, err := f.Read(ctx, MaxFile)
				said = append(said, fmt.Sprintf("%s=%s,%s,%d,%v,%v", name, f.Name, raw, f.Size, c.Args.Has(name), err))
			}
		}
		return Reply{Title: strings.Join(said, " ") + fmt.Sprintf(" cell=%d", c.Args.Count("cell"))}, nil
	}
	cell := Param{Name: "cell", Kind: Count, Min: "1", Max: "20"}
	picture := Param{Name: "picture", Kind: Enclosed, Required: true}
	return []*Command{
		{Name: "trace", Run: tell, Params: []Param{picture, cell}, Examples: []string{"trace cell:3"}},
		{Name: "maybe", Run: tell, Params: []Param{{Name: "picture", Kind: Enclosed}, cell}, Examples: []string{"maybe cell:3"}},
		{Name: "pair", Run: tell, Params: []Param{picture, {Name: "back", Kind: Enclosed}, cell}, Examples: []string{"pair cell:3"}},
	}
}

func enclosingDispatcher(log *slog.Logger) *Dispatcher {
	texts := testTexts()
	for _, key := range []calc.Key{"cmd.trace", "cmd.maybe", "cmd.pair", "arg.picture", "arg.back", "arg.cell"} {
		texts[key] = "what it is"
	}
	all := append(slices.DeleteFunc(testCommands(), func(c *Command) bool { return c.Name == "help" }), enclosing()...)
	all = append(all, Help(func() []*Command { return all }))
	return NewDispatcher(all, everyone(measure.Unset), texts, log)
}

// came is a file as a chat gives it.
func came(name, what, content string) Attached {
	return Attached{Name: name, For: what, Read: func(_ context.Context, most int64) ([]byte, error) {
		if int64(len(content)) > most {
			return nil, fmt.Errorf("the chat: %w", ErrTooMuch)
		}
		return []byte(content), nil
	}}
}

func TestFilesAsArguments(t *testing.T) {
	rose, leaf := came("rose.png", "", "RRR"), came("leaf.png", "", "LL")
	announced := rose
	announced.Size = MaxFile + 1
	gone := rose
	gone.Read = func(context.Context, int64) ([]byte, error) { return nil, errors.New("no route to rose.png") }
	ignoring := rose
	ignoring.Read = func(context.Context, int64) ([]byte, error) { return make([]byte, MaxFile+1), nil }
	for _, c := range []struct {
		name, line string
		files      []Attached
		want       string // the answer, or else the beginning of the refusal
		code       calc.Code
	}{
		{"one", "trace cell:3", []Attached{rose}, "picture=rose.png,RRR,3,true,<nil> cell=3", ""},
		{"one that need not come", "maybe", []Attached{leaf}, "picture=leaf.png,LL,2,true,<nil> cell=0", ""},
		{"none where none is needed", "maybe cell:2", nil, " cell=2", ""},
		{"in their order", "pair", []Attached{rose, leaf}, "picture=rose.png,RRR,3,true,<nil> back=leaf.png,LL,2,true,<nil> cell=0", ""},
		{"by the names that the chat gives", "pair", []Attached{came("a", "back", "A"), came("b", "picture", "B")}, "picture=b,B,1,true,<nil> back=a,A,1,true,<nil> cell=0", ""},
		{"one named, one not", "pair", []Attached{came("b", "", "B"), came("a", "picture", "A")}, "picture=a,A,1,true,<nil> back=b,B,1,true,<nil> cell=0", ""},
		{"its name written as well", "trace picture:rose.png cell:3", []Attached{rose}, "picture=rose.png,RRR,3,true,<nil> cell=3", ""},
		{"its name and nothing", "trace picture cell 3", []Attached{rose}, "picture=rose.png,RRR,3,true,<nil> cell=3", ""},
		{"the largest", "trace", []Attached{came("big", "", strings.Repeat("x", MaxFile))}, "picture=big,x", ""},
		{"with a command that takes none", "word heddle", []Attached{rose}, "done", ""},

		{"none", "trace cell:3", nil, "trace needs a file for picture: attach it", MissingArgument},
		{"words for it", "trace picture:rose.png", nil, "picture is a file: attach it", calc.BadValue},
		{"words for one that need not come", "maybe picture:rose.png cell:2", nil, "picture is a file: attach it", calc.BadValue},
		{"two where one is taken", "trace", []Attached{rose, leaf}, "2 files came, trace takes 1", calc.Conflict},
		{"three where two are taken", "pair", []Attached{rose, leaf, rose}, "3 files came, pair takes 2", calc.Conflict},
		{"one for no argument", "trace", []Attached{came("a", "nothing", "A")}, "1 files came, trace takes 1", calc.Conflict},
		{"announced as too large", "trace", []Attached{announced}, "picture: rose.png has 5.1 MB, up to 5 are allowed", calc.OutOfRange},
		{"too large", "trace", []Attached{came("big.png", "", strings.Repeat("x", MaxFile+1))}, "picture: big.png has 5.1 MB, up to 5 are allowed", calc.OutOfRange},
		{"too large from a chat that gives it all", "trace", []Attached{ignoring}, "picture: rose.png has 5.1 MB", calc.OutOfRange},
		{"gone", "trace", []Attached{gone}, "I could not load rose.png", calc.BadValue},
		{"a bad argument beside it", "trace cell:99", []Attached{rose}, "cell: 99 is outside", calc.OutOfRange},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := enclosingDispatcher(slog.New(slog.DiscardHandler))
			r := d.Handle(context.Background(), Request{ID: "1", From: ana, In: hall, Role: Teacher, Line: c.line, Attached: c.files})
			if c.code == "" {
				if r.Problem != nil || !strings.HasPrefix(r.Title, c.want) {
					t.Fatalf("%.200q, %+v", r.Title, r.Problem)
				}
				return
			}
			wantRefused(t, r, c.code, c.want)
		})
	}
}

// wantRefused holds a refusal to its beginning, and to an example.
func wantRefused(t *testing.T, r Reply, code calc.Code, want string) {
	t.Helper()
	if r.Problem == nil || r.Problem.Code != code || !strings.HasPrefix(r.Problem.Message, want) {
		t.Fatalf("%.200q, %+v", r.Title, r.Problem)
	}
	if r.Problem.Hint == "" {
		t.Errorf("no example: %s", r.Problem.Sentence())
	}
}

// TestAFileArrivesBeforeItsCommandRuns, which may hold a transaction: it is
// loaded once, however often it is read, and a reader may want less of it.
func TestAFileArrivesBeforeItsCommandRuns(t *testing.T) {
	loaded, began := 0, 0
	d := testDispatcher(&Command{Name: "trace", Params: []Param{{Name: "picture", Kind: Enclosed}}, Run: func(ctx context.Context, c *Call) (Reply, error) {
		began = loaded
		f, _ := c.Args.File("picture")
		_, err := f.Read(ctx, 2)
		if !errors.Is(err, ErrTooMuch) {
			t.Errorf("three bytes where two are wanted: %v", err)
		}
		raw, err := f.Read(ctx, 3)
		return Reply{Title: string(raw)}, err
	}})
	file := Attached{Name: "a.png", Size: 99, Read: func(context.Context, int64) ([]byte, error) { loaded++; return []byte("abc"), nil }}
	r := d.Handle(context.Background(), Request{ID: "1", From: ana, In: hall, Line: "trace", Attached: []Attached{file}})
	if r.Title != "abc" || began != 1 || loaded != 1 {
		t.Errorf("%q; loaded %d times, %d before it ran; %+v", r.Title, loaded, began, r.Problem)
	}
}

// TestALostFileIsLogged without its name, which a person has given it.
func TestALostFileIsLogged(t *testing.T) {
	var log bytes.Buffer
	gone := came("my garden.png", "", "")
	gone.Read = func(context.Context, int64) ([]byte, error) { return nil, errors.New("404 for my garden.png") }
	enclosingDispatcher(slog.New(slog.NewTextHandler(&log, nil))).Handle(context.Background(),
		Request{ID: "r7", From: ana, In: hall, Line: "trace", Attached: []Attached{gone}})
	if s := log.String(); !strings.Contains(s, "request=r7") || !strings.Contains(s, "404") || strings.Contains(s, "garden") {
		t.Errorf("logged: %s", s)
	}
}

// TestHowAFileIsSentIsTheChats: each chat has its own way, and help tells it only
// where a command takes a file.
func TestHowAFileIsSentIsTheChats(t *testing.T) {
	d := enclosingDispatcher(slog.New(slog.DiscardHandler))
	d.texts["chat.here"] = "push it through the reed"
	for line, want := range map[string]int{"help trace": 1, "help pair": 2, "help row": 0, "help": 0, "trace": 1} {
		r := d.Handle(context.Background(), Request{ID: "1", From: ana, In: hall, Line: line, Enclosing: "chat.here"})
		said := Plain(r)
		if n := strings.Count(said, "push it through the reed"); n != want || strings.Contains(said, "attach it") {
			t.Errorf("%s says it %d times: %s", line, n, said)
		}
	}
	page := Plain(d.Handle(context.Background(), Request{ID: "1", From: ana, In: hall, Line: "help trace"}))
	for _, want := range []string{"a file of up to 5 MB", "(needed)", "picture: attach it."} {
		if !strings.Contains(page, want) {
			t.Errorf("help does not say %q: %s", want, page)
		}
	}
}

// TestHelpForSeveralLines: told where the chat has a way of its own.
func TestHelpForSeveralLines(t *testing.T) {
	d := enclosingDispatcher(slog.New(slog.DiscardHandler))
	d.texts["chat.here"] = "fold the paper"
	for line, want := range map[string]bool{"help note": true, "help row": false} {
		said := Plain(d.Handle(context.Background(), Request{ID: "1", From: ana, In: hall, Line: line, Several: "chat.here"}))
		if strings.Contains(said, "text has lines: fold the paper.") != want {
			t.Errorf("%s: %s", line, said)
		}
	}
	if said := Plain(ask(d, "help note")); strings.Contains(said, "has lines") {
		t.Errorf("where there is nothing to say: %s", said)
	}
}

// TestStructuredFiles: words that a chat sends for a file are refused as in a line.
func TestStructuredFiles(t *testing.T) {
	d := enclosingDispatcher(slog.New(slog.DiscardHandler))
	r := Request{ID: "1", From: ana, In: hall, Command: "trace", Values: map[string]string{"cell": "3", "picture": "rose.png"}}
	wantRefused(t, d.Handle(context.Background(), r), calc.BadValue, "picture is a file")
	r.Values, r.Attached = map[string]string{"cell": "3"}, []Attached{came("rose.png", "picture", "RRR")}
	if got := d.Handle(context.Background(), r); got.Title != "picture=rose.png,RRR,3,true,<nil> cell=3" {
		t.Errorf("%q, %+v", got.Title, got.Problem)
	}
}

func TestMegabytes(t *testing.T) {
	for size, want := range map[int64]string{MaxFile: "5", MaxFile + 1: "5.1", 5_100_000: "5.1", 5_100_001: "5.2", 12_340_000: "12.4"} {
		if got := megabytes(size); got != want {
			t.Errorf("%d bytes are %s MB, not %s", size, got, want)
		}
	}
}

func TestDeclaredFiles(t *testing.T) {
	if wrong := Check(enclosing()); len(wrong) > 0 {
		t.Error(wrong)
	}
	for _, p := range []Param{
		{Name: "text", Kind: LongText, Unless: []string{"text"}}, {Name: "text", Kind: LongText, Unless: []string{"nothing"}}, {Name: "text", Kind: Words, Unless: []string{"cell"}},
		{Name: "picture", Kind: Enclosed, First: true}, {Name: "picture", Kind: Enclosed, Pressed: true},
		{Name: "picture", Kind: Enclosed, Default: "a.png"}, {Name: "picture", Kind: Enclosed, Max: "7"},
	} {
		c := enclosing()[0]
		c.Params[0] = p
		if wrong := Check([]*Command{c}); len(wrong) == 0 {
			t.Errorf("%+v is taken", p)
		}
	}
	changes := enclosing()[0]
	changes.Changes = true
	if wrong := Check([]*Command{changes}); len(wrong) == 0 {
		t.Error("a transaction waits for a file")
	}
}
