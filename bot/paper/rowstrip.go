package paper

import (
	"slices"

	"weftroom/calc/lace"
)

// strip is a stretch of a row with everything that is drawn of it. Levels stand
// in slots, one above the other: level 0 in slot 0, and where passes are left
// out, those above them closer.
type strip struct {
	*rowWork
	groups []int // in working order
	title  string
	cells  []cell // from the right
	wide   float64
	right  float64 // x of the strip's right edge
	foot   float64 // y of slot 0
}

// cell is one end in a strip.
type cell struct {
	end          int
	closed, open float64 // how far from the strip's right edge: in plain cloth, and beside open holes
	after        bool    // ends are left out after it, to its left
}

func (w *rowWork) strip(from, to int, title string) *strip {
	st := &strip{rowWork: w, title: title}
	for i := from; i < to; i++ {
		st.groups = append(st.groups, i)
	}
	var blocks []func()
	if from > 0 {
		blocks = append(blocks, func() { st.stub(from - 1) })
	}
	for _, i := range st.groups {
		blocks = append(blocks, func() { st.group(i) })
	}
	if to < len(w.groups) {
		blocks = append(blocks, func() { st.stub(to) })
	}
	if w.row.Start == lace.Left {
		slices.Reverse(blocks)
	}
	for _, add := range blocks {
		add()
	}
	return st
}

// group adds a whole group.
func (st *strip) group(i int) {
	g := st.rowWork.groups[i]
	var ends []int
	for e := g.low + 1; e <= g.high; e++ {
		if g.ends() <= wholeGroup || e <= g.low+partGroup || e > g.high-partGroup {
			ends = append(ends, e)
		}
	}
	st.add(ends, g.low > 0, g.high < st.in.Ends)
}

// stub adds the nearest ends of a group that the strip has no room for.
func (st *strip) stub(i int) {
	g := st.rowWork.groups[i]
	first := st.rowWork.groups[st.groups[0]]
	if g.low >= first.high { // to the left of the strip
		st.add(between(g.low+1, min(g.low+rowStub, g.high)), true, false)
		return
	}
	st.add(between(max(g.high-rowStub, g.low)+1, g.high), false, true)
}

func between(from, to int) []int {
	var all []int
	for e := from; e <= to; e++ {
		all = append(all, e)
	}
	return all
}

// add adds ends side by side, with half a hole at a side where there is one.
func (st *strip) add(ends []int, holeRight, holeLeft bool) {
	var at []float64
	x := 0.0
	for k, e := range ends {
		at = append(at, x+st.pitch/2)
		x += st.pitch
		if k+1 < len(ends) && ends[k+1] != e+1 {
			x += rowBreak
		}
	}
	wide, shift := x, 0.0
	if holeRight {
		wide, shift = wide+st.gap()/2, st.gap()/2
	}
	if holeLeft {
		wide += st.gap() / 2
	}
	for k, e := range ends {
		st.cells = append(st.cells, cell{
			end: e, closed: st.wide + at[k]*wide/x, open: st.wide + shift + at[k],
			after: k+1 < len(ends) && ends[k+1] != e+1,
		})
	}
	st.wide += wide
}

// lowest and highest are the outermost boundaries that the strip shows.
func (st *strip) lowest() int  { return st.cells[0].end - 1 }
func (st *strip) highest() int { return st.cells[len(st.cells)-1].end }

// slot is where a level stands; it is not ok for a level that is left out.
func (st *strip) slot(level int) (slot float64, ok bool) {
	p := st.Plan.Design.Passes
	top := float64(p - 1)
	if p > wholePasses {
		top = 5.6
	}
	switch {
	case level >= p: // the pick home
		return top + 1.5 + float64(level-p), true
	case p <= wholePasses:
		return float64(level), true
	case level < 3:
		return float64(level), true
	case level >= p-2:
		return top - float64(p-1-level), true
	}
	return 0, false
}

// top is the slot of the last pass over a group.
func (st *strip) top() float64 {
	slot, _ := st.slot(st.Plan.Design.Passes - 1)
	return slot
}

const headerSlot = -1.5 // of the plain pick before the row

// at is where an end is at the height of a slot: holes are open where the groups
// were worked and closed in the plain picks below and above. Between a two-way
// journey out and the one home, on the same borders, nothing closes them.
func (st *strip) at(c cell, slot float64) Point {
	middle := st.top() / 2
	t := (slot - middle) / (middle + 1.45)
	open := max(0, 1-t*t*t*t)
	if slot < middle && st.openBelow() || slot > middle && st.openAbove() {
		open = 1
	}
	return Point{st.right - c.closed - open*(c.open-c.closed), st.y(slot)}
}

func (st *strip) openBelow() bool { return st.Plan.Design.Way == lace.TwoWay && st.Row%2 == 0 }

func (st *strip) openAbove() bool {
	return st.Plan.Design.Way == lace.TwoWay && st.Row%2 == 1 && st.Row < len(st.Plan.Rows)
}

func (st *strip) y(slot float64) float64 { return st.foot - slot*rowLevel }

func (st *strip) cellOf(end int) (cell, bool) {
	i, ok := slices.BinarySearchFunc(st.cells, end, func(c cell, e int) int { return c.end - e })
	if !ok {
		return cell{}, false
	}
	return st.cells[i], true
}

// draw sets the strip on a sheet: its edge's name, the work, the sizes of the
// groups, and the short form of each move whose number is shown.
func (st *strip) draw(col *column) {
	s := col.s
	atRight, atLeft := st.lowest() == 0, st.highest() == st.in.Ends
	switch {
	case atRight && atLeft:
		st.right = (phoneWidth + st.wide) / 2
	case atRight:
		st.right = phoneWidth - margin - st.edge()
	default:
		st.right = margin + st.edge() + st.wide
	}
	panel := box{x: st.right - st.wide, w: st.wide, y: col.y + sizeText*lineHigh + 4}
	if atRight {
		panel.w += st.edge()
	}
	if atLeft {
		panel.x, panel.w = panel.x-st.edge(), panel.w+st.edge()
	}
	below := 2.2
	panel.h = (st.topmost() + below) * rowLevel
	st.foot = panel.y + panel.h - below*rowLevel

	align, x := Start, panel.x
	if atRight && !(atLeft && st.row.Start == lace.Left) {
		align, x = End, panel.x+panel.w
	}
	s.Text(x, col.y+sizeText, sizeText, Bold, align, Black, st.title)
	s.Fill(new(Path).RoundRect(panel.x, panel.y, panel.w, panel.h, 5), inkPale)
	st.holes(s)
	st.threads(s)
	if !atRight {
		panel.tearSide(s, lace.Right)
	}
	if !atLeft {
		panel.tearSide(s, lace.Left)
	}
	st.breaks(s, panel)
	shown := st.numbers(s)
	col.y = panel.y + panel.h
	st.sizes(col)
	st.moves(col, shown)
}

// topmost is the slot of the upper edge of the strip.
func (st *strip) topmost() float64 {
	if st.Plan.Design.Way == lace.OneWay {
		return st.top() + 2.3
	}
	return st.top() + 1.6
}

// holes are the lenses between groups.
func (st *strip) holes(s *Sheet) {
	from, to := -1.4, st.top()+1.4
	if st.openBelow() {
		from = -2.1
	}
	if st.openAbove() {
		to = st.topmost() - 0.1
	}
	for i, c := range st.cells[:len(st.cells)-1] {
		next := st.cells[i+1]
		if next.end != c.end+1 || st.in.Tied(c.end, 0) {
			continue
		}
		var way []Point
		slots := heights(from, to, 14)
		for _, slot := range slots {
			way = append(way, st.at(c, slot))
		}
		slices.Reverse(slots)
		for _, slot := range slots {
			way = append(way, st.at(next, slot))
		}
		s.Fill(new(Path).Through(way...).Close(), inkShade)
	}
}

func heights(from, to float64, steps int) []float64 {
	all := make([]float64, steps+1)
	for i := range all {
		all[i] = from + (to-from)*float64(i)/float64(steps)
	}
	return all
}

// threads are the ends, the plain pick before the row, the weft, and the ends
// where they are over the weft.
func (st *strip) threads(s *Sheet) {
	for _, c := range st.cells {
		var way []Point
		for _, slot := range heights(-2.1, st.topmost()-0.1, 24) {
			way = append(way, st.at(c, slot))
		}
		s.thread(st.thread(), inkWarp, way)
	}
	if st.hasHeader() {
		st.header(s)
	}
	for i := range st.in.Passes {
		if way := st.weft(i); len(way) > 1 {
			s.thread(st.thread(), inkWeft, way)
		}
	}
	for _, c := range st.cells {
		var pieces [][]Point
		if st.hasHeader() && st.row.Moves[0].Shed.Other().Raises(c.end) {
			pieces = append(pieces, st.piece(c, headerSlot))
		}
		for level := range st.in.Levels {
			if slot, ok := st.slot(level); ok && st.in.Over(c.end, level) {
				pieces = append(pieces, st.piece(c, slot))
			}
		}
		s.above(st.thread(), inkWarp, pieces...)
	}
}

// piece is an end where it is over the weft in a slot.
func (st *strip) piece(c cell, slot float64) []Point {
	return []Point{st.at(c, slot-0.32), st.at(c, slot-0.16), st.at(c, slot), st.at(c, slot+0.16), st.at(c, slot+0.32)}
}

// hasHeader tells whether the pass before the row was a plain pick.
func (st *strip) hasHeader() bool {
	return st.Row == 1 || st.Plan.Design.Way == lace.OneWay
}

// header is the plain pick before the row, faint: it has no number.
func (st *strip) header(s *Sheet) {
	var way []Point
	for _, c := range st.cells {
		way = append(way, st.at(c, headerSlot))
	}
	first, last := way[0], way[len(way)-1]
	way = append(append([]Point{{first.X + st.pitch, first.Y}}, way...), Point{last.X - st.pitch, last.Y})
	s.thread(st.thread(), inkFaint, way)
}
