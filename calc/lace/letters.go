package lace

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"weftroom/calc"
)

// MaxLetters is the most signs of a text that is woven, blanks among them (our own
// bound).
const MaxLetters = 60

// The empty places between two letters and between two words, and between two texts
// side by side (our own choice).
const (
	letterGap = 1
	WordGap   = 3
)

// Sentences about letters. Counts in Args are ints.
const (
	// KeyLetterUnknown: the sign that is none of ours, as text; all that there are, as text.
	KeyLetterUnknown calc.Key = "lace.letter_unknown"
	// KeyLettersNone has no Args: the text has no sign that makes a hole.
	KeyLettersNone calc.Key = "lace.letters_none"
	// KeyLettersLong: the signs given, the most.
	KeyLettersLong calc.Key = "lace.letters_long"
)

// Letters writes a text in holes, on one line: capitals (small letters are read as
// capitals), figures and the marks of Alphabet, from letters of the project's own
// drawing, 7 rows high and mostly 4 places wide. Between two letters lies one empty
// place, between two words 3. Where a letter has an accent or a tail, the whole
// line is as many rows higher as the highest needs, so that all stand on one foot.
//
// The Chart's first row is the foot, as it is woven first. The error is a
// *calc.Fault about the argument text: nothing to write, more than MaxLetters
// signs, or a sign that there is not.
func Letters(text string) (Chart, error) {
	words := strings.Fields(text)
	if n := len([]rune(strings.Join(words, " "))); n > MaxLetters {
		return nil, lettersFault(calc.OutOfRange, KeyLettersLong, n, MaxLetters)
	}
	var line []glyph
	for i, word := range words {
		signs, fault := spelt(word)
		if fault != nil {
			return nil, fault
		}
		for j, sign := range signs {
			switch {
			case j > 0:
				line = append(line, blank(letterGap))
			case i > 0 && len(line) > 0:
				line = append(line, blank(WordGap))
			}
			line = append(line, sign)
		}
	}
	if len(line) == 0 {
		return nil, lettersFault(calc.BadValue, KeyLettersNone)
	}
	return typeset(line), nil
}

// Alphabet is every sign that Letters writes, each once: capitals, those with
// accents, figures, marks.
func Alphabet() string {
	var b strings.Builder
	for _, r := range slices.Sorted(maps.Keys(letterforms)) {
		if unicode.IsLetter(r) {
			b.WriteRune(r)
		}
	}
	for _, r := range slices.Sorted(maps.Keys(accented)) {
		b.WriteRune(r)
	}
	for _, class := range []func(rune) bool{unicode.IsDigit, isMark} {
		for _, r := range slices.Sorted(maps.Keys(letterforms)) {
			if class(r) {
				b.WriteRune(r)
			}
		}
	}
	return b.String()
}

func isMark(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }

// glyph is a sign as it is drawn: upright, the top row first, every row equally
// long; above and below are the rows over and under the 7 of the letter itself.
type glyph struct {
	above, body, below []string
	letter             bool
}

const letterRows = 7

func (g glyph) width() int { return len(g.body[0]) }

func blank(places int) glyph {
	return glyph{body: slices.Repeat([]string{strings.Repeat(".", places)}, letterRows)}
}

// spelt are the glyphs of a word.
func spelt(word string) ([]glyph, *calc.Fault) {
	var signs []glyph
	for _, r := range word {
		if r == variation {
			continue
		}
		if accent, ok := accents[r]; ok && len(signs) > 0 && signs[len(signs)-1].bare() {
			signs[len(signs)-1] = accent.on(signs[len(signs)-1])
			continue
		}
		sign, ok := glyphOf(r)
		if !ok {
			return nil, lettersFault(calc.BadValue, KeyLetterUnknown, shown(r), Alphabet())
		}
		signs = append(signs, sign)
	}
	return signs, nil
}

// variation asks for a sign to be drawn as a small picture or as text; to us it is the same.
const variation = '\ufe0f'

// bare tells whether an accent may be set: a letter has none yet, and a mark takes none.
func (g glyph) bare() bool { return g.letter && g.above == nil && g.below == nil }

func glyphOf(r rune) (glyph, bool) {
	if same, ok := alike[r]; ok {
		r = same
	}
	r = unicode.ToUpper(r)
	if rows, ok := letterforms[r]; ok {
		return glyph{body: rows[:], letter: unicode.IsLetter(r)}, true
	}
	if parts, ok := accented[r]; ok {
		base := letterforms[parts.base]
		return accents[parts.accent].on(glyph{body: base[:]}), true
	}
	return glyph{}, false
}

// shown names a sign in a sentence: as itself, or by its number where it would not be seen.
func shown(r rune) string {
	if unicode.IsPrint(r) && r != unicode.ReplacementChar && !unicode.IsMark(r) {
		return string(r)
	}
	return fmt.Sprintf("U+%04X", r)
}

// typeset puts glyphs side by side on one foot, as a Chart.
func typeset(line []glyph) Chart {
	above, below := 0, 0
	for _, g := range line {
		above, below = max(above, len(g.above)), max(below, len(g.below))
	}
	chart := make(Chart, above+letterRows+below)
	for _, g := range line {
		empty := strings.Repeat(".", g.width())
		upright := slices.Concat(
			slices.Repeat([]string{empty}, above-len(g.above)), g.above, g.body, g.below,
			slices.Repeat([]string{empty}, below-len(g.below)))
		for i, row := range upright {
			foot := len(chart) - 1 - i
			for _, sign := range row {
				chart[foot] = append(chart[foot], sign == 'o')
			}
		}
	}
	return chart
}

func lettersFault(code calc.Code, key calc.Key, args ...any) *calc.Fault {
	return &calc.Fault{Code: code, Key: key, Field: "text", Args: args, Example: "text:MAY"}
}
