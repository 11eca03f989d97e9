package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// layer is one rule of the house: who may import what of ours. A package is
// held by the longest prefix that fits it. calc itself holds only the mistake
// that a person can mend, and goes where calc/measure goes.
type layer struct {
	prefix string
	may    []string // prefixes of what it may import, beside itself
}

var layers = []layer{
	{"calc/measure", []string{"calc"}},
	{"calc", []string{"calc"}},
	{"bot", nil},
	{"bot/class", []string{"bot"}},
	{"bot/timetable", []string{"bot/class", "bot"}},
	{"bot/paper", []string{"bot", "calc/"}},
	{"bot/lesson", []string{"bot/class", "bot/timetable", "bot/paper", "calc/", "bot"}},
	{"bot/lesson/lessontest", []string{"calc/"}},
	{"bot/store", []string{"bot/class", "bot/timetable", "bot"}},
	{"bot/cmd/weftroom", []string{"bot", "bot/", "calc/", "adapters/", "config"}},
	{"adapters", []string{"bot", "config"}},
	{"adapters/adaptertest", []string{"bot"}},
	{"config", nil},
}

// everyone may import the quantities, their mistakes, and nothing else unasked.
var everyone = []string{"calc", "calc/measure"}

// top is the top of the repository, seen from here.
const top = "../../.."

// TestLayers holds the rules of DEVELOPERS.md on who imports whom. Tests of a
// package may look further than the package itself.
func TestLayers(t *testing.T) {
	seen := 0
	err := filepath.WalkDir(top, func(file string, d fs.DirEntry, err error) error {
		path := filepath.ToSlash(strings.TrimPrefix(file, top+string(filepath.Separator)))
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		seen++
		for _, imported := range importsOf(t, file) {
			own, ours := strings.CutPrefix(imported, "weftroom/")
			if dir := filepath.ToSlash(filepath.Dir(path)); ours && !allowed(dir, own) {
				t.Errorf("%s imports %s: against the layers", path, imported)
			}
			if strings.HasPrefix(path, "calc/") && !ours && strings.Contains(imported, ".") {
				t.Errorf("%s imports %s: calc uses the standard library only", path, imported)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 20 {
		t.Fatalf("only %d files seen: the test looks in the wrong place", seen)
	}
}

// TestLayersCanFail keeps the rule sharp: these imports must be refused.
func TestLayersCanFail(t *testing.T) {
	for _, c := range []struct{ from, to string }{
		{"calc/lace", "bot"},
		{"bot", "bot/lesson"},
		{"bot", "calc/lace"},
		{"bot/class", "calc/lace"},
		{"bot/class", "bot/store"},
		{"bot/lesson", "bot/store"},
		{"bot/lesson", "adapters/console"},
		{"bot/store", "bot/lesson"},
		{"adapters/console", "bot/lesson"},
		{"adapters/console", "calc/lace"},
		{"config", "bot"},
	} {
		if allowed(c.from, c.to) {
			t.Errorf("%s may import %s", c.from, c.to)
		}
	}
}

func importsOf(t *testing.T, path string) []string {
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, i := range f.Imports {
		p, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, p)
	}
	return out
}

func allowed(from, to string) bool {
	for _, e := range everyone {
		if to == e {
			return true
		}
	}
	var rule layer
	for _, l := range layers {
		if (from == l.prefix || strings.HasPrefix(from, l.prefix+"/")) && len(l.prefix) > len(rule.prefix) {
			rule = l
		}
	}
	for _, m := range rule.may {
		if to == m || (strings.HasSuffix(m, "/") && strings.HasPrefix(to, m)) || (m == "calc" && strings.HasPrefix(to, "calc/")) {
			return true
		}
	}
	return strings.HasPrefix(to, rule.prefix+"/") && rule.prefix != "bot" && rule.prefix != "adapters" && rule.prefix != ""
}
