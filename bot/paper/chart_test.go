package paper

import (
	"bytes"
	"image/png"
	"runtime"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc/lace"
)

// chartOf has a hole where holed says so; rows and columns count from 0, the
// first woven row and the left.
func chartOf(rows, columns int, holed func(row, column int) bool) lace.Chart {
	c := make(lace.Chart, rows)
	for i := range c {
		c[i] = make([]bool, columns)
		for j := range c[i] {
			c[i][j] = holed(i, j)
		}
	}
	return c
}

func chartWords() ChartWords {
	return ChartWords{
		Title: "The chart", Begin: "begin here", Hole: "a hole", Plain: "no hole: the group goes on",
		Notes: []string{"Row 1 is at the foot, as the cloth grows away from you."},
	}
}

// The shapes that charts were looked at in: a small one of no symmetry at all, so
// that a turned or mirrored one is seen, one both ways, a dense one of small
// squares, and one too large on both sides.
var charts = map[string]Chart{
	"chart-corner":   {Holes: chartOf(4, 7, func(i, j int) bool { return j <= 2*i && j%2 == 0 || i == 0 && j == 1 }), Words: chartWords()},
	"chart-two-way":  {Holes: chartOf(12, 24, func(i, j int) bool { return (j+i/2)%6 == 0 }), From: lace.Left, Way: lace.TwoWay, Words: chartWords()},
	"chart-long":     {Holes: chartOf(120, 40, func(i, j int) bool { return (j+i)%12 == 0 || (j-i+120)%12 == 0 }), Words: chartWords()},
	"chart-in-part":  {Holes: chartOf(1000, 2000, func(i, j int) bool { return (i*i+j)%7 == 0 }), Words: chartWords()},
	"chart-one-hole": {Holes: chartOf(1, 1, func(int, int) bool { return true }), From: lace.Left, Words: chartWords()},
}

func TestChartsLook(t *testing.T) {
	for name, c := range charts {
		t.Run(name, func(t *testing.T) { looksLike(t, name, c.Sheet(), 390) })
	}
}

func TestChartPart(t *testing.T) {
	for _, row := range []struct {
		name string
		rows int
		cols int
		want ChartPart
	}{
		{"whole", 20, 24, ChartPart{24, 24, 20, 20}},
		{"one square", 1, 1, ChartPart{1, 1, 1, 1}},
		{"nothing at all", 0, 0, ChartPart{}},
		{"rows without a place", 3, 0, ChartPart{0, 0, 3, 3}},
		{"as small as squares get", 257, 20, ChartPart{20, 20, 257, 257}},
		{"too tall", 258, 20, ChartPart{20, 20, 257, 258}},
	} {
		c := Chart{Holes: chartOf(row.rows, row.cols, func(i, j int) bool { return i == j })}
		if diff := cmp.Diff(row.want, c.Part()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, diff)
		}
		if err := legible(c.Sheet()); err != nil {
			t.Errorf("%s: %v", row.name, err)
		}
	}
}

// dotsOn are the middles of the holes that are drawn.
func dotsOn(s *Sheet, width float64) (dots []Point) {
	for _, item := range s.Items {
		if st, ok := item.(Stroked); ok && st.Pen.Cap == Round && st.Pen.Ink == Black && st.Pen.Width == width {
			for i := 0; i < len(st.Path.points); i += 2 {
				dots = append(dots, st.Path.points[i])
			}
		}
	}
	return dots
}

// TestChartShowsEveryHole: each hole stands in the square that the numbers about
// the chart name, the first row lowest and the first place at the left; no square
// but those of holes has a ring.
func TestChartShowsEveryHole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, columns := rapid.IntRange(1, 40).Draw(t, "rows"), rapid.IntRange(1, 150).Draw(t, "columns")
		holes := lace.Chart(rapid.SliceOfN(rapid.SliceOfN(rapid.Bool(), columns, columns), rows, rows).Draw(t, "holes"))
		c := Chart{Holes: holes, From: lace.Side(rapid.IntRange(0, 1).Draw(t, "from")), Way: lace.Way(rapid.IntRange(0, 1).Draw(t, "way")), Words: chartWords()}
		s, p := c.Sheet(), c.plan()
		if err := legible(s); err != nil {
			t.Fatal(err)
		}
		var xs, ys []float64 // of the numbers 1, by which the corner is known
		eachText(s, 0, 0, 1, func(l Lettered, left, right, base float64) {
			if l.Text == "1" {
				xs, ys = append(xs, (left+right)/2), append(ys, base)
			}
		})
		part := p.part
		wantOnes := 2 // of the first row, at both sides
		if part.Whole() || c.From == lace.Left {
			wantOnes = 3 // and of the first place
		}
		if len(xs) != wantOnes {
			t.Fatalf("%d numbers 1, want %d", len(xs), wantOnes)
		}
		foot := slices.Min(ys) - sizeSmall*0.35 // of the first row's middle
		want := map[[2]int]bool{}
		first := 0
		if c.From == lace.Right {
			first = columns - part.Columns
		}
		for i := range part.Rows {
			for j := first; j < first+part.Columns; j++ {
				if holes[i][j] {
					want[[2]int{i, j}] = true
				}
			}
		}
		got := map[[2]int]bool{}
		left := (phoneWidth - p.square*float64(part.Columns)) / 2
		for _, dot := range dotsOn(s, 0.8*p.square) {
			row, column := (foot-dot.Y)/p.square, (dot.X-left)/p.square-0.5
			got[[2]int{int(row + 0.5), first + int(column+0.5)}] = true
		}
		if p.square != 14 { // as the legend's is
			if diff := cmp.Diff(want, got); diff != "" {
				t.Fatal(diff)
			}
		}
	})
}

// TestNumberedSquares: 1 first, then every n-th, none on another.
func TestNumberedSquares(t *testing.T) {
	for _, row := range []struct {
		name         string
		first, count int
		square, room float64
		want         []int
	}{
		{"room for each", 1, 4, 17, 12, []int{1, 2, 3, 4}},
		{"every fifth", 1, 12, 4, 12, []int{1, 5, 10}},
		{"the fifth too near to the first", 1, 12, 2.5, 12, []int{1, 10}},
		{"not from the first on", 95, 11, 3.5, 22, []int{100}},
	} {
		if diff := cmp.Diff(row.want, numbered(row.first, row.count, row.square, row.room)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, diff)
		}
	}
}

// TestTheLargestChart is drawn from a bounded number of things, as a picture and
// as a page.
func TestTheLargestChart(t *testing.T) {
	c := Chart{Holes: chartOf(lace.MaxChartRows, lace.MaxChartColumns, func(int, int) bool { return true }), Words: chartWords()}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	s := c.Sheet()
	raw, err := PNG(s, PictureWidth)
	if err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	taken := after.TotalAlloc - before.TotalAlloc
	if _, err := png.Decode(bytes.NewReader(raw)); err != nil {
		t.Fatal(err)
	}
	pdf, err := PDF([]*Sheet{s}, About{Title: "chart"})
	if err != nil {
		t.Fatal(err)
	}
	dots := len(dotsOn(s, 0.8*c.plan().square))
	t.Logf("%d rings, %d KB as a picture, %d KB as a page, %d MB taken", dots, len(raw)>>10, len(pdf)>>10, taken>>20)
	if most := phoneWidth * chartHigh / (leastSquare * leastSquare); dots == 0 || float64(dots) > most {
		t.Errorf("%d rings", dots)
	}
	if taken > 200<<20 {
		t.Errorf("%d MB taken", taken>>20)
	}
	if len(pdf) > 300_000 {
		t.Errorf("a page of %d bytes", len(pdf))
	}
}

// TestChartInPrint: programs of others see in a page what a picture shows, and
// have no word to say of it. A ring is a line of no length there.
func TestChartInPrint(t *testing.T) {
	for _, name := range []string{"chart-corner", "chart-two-way", "chart-long"} {
		t.Run(name, func(t *testing.T) {
			sheets := []*Sheet{charts[name].Sheet()}
			pdf, err := PDF(sheets, About{Title: name, Language: "en"})
			if err != nil {
				t.Fatal(err)
			}
			checkPDF(t, pdf)
			checkPageLook(t, sheets, pdf)
		})
	}
}
