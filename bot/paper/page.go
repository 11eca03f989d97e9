package paper

import (
	"strings"
	"unicode"

	"weftroom/bot"
)

// PageSize is a size of paper.
type PageSize struct{ W, H float64 } // points

// The sizes of paper that people print on: ISO 216 A4, and US Letter.
var (
	A4     = PageSize{595.28, 841.89}
	Letter = PageSize{612, 792}
)

// MaxHandoutPages is where a handout stops and says that there is more.
const MaxHandoutPages = 24

// The measures of a page, in points. Type is large enough to be read from the
// loom bench, lines are no longer than some ninety letters.
const (
	pageMargin = 54
	footRoom   = 16 // above the lower margin, for the foot
	bodySize   = 11
	bodyLead   = 15
	titleSize  = 20
	titleLead  = 25
	headSize   = 13
	headLead   = 17
	headAbove  = 12
	headBelow  = 3
	smallSize  = 9
	smallLead  = 12
	blockBelow = 7

	// More than all pages of a handout hold, of the narrowest letters.
	mostLines  = 2000
	mostOnLine = 300
	mostBytes  = mostLines * mostOnLine
)

// inkFoot is that of what stands at the foot of a page and below pictures.
var inkFoot = Ink{0x4a, 0x4a, 0x50}

// flow fills pages from the top.
type flow struct {
	size    PageSize
	pages   []*Sheet
	y       float64 // where the next thing begins
	reserve float64 // kept free on the last page that may be
	full    bool    // nothing more is taken
	wait    []bot.Picture
}

func newFlow(size PageSize, reserve float64) *flow {
	f := &flow{size: size, reserve: reserve}
	f.turn()
	return f
}

func (f *flow) width() float64 { return f.size.W - 2*pageMargin }

func (f *flow) page() *Sheet { return f.pages[len(f.pages)-1] }

// bottom is how far down this page may be filled.
func (f *flow) bottom() float64 {
	b := f.size.H - pageMargin - footRoom
	if len(f.pages) == MaxHandoutPages {
		b -= f.reserve
	}
	return b
}

// turn begins a new page.
func (f *flow) turn() {
	if len(f.pages) == MaxHandoutPages {
		f.full = true
		return
	}
	f.pages = append(f.pages, NewSheet(f.size.W, f.size.H))
	f.y = pageMargin
}

// fits tells whether something so high has room on this page, or would have no
// more on any other.
func (f *flow) fits(high float64) bool { return f.y <= pageMargin || f.y+high <= f.bottom() }

// room makes sure that there is room for something so high, on a new page where
// there is none here, and tells whether there is. What is higher than a page
// gets a whole one.
func (f *flow) room(high float64) bool {
	if f.full {
		return false
	}
	if !f.fits(high) {
		f.turn()
	}
	return !f.full
}

// gap leaves space, but not at the top of a page.
func (f *flow) gap(high float64) {
	if f.y > pageMargin {
		f.y += high
	}
}

// text sets a line whose top is at the flow's y moved by dy.
func (f *flow) text(x, dy float64, t typeface, align Align, ink Ink, text string) {
	f.page().Text(x, f.y+dy+t.lead-(t.lead-t.size)/2-t.size*0.18, t.size, t.style, align, ink, text)
}

// typeface is how text is set: the size of its em and the height of its lines.
type typeface struct {
	size, lead float64
	style      Style
}

var (
	typeTitle   = typeface{titleSize, titleLead, Bold}
	typeHead    = typeface{headSize, headLead, Bold}
	typeBody    = typeface{bodySize, bodyLead, Regular}
	typeStrong  = typeface{bodySize, bodyLead, Bold}
	typeShort   = typeface{headSize, bodyLead, Bold}
	typeCaption = typeface{smallSize, smallLead, Italic}
	typeFoot    = typeface{smallSize, smallLead, Regular}
)

func (t typeface) width(text string) float64 { return TextWidth(text, t.size, t.style) }

// widthUpTo is the width of a text, or most when that is less.
func (t typeface) widthUpTo(text string, most float64) float64 {
	_, rest, w := t.split(text, most)
	if rest != "" {
		return most
	}
	return min(w, most)
}

// lines breaks a text at blanks into lines that are no wider than width, and
// a word that is wider within itself. A text of nothing is one empty line.
// Longer than the pages of a handout it need not be.
func (t typeface) lines(text string, width float64) []string {
	var lines []string
	for part := range strings.SplitSeq(text[:min(len(text), mostBytes)], "\n") {
		lines = t.fill(lines, printable(part), width)
		if len(lines) >= mostLines {
			return lines[:mostLines]
		}
	}
	return lines
}

// most is lines, but no more than n of them; the last one shows that something is
// gone.
func (t typeface) most(n int, text string, width float64) []string {
	lines := t.lines(text[:min(len(text), n*mostOnLine)], width)
	if len(lines) > n {
		lines = append(lines[:n-1], t.cut(lines[n-1]+" "+lines[n], t.width(lines[n-1])))
	}
	return lines
}

func (t typeface) fill(lines []string, text string, width float64) []string {
	blank := t.width(" ")
	var line strings.Builder
	used := 0.0
	for word := range strings.FieldsSeq(text) {
		for word != "" && len(lines) < mostLines {
			head, rest, w := t.split(word, width)
			if line.Len() > 0 && used+blank+w > width {
				lines = append(lines, line.String())
				line.Reset()
				used = 0
			}
			if line.Len() > 0 {
				line.WriteByte(' ')
				used += blank
			}
			line.WriteString(head)
			used += w
			word = rest
		}
	}
	return append(lines, line.String())
}

// split takes from a word as many letters as fit a width, one at least, and
// gives how wide they are.
func (t typeface) split(word string, width float64) (head, rest string, used float64) {
	for i, r := range word {
		w := t.width(string(r))
		if i > 0 && used+w > width {
			return word[:i], word[i:], used
		}
		used += w
	}
	return word, "", used
}

// cut shortens a text to a width, with an ellipsis where something is gone.
func (t typeface) cut(text string, width float64) string {
	text = strings.Join(strings.Fields(printable(text[:min(len(text), mostOnLine)])), " ")
	if _, rest, _ := t.split(text, width); rest == "" {
		return text
	}
	head, _, _ := t.split(text, width-t.width("…"))
	return strings.TrimSpace(head) + "…"
}

// printable leaves out what has no look of its own: control characters, and marks
// that turn the direction of writing.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, ""))
}
