package paper

import "math"

// Point is a place on a sheet, in points.
type Point struct{ X, Y float64 }

// Path is a line of straight and curved pieces, in one or more parts. Its
// methods give the path back, so that they can be written one after the other.
// A path that has been put on a sheet must not be changed.
type Path struct {
	steps  []step
	points []Point // as many for each step as it takes
}

// step is one piece of a path.
type step uint8

const (
	moveTo  step = iota // 1 point
	lineTo              // 1 point
	curveTo             // 3 points
	closed              // none
)

// MoveTo begins a part at a point.
func (p *Path) MoveTo(x, y float64) *Path { return p.add(moveTo, Point{x, y}) }

// LineTo goes straight to a point.
func (p *Path) LineTo(x, y float64) *Path { return p.add(lineTo, Point{x, y}) }

// CurveTo goes to x, y by a cubic curve with the control points x1, y1 and x2, y2.
func (p *Path) CurveTo(x1, y1, x2, y2, x, y float64) *Path {
	return p.add(curveTo, Point{x1, y1}, Point{x2, y2}, Point{x, y})
}

// Close goes straight back to where the part began.
func (p *Path) Close() *Path { return p.add(closed) }

func (p *Path) add(s step, points ...Point) *Path {
	p.steps = append(p.steps, s)
	p.points = append(p.points, points...)
	return p
}

// Through begins a part at the first point and goes straight from each to the next.
func (p *Path) Through(points ...Point) *Path {
	for i, q := range points {
		if i == 0 {
			p.MoveTo(q.X, q.Y)
			continue
		}
		p.LineTo(q.X, q.Y)
	}
	return p
}

// Rect is a rectangle.
func (p *Path) Rect(x, y, w, h float64) *Path {
	return p.Through(Point{x, y}, Point{x + w, y}, Point{x + w, y + h}, Point{x, y + h}).Close()
}

// RoundRect is a rectangle with round corners of radius r.
func (p *Path) RoundRect(x, y, w, h, r float64) *Path {
	r = min(r, w/2, h/2)
	k := r * (1 - arc)
	return p.MoveTo(x+r, y).LineTo(x+w-r, y).CurveTo(x+w-k, y, x+w, y+k, x+w, y+r).
		LineTo(x+w, y+h-r).CurveTo(x+w, y+h-k, x+w-k, y+h, x+w-r, y+h).
		LineTo(x+r, y+h).CurveTo(x+k, y+h, x, y+h-k, x, y+h-r).
		LineTo(x, y+r).CurveTo(x, y+k, x+k, y, x+r, y).Close()
}

// arc is how far, in radii, the control points of a quarter circle are from its ends.
var arc = 4 * (math.Sqrt2 - 1) / 3

// Circle is a circle of four curves.
func (p *Path) Circle(x, y, r float64) *Path { return p.Ellipse(x, y, r, r) }

// Ellipse is an ellipse with its axes upright, rx and ry half of each.
func (p *Path) Ellipse(x, y, rx, ry float64) *Path {
	kx, ky := rx*arc, ry*arc
	return p.MoveTo(x+rx, y).
		CurveTo(x+rx, y+ky, x+kx, y+ry, x, y+ry).
		CurveTo(x-kx, y+ry, x-rx, y+ky, x-rx, y).
		CurveTo(x-rx, y-ky, x-kx, y-ry, x, y-ry).
		CurveTo(x+kx, y-ry, x+rx, y-ky, x+rx, y).Close()
}
