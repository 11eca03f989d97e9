package paper

import (
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// Preview is a picture of the finished lace: the ends where the model of springs
// (spring.go) lets them settle, over and under as the simulated weaver wove them.
type Preview struct {
	Plan  *lace.Plan
	Sett  measure.Sett   // ends, 0 when not known
	PPI   measure.Sett   // picks, 0 when not known: then as many as ends
	Scale measure.Length // of the bar that shows the size, 0 for none; needs the sett
	Most  int            // crossings of an end and a pick that are shown at most, 0 for as many as there is room for; one row is always shown
	Whole bool           // show all, or as much as can be told apart, however small: of a design a corner says little; not with Most
	Words PreviewWords
}

// PreviewWords are the words on a preview; what is empty is left out.
type PreviewWords struct {
	Title string
	Start string // at the edge where the piece begins
	Scale string // the length of the bar
	Warp  string // legend: what the light upright threads are
	Weft  string // legend: what the darker thread that goes across is
	Hole  string // legend: what shows dark
	Notes []string
}

// Extent is how much of a plan a picture shows, counted from where the piece
// begins.
type Extent struct {
	Ends, OfEnds int
	Rows, OfRows int
}

// Whole tells that nothing is left out.
func (e Extent) Whole() bool { return e.Ends == e.OfEnds && e.Rows == e.OfRows }

const (
	// plainAround is how many plain picks a preview shows before the rows and
	// after them: no lace begins at the first pick.
	plainAround = 4

	clothWide = phoneWidth - 2*margin - 2*clothPad
	clothHigh = 430.0
	clothPad  = 9.0 // of the dark cloth around the piece

	widestPitch = 11.0 // points from end to end, of a narrow warp
	wholeEnds   = 100  // so many ends are shown whole, each 3½ points wide
	partEnds    = 72   // of a wider warp
	beyondEnds  = 12   // ends past the part shown that still pull at it
	wantedRows  = 4    // rows that a picture should have room for: a half-drop shows in two
	smallPitch  = 1.7  // points from end to end and from pick to pick, of a whole piece: five pixels, at which over and under are still seen
)

// Extent is what the picture will show.
func (p Preview) Extent() Extent {
	e, _, _ := p.layout()
	return e
}

// layout is how much is shown and how far ends and picks are apart, in points.
func (p Preview) layout() (e Extent, pitch, pick float64) {
	d := p.Plan.Design
	e = Extent{Ends: d.Ends, OfEnds: d.Ends, OfRows: len(p.Plan.Rows)}
	tall := p.pickTall()
	each := p.Plan.PicksHigh() / e.OfRows
	whole, least := p.Whole && p.Most == 0, smallPitch/min(tall, 1)
	if e.Ends > wholeEnds {
		e.Ends = partEnds
		if whole {
			e.Ends = min(e.OfEnds, max(partEnds, int(clothWide/least)))
		}
	}
	pitch = min(widestPitch, clothWide/float64(e.Ends))
	if whole {
		pitch = min(pitch, max(clothHigh/(tall*float64(e.OfRows*each+2*plainAround)), least))
	}
	want := min(wantedRows, e.OfRows)*each + 2*plainAround
	if least := each + 2*plainAround; pitch*tall*float64(want) > clothHigh {
		pitch = min(pitch, max(clothHigh/(tall*float64(want)), 5))
		pitch = min(pitch, clothHigh/(tall*float64(least)))
	}
	pick = pitch * tall
	picks := int(clothHigh/pick + 1e-9)
	if p.Most > 0 {
		picks = min(picks, p.Most/e.Ends)
	}
	e.Rows = min(e.OfRows, max(1, (picks-2*plainAround)/each))
	return e, pitch, pick
}

// pickTall is how far picks are apart, in spacings of ends. It is kept within
// what a lace could have, so that no odd number makes a picture of nothing.
func (p Preview) pickTall() float64 {
	if !(p.Sett > 0) || !(p.PPI > 0) {
		return 1
	}
	return min(max(float64(p.Sett)/float64(p.PPI), 0.4), 2.5)
}

// Sheet draws the picture. Its error is ours: a plan that cannot be woven. Time
// and memory grow with the ends of the warp times the rows shown, and from wholeEnds
// ends on hardly with the warp.
func (p Preview) Sheet() (*Sheet, error) {
	e, pitch, pick := p.layout()
	c, err := p.cloth(e)
	if err != nil {
		return nil, err
	}
	c.pitch, c.pick = pitch, pick
	return p.sheet(c), nil
}

// Height is how high the sheet will be, in points, without weaving anything.
func (p Preview) Height() float64 { return p.sheet(nil).H }

// sheet lays the picture out; without a cloth, the place for it stays empty.
func (p Preview) sheet(c *cloth) *Sheet {
	e, pitch, pick := p.layout()
	s := NewSheet(phoneWidth, 0)
	col := &column{s: s, x: margin, w: phoneWidth - 2*margin, y: margin - 4, lines: 4}
	col.para(p.Words.Title, sizeTitle, Bold, Black)
	col.skip(8)
	b := box{y: col.y, w: pitch*float64(e.Ends) + 2*clothPad, h: pick*float64(p.levels(e)) + 2*clothPad}
	b.x = (phoneWidth - b.w) / 2
	s.Fill(new(Path).RoundRect(b.x, b.y, b.w, b.h, 5), inkShade)
	if c != nil {
		c.right, c.foot = b.x+b.w-clothPad+pitch*float64(c.low), b.y+b.h-clothPad
		if p.Plan.Design.From == lace.Left && c.low > 0 {
			c.right += pitch // of the end that is torn off
		}
		c.draw(s)
	}
	if e.Ends < e.OfEnds {
		b.tearSide(s, p.Plan.Design.From.Other())
	}
	if e.Rows < e.OfRows {
		b.tearTop(s)
	}
	col.skip(b.h + 4)
	p.foot(col, b.x, b.w, pitch)
	p.legend(col)
	s.H = col.y + margin - 4
	return s
}

// levels is how many picks high the part shown is: where rows are left out, half
// of the next one is torn off.
func (p Preview) levels(e Extent) int {
	each := p.Plan.PicksHigh() / e.OfRows
	if e.Rows < e.OfRows {
		return plainAround + e.Rows*each + each/2
	}
	return e.Rows*each + 2*plainAround
}

// box is a place on a sheet.
type box struct{ x, y, w, h float64 }

// tearSide makes a side of a box look torn off, since what it shows goes on
// there; tearTop does the same to its top.
func (b box) tearSide(s *Sheet, side lace.Side) {
	x, out := b.x, -1.0
	if side == lace.Right {
		x, out = b.x+b.w, 1
	}
	tear := new(Path).MoveTo(x+out*14, b.y-1)
	for i, y := 0, b.y-1; y < b.y+b.h+6; i, y = i+1, y+6 {
		tear.LineTo(x-out*(0.45+0.5*float64(i%2))*clothPad, y)
	}
	s.Fill(tear.LineTo(x+out*14, b.y+b.h+6).Close(), White)
}

func (b box) tearTop(s *Sheet) {
	tear := new(Path).MoveTo(b.x-1, b.y-4)
	for i, x := 0, b.x-1; x < b.x+b.w+6; i, x = i+1, x+6 {
		tear.LineTo(x, b.y+(0.45+0.5*float64(i%2))*clothPad)
	}
	s.Fill(tear.LineTo(b.x+b.w+6, b.y-4).Close(), White)
}

// foot says at which edge the piece begins and how long a stretch of it is, side
// by side where there is room.
func (p Preview) foot(col *column, left, wide, pitch float64) {
	free := p.start(col, left, wide)
	bar := float64(p.Scale) * float64(p.Sett) * pitch
	word := TextWidth(p.Words.Scale, sizeSmall, Regular)
	if p.Words.Scale == "" || !(bar > 4) || bar+6+word > col.w {
		col.skip(sizeSmall*lineHigh + 8)
		return
	}
	if bar+word+16 > free {
		col.skip(sizeSmall*lineHigh + 4)
	}
	y, x, from, align := col.y+6, col.x, col.x+bar+6, Start
	if p.Plan.Design.From == lace.Left {
		x, from, align = col.x+col.w-bar, col.x+col.w-bar-6, End
	}
	for _, line := range [][4]float64{{x, y, x + bar, y}, {x + 0.75, y - 4, x + 0.75, y + 4}, {x + bar - 0.75, y - 4, x + bar - 0.75, y + 4}} {
		col.s.Line(line[0], line[1], line[2], line[3], Pen{Ink: Black, Width: 1.5})
	}
	col.s.Text(from, col.y+sizeSmall, sizeSmall, Regular, align, Black, p.Words.Scale)
	col.skip(sizeSmall*lineHigh + 8)
}

// start marks the edge where the piece begins, and gives how much of the line is
// left beside the words, from the other edge.
func (p Preview) start(col *column, left, wide float64) float64 {
	if p.Words.Start == "" {
		return col.w
	}
	word := TextWidth(p.Words.Start, sizeSmall, Regular)
	tip, x, align := left+wide-6, left+wide-15, End
	free := x - word - col.x
	if p.Plan.Design.From == lace.Left {
		tip, x, align = left+6, left+15, Start
		free = col.x + col.w - x - word
	}
	col.s.Fill(new(Path).Through(Point{tip, col.y - 2}, Point{tip - 5, col.y + 7}, Point{tip + 5, col.y + 7}).Close(), Black)
	col.s.Text(x, col.y+sizeSmall, sizeSmall, Regular, align, Black, p.Words.Start)
	return free
}

func (p Preview) legend(col *column) {
	on := func(s *Sheet, x, y float64) {
		s.Fill(new(Path).RoundRect(x-keyWide/2, y-keyHigh/2, keyWide, keyHigh, 3), inkShade)
	}
	thread := func(s *Sheet, x1, y1, x2, y2 float64, ink Ink) {
		s.Line(x1, y1, x2, y2, Pen{Ink: inkLine, Width: 6})
		s.Line(x1, y1, x2, y2, Pen{Ink: ink, Width: 4})
	}
	col.keys(
		key{p.Words.Warp, func(s *Sheet, x, y float64) {
			on(s, x, y)
			for _, dx := range []float64{-8, 0, 8} {
				thread(s, x+dx, y-keyHigh/2, x+dx, y+keyHigh/2, inkWarp)
			}
		}},
		key{p.Words.Weft, func(s *Sheet, x, y float64) {
			on(s, x, y)
			thread(s, x-keyWide/2, y, x+keyWide/2, y, inkWeft)
		}},
		key{p.Words.Hole, func(s *Sheet, x, y float64) {
			on(s, x, y)
			for _, side := range []float64{-1, 1} {
				bow := new(Path).MoveTo(x+side*6, y-keyHigh/2).CurveTo(x+side*11, y-4, x+side*11, y+4, x+side*6, y+keyHigh/2)
				s.Stroke(bow, Pen{Ink: inkWarp, Width: 3.5})
			}
		}},
	)
	for _, note := range p.Words.Notes {
		col.para(note, sizeText, Regular, Black)
		col.skip(3)
	}
}

// cloth weaves what is shown, and a little more where the piece goes on, and
// lets it settle.
func (p Preview) cloth(e Extent) (*cloth, error) {
	d := p.Plan.Design
	more := min(e.Rows+1, e.OfRows)
	window := min(e.Ends+beyondEnds, d.Ends)
	shown := min(e.Ends+1, d.Ends) // one more, for the edge that is torn off
	c := &cloth{high: shown, levels: p.levels(e), window: window}
	if d.From == lace.Left {
		c.low, c.high, c.windowLow = d.Ends-shown, d.Ends, d.Ends-window
	}
	var err error
	c.in, err = lace.InterlacePart(d.Ends, d.From, aroundRows(p.Plan, p.Plan.Rows[:more]), c.windowLow, c.windowLow+window)
	if err != nil {
		return nil, err
	}
	c.place, _ = springsOf(c.in).settle()
	return c, nil
}

// aroundRows are some of a plan's rows, from the first, between a header and a hem.
func aroundRows(p *lace.Plan, rows []lace.Row) []lace.Row {
	d := p.Design
	first := p.Rows[0].Moves[0].Shed
	all := append([]lace.Row{lace.PlainPicks(d.Ends, plainAround, d.From, first)}, rows...)
	side, shed := d.From, first
	if d.Way == lace.TwoWay && len(rows)%2 == 1 {
		side, shed = side.Other(), shed.Other()
	}
	return append(all, lace.PlainPicks(d.Ends, plainAround, side, shed))
}
