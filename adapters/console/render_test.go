package console

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
)

func TestReplyInFull(t *testing.T) {
	t.Chdir(t.TempDir())
	o := options(t)
	o.Files = "out"
	got := New(o).reply(bot.Reply{
		Title: "A row",
		Body: []bot.Block{
			bot.Paragraph("Two words."),
			bot.Steps{{Label: "1", Text: "heddle up", Short: "← 3 ▲"}},
			bot.Picture{Alt: "the cloth"},
		},
		Buttons: []bot.Button{{Label: "10", Line: "loom heddle:10"}, {Label: "I don't know", Line: "loom unsure:heddle"}},
		Files:   []bot.File{{Name: "row.txt", Alt: "the row as a chart", Bytes: []byte("x")}, {Name: "row.pdf", Bytes: []byte("y")}},
	})
	want := `A row

Two words.

  1  heddle up  ← 3 ▲

[the cloth]

Saved as out/row.txt
[the row as a chart]

Saved as out/row.pdf

  a) 10   b) I don't know
`
	if d := cmp.Diff(filepath.FromSlash(want), got); d != "" {
		t.Error(d)
	}
}

func TestManyButtons(t *testing.T) {
	var buttons []bot.Button
	for n := range 30 {
		buttons = append(buttons, bot.Button{Label: fmt.Sprintf("answer number %d", n+1), Line: fmt.Sprintf("run %d", n+1)})
	}
	r := New(options(t))
	got := r.reply(bot.Reply{Title: "Which?", Buttons: buttons})
	for _, want := range []string{"a) answer number 1 ", "z) answer number 26\n", "  answer number 27: run 27\n", "  answer number 30: run 30\n"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in\n%s", want, got)
		}
	}
	for l := range strings.Lines(got) {
		if utf8.RuneCountInString(l) > bot.PlainWidth+1 {
			t.Errorf("too wide: %q", l)
		}
	}
	if run, ok := r.offered.pressed("z"); !ok || run != "run 26" {
		t.Errorf("z runs %q", run)
	}
	if run, ok := r.offered.pressed("{"); ok {
		t.Errorf("what follows z runs %q", run)
	}
}

func TestProblemInATerminalIsWrapped(t *testing.T) {
	r := New(options(t))
	problem := bot.Reply{Problem: &bot.Problem{Message: strings.Repeat("word ", 20) + "end", Hint: "row raised:3"}}
	if got := r.reply(problem); strings.Count(got, "\n") != 1 {
		t.Errorf("for scripts: %q", got)
	}
	r.terminal = true
	if got := r.reply(problem); strings.Count(got, "\n") != 2 || !strings.HasSuffix(got, "`row raised:3`.\n") {
		t.Errorf("in a terminal: %q", got)
	}
}

func TestHarmless(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain text", "Zoë’s row, 7½ in → ▲", "Zoë’s row, 7½ in → ▲"},
		{"an escape sequence", "a\x1b[2Jb", "a␛[2Jb"},
		{"carriage return and backspace", "a\r\bb", "a␍␈b"},
		{"a tab", "a\tb", "a b"},
		{"delete", "a\x7fb", "a␡b"},
		{"a control sequence in one character", "a\u009b2Jb", "a�2Jb"},
		{"turning the text around", "a\u202eb\u2066c\u200fd", "a�b�c�d"},
		{"line and paragraph separators", "a\u2028b\u2029c", "a b c"},
		{"a byte order mark", "\ufeffa", "�a"},
		{"hidden letters", "a\U000E0041b", "a�b"},
		{"no text", "a\xff\xfeb", "a�b"},
		{"joined letters stay", "क्\u200dष 👩\u200d🏫", "क्\u200dष 👩\u200d🏫"},
		{"a line break", "a\nb", "a\nb"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := harmless(c.in); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
			if got, want := line(c.in), strings.ReplaceAll(c.want, "\n", " "); got != want {
				t.Errorf("on one line: got %q, want %q", got, want)
			}
		})
	}
}

func FuzzHarmless(f *testing.F) {
	f.Add("a\x1b[2J", "b\u202e\n")
	f.Add("\xff\x00", "\u009b\u2028")
	f.Fuzz(func(t *testing.T, a, b string) {
		var out strings.Builder
		r := New(Options{Out: &out})
		if err := r.print(r.post(bot.Reply{
			Title: a, Body: []bot.Block{bot.Paragraph(b), bot.Table{Head: []string{a, b}, Rows: [][]string{{b, a}}}, bot.Steps{{Label: a, Text: b, Short: a}}},
			Buttons: []bot.Button{{Label: a, Line: b}},
		})); err != nil {
			t.Fatal(err)
		}
		got := out.String()
		for _, c := range got {
			if c != '\n' && visible(c) != c {
				t.Errorf("%U in %q", c, got)
			}
		}
		if !utf8.ValidString(got) {
			t.Errorf("no text: %q", got)
		}
		if name := fileName(a); name != filepath.Base(name) || strings.HasPrefix(name, ".") || len(name) > 100 {
			t.Errorf("file name %q", name)
		}
	})
}

func TestSave(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, c := range []struct{ name, file, want string }{
		{"the first", "row.png", "out/row.png"},
		{"another of that name", "row.png", "out/row (2).png"},
		{"and another", "row.png", "out/row (3).png"},
		{"without an ending", "row", "out/row"},
		{"again without an ending", "row", "out/row (2)"},
		{"out of the folder", "../../../row.svg", "out/row.svg"},
		{"hidden", ".profile", "out/profile"},
		{"nothing", "", "out/file"},
		{"only dots", "..", "out/file (2)"},
		{"blanks and an escape sequence", "my \x1b[2Jrow\u202e.txt", "out/my--[2Jrow-.txt"},
		{"another system's folders", `C:\temp\row.pdf`, "out/C--temp-row.pdf"},
		{"very long", strings.Repeat("ä", 300) + ".pdf", "out/" + strings.Repeat("ä", 48) + ".pdf"},
	} {
		got, err := save("out", bot.File{Name: c.file, Bytes: []byte(c.name)})
		if err != nil || got != filepath.FromSlash(c.want) {
			t.Errorf("%s: got %q, %v, want %q", c.name, got, err, c.want)
			continue
		}
		if raw, err := os.ReadFile(got); err != nil || string(raw) != c.name {
			t.Errorf("%s: holds %q, %v", c.name, raw, err)
		}
	}
}

func TestSaveElsewhere(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "deep", "er")
	if got, err := save(folder, bot.File{Name: "a.txt"}); err != nil || got != filepath.Join(folder, "a.txt") {
		t.Errorf("got %q, %v", got, err)
	}
}

// TestSaveNotThroughALink writes beside a link, not to where it leads.
func TestSaveNotThroughALink(t *testing.T) {
	folder, target := t.TempDir(), filepath.Join(t.TempDir(), "precious")
	if err := os.Symlink(target, filepath.Join(folder, "a.txt")); err != nil {
		t.Skip(err)
	}
	if got, err := save(folder, bot.File{Name: "a.txt"}); err != nil || filepath.Base(got) != "a (2).txt" {
		t.Errorf("got %q, %v", got, err)
	}
	if _, err := os.Lstat(target); err == nil {
		t.Error("written through the link")
	}
}

func TestFileThatCannotBeSaved(t *testing.T) {
	o := options(t)
	o.Files = filepath.Join(t.TempDir(), "a file")
	if err := os.WriteFile(o.Files, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	got := New(o).reply(bot.Reply{Title: "A row", Files: []bot.File{{Name: "row.png"}}})
	if got != "A row\n\nCould not save row.png\n" {
		t.Errorf("got %q", got)
	}
}
