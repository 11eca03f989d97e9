package paper

import "strings"

// wrap breaks a text into lines no wider than width, at spaces; a single word
// that is wider than a line is broken where it must.
func wrap(text string, width, size float64, style Style) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		for {
			longer := strings.TrimPrefix(line+" "+word, " ")
			if TextWidth(longer, size, style) <= width {
				line = longer
				break
			}
			if line != "" {
				lines, line = append(lines, line), ""
				continue
			}
			head := headOf(word, width, size, style)
			lines, word = append(lines, head), word[len(head):]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// headOf is the longest beginning of a word that fits, one letter at least.
func headOf(word string, width, size float64, style Style) string {
	end := len(word)
	for i := range word {
		if i > 0 && TextWidth(word[:i], size, style) > width {
			break
		}
		if i > 0 {
			end = i
		}
	}
	return word[:end]
}

// column sets text on a sheet from the top down.
type column struct {
	s     *Sheet
	x, w  float64
	y     float64 // where the next line begins, at its top
	lines int     // the most lines of one paragraph; what is longer ends in …
}

// para sets one paragraph.
func (c *column) para(text string, size float64, style Style, ink Ink) {
	lines := wrap(text, c.w, size, style)
	if c.lines > 0 && len(lines) > c.lines {
		lines = lines[:c.lines]
		last := lines[c.lines-1]
		for TextWidth(last+"…", size, style) > c.w && last != "" {
			r := []rune(last)
			last = string(r[:len(r)-1])
		}
		lines[c.lines-1] = strings.TrimRight(last, " ") + "…"
	}
	for _, line := range lines {
		c.y += size * lineHigh
		c.s.Text(c.x, c.y-size*0.34, size, style, Start, ink, line)
	}
}

// skip leaves room.
func (c *column) skip(points float64) { c.y += points }

// Key is one line of a legend: a small sample of what it explains is drawn
// before its words.
type key struct {
	words string
	draw  func(s *Sheet, x, y float64) // in a box of keyWide × keyHigh, its middle at x, y
}

const (
	keyWide = 34.0
	keyHigh = 16.0
)

// keys sets the lines of a legend; one without words is left out.
func (c *column) keys(all ...key) {
	for _, k := range all {
		if k.words == "" {
			continue
		}
		lines := wrap(k.words, c.w-keyWide-8, sizeText, Regular)
		top := c.y
		for i, line := range lines {
			c.s.Text(c.x+keyWide+8, top+sizeText*lineHigh*float64(i+1)-sizeText*0.34, sizeText, Regular, Start, Black, line)
		}
		k.draw(c.s, c.x+keyWide/2, top+max(keyHigh, sizeText*lineHigh)/2)
		c.y = top + max(keyHigh, sizeText*lineHigh*float64(len(lines))) + 4
	}
}
