package measure

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
)

// MaxText is the longest text, in bytes, that any parser looks at. No quantity
// needs as much; more is refused before any work is done on it.
const MaxText = 200

// reader walks over the characters of one quantity. Words are compared in
// lower case, the text as written is kept for the Fault.
type reader struct {
	written []rune
	text    []rune // written, in lower case, character by character
	pos     int
	example string
}

// newReader refuses what no quantity can be: too much text, broken encoding,
// and invisible characters. A right-to-left mark is refused and not stripped,
// because it makes the text read differently from what is stored, and the
// person who pasted it should see that.
func newReader(s, example string) (*reader, error) {
	r := &reader{example: example}
	if len(s) > MaxText {
		r.written = []rune(strings.ToValidUTF8(s[:MaxText], "\uFFFD"))
		return nil, r.fault(calc.BadValue, KeyTooLong, len(r.written), MaxText)
	}
	r.written = []rune(strings.ToValidUTF8(s, "\uFFFD"))
	if !utf8.ValidString(s) {
		return nil, r.fault(calc.BadValue, KeyEncoding, brokenAt(s))
	}
	r.text = make([]rune, len(r.written))
	for i, c := range r.written {
		if unicode.Is(unicode.Cf, c) {
			return nil, r.fault(calc.BadValue, KeyHidden, i, fmt.Sprintf("%U", c))
		}
		r.text[i] = unicode.ToLower(c)
	}
	r.skip()
	if r.end() {
		return nil, r.fault(calc.BadValue, KeyEmpty, 0)
	}
	return r, nil
}

// brokenAt is the number of good characters before the first broken byte.
func brokenAt(s string) int {
	n := 0
	for i := 0; i < len(s); n++ {
		c, size := utf8.DecodeRuneInString(s[i:])
		if c == utf8.RuneError && size == 1 {
			return n
		}
		i += size
	}
	return n
}

func (r *reader) end() bool { return r.pos >= len(r.text) }

// at is the character n places on, 0 beyond the end.
func (r *reader) at(n int) rune {
	if r.pos+n >= len(r.text) {
		return 0
	}
	return r.text[r.pos+n]
}

// skip passes over spaces of any width, the unbreakable ones too.
func (r *reader) skip() {
	for !r.end() && unicode.IsSpace(r.text[r.pos]) {
		r.pos++
	}
}

// word reads letters and one full stop that ends them as an abbreviation. It
// moves on only if there are any.
func (r *reader) word() string {
	start := r.pos
	for !r.end() && unicode.IsLetter(r.text[r.pos]) {
		r.pos++
	}
	w := string(r.text[start:r.pos])
	if w != "" && r.at(0) == '.' && !isDigit(r.at(1)) {
		r.pos++
	}
	return w
}

// peekWord is the next word, without moving on.
func (r *reader) peekWord() string {
	start := r.pos
	defer func() { r.pos = start }()
	r.skip()
	return r.word()
}

// takeWord moves past the next word if it is w.
func (r *reader) takeWord(w string) bool {
	start := r.pos
	r.skip()
	if r.word() == w {
		return true
	}
	r.pos = start
	return false
}

// takeSlash moves past a slash and the spaces around it.
func (r *reader) takeSlash() bool {
	start := r.pos
	r.skip()
	if isSlash(r.at(0)) {
		r.pos++
		r.skip()
		return true
	}
	r.pos = start
	return false
}

// whole reads a run of digits, "" if there are none.
func (r *reader) whole() string {
	start := r.pos
	for isDigit(r.at(0)) {
		r.pos++
	}
	return string(r.text[start:r.pos])
}

// rest is what has not been read, as written, for a Fault.
func (r *reader) rest() string {
	return visible(r.written[min(r.pos, len(r.written)):])
}

func (r *reader) fault(code calc.Code, key calc.Key, pos int, more ...any) *calc.Fault {
	args := append([]any{visible(r.written), pos + 1}, more...)
	return &calc.Fault{Code: code, Key: key, Args: args, Example: r.example}
}

// here is a Fault of the kind that cannot be read, at the present place.
func (r *reader) here(key calc.Key, more ...any) *calc.Fault {
	return r.fault(calc.BadValue, key, r.pos, more...)
}

// unexpected says what stands at the present place and has no meaning there.
func (r *reader) unexpected() *calc.Fault {
	return r.here(KeyUnexpected, r.rest())
}

// visible shortens a text for a sentence and shows what would not be seen.
func visible(text []rune) string {
	const most = 40
	var b strings.Builder
	for i, c := range text {
		if i == most {
			b.WriteRune('…')
			break
		}
		switch {
		case unicode.IsSpace(c):
			b.WriteRune(' ')
		case unicode.IsPrint(c):
			b.WriteRune(c)
		default:
			fmt.Fprintf(&b, "<%U>", c)
		}
	}
	return b.String()
}

func isDigit(c rune) bool { return '0' <= c && c <= '9' }

// isSlash knows the slash, the fraction slash and the division slash.
func isSlash(c rune) bool { return c == '/' || c == '\u2044' || c == '\u2215' }

func isMinus(c rune) bool {
	return c == '-' || c == '\u2212' || c == '\u2010' || c == '\u2011' || c == '\u2013'
}
