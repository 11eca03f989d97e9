package paper

import (
	"strconv"

	"weftroom/calc/lace"
)

// numbers sets the number of each move where it begins, and gives the moves that
// the strip shows from where they begin to where they end; of a pick home, where
// it begins.
func (st *strip) numbers(s *Sheet) []int {
	var whole []int
	for i, pass := range st.in.Passes {
		slot, ok := st.turned(i)
		if !ok {
			continue
		}
		way := st.over(i)
		aside := 0.6*st.pitch + 3.8 + badgeWide(pass.Step)/2
		badge(s, way[0].X+st.outward(pass)*aside, st.y(slot), strconv.Itoa(pass.Step), pass.Shed)
		if st.shows(pass.End()) || st.row.Moves[pass.Step-1].Kind == lace.HomePick {
			whole = append(whole, i)
		}
	}
	return whole
}

// turned is the slot of the turn at which a pass begins, if that is shown.
func (st *strip) turned(i int) (slot float64, ok bool) {
	pass := st.in.Passes[i]
	level := st.in.LevelOf(i, edgeOf(pass))
	slot, ok = st.slot(level)
	if !ok || !st.shows(pass.Begin()) {
		return 0, false
	}
	if i == 0 {
		return slot, true
	}
	_, ok = st.slot(level - 1)
	return slot - 0.5, ok
}

// sizes are brackets under the groups, with how many ends each has.
func (st *strip) sizes(col *column) {
	if st.Words.Group == nil {
		return
	}
	s, y := col.s, col.y+4
	for _, i := range st.groups {
		g := st.rowWork.groups[i]
		right, _ := st.cellOf(g.low + 1)
		left, _ := st.cellOf(g.high)
		a, b := st.at(left, -2).X-st.thread()/2, st.at(right, -2).X+st.thread()/2
		s.Polyline(Pen{Ink: Black, Width: 1}, Point{a, y - 3}, Point{a, y}, Point{b, y}, Point{b, y - 3})
		s.Text((a+b)/2, y+sizeSmall+1, sizeSmall, Regular, Middle, Black, st.Words.Group(g.ends()))
	}
	col.y = y + sizeSmall + 6
}

// moves writes the short form of the moves shown, each after its number.
func (st *strip) moves(col *column, shown []int) {
	if st.Words.Moves == nil {
		return
	}
	s, x := col.s, col.x
	high := badgeHigh + 7
	y := col.y + high/2
	for n, i := range shown {
		pass := st.in.Passes[i]
		if n > 0 && i > shown[n-1]+1 {
			at := min(x-4, s.W-TextWidth("…", sizeText, Bold))
			s.Text(at, y+sizeText*0.35, sizeText, Bold, Start, Black, "…")
			x += 14
		}
		text := st.Words.Moves(pass.Step)
		wide := badgeWide(pass.Step) + 4 + TextWidth(text, sizeText, Regular)
		if n > 0 && x+wide > col.x+col.w {
			x, y = col.x, y+high
		}
		badge(s, x+badgeWide(pass.Step)/2, y, strconv.Itoa(pass.Step), pass.Shed)
		s.Text(x+badgeWide(pass.Step)+4, y+sizeText*0.35, sizeText, Regular, Start, Black, text)
		x += wide + 11
	}
	col.y = y + high/2 + 3
}

// breaks shows where ends of a wide group, or passes of a tall one, are left out.
func (st *strip) breaks(s *Sheet, panel box) {
	for i, c := range st.cells {
		if !c.after {
			continue
		}
		right, left := st.at(c, st.top()/2), st.at(st.cells[i+1], st.top()/2)
		x := (right.X + left.X) / 2
		tear := new(Path)
		wave(tear, x+5, panel.y-1, panel.y+panel.h+1, 1)
		wave(tear, x-5, panel.y+panel.h+1, panel.y-1, -1)
		s.Fill(tear.Close(), White)
	}
	if p := st.Plan.Design.Passes; p > wholePasses {
		y := st.y((2 + st.top() - 1) / 2)
		s.Rect(panel.x, y-11, panel.w, 22, White)
		if st.Words.Picks != nil {
			s.Text(panel.x+panel.w/2, y+sizeText*0.35, sizeText, Italic, Middle, Black, "…  "+st.Words.Picks(p-5))
		}
	}
}

// wave adds a torn edge upright from one height to another.
func wave(p *Path, x, from, to, out float64) {
	step := 6.0
	if to < from {
		step = -6
	}
	for i, y := 0, from; (to-y)*step > 0; i, y = i+1, y+step {
		at := x + out*3*float64(i%2)
		if len(p.steps) == 0 {
			p.MoveTo(at, y)
			continue
		}
		p.LineTo(at, y)
	}
}

// legend explains numbers, holes, drops and loops.
func (r RowDiagram) legend(col *column) {
	col.skip(4)
	ground := func(s *Sheet, x, y float64, ink Ink) {
		s.Fill(new(Path).RoundRect(x-keyWide/2, y-keyHigh/2, keyWide, keyHigh, 3), ink)
	}
	col.keys(
		key{r.Words.Shed[lace.Shed1], func(s *Sheet, x, y float64) { badge(s, x, y, "", lace.Shed1) }},
		key{r.Words.Shed[lace.Shed2], func(s *Sheet, x, y float64) { badge(s, x, y, "", lace.Shed2) }},
		key{r.Words.Hole, func(s *Sheet, x, y float64) {
			ground(s, x, y, inkPale)
			s.Fill(new(Path).Ellipse(x, y, 9, keyHigh/2), inkShade)
		}},
		key{r.Words.Drop, func(s *Sheet, x, y float64) {
			ground(s, x, y, inkShade)
			s.thread(4.6, inkWeft, []Point{{x + 10, y - 5}, {x - 10, y + 5}})
		}},
		key{r.Words.Loop, func(s *Sheet, x, y float64) {
			ground(s, x, y, inkPale)
			way := []Point{{x - 16, y + 4}, {x, y + 4}, {x + 6, y + 2}, {x + 6, y - 2}, {x, y - 4}, {x - 16, y - 4}}
			s.thread(3.7, inkWeft, smooth(way, 4))
		}},
	)
	for _, note := range r.Words.Notes {
		col.para(note, sizeText, Regular, Black)
		col.skip(3)
	}
}

// badgeWide is how wide the sign of a number is.
func badgeWide(number int) float64 {
	return max(badgeHigh, TextWidth(strconv.Itoa(number), sizeSmall, Bold)+7)
}

// badge sets a number: white on black for the passes in shed 1, black on white
// for those in shed 2. It is no ring, which stands for a shaft in the list below.
func badge(s *Sheet, x, y float64, number string, shed lace.Shed) {
	wide := max(badgeHigh, TextWidth(number, sizeSmall, Bold)+7)
	tile := func(in float64, ink Ink) {
		s.Fill(new(Path).RoundRect(x-wide/2+in, y-badgeHigh/2+in, wide-2*in, badgeHigh-2*in, 2.5-in), ink)
	}
	tile(-1, White)
	tile(0, Black)
	ink := White
	if shed == lace.Shed2 {
		tile(1.4, White)
		ink = Black
	}
	s.Text(x, y+sizeSmall*0.35, sizeSmall, Bold, Middle, ink, number)
}
