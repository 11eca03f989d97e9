package paper

import (
	"slices"

	"weftroom/calc/lace"
)

// cloth is a settled piece on its way to a sheet. It lies as it does before the
// weaver: end 1 at the right, the first picks at the foot.
type cloth struct {
	in        *lace.Interlacing
	low, high int // boundaries of the part that is shown
	levels    int // of the part that is shown, from the first

	place             []float64 // of the window, in spacings
	windowLow, window int       // the window's right boundary and its ends

	pitch, pick float64 // points from end to end, from pick to pick
	right, foot float64 // where boundary 0 and the foot of the first pick are
}

// at is where an end lies at a level.
func (c *cloth) at(end, level int) Point {
	x := c.place[level*c.window+end-1-c.windowLow] + float64(c.windowLow)
	return Point{c.right - (x+0.5)*c.pitch, c.foot - (float64(level)+0.5)*c.pick}
}

// between is where an end lies a part of the way from a level up to the next;
// below the first and above the last it goes straight on.
func (c *cloth) between(end, level int, part float64) Point {
	a, b := c.at(end, max(level, 0)), c.at(end, min(level+1, c.in.Levels-1))
	foot := c.foot - (float64(level)+0.5)*c.pick
	return Point{a.X + part*(b.X-a.X), foot - part*c.pick}
}

// thread is how wide threads are, in points: of a lace sett, so that a little of
// the ground shows even in plain weave.
func (c *cloth) thread() float64 { return 0.52 * min(c.pitch, c.pick) }

// draw lays the ground of what is woven first, then the ends, the weft upon them
// pass by pass, and upon that once more the ends where they are over it.
func (c *cloth) draw(s *Sheet) {
	wide := c.thread()
	s.Fill(c.ground(), inkWoven)
	for end := c.low + 1; end <= c.high; end++ {
		s.thread(wide, inkWarp, c.end(end))
	}
	for i := range c.in.Passes {
		if way := c.weft(i); way != nil {
			s.thread(wide, inkWeft, way)
		}
	}
	for end := c.low + 1; end <= c.high; end++ {
		s.above(wide, inkWarp, c.overs(end)...)
	}
}

// ground is what lies behind the threads wherever a pass ties two ends: between
// the threads of plain weave an eye sees the cloth, and the dark only in a hole.
func (c *cloth) ground() *Path {
	p := &Path{}
	for level := range c.levels {
		for end := c.low + 1; end < c.high; end++ {
			if !c.in.Tied(end, level) {
				continue
			}
			from := end
			for end+1 < c.high && c.in.Tied(end+1, level) {
				end++
			}
			c.strip(p, level, from, end+1)
		}
	}
	return p
}

// strip is one level of cloth from one end to another. It reaches half way to
// the next level where that is cloth as well, and ends close to the weft where it
// borders on a hole.
func (c *cloth) strip(p *Path, level, from, to int) {
	var way []Point
	for end := from; end <= to; end++ {
		way = append(way, c.between(end, level-1, 1-c.reach(end, level-1)))
	}
	for end := to; end >= from; end-- {
		way = append(way, c.between(end, level, c.reach(end, level+1)))
	}
	p.Through(way...).Close()
}

// reach is how far cloth goes, in picks, from an end toward another level.
func (c *cloth) reach(end, level int) float64 {
	if end > 1 && !c.in.Tied(end-1, level) || end < c.in.Ends && !c.in.Tied(end, level) {
		return 0.3
	}
	return 0.5
}

// end is a whole end, a little longer than the piece is.
func (c *cloth) end(end int) []Point {
	points := []Point{c.between(end, -1, 0.5)}
	points[0].Y += 0.4 * clothPad
	for level := range c.levels {
		points = append(points, c.at(end, level))
	}
	top := c.between(end, c.levels-1, 0.5)
	top.Y -= 0.4 * clothPad
	return smooth(append(points, top), 2)
}

// overs are the pieces of an end that lie over the weft.
func (c *cloth) overs(end int) [][]Point {
	var pieces [][]Point
	for level := range c.levels {
		if c.in.Over(end, level) {
			way := []Point{c.between(end, level-1, 0.5), c.at(end, level), c.between(end, level, 0.5)}
			pieces = append(pieces, smooth(way, 2))
		}
	}
	return pieces
}

// weft is the way of one pass as far as it is shown, with the turn before it; it
// is nil where nothing of it is.
func (c *cloth) weft(i int) []Point {
	pass := c.in.Passes[i]
	way := c.over(i)
	if len(way) == 0 {
		return nil
	}
	if !c.shows(pass.End()) {
		way = append(way, c.beyond(way[len(way)-1], pass.Toward))
	}
	switch {
	case !c.shows(pass.Begin()):
		way = append([]Point{c.beyond(way[0], pass.Toward.Other())}, way...)
	case i > 0 && c.in.LevelOf(i, edgeOf(pass)) < c.levels:
		return bent(c.turn(i, way[0]), way)
	}
	return smooth(way, 2)
}

// edgeOf is the end at which a pass begins.
func edgeOf(p lace.Pass) int {
	if p.Toward == lace.Left {
		return p.Low + 1
	}
	return p.High
}

// bent joins a turn, drawn finely, to the rest of a way.
func bent(turn, way []Point) []Point {
	n := len(turn)
	all := append(turn, way...)
	fine := smooth(all, 4)
	cut := min(4*(n+1), len(fine)-1)
	coarse := smooth(all, 2)
	return append(fine[:cut:cut], coarse[min(2*(n+1), len(coarse)-1):]...)
}

// shows tells whether the weft at a boundary is shown: inside the part, and at
// its edge where that is a selvedge.
func (c *cloth) shows(boundary int) bool {
	inside := boundary > c.low && boundary < c.high
	return inside || boundary == c.low && c.low == 0 || boundary == c.high && c.high == c.in.Ends
}

// over is the way of a pass over the ends that are shown.
func (c *cloth) over(i int) []Point {
	pass := c.in.Passes[i]
	var way []Point
	for end := max(pass.Low, c.low) + 1; end <= min(pass.High, c.high); end++ {
		if level := c.in.LevelOf(i, end); level < c.levels {
			way = append(way, c.at(end, level))
		}
	}
	if pass.Toward == lace.Right {
		slices.Reverse(way)
	}
	return way
}

// beyond is half a spacing to one side of a point.
func (c *cloth) beyond(q Point, s lace.Side) Point {
	if s == lace.Left {
		return Point{q.X - 0.5*c.pitch, q.Y}
	}
	return Point{q.X + 0.5*c.pitch, q.Y}
}

// turn is the bend in which the weft goes round the edge end of a group before
// pass i, whose way begins at to: from the last two crossings of the pass
// before, so that the pieces join without a corner. It is snug at a hole and
// leaves a little loop at a selvedge.
func (c *cloth) turn(i int, to Point) []Point {
	pass := c.in.Passes[i]
	before := c.over(i - 1)
	if len(before) == 0 || c.in.Passes[i-1].Toward == pass.Toward {
		return nil
	}
	from := before[len(before)-1]
	reach := 0.33 * c.pitch
	if pass.Begin() == 0 || pass.Begin() == c.in.Ends {
		reach = 0.5 * c.pitch
	}
	rise := 0.28 * (to.Y - from.Y)
	x := max(from.X, to.X) + reach
	if pass.Toward == lace.Right {
		x = min(from.X, to.X) - reach
	}
	bend := []Point{from, {x, from.Y + rise}, {x, to.Y - rise}}
	if len(before) > 1 {
		bend = append([]Point{before[len(before)-2]}, bend...)
	}
	return bend
}
