package paper

// Card is the picture over a session's post: what, when, and what to have ready.
// Whoever makes one gives it nothing about a person and no link: a picture goes on
// where words can be taken back.
type Card struct {
	Class string
	Title string
	When  []string // a line for the date and one for the time, as the post says them
	About []string // topic, length, and so on
	Ready string   // what to have ready
	Head  string   // over Ready
}

const cardLines = 3 // the most lines that a title or a topic may fill

// Sheet draws the card: a band of lace, as the model of cloth gives it, and the
// words below.
func (c Card) Sheet() *Sheet {
	s := NewSheet(phoneWidth, 0)
	const band = 62.0
	s.Place(bandOfLace(phoneWidth, band), 0, 0, 1)
	col := &column{s: s, x: margin + 4, w: phoneWidth - 2*margin - 8, y: band + 6, lines: cardLines}
	col.para(c.Class, sizeText, Regular, inkLine)
	col.skip(1)
	col.para(c.Title, sizeTitle+3, Bold, Black)
	col.skip(4)
	for i, line := range c.When {
		style := Regular
		if i == 0 {
			style = Bold
		}
		col.para(line, sizeTitle, style, Black)
	}
	col.skip(4)
	for _, line := range c.About {
		col.para(line, sizeText+1, Regular, Black)
		col.skip(1)
	}
	if c.Ready != "" {
		c.ready(col)
	}
	s.H = col.y + margin
	return s
}

// ready sets what to have ready on a panel.
func (c Card) ready(col *column) {
	col.skip(5)
	inner := &column{s: NewSheet(col.w, 0), x: 10, w: col.w - 20, y: 5, lines: 2 * cardLines}
	inner.para(c.Head, sizeText, Bold, Black)
	inner.para(c.Ready, sizeText+1, Regular, Black)
	inner.skip(6)
	inner.s.H = inner.y
	col.s.Fill(new(Path).RoundRect(col.x, col.y, col.w, inner.y, 5), inkPale)
	col.s.Rect(col.x, col.y+3, 3, inner.y-6, inkWeft)
	col.s.Place(inner.s, col.x, col.y, 1)
	col.skip(inner.y)
}
