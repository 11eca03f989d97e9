package paper

import "golang.org/x/text/unicode/norm"

// TextWidth is how wide a line of text will be, in points. It is the sum of
// the letters' own widths, in a picture as in print.
func TextWidth(text string, size float64, style Style) float64 {
	f, width := faceOf(style), 0.0
	for _, r := range norm.NFC.String(text) {
		width += f.glyph(r).advance
	}
	return width * size
}

// Covered tells whether every letter of a text can be set. What cannot is set
// as an empty box; a name with such a letter is better left as a line to write on.
func Covered(text string) bool {
	f := faceOf(Regular)
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, r := range norm.NFC.String(text) {
		if f.find(r) == nil {
			return false
		}
	}
	return true
}

// alignShift is how far to the left of its X a text begins.
func alignShift(l Lettered) float64 {
	switch l.Align {
	case Middle:
		return TextWidth(l.Text, l.Size, l.Style) / 2
	case End:
		return TextWidth(l.Text, l.Size, l.Style)
	}
	return 0
}
