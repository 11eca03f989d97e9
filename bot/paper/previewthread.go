package paper

import (
	"math"
	"slices"
)

// A piece of cloth has thousands of crossings, so threads are drawn as filled
// ribbons of few corners rather than as lines that a pen is drawn along: it takes
// a third of the time. Each thread has an outline and a body.

// thread draws one or more pieces of thread.
func (s *Sheet) thread(width float64, ink Ink, pieces ...[]Point) {
	outline, body := &Path{}, &Path{}
	for _, way := range pieces {
		ribbon(outline, way, outlined*width)
		ribbon(body, way, width)
	}
	s.Fill(outline, inkLine)
	s.Fill(body, ink)
}

// above draws pieces of a thread once more where it lies over another one. The
// outline of each is a little shorter than its body, so that no seam shows where
// the thread goes under again. A piece has five points or more.
func (s *Sheet) above(width float64, ink Ink, pieces ...[]Point) {
	outline, body := &Path{}, &Path{}
	for _, way := range pieces {
		ribbon(body, way, width)
		last := len(way) - 1
		short := append([]Point{midway(way[0], way[1], 0.3)}, way[1:last]...)
		ribbon(outline, append(short, midway(way[last], way[last-1], 0.3)), outlined*width)
	}
	s.Fill(outline, inkLine)
	s.Fill(body, ink)
}

// midway is a part of the way from one point to another.
func midway(a, b Point, part float64) Point {
	return Point{a.X + part*(b.X-a.X), a.Y + part*(b.Y-a.Y)}
}

// outlined is how much wider a thread is with its outline.
const outlined = 1.36

// ribbon adds the outline of a band of a width along a way: up on one side of it
// and back on the other. Room for all corners is made at once.
func ribbon(p *Path, way []Point, width float64) {
	if len(way) < 2 {
		return
	}
	last := len(way) - 1
	p.steps = slices.Grow(p.steps, 2*len(way)+1)
	p.points = slices.Grow(p.points, 2*len(way))
	for i := range way {
		p.corner(beside(way, i, width/2), i == 0)
	}
	for i := last; i >= 0; i-- {
		p.corner(beside(way, i, -width/2), false)
	}
	p.steps = append(p.steps, closed)
}

func (p *Path) corner(q Point, first bool) {
	s := lineTo
	if first {
		s = moveTo
	}
	p.steps, p.points = append(p.steps, s), append(p.points, q)
}

// beside is so far beside point i of a way, square to the way there.
func beside(way []Point, i int, aside float64) Point {
	a, b := way[max(i-1, 0)], way[min(i+1, len(way)-1)]
	dx, dy := b.X-a.X, b.Y-a.Y
	if long := math.Sqrt(dx*dx + dy*dy); long > 0 {
		return Point{way[i].X + dy/long*aside, way[i].Y - dx/long*aside}
	}
	return way[i]
}

// smooth puts points between those of a way, n for each step of it, so that it
// runs without corners (a uniform Catmull-Rom spline through all of them).
func smooth(way []Point, n int) []Point {
	if len(way) < 3 || n < 2 {
		return way
	}
	fine := make([]Point, 0, (len(way)-1)*n+1)
	for i := range len(way) - 1 {
		a, b, c, d := way[max(i-1, 0)], way[i], way[i+1], way[min(i+2, len(way)-1)]
		fine = append(fine, b)
		for k := 1; k < n; k++ {
			t := float64(k) / float64(n)
			fine = append(fine, Point{spline(a.X, b.X, c.X, d.X, t), spline(a.Y, b.Y, c.Y, d.Y, t)})
		}
	}
	return append(fine, way[len(way)-1])
}

func spline(a, b, c, d, t float64) float64 {
	return b + t/2*(c-a+t*(2*a-5*b+4*c-d+t*(3*(b-c)+d-a)))
}
