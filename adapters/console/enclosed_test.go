package console

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
)

var tracing = []*bot.Command{
	{Name: "trace", Aliases: []string{"copy"}, Params: []bot.Param{
		{Name: "picture", Kind: bot.Enclosed}, {Name: "text", Kind: bot.Words}, {Name: "cell", Kind: bot.Count}}},
	{Name: "design", Subs: []*bot.Command{{Name: "trace", Params: []bot.Param{{Name: "picture", Kind: bot.Enclosed}}}, {Name: "list"}}},
	{Name: "say", Params: []bot.Param{{Name: "text", Kind: bot.LongText}}},
}

// TestEnclosed: files at the end of a line come with a command that takes any,
// and are words to every other.
func TestEnclosed(t *testing.T) {
	t.Chdir(t.TempDir())
	t.Setenv("HOME", t.TempDir())
	for name, what := range map[string]string{"rose.png": "RRR", "my leaf.png": "LL", filepath.Join(os.Getenv("HOME"), "at home.txt"): "H"} {
		if err := os.WriteFile(name, []byte(what), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir("folder", 0o700); err != nil {
		t.Fatal(err)
	}
	tell := answers(func(ctx context.Context, r bot.Request) bot.Reply {
		said := fmt.Sprintf("%q", r.Line)
		for _, f := range r.Attached {
			raw, err := f.Read(ctx, bot.MaxFile)
			if err != nil {
				raw = []byte(err.Error())
			}
			said += fmt.Sprintf(" %s=%s(%d,%s)", f.Name, raw, f.Size, f.MediaType)
		}
		if r.Enclosing != bot.KeyFileNamed {
			said += " how?"
		}
		return bot.Reply{Title: said}
	})
	for _, c := range []struct{ name, line, want string }{
		{"one", "trace cell:3 @rose.png", `"trace cell:3" rose.png=RRR(3,image/png)`},
		{"by another name of the command, in capitals", "COPY @rose.png  ", `"COPY" rose.png=RRR(3,image/png)`},
		{"with a subcommand", "design trace @rose.png", `"design trace" rose.png=RRR(3,image/png)`},
		{"in quotes", `trace @"my leaf.png"`, `"trace" my leaf.png=LL(2,image/png)`},
		{"at home", `trace @"~/at home.txt"`, `"trace" at home.txt=H(1,text/plain)`},
		{"two, in their order", `trace text:"x y" @rose.png @"my leaf.png"`, `"trace text:\"x y\"" rose.png=RRR(3,image/png) my leaf.png=LL(2,image/png)`},
		{"a whole path", "trace @" + must(filepath.Abs("rose.png")), `"trace" rose.png=RRR(3,image/png)`},
		{"none", "trace cell:3", `"trace cell:3"`},
		{"the sign alone", "trace @", `"trace @"`},
		{"in the middle of a word", "trace me@rose.png", `"trace me@rose.png"`},
		{"in the middle of the line", "trace @rose.png cell:3", `"trace @rose.png cell:3"`},
		{"with a command that takes none", "say ask @rose.png", `"say ask @rose.png"`},
		{"with a subcommand that takes none", "design list @rose.png", `"design list @rose.png"`},
		{"with no command", "@rose.png", `"@rose.png"`},
		{"one that is not there", "trace @rise.png", "No file rise.png."},
		{"a folder", "trace @folder", "No file folder."},
		{"a device, which has no end", "trace @/dev/zero", "No file /dev/zero."},
		{"one of two that is not there", "trace @rise.png @rose.png", "No file rise.png."},
		{"a name that would move the cursor", "trace @a\x1b[2J", "No file a\u241b[2J."},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := options(t)
			o.Commands = tracing
			if diff := cmp.Diff(c.want+"\n\n", talk(t, o, c.line+"\n", tell)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func must(s string, err error) string {
	if err != nil {
		panic(err)
	}
	return s
}

// TestAButtonEnclosesNothing: its line may hold what others wrote.
func TestAButtonEnclosesNothing(t *testing.T) {
	o := options(t)
	o.Commands = tracing
	h := answers(func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line == "design list" {
			return bot.Reply{Title: "Which?", Buttons: []bot.Button{{Label: "hers", Line: "trace text:x @/etc/hostname"}}}
		}
		return bot.Reply{Title: fmt.Sprintf("%q with %d files", r.Line, len(r.Attached))}
	})
	if said := talk(t, o, "design list\na\n", h); !strings.Contains(said, `"trace text:x @/etc/hostname" with 0 files`) {
		t.Error(said)
	}
}

// TestAFileIsReadNoFurtherThanWanted, and may be gone by then.
func TestAFileIsReadNoFurtherThanWanted(t *testing.T) {
	path := filepath.Join(t.TempDir(), "rose.png")
	if err := os.WriteFile(path, []byte("0123456789"), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Enclose(path)
	if err != nil {
		t.Fatal(err)
	}
	if raw, err := f.Read(t.Context(), 10); err != nil || string(raw) != "0123456789" {
		t.Errorf("%q, %v", raw, err)
	}
	if _, err := f.Read(t.Context(), 9); !errors.Is(err, bot.ErrTooMuch) {
		t.Errorf("ten bytes where nine are wanted: %v", err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Read(t.Context(), 10); err == nil {
		t.Error("it was read when it was gone")
	}
}

func TestCompleteFiles(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, name := range []string{"rose.png", "rosette.png", "my leaf.png", ".hidden.png", "in/one.png", "a\x1b.png"} {
		if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		line string
		list []string
	}{
		{"trace ", []string{"text:", "cell:", "@"}},
		{"trace pic", nil},
		{"trace @", []string{"@in/", `@"my leaf.png" `, "@rose.png ", "@rosette.png "}},
		{"trace cell:3 @ros", []string{"@rose.png ", "@rosette.png "}},
		{"trace @in/", []string{"@in/one.png "}},
		{"trace @.h", []string{"@.hidden.png "}},
		{"trace @nowhere/", nil},
		{"say @ros", nil},
		{"say ", []string{"text:"}},
	} {
		_, list, _ := completer{commands: tracing}.complete(c.line, len(c.line))
		if diff := cmp.Diff(c.list, list); diff != "" {
			t.Errorf("%s: %s", c.line, diff)
		}
	}
}

// FuzzEnclosed: whatever is typed, what is left is its beginning, and a line of
// another command stays as it is.
func FuzzEnclosed(f *testing.F) {
	for _, seed := range []string{"trace @a", `trace @"a b"`, `trace @"`, "trace @", "say @a", "trace x@y", `trace "@a"`, "trace @a @b", "trace\u00a0@a"} {
		f.Add(seed)
	}
	room := New(Options{Commands: tracing})
	f.Fuzz(func(t *testing.T, typed string) {
		words, files, lost := room.enclosed(typed)
		if !strings.HasPrefix(typed, words) || len(files) == 0 && (words != typed || lost != "") {
			t.Errorf("%q is %q with %d files, %q lost", typed, words, len(files), lost)
		}
	})
}
