package paper

import "math"

// A picture knows filled shapes alone, so a line is made into the shape that a
// pen of its width covers: for each straight piece a rectangle, at each bend a
// wedge on the outer side, at the ends half circles. All of these run the same
// way round, so that where they overlap nothing is cut out.

// flatness is how far, in pixels, a straight piece may be from its curve.
const flatness = 0.1

// flatten gives the parts of a path as points joined by straight pieces, each
// point moved by at; a part is closed when its last point is its first.
func flatten(p *Path, at func(Point) Point) [][]Point {
	var parts [][]Point
	var part []Point
	flush := func() {
		if len(part) > 1 {
			parts = append(parts, part)
		}
		part = nil
	}
	i := 0
	for _, s := range p.steps {
		switch s {
		case moveTo:
			flush()
			part = append(part, at(p.points[i]))
			i++
		case lineTo:
			part = append(part, at(p.points[i]))
			i++
		case curveTo:
			part = curve(part, at(p.points[i]), at(p.points[i+1]), at(p.points[i+2]))
			i += 3
		case closed:
			if len(part) > 0 {
				first := part[0]
				part = append(part, first)
				flush()
				part = append(part, first)
			}
		}
	}
	flush()
	return parts
}

// curve adds the points of a cubic curve that begins at the last point of part.
func curve(part []Point, b, c, d Point) []Point {
	if len(part) == 0 {
		return append(part, d)
	}
	a := part[len(part)-1]
	// The second differences bound how far the curve is from n chords:
	// sqrt(3)/18 of the greater in pixels over n² is a usual, safe bound.
	bend := math.Max(math.Hypot(a.X-2*b.X+c.X, a.Y-2*b.Y+c.Y), math.Hypot(b.X-2*c.X+d.X, b.Y-2*c.Y+d.Y))
	n := int(math.Ceil(math.Sqrt(0.75 * bend / flatness)))
	n = min(max(n, 1), 100)
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		u := 1 - t
		k0, k1, k2, k3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		part = append(part, Point{k0*a.X + k1*b.X + k2*c.X + k3*d.X, k0*a.Y + k1*b.Y + k2*c.Y + k3*d.Y})
	}
	return append(part, d)
}

// dashes cuts a line into pieces of the lengths in pattern, every second one
// left out. A pattern without a length gives the line as it is; one so fine
// that there would be more than 10,000 pieces does too.
func dashes(line []Point, pattern []float64) [][]Point {
	round, length := 0.0, 0.0
	for _, d := range pattern {
		if d < 0 {
			return [][]Point{line}
		}
		round += d
	}
	for i := 1; i < len(line); i++ {
		length += math.Hypot(line[i].X-line[i-1].X, line[i].Y-line[i-1].Y)
	}
	if round <= 0 || length/round*float64(len(pattern)) > 10_000 {
		return [][]Point{line}
	}
	var pieces [][]Point
	k, left, on := 0, pattern[0], true
	piece := []Point{line[0]}
	for i := 1; i < len(line); i++ {
		from, to := line[i-1], line[i]
		whole := math.Hypot(to.X-from.X, to.Y-from.Y)
		done := 0.0
		for whole-done > left {
			done += left
			cut := Point{from.X + (to.X-from.X)*done/whole, from.Y + (to.Y-from.Y)*done/whole}
			if on {
				pieces = append(pieces, append(piece, cut))
			}
			on = !on
			piece = []Point{cut}
			k = (k + 1) % len(pattern)
			left = pattern[k]
		}
		left -= whole - done
		piece = append(piece, to)
	}
	if on && len(piece) > 1 {
		pieces = append(pieces, piece)
	}
	return pieces
}

// penShape is where a pen of half width r goes over line, as polygons that all
// run the same way round.
func penShape(line []Point, r float64, cap Cap, polygon func(...Point)) {
	line = distinct(line)
	if len(line) < 2 {
		if cap == Round && len(line) == 1 {
			wedge(line[0], r, 0, 2*math.Pi, polygon)
		}
		return
	}
	ring := line[0] == line[len(line)-1]
	var before float64
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		dir := math.Atan2(b.Y-a.Y, b.X-a.X)
		sin, cos := math.Sincos(dir)
		nx, ny := -sin*r, cos*r
		polygon(Point{a.X + nx, a.Y + ny}, Point{a.X - nx, a.Y - ny}, Point{b.X - nx, b.Y - ny}, Point{b.X + nx, b.Y + ny})
		if i > 1 {
			join(a, r, before, dir, polygon)
		}
		before = dir
	}
	first := math.Atan2(line[1].Y-line[0].Y, line[1].X-line[0].X)
	switch {
	case ring:
		join(line[0], r, before, first, polygon)
	case cap == Round:
		wedge(line[0], r, first+math.Pi/2, math.Pi, polygon)
		wedge(line[len(line)-1], r, before-math.Pi/2, math.Pi, polygon)
	}
}

// distinct leaves out points that are where the one before is. The first and
// last stay the same when the line is closed.
func distinct(line []Point) []Point {
	kept := make([]Point, 0, len(line))
	for i, p := range line {
		if i > 0 && math.Abs(p.X-kept[len(kept)-1].X) < 1e-6 && math.Abs(p.Y-kept[len(kept)-1].Y) < 1e-6 {
			continue
		}
		kept = append(kept, p)
	}
	return kept
}

// join fills the outer side of a bend at p.
func join(p Point, r, from, to float64, polygon func(...Point)) {
	turn := math.Remainder(to-from, 2*math.Pi)
	switch {
	case math.Abs(turn) < 1e-3:
	case turn > 0: // it bends to the side of +y, so the gap is on the other
		wedge(p, r, from-math.Pi/2, turn, polygon)
	default:
		wedge(p, r, to+math.Pi/2, -turn, polygon)
	}
}

// wedge is a piece of a disc about p, from an angle on, of a positive width.
func wedge(p Point, r, from, width float64, polygon func(...Point)) {
	// A chord of angle a is r·(1-cos(a/2)) from its arc.
	most := 2 * math.Acos(1-math.Min(flatness/math.Max(r, flatness), 1))
	n := max(int(math.Ceil(width/most)), 1)
	points := []Point{p}
	for i := range n + 1 {
		sin, cos := math.Sincos(from + width*float64(i)/float64(n))
		points = append(points, Point{p.X + r*cos, p.Y + r*sin})
	}
	polygon(points...)
}
