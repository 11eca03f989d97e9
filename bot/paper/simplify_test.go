package paper

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestStraightenedStaysNear: whatever line is simplified, its ends and its
// curves stay, and no point that is left out was further from the new line than
// it may be.
func TestStraightenedStaysNear(t *testing.T) {
	place := rapid.Float64Range(-2, 2)
	rapid.Check(t, func(t *rapid.T) {
		p := &Path{}
		x, y := 0.0, 0.0
		for range rapid.IntRange(1, 4).Draw(t, "parts") {
			p.MoveTo(x, y)
			for range rapid.IntRange(0, 30).Draw(t, "lines") {
				x, y = x+1, y+place.Draw(t, "bend")*rapid.SampledFrom([]float64{0, 0.01, 1}).Draw(t, "how much")
				p.LineTo(x, y)
			}
			if rapid.Bool().Draw(t, "curve") {
				p.CurveTo(x, y, x+1, y, x+1, y+1)
				x, y = x+1, y+1
			}
			p.Close()
		}
		steps, points := straightened(p.steps, p.points)
		if count(steps, moveTo) != count(p.steps, moveTo) || count(steps, curveTo) != count(p.steps, curveTo) || count(steps, closed) != count(p.steps, closed) {
			t.Fatalf("other pieces than before: %v instead of %v", steps, p.steps)
		}
		if len(steps) > len(p.steps) {
			t.Fatalf("%d pieces instead of %d", len(steps), len(p.steps))
		}
		k := 0
		for _, q := range p.points {
			if k < len(points) && points[k] == q {
				k++
				continue
			}
			if d := distance(q, points[k-1], points[k]); d > near+1e-9 {
				t.Fatalf("%v was left out, %g from the line", q, d)
			}
		}
		if k != len(points) {
			t.Fatalf("%d points of %d are none of the path's", len(points)-k, len(points))
		}
	})
}

func count(steps []step, s step) (n int) {
	for _, other := range steps {
		if other == s {
			n++
		}
	}
	return n
}

// distance is how far a point is from a piece of a line.
func distance(p, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l))
	}
	return math.Hypot(p.X-a.X-t*dx, p.Y-a.Y-t*dy)
}

func TestStraightLineIsTwoPoints(t *testing.T) {
	p := (&Path{}).MoveTo(0, 0)
	for i := 1; i <= 1000; i++ {
		p.LineTo(float64(i), float64(i)/3)
	}
	if _, points := straightened(p.steps, p.points); len(points) != 2 {
		t.Errorf("%d points", len(points))
	}
}
