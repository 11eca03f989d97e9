package bot

import "unicode"

// wide are the blocks whose characters take two columns (derived from the East
// Asian Width property W and F, by block and so only nearly exact).
var wide = &unicode.RangeTable{
	R16: []unicode.Range16{
		{Lo: 0x1100, Hi: 0x115F, Stride: 1}, // Hangul initials
		{Lo: 0x2E80, Hi: 0x303E, Stride: 1}, // radicals, ideographic punctuation
		{Lo: 0x3041, Hi: 0xA4CF, Stride: 1}, // kana to Yi
		{Lo: 0xAC00, Hi: 0xD7A3, Stride: 1}, // Hangul
		{Lo: 0xF900, Hi: 0xFAFF, Stride: 1}, // compatibility ideographs
		{Lo: 0xFE30, Hi: 0xFE6F, Stride: 1}, // vertical and small forms
		{Lo: 0xFF01, Hi: 0xFF60, Stride: 1}, // full-width forms
		{Lo: 0xFFE0, Hi: 0xFFE6, Stride: 1}, // full-width signs
	},
	R32: []unicode.Range32{
		{Lo: 0x1F300, Hi: 0x1F64F, Stride: 1}, // pictographs
		{Lo: 0x1F680, Hi: 0x1F6FF, Stride: 1}, // signs of transport
		{Lo: 0x1F900, Hi: 0x1F9FF, Stride: 1}, // more pictographs
		{Lo: 0x20000, Hi: 0x3FFFD, Stride: 1}, // rare ideographs
	},
}

// width is how many columns a text takes in a terminal: none for what is drawn
// over the letter before it, two for wide characters.
func width(s string) int {
	n := 0
	for _, r := range s {
		switch {
		case r < '\u00ad': // nearly all; the first that is not seen is the soft hyphen
			n++
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		case unicode.Is(wide, r):
			n += 2
		default:
			n++
		}
	}
	return n
}
