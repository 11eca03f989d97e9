package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/rogpeppe/go-internal/testscript"

	"weftroom/bot/lesson"
)

// TestChats plays conversations with `weftroom chat` through a pipe. `harmless
// FILE` checks that a file holds nothing that a terminal would obey.
func TestChats(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/chat",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			if err := os.WriteFile(filepath.Join(e.WorkDir, "hostile.txt"), []byte(hostileLines), 0o600); err != nil {
				return err
			}
			long := "row " + strings.Repeat("x", 2<<20) + "\nword heddle\n"
			return os.WriteFile(filepath.Join(e.WorkDir, "long.txt"), []byte(long), 0o600)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"harmless": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) != 1 {
					ts.Fatalf("usage: harmless FILE")
				}
				for _, r := range ts.ReadFile(args[0]) {
					if unicode.IsControl(r) && r != '\n' || unicode.Is(unicode.Bidi_Control, r) || r == unicode.ReplacementChar {
						ts.Fatalf("%U in %s", r, args[0])
					}
				}
			},
		},
	})
}

const hostileLines = "word \x1b[2J\x1b]0;title\x07\nword a\u202eb\nword \xff\xfe\nword \x00\n\x07\nrow ends:1e309\nword \"open\nword heddle\n"

// TestConsoleWords holds that the catalogue has all words of the console, with
// as many gaps as are filled.
func TestConsoleWords(t *testing.T) {
	w := consoleWords(lesson.English())
	verb := regexp.MustCompile(`%.`)
	for _, c := range []struct {
		name, word string
		gaps       int
	}{
		{"prompt", w.Prompt, 0}, {"bye", w.Bye, 0}, {"failed", w.Failed, 0}, {"saved", w.Saved, 1}, {"unsaved", w.Unsaved, 1},
	} {
		if got := verb.FindAllString(c.word, -1); len(got) != c.gaps || c.word == "" || strings.HasPrefix(c.word, "console.") {
			t.Errorf("%s: %q", c.name, c.word)
		}
	}
	if len(w.Leave) == 0 {
		t.Error("no way out")
	}
	for _, word := range w.Leave {
		if word != strings.ToLower(strings.TrimSpace(word)) || word == "" {
			t.Errorf("nobody can leave with %q", word)
		}
	}
}
