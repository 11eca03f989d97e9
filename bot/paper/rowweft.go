package paper

import (
	"slices"

	"weftroom/calc/lace"
)

// weft is the way of a pass as far as the strip shows it, with the turn before it.
func (st *strip) weft(i int) []Point {
	pass := st.in.Passes[i]
	way := st.over(i)
	if len(way) == 0 {
		return nil
	}
	out := st.outward(pass)
	if !st.shows(pass.End()) {
		q := way[len(way)-1]
		way = append(way, Point{q.X - out*st.pitch, q.Y})
	}
	if !st.shows(pass.Begin()) {
		return append([]Point{{way[0].X + out*st.pitch, way[0].Y}}, way...)
	}
	return append(st.turn(i, way[0]), way...)
}

// outward is 1 or -1 by where a pass begins: at the right end of its way or at
// the left.
func (st *strip) outward(p lace.Pass) float64 {
	if p.Toward == lace.Left {
		return 1
	}
	return -1
}

// over is the way of a pass over the cells, in its own direction.
func (st *strip) over(i int) []Point {
	pass := st.in.Passes[i]
	var way []Point
	for _, c := range st.cells {
		if c.end <= pass.Low || c.end > pass.High {
			continue
		}
		if slot, ok := st.slot(st.in.LevelOf(i, c.end)); ok {
			way = append(way, st.at(c, slot))
		}
	}
	if pass.Toward == lace.Right {
		slices.Reverse(way)
	}
	return way
}

// shows tells whether a turn at a boundary is on the strip.
func (st *strip) shows(boundary int) bool {
	inside := boundary > st.lowest() && boundary < st.highest()
	return inside || boundary == 0 && st.lowest() == 0 || boundary == st.in.Ends && st.highest() == st.in.Ends
}

// turn is the bend before a pass, drawn out a little so that it can be seen. The
// first pass of a row comes straight in; after passes that are left out, nothing
// can be seen of it.
func (st *strip) turn(i int, to Point) []Point {
	out := st.outward(st.in.Passes[i])
	if i == 0 {
		return []Point{{to.X + out*1.2*st.pitch, to.Y}}
	}
	before := st.over(i - 1)
	if len(before) == 0 {
		return nil
	}
	from := before[len(before)-1]
	x := out*max(out*from.X, out*to.X) + out*0.6*st.pitch
	rise := 0.25 * (to.Y - from.Y)
	bend := []Point{from, {x, from.Y + rise}, {x, to.Y - rise}, to}
	if len(before) > 1 {
		bend = append([]Point{before[len(before)-2]}, bend...)
	}
	fine := smooth(bend, 5)
	return fine[:len(fine)-1]
}
