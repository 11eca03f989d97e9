package paper

import "math"

// sign draws what the family lacks, from its own digits and slash: fractions, a
// number in a ring, and the arrow of "again". It gives nil for anything else;
// f.mu is held.
func (f *face) sign(r rune) *glyph {
	if parts, ok := fractions[r]; ok {
		return f.fraction(parts[0], parts[1])
	}
	if '①' <= r && r <= '⑨' {
		return f.ringed('1' + r - '①')
	}
	if r == '↻' {
		return again()
	}
	return nil
}

// fractions are those that the family does not have, as numerator and denominator.
var fractions = map[rune][2]rune{
	'⅓': {'1', '3'}, '⅔': {'2', '3'},
	'⅕': {'1', '5'}, '⅖': {'2', '5'}, '⅗': {'3', '5'}, '⅘': {'4', '5'},
	'⅙': {'1', '6'}, '⅚': {'5', '6'},
}

// fraction sets two small digits about a slanted line.
func (f *face) fraction(numerator, denominator rune) *glyph {
	const size, rise = 0.6, 0.3
	top, bottom := f.find(numerator), f.find(denominator)
	p := &Path{}
	p.append(top.outline, size, 0.02, -rise)
	right := 0.02 + size*top.advance + 0.14
	p.append(bottom.outline, size, right, 0)
	x := size*top.advance - 0.05
	p.Through(Point{x, 0.02}, Point{x + 0.06, 0.02}, Point{x + 0.32, -0.74}, Point{x + 0.26, -0.74}).Close()
	return &glyph{outline: p, advance: right + size*bottom.advance + 0.02, own: true}
}

// ringed sets a digit in a ring.
func (f *face) ringed(digit rune) *glyph {
	const size, middle, radius = 0.6, 0.47, 0.42
	g := f.find(digit)
	p := (&Path{}).ring(middle, -0.35, radius, 0.06)
	p.append(g.outline, size, middle-size*g.advance/2, -0.13)
	return &glyph{outline: p, advance: 2 * middle, own: true}
}

// again is three quarters of a ring with an arrow head, turning as a clock does.
func again() *glyph {
	const (
		x, y   = 0.45, -0.35
		r, pen = 0.3, 0.08
		steps  = 24
		from   = -0.25 * math.Pi // where the head is: upper right
	)
	var outer, inner []Point
	for i := range steps + 1 {
		a := from - 1.5*math.Pi*float64(i)/steps
		sin, cos := math.Sincos(a)
		outer = append(outer, Point{x + (r+pen/2)*cos, y + (r+pen/2)*sin})
		inner = append(inner, Point{x + (r-pen/2)*cos, y + (r-pen/2)*sin})
	}
	for i := range inner {
		outer = append(outer, inner[len(inner)-1-i])
	}
	p := (&Path{}).Through(outer...).Close()
	sin, cos := math.Sincos(from)
	tip := Point{x + r*cos, y + r*sin}
	p.Through(Point{tip.X + 0.16, tip.Y + 0.1}, Point{tip.X + 0.1, tip.Y - 0.18}, Point{tip.X - 0.16, tip.Y + 0.04}).Close()
	return &glyph{outline: p, advance: 0.92, own: true}
}

// ring is the area between two circles, the inner one running the other way.
func (p *Path) ring(x, y, r, pen float64) *Path {
	p.Circle(x, y, r+pen/2)
	r -= pen / 2
	k := r * arc
	return p.MoveTo(x+r, y).
		CurveTo(x+r, y-k, x+k, y-r, x, y-r).
		CurveTo(x-k, y-r, x-r, y-k, x-r, y).
		CurveTo(x-r, y+k, x-k, y+r, x, y+r).
		CurveTo(x+k, y+r, x+r, y+k, x+r, y).Close()
}

// append adds another path, made larger by scale and moved.
func (p *Path) append(other *Path, scale, dx, dy float64) {
	p.steps = append(p.steps, other.steps...)
	for _, q := range other.points {
		p.points = append(p.points, Point{q.X*scale + dx, q.Y*scale + dy})
	}
}
