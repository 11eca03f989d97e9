package lace

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
)

var update = flag.Bool("update", false, "write the texts in testdata anew")

// looksLike compares drawings with those kept in testdata; whoever writes them
// anew with -update looks at them.
func looksLike(t *testing.T, name, got string) {
	t.Helper()
	kept := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(kept, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(kept)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-kept +drawn):\n%s", name, diff)
	}
}

// upright is a chart as the finished cloth shows it: the first woven row at the foot.
func upright(c Chart) string {
	rows := c.Strings()
	slices.Reverse(rows)
	return strings.Join(rows, "\n") + "\n"
}

func lettersOf(t *testing.T, text string) Chart {
	t.Helper()
	chart, err := Letters(text)
	if err != nil {
		t.Fatalf("Letters(%q): %v", text, err)
	}
	return chart
}

func TestTheAlphabetLooksAsItDid(t *testing.T) {
	var b strings.Builder
	for _, r := range Alphabet() {
		b.WriteString(string(r) + "\n" + upright(lettersOf(t, string(r))) + "\n")
	}
	b.WriteString("Zoë & Åse – MAY 2026\n" + upright(lettersOf(t, "Zoë & Åse – MAY 2026")))
	looksLike(t, "alphabet.txt", b.String())
}

func TestTheAlphabetHasWhatIsWrittenWithIt(t *testing.T) {
	have := Alphabet()
	for _, r := range "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,-+!?&':/♥★ÄÖÜÉÈÊÑÅÇØÆŒẞ" {
		if strings.Count(have, string(r)) != 1 {
			t.Errorf("%c is %d times in the alphabet", r, strings.Count(have, string(r)))
		}
	}
}

func TestEveryLetterIsItsOwn(t *testing.T) {
	seen := map[string]rune{}
	for _, r := range Alphabet() {
		chart := lettersOf(t, string(r))
		if other, twice := seen[upright(chart)]; twice {
			t.Errorf("%c is drawn as %c", r, other)
		}
		seen[upright(chart)] = r
		for i, row := range chart {
			if len(row) != chart.Columns() {
				t.Errorf("%c: row %d has %d places, row 1 %d", r, i+1, len(row), chart.Columns())
			}
		}
		if w := chart.Columns(); w < 1 || w > 7 {
			t.Errorf("%c is %d places wide", r, w)
		}
		if unicode.IsLetter(r) && (!anyHole(chart, 0) || !anyHole(chart, chart.Columns()-1)) {
			t.Errorf("%c has an empty edge, so it stands apart from its neighbours", r)
		}
	}
	if len(seen) < 90 {
		t.Errorf("only %d signs", len(seen))
	}
}

// anyHole tells whether a column of a chart has a hole.
func anyHole(c Chart, column int) bool {
	return slices.ContainsFunc(c, func(row []bool) bool { return row[column] })
}

// The slant of a letter's foot tells which way up it is: L stands on its bar, and
// the bar is woven first.
func TestRowOneIsTheFoot(t *testing.T) {
	want := []string{"oooo", "o...", "o...", "o...", "o...", "o...", "o..."}
	if diff := cmp.Diff(want, lettersOf(t, "L").Strings()); diff != "" {
		t.Error(diff)
	}
}

func TestLettersStandSideBySide(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		columns    int
		rows       int
	}{
		{"one letter", "M", 5, 7},
		{"one place between letters", "MAY", 5 + 1 + 4 + 1 + 5, 7},
		{"three between words", "A B", 4 + 3 + 4, 7},
		{"any blank, and those outside", "  A \n\t B ", 4 + 3 + 4, 7},
		{"a row for the dots and one to keep them apart", "Ä", 4, 9},
		{"all share the height of the highest", "ÄÉ", 4 + 1 + 4, 10},
		{"and the depth of the deepest", "ÇÉ", 4 + 1 + 4, 12},
		{"ß as its capital", "ß", 4, 7},
		{"a small picture of a heart", "❤\ufe0f", 7, 7},
	} {
		t.Run(tt.name, func(t *testing.T) {
			chart := lettersOf(t, tt.text)
			if chart.Columns() != tt.columns || len(chart) != tt.rows {
				t.Errorf("%q is %d × %d, want %d × %d\n%s", tt.text, chart.Columns(), len(chart), tt.columns, tt.rows, upright(chart))
			}
		})
	}
}

func TestWrittenAlike(t *testing.T) {
	for _, tt := range [][2]string{
		{"may", "MAY"},
		{"e\u0301", "É"}, // as some keyboards send it
		{"n\u0303", "Ñ"},
		{"straße", "STRAẞE"},
		{"ada’s", "ADA'S"},
		{"a–b", "A-B"},
		{"æøœ", "ÆØŒ"},
		{"*", "★"},
	} {
		if diff := cmp.Diff(upright(lettersOf(t, tt[1])), upright(lettersOf(t, tt[0]))); diff != "" {
			t.Errorf("%q is not as %q: %s", tt[0], tt[1], diff)
		}
	}
}

var faultyLetters = []struct {
	name, text string
	want       calc.Fault
}{
	{"nothing", "", calc.Fault{Code: calc.BadValue, Key: KeyLettersNone}},
	{"blanks", " \t\u00a0", calc.Fault{Code: calc.BadValue, Key: KeyLettersNone}},
	{"too long", strings.Repeat("A", 61), calc.Fault{Code: calc.OutOfRange, Key: KeyLettersLong, Args: []any{61, 60}}},
	{"no such letter", "MAЙ", calc.Fault{Code: calc.BadValue, Key: KeyLetterUnknown, Args: []any{"Й", Alphabet()}}},
	{"one that is not seen", "M\u200bA", calc.Fault{Code: calc.BadValue, Key: KeyLetterUnknown, Args: []any{"U+200B", Alphabet()}}},
	{"an accent alone", "\u0301A", calc.Fault{Code: calc.BadValue, Key: KeyLetterUnknown, Args: []any{"U+0301", Alphabet()}}},
	{"an accent on a mark", "+\u0301", calc.Fault{Code: calc.BadValue, Key: KeyLetterUnknown, Args: []any{"U+0301", Alphabet()}}},
	{"two accents on one letter", "É\u0308", calc.Fault{Code: calc.BadValue, Key: KeyLetterUnknown, Args: []any{"U+0308", Alphabet()}}},
	{"no text", "M\xff", calc.Fault{Code: calc.BadValue, Key: KeyLetterUnknown, Args: []any{"U+FFFD", Alphabet()}}},
}

func TestLettersRefuses(t *testing.T) {
	for _, tt := range faultyLetters {
		t.Run(tt.name, func(t *testing.T) {
			tt.want.Field, tt.want.Example = "text", "text:MAY"
			_, err := Letters(tt.text)
			var fault *calc.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("Letters(%q) = %v", tt.text, err)
			}
			if diff := cmp.Diff(tt.want, *fault); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestATextIsItsLetters: cut at the empty columns, a line is the letters that it
// was written with, at their own widths.
func TestATextIsItsLetters(t *testing.T) {
	signs := []rune(Alphabet())
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SliceOfN(rapid.SampledFrom(signs), 1, MaxLetters).Draw(t, "text")
		line, err := Letters(string(text))
		if err != nil {
			t.Fatal(err)
		}
		at := 0
		for i, r := range text {
			alone, err := Letters(string(r))
			if err != nil {
				t.Fatal(err)
			}
			if i > 0 {
				if anyHole(line, at) {
					t.Fatalf("nothing between %c and the sign before it", r)
				}
				at++
			}
			cut := Chart{}
			for _, row := range line {
				cut = append(cut, row[at:at+alone.Columns()])
			}
			if !strings.Contains(upright(cut), strings.TrimSuffix(upright(alone), "\n")) {
				t.Fatalf("%c at %d of %q is\n%s", r, at, string(text), upright(cut))
			}
			at += alone.Columns()
		}
		if at != line.Columns() || line.Columns() > MaxChartColumns || len(line) > MaxChartRows {
			t.Fatalf("%d places, %d of them letters", line.Columns(), at)
		}
	})
}

func FuzzLetters(f *testing.F) {
	for _, text := range []string{"MAY", "e\u0301 ß ♥\ufe0f", "", "\xff", "\u0301", "A\u0301\u0301", "Й"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		chart, err := Letters(text)
		var fault *calc.Fault
		switch {
		case err == nil && (len(chart) < letterRows || chart.Columns() == 0):
			t.Errorf("%q is nothing", text)
		case err != nil && !errors.As(err, &fault):
			t.Errorf("%q: %v", text, err)
		}
	})
}
