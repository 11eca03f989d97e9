package console

import (
	"strings"
	"unicode"
)

// harmless takes out of a text everything that could move the cursor, change
// the terminal or turn the reading direction: a name in it may come from another
// chat, and from anybody. Line breaks stay.
func harmless(s string) string { return strings.Map(visible, strings.ToValidUTF8(s, "\uFFFD")) }

// line is a harmless text on one line.
func line(s string) string { return strings.ReplaceAll(harmless(s), "\n", " ") }

// visible stands for a character that a terminal may obey: the picture that
// Unicode has of it, or the replacement character. It is as wide as one letter,
// so that columns stay.
func visible(r rune) rune {
	switch {
	case r == '\n':
		return r
	case r == '\t', r == '\u2028', r == '\u2029':
		return ' '
	case r < 0x20:
		return '\u2400' + r
	case r == 0x7f:
		return '\u2421'
	case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), r == '\uFEFF', unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r), r >= 0xE0000 && r <= 0xE007F:
		return '\uFFFD'
	}
	return r
}
