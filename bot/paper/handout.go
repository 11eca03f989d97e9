package paper

import (
	"strings"

	"weftroom/bot"
)

// Handout is a document for someone to print, laid out from the blocks of a
// Reply. All its words are the caller's.
type Handout struct {
	Title    string
	Name     string // whose it is; "", or one with a letter that the fonts lack, is a line to write on
	NameWord string // what stands before the name
	Body     []bot.Block
	Figures  map[string]*Sheet // the drawings, by the Name of the bot.Picture that stands for each in Body
	Credit   string            // at the foot of every page; may be ""
	Language string            // of all this, as in BCP 47
	Size     PageSize
	PageOf   func(page, pages int) string // the page's number
	LeftOut  string                       // the last sentence where there is more than MaxHandoutPages hold
}

// Printed is a handout as a PDF.
type Printed struct {
	PDF     []byte
	Pages   int
	LeftOut bool // the last page says so
}

// Print makes the PDF. However long the body, it has MaxHandoutPages pages at
// most; where that leaves something out, the last page says so. It waits while as
// much is being drawn as there are processors.
func (h Handout) Print() (Printed, error) {
	pens <- struct{}{}
	defer func() { <-pens }()
	pages, leftOut := h.layOut()
	pdf, err := PDF(pages, About{Title: h.about(), Language: h.Language})
	return Printed{pdf, len(pages), leftOut}, err
}

// about is the title as a reader's window shows it.
func (h Handout) about() string {
	if name := h.name(); name != "" {
		return h.Title + " · " + name
	}
	return h.Title
}

// name is the name as it can be set, or nothing.
func (h Handout) name() string {
	name := strings.Join(strings.Fields(printable(h.Name)), " ")
	if !Covered(name) {
		return ""
	}
	return name
}

// layOut gives the pages, and whether something is left out.
func (h Handout) layOut() (pages []*Sheet, leftOut bool) {
	more := typeStrong.most(4, h.LeftOut, h.Size.W-2*pageMargin)
	f := newFlow(h.Size, float64(len(more))*typeStrong.lead+blockBelow)
	h.head(f)
	for i, block := range h.Body {
		if f.full {
			break
		}
		h.waiting(f, false)
		h.block(f, block, h.Body[i+1:])
	}
	h.waiting(f, true)
	if f.full {
		f.y = f.size.H - pageMargin - footRoom - f.reserve + blockBelow
		for _, line := range more {
			f.text(pageMargin, 0, typeStrong, Start, Black, line)
			f.y += typeStrong.lead
		}
	}
	for i, page := range f.pages {
		h.foot(page, i+1, len(f.pages))
	}
	return f.pages, f.full
}

// head sets the title, and the name or the line for it.
func (h Handout) head(f *flow) {
	for _, line := range typeTitle.most(4, h.Title, f.width()) {
		if !f.room(typeTitle.lead) {
			return
		}
		f.text(pageMargin, 0, typeTitle, Start, Black, line)
		f.y += typeTitle.lead
	}
	f.y += 4
	name := typeface{12, 20, Regular}
	f.text(pageMargin, 0, name, Start, Black, h.NameWord)
	x := pageMargin + name.width(h.NameWord+" ")
	if set := h.name(); set != "" {
		strong := typeface{12, 20, Bold}
		f.text(x, 0, strong, Start, Black, strong.cut(set, f.size.W-pageMargin-x))
	} else {
		f.page().Line(x+4, f.y+17, x+230, f.y+17, Pen{Ink: Black, Width: 0.7})
	}
	f.y += name.lead + 2
	f.page().Line(pageMargin, f.y, f.size.W-pageMargin, f.y, Pen{Ink: Black, Width: 1.2})
	f.y += 10
}

// foot sets the credit line and the page's number.
func (h Handout) foot(page *Sheet, number, of int) {
	f := &flow{size: h.Size, pages: []*Sheet{page}, y: h.Size.H - pageMargin - footRoom + 12}
	page.Line(pageMargin, f.y, f.size.W-pageMargin, f.y, Pen{Ink: inkFoot, Width: 0.5})
	f.y += 4
	where := h.PageOf(number, of)
	for i, line := range typeFoot.most(3, h.Credit, f.width()-typeFoot.width(where)-20) {
		f.text(pageMargin, float64(i)*typeFoot.lead, typeFoot, Start, inkFoot, line)
	}
	f.text(f.size.W-pageMargin, 0, typeFoot, End, inkFoot, where)
}

// block sets one block; after are those that follow it.
func (h Handout) block(f *flow, block bot.Block, after []bot.Block) {
	switch b := block.(type) {
	case bot.Heading:
		h.heading(f, string(b), after)
	case bot.Paragraph:
		paragraph(f, typeBody, pageMargin, string(b))
		f.gap(blockBelow)
	case bot.List:
		list(f, b)
	case bot.Steps:
		steps(f, b)
	case bot.Table:
		table(f, b)
	case bot.Picture:
		h.figure(f, b)
	}
}

// mostHeadLines is how many lines one heading has.
const mostHeadLines = 4

// heading keeps together with the beginning of what it stands above.
func (h Handout) heading(f *flow, text string, after []bot.Block) {
	lines := typeHead.most(mostHeadLines, text, f.width())
	high := headAbove + float64(len(lines))*typeHead.lead + headBelow
	next := 3.0 * typeBody.lead
	if len(after) > 0 {
		if p, ok := after[0].(bot.Picture); ok {
			next = h.figureHeight(f, p)
		}
	}
	waits := len(f.wait) > 0 && f.y > f.size.H*0.6 // a drawing should not come far after what it shows
	if waits || !f.fits(high+next) {
		f.turn()
		h.waiting(f, false)
	}
	if !f.room(high + next) {
		return
	}
	f.gap(headAbove)
	for _, line := range lines {
		f.text(pageMargin, 0, typeHead, Start, Black, line)
		f.y += typeHead.lead
	}
	f.y += headBelow
}

// paragraph sets running text from x on to the right margin. Its first two lines
// stay together, and its last two.
func paragraph(f *flow, t typeface, x float64, text string) {
	lines := t.lines(text, f.size.W-pageMargin-x)
	for i, line := range lines {
		together := 1.0
		if i == 0 && len(lines) > 1 || i == len(lines)-2 {
			together = 2
		}
		if !f.room(together * t.lead) {
			return
		}
		f.text(x, 0, t, Start, Black, line)
		f.y += t.lead
	}
}

func list(f *flow, items bot.List) {
	const indent = 14
	for _, item := range items {
		lines := typeBody.lines(item, f.width()-indent)
		if !f.room(typeBody.lead * float64(min(len(lines), 2))) {
			return
		}
		f.page().Circle(pageMargin+4, f.y+typeBody.lead*0.52, 1.8, Black)
		paragraph(f, typeBody, pageMargin+indent, item)
		f.y += 2
	}
	f.gap(blockBelow - 2)
}

// figure places a drawing, as wide as the text at most, with its words below. One
// that has no room here waits for the next place between two blocks that has:
// half a page that stays empty helps nobody.
func (h Handout) figure(f *flow, p bot.Picture) {
	switch {
	case h.Figures[p.Name] == nil:
		paragraph(f, typeCaption, pageMargin, p.Alt)
		f.gap(blockBelow)
	case len(f.wait) > 0:
		f.wait = append(f.wait, p)
	case f.fits(h.figureHeight(f, p)):
		h.place(f, p, figureScale(f, h.Figures[p.Name]))
	case h.scaleHere(f, p) >= leastScale:
		h.place(f, p, h.scaleHere(f, p))
	default:
		f.wait = append(f.wait, p)
	}
}

// waiting places the drawings that wait, as far as there is room for them or, when
// all must be, on new pages.
func (h Handout) waiting(f *flow, all bool) {
	for len(f.wait) > 0 && (all || f.fits(h.figureHeight(f, f.wait[0]))) && f.room(h.figureHeight(f, f.wait[0])) {
		h.place(f, f.wait[0], figureScale(f, h.Figures[f.wait[0].Name]))
		f.wait = f.wait[1:]
	}
}

// leastScale is how small a drawing may be made to have room: its letters of 12
// points are then of 8.
const leastScale = 0.7

// scaleHere is how large a drawing may be to have room on this page.
func (h Handout) scaleHere(f *flow, p bot.Picture) float64 {
	s := h.Figures[p.Name]
	words := h.figureHeight(f, p) - s.H*figureScale(f, s)
	return min(figureScale(f, s), (f.bottom()-f.y-words)/s.H)
}

func (h Handout) place(f *flow, p bot.Picture, scale float64) {
	s := h.Figures[p.Name]
	f.page().Place(s, pageMargin+(f.width()-s.W*scale)/2, f.y, scale)
	f.y += s.H*scale + 4
	for _, line := range typeCaption.most(mostInCell, p.Alt, f.width()) {
		f.text(pageMargin, 0, typeCaption, Start, inkFoot, line)
		f.y += typeCaption.lead
	}
	f.gap(blockBelow)
}

// figureHeight is how high a drawing is with its words.
func (h Handout) figureHeight(f *flow, p bot.Picture) float64 {
	high := float64(len(typeCaption.most(mostInCell, p.Alt, f.width()))) * typeCaption.lead
	if s := h.Figures[p.Name]; s != nil {
		high += s.H*figureScale(f, s) + 4
	}
	return high
}

// figureScale is how large a drawing is printed: as it is, unless it would then be
// wider than the text or leave no room for its words and a heading on the page.
func figureScale(f *flow, s *Sheet) float64 {
	const words = 90
	return min(1, f.width()/s.W, (f.size.H-2*pageMargin-footRoom-words)/s.H)
}
