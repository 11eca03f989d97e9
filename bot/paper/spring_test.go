package paper

import (
	"math"
	"testing"

	"weftroom/calc/lace"

	"pgregory.net/rapid"
)

// interlaced is a pattern as the simulated weaver weaves it.
func interlaced(t testing.TB, p lace.Pattern) *lace.Interlacing {
	t.Helper()
	plan := planOf(t, p)
	in, err := lace.Interlace(p.Ends, p.From, plan.Rows)
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func planOf(t testing.TB, p lace.Pattern) *lace.Plan {
	t.Helper()
	d, err := p.Design()
	if err != nil {
		t.Fatal(err)
	}
	plan, err := lace.Make(d)
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// nearEnough is what settle promises, in spacings.
const nearEnough = 1e-4

// dense solves the same springs in another way: it writes the energy out spring
// by spring into a full matrix for the places themselves, not for how far they
// are from their dents, and eliminates with row exchanges.
func dense(s *springs) []float64 {
	n := s.ends * s.levels
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n+1)
	}
	tie := func(i, j int, k, rest float64) { // k·(x[j] − x[i] − rest)²
		m[i][i] += k
		m[j][j] += k
		m[i][j] -= k
		m[j][i] -= k
		m[i][n] -= k * rest
		m[j][n] += k * rest
	}
	for level := range s.levels {
		for end := range s.ends {
			i := level*s.ends + end
			m[i][i] += s.dent[end]
			m[i][n] += s.dent[end] * float64(end)
			if end+1 < s.ends {
				tie(i, i+1, s.across[i], s.rest[i])
			}
			if level+1 < s.levels {
				tie(i, i+s.ends, s.along, 0)
			}
		}
	}
	for col := range n {
		best := col
		for row := col + 1; row < n; row++ {
			if math.Abs(m[row][col]) > math.Abs(m[best][col]) {
				best = row
			}
		}
		m[col], m[best] = m[best], m[col]
		for row := col + 1; row < n; row++ {
			f := m[row][col] / m[col][col]
			for k := col; k <= n; k++ {
				m[row][k] -= f * m[col][k]
			}
		}
	}
	x := make([]float64, n)
	for row := n - 1; row >= 0; row-- {
		x[row] = m[row][n]
		for k := row + 1; k < n; k++ {
			x[row] -= m[row][k] * x[k]
		}
		x[row] /= m[row][row]
	}
	return x
}

func TestSettlesAsADenseSolutionDoes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		ends, levels := rapid.IntRange(1, 9).Draw(rt, "ends"), rapid.IntRange(1, 8).Draw(rt, "levels")
		stiff := rapid.Float64Range(0.01, 3)
		s := &springs{ends: ends, levels: levels, along: stiff.Draw(rt, "along")}
		for range ends {
			s.dent = append(s.dent, stiff.Draw(rt, "dent"))
		}
		for i := range ends * levels {
			across, rest := stiff.Draw(rt, "across"), rapid.Float64Range(0.3, 2).Draw(rt, "rest")
			if i%ends == ends-1 {
				across, rest = 0, 0
			}
			s.across, s.rest = append(s.across, across), append(s.rest, rest)
		}
		want := dense(s)
		got, _ := s.settle()
		for i := range want {
			if math.Abs(got[i]-want[i]) > nearEnough {
				rt.Fatalf("place %d: %g, by elimination %g", i, got[i], want[i])
			}
		}
	})
}

func TestLaceSettlesAsADenseSolutionDoes(t *testing.T) {
	in := interlaced(t, lace.Pattern{Ends: 24, Raised: 3, Passes: 3, Rows: 3, Repeat: lace.HalfDrop})
	s := springsOf(in)
	want := dense(s)
	got, _ := s.settle()
	for i := range want {
		if math.Abs(got[i]-want[i]) > nearEnough {
			t.Errorf("place %d: %g, by elimination %g", i, got[i], want[i])
		}
	}
}

// A pattern that is the same from both sides lies the same on both sides.
func TestSymmetricPatternLiesSymmetric(t *testing.T) {
	in := interlaced(t, lace.Pattern{Ends: 36, Raised: 3, Passes: 5, Rows: 4})
	place, _ := springsOf(in).settle()
	for i, x := range place {
		level, end := i/36, i%36
		mirrored := 35 - place[level*36+35-end]
		if math.Abs(x-mirrored) > nearEnough {
			t.Errorf("end %d at level %d lies at %g, its mirror image at %g", end+1, level, x, mirrored)
		}
	}
}

// What makes it lace: holes stand open where the weft turned and nowhere else,
// widest in their middle, ends lie in their order, edges keep straight, and
// without lace every end lies in its dent.
func TestHolesOpenWhereTheWeftTurned(t *testing.T) {
	const ends, passes = 48, 5
	plan := planOf(t, lace.Pattern{Ends: ends, Raised: 3, Passes: passes, Rows: 3})
	in, err := lace.Interlace(ends, lace.Right, aroundRows(plan, plan.Rows))
	if err != nil {
		t.Fatal(err)
	}
	place, _ := springsOf(in).settle()
	gap := func(boundary, level int) float64 { return place[level*ends+boundary] - place[level*ends+boundary-1] }
	for level := range in.Levels {
		for b := 1; b < ends; b++ {
			g := gap(b, level)
			switch {
			case g <= 0.4:
				t.Errorf("ends %d and %d are %.2f apart at level %d", b, b+1, g, level)
			case in.Tied(b, level) && g > 1.5:
				t.Errorf("a hole of %.2f where the cloth is tied, boundary %d, level %d", g, b, level)
			case !in.Tied(b, level) && g < 1.5:
				t.Errorf("no hole at boundary %d, level %d: %.2f", b, level, g)
			}
		}
		for _, end := range []int{0, ends - 1} {
			if off := math.Abs(place[level*ends+end] - float64(end)); off > 0.35 {
				t.Errorf("edge end %d is drawn in by %.2f at level %d", end+1, off, level)
			}
		}
	}
	foot := plainAround + passes + 1 // of the second row
	if foot, middle, top := gap(12, foot), gap(12, foot+2), gap(12, foot+4); middle <= foot || middle <= top {
		t.Errorf("the hole is not widest in its middle: %.2f %.2f %.2f", foot, middle, top)
	}

	plain, err := lace.Interlace(ends, lace.Right, []lace.Row{lace.PlainPicks(ends, 6, lace.Right, lace.Shed1)})
	if err != nil {
		t.Fatal(err)
	}
	place, _ = springsOf(plain).settle()
	for i, x := range place {
		if math.Abs(x-float64(i%ends)) > 1e-9 {
			t.Errorf("end %d of plain weave lies at %g", i%ends+1, x)
		}
	}
}

// Twice the cloth takes no more steps, so that the time grows with the cloth.
func TestStepsDoNotGrowWithTheCloth(t *testing.T) {
	steps := func(ends, rows int) int {
		in := interlaced(t, lace.Pattern{Ends: ends, Raised: 3, Passes: 3, Rows: rows})
		_, n := springsOf(in).settle()
		return n
	}
	small, wide, high, both := steps(96, 8), steps(384, 8), steps(96, 32), steps(384, 32)
	t.Logf("steps: %d; four times as wide %d, as high %d, both %d", small, wide, high, both)
	for _, n := range []int{wide, high, both} {
		if n > small*3/2 {
			t.Errorf("%d steps, and %d on a larger cloth", small, n)
		}
	}
	if small > 60 {
		t.Errorf("%d steps", small)
	}
}
