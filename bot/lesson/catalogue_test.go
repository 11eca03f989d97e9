package lesson

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/bot/paper"
	"weftroom/bot/timetable"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
	"weftroom/calc/yarn"
)

// Keys that are put together from a beginning and something of a known list.
var composed = map[string][]string{
	"side.":           {"right", "left"},
	"loom.ask.":       append(slices.Clone(questions), "heddle_shafts", "rightmost_shafts"),
	"loom.unsure.":    append(slices.Clone(questions), "heddle_shafts", "rightmost_shafts"),
	"loom.kind.":      {"rigid_heddle", "table_loom", "floor_loom"},
	"loom.rightmost.": {"hole", "slot", "shaft1", "shaft2"},
	"loom.units.":     {"inches", "centimetres"},
	"loom.from.":      {"right", "left"}, // buttons, as "loom." + question + "." + answer
	"sett.weave.":     {"plain", "twill", "lace"},
	"report.state.":   {"planned", "held", "cancelled"},
	"roster.":         {"coming", "away"},
	"problem.sees.":   seenNames[1:],
	"mend.":           mendKeys(),
}

// mendKeys are the parts of what is said of each fault.
func mendKeys() (rests []string) {
	for _, fault := range faults {
		for _, part := range []string{"sees", "why", "now", "next"} {
			rests = append(rests, fault+"_"+part)
		}
	}
	return rests
}

// TestNothingIsLeftUnsaid: each sentence that any package can ask for is in the
// catalogue.
func TestNothingIsLeftUnsaid(t *testing.T) {
	needed := slices.Concat(bot.ChatKeys, lace.Keys, paper.TonesKeys, measure.Keys, warp.Keys, yarn.Keys, timetable.Keys, keysOfLesson(t))
	if missing := English().Missing(newRoom().Commands(), needed...); len(missing) > 0 {
		t.Errorf("not in the catalogue: %q", missing)
	}
}

// TestNothingIsSaidInVain: each sentence of the catalogue is asked for by
// somebody.
func TestNothingIsSaidInVain(t *testing.T) {
	used := map[calc.Key]bool{}
	for _, key := range slices.Concat(bot.Keys, bot.ChatKeys, lace.Keys, paper.TonesKeys, measure.Keys, warp.Keys, yarn.Keys, timetable.Keys, keysOfLesson(t), keysOfDeclarations()) {
		used[key] = true
	}
	for _, dir := range []string{"../../adapters", "../../bot"} {
		for _, l := range literals(t, dir) {
			used[calc.Key(l)] = true
		}
	}
	for key := range English() {
		whole := calc.Key(strings.TrimSuffix(strings.TrimSuffix(string(key), ".one"), ".many"))
		if !used[key] && !used[whole] {
			t.Errorf("%s is never said", key)
		}
	}
}

// TestNoSentenceIsWrittenTwice: of two parts of the catalogue the second would
// change what the first says.
func TestNoSentenceIsWrittenTwice(t *testing.T) {
	files, err := filepath.Glob("english*.go")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	written := map[string]string{}
	for _, name := range files {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			pair, ok := n.(*ast.KeyValueExpr)
			if !ok {
				return true
			}
			if key, ok := pair.Key.(*ast.BasicLit); ok {
				if other, twice := written[key.Value]; twice {
					t.Errorf("%s is in %s and in %s", key.Value, other, name)
				}
				written[key.Value] = name
			}
			return true
		})
	}
	if len(written) < 300 {
		t.Errorf("only %d sentences found", len(written))
	}
}

// TestUnsaidAndVainAreFound spoils the catalogue both ways.
func TestUnsaidAndVainAreFound(t *testing.T) {
	spoilt := English()
	delete(spoilt, "row.title")
	missing := spoilt.Missing(newRoom().Commands(), keysOfLesson(t)...)
	if !slices.Equal(missing, []calc.Key{"row.title"}) {
		t.Errorf("without row.title %q are missing", missing)
	}
	if slices.Contains(keysOfLesson(t), "row.rows") || !slices.Contains(keysOfLesson(t), "row.rows.many") {
		t.Error("a sentence in two forms is not needed as both")
	}
}

// keysOfDeclarations are the summaries and meanings that commands ask for.
func keysOfDeclarations() []calc.Key {
	return keysOf("", newRoom().Commands())
}

func keysOf(parent string, commands []*bot.Command) []calc.Key {
	texts := English()
	var keys []calc.Key
	for _, c := range commands {
		path := parent + c.Name
		keys = append(keys, calc.Key("cmd."+path))
		for _, p := range c.Params {
			key := calc.Key("arg." + path + "." + p.Name)
			if _, own := texts[key]; !own {
				key = calc.Key("arg." + p.Name)
			}
			keys = append(keys, key)
		}
		keys = append(keys, keysOf(path+".", c.Subs)...)
	}
	return keys
}

var (
	keyForm    = regexp.MustCompile(`^[a-z]+(\.[a-z0-9_]+)+$`)
	prefixForm = regexp.MustCompile(`^[a-z]+(\.[a-z_]+)*\.$`)
)

// keysOfLesson are all keys that the source of this package names: as
// they stand, in their forms for one and many, or put together.
func keysOfLesson(t *testing.T) []calc.Key {
	t.Helper()
	texts := English()
	var keys []calc.Key
	for _, l := range literals(t, ".") {
		key := calc.Key(l)
		_, counted := texts[key+".many"]
		switch {
		case keyForm.MatchString(l) && counted:
			keys = append(keys, key+".one", key+".many")
		case keyForm.MatchString(l):
			keys = append(keys, key)
		case prefixForm.MatchString(l) && l != "loom.": // "loom." + question + "." + answer
			rests, known := composed[l]
			if !known {
				t.Errorf("%q begins keys that the test does not know", l)
			}
			for _, rest := range rests {
				keys = append(keys, calc.Key(l+rest))
			}
		}
	}
	for _, rest := range composed["loom.from."] {
		keys = append(keys, calc.Key("loom.from."+rest))
	}
	slices.Sort(keys)
	return slices.Compact(keys)
}

// literals are the texts in the Go source below a folder, without tests and
// without the catalogue and the glossary themselves.
func literals(t *testing.T, dir string) []string {
	t.Helper()
	var found []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		name := filepath.Base(path)
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") ||
			strings.HasPrefix(name, "english") || strings.HasPrefix(name, "words") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				if s, err := strconv.Unquote(lit.Value); err == nil {
					found = append(found, s)
				}
			}
			_, imports := n.(*ast.ImportSpec)
			return !imports
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}
