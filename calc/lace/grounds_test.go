package lace

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
)

func TestTheGroundsLookAsTheyDid(t *testing.T) {
	var b strings.Builder
	for _, g := range Grounds() {
		chart, err := g.Chart(nil)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "%s, one repeat\n%s\n%s, twelve\n%s\n", g.Name, upright(chart), g.Name, upright(tiled(chart, 3*len(chart), 4*chart.Columns())))
	}
	looksLike(t, "grounds.txt", b.String())
}

// tiled lays repeats of a chart side by side and one above the other.
func tiled(c Chart, rows, columns int) Chart {
	big := blankChart(rows, columns)
	for r := range big {
		for i := range big[r] {
			big[r][i] = c[r%len(c)][i%c.Columns()]
		}
	}
	return big
}

func blankChart(rows, columns int) Chart {
	c := make(Chart, rows)
	for r := range c {
		c[r] = make([]bool, columns)
	}
	return c
}

// A field is drawn on with a pen, over its edges.
type field Chart

func (f field) dot(row, column int) {
	if row >= 0 && row < len(f) && column >= 0 && column < len(f[0]) {
		f[row][column] = true
	}
}

// line goes from a place to another straight across, along, or at half a right angle.
func (f field) line(row, column, rows, columns int) {
	n := max(away(rows), away(columns))
	for i := range n + 1 {
		f.dot(row+i*rows/max(n, 1), column+i*columns/max(n, 1))
	}
}

// The grounds once more, each drawn over a whole field with a pen and not by an
// equation for a place.
var drawnGrounds = map[string]func(f field, size, gap int){
	"diamond": func(f field, s, gap int) {
		for r := 0; r < len(f)+2*s; r += 2*s + 1 + gap {
			for c := 0; c < len(f[0])+2*s; c += 2*s + 1 + gap {
				f.line(r+s, c, s, s)
				f.line(r+s, c, -s, s)
				f.line(r+s, c+2*s, s, -s)
				f.line(r+s, c+2*s, -s, -s)
			}
		}
	},
	"lattice": func(f field, s, _ int) {
		n := len(f) + len(f[0])
		for c := -2 * s * n; c <= 2*s*n; c += 2 * s {
			f.line(0, c, n, n)
			f.line(0, c, n, -n)
		}
	},
	"chevron": func(f field, s, gap int) {
		for r := s % (gap + 1); r < len(f)+s+gap+1; r += gap + 1 {
			for c := 0; c < len(f[0]); c += 2 * s {
				f.line(r, c, -s, s)
				f.line(r-s, c+s, s, s)
			}
		}
	},
	"waves": func(f field, s, gap int) {
		for c := range f[0] {
			high := float64(s/2)/2 + float64(s/2)/2*math.Cos(2*math.Pi*float64(c)/float64(2*s))
			for r := -4 * (gap + 1) * s; r < len(f); r += gap + 1 {
				f.dot(r+int(math.Floor(high+0.5+1e-9)), c)
			}
		}
	},
	"checks": func(f field, s, _ int) {
		for r := 0; r < len(f); r += s {
			for c := r % (2 * s); c < len(f[0]); c += 2 * s {
				for i := range s {
					f.line(r+i, c, 0, s-1)
				}
			}
		}
	},
	"steps": func(f field, s, _ int) {
		n := len(f) + len(f[0])
		for r := -2 * s * n; r < len(f); r += 2 * s {
			for at, c := r, 0; c < len(f[0]); at, c = at+s, c+s {
				f.line(at-s, c, s, 0)
				f.line(at, c, 0, s-1)
			}
		}
	},
	"rain": func(f field, s, gap int) {
		for c, k := 0, 0; c < len(f[0]); c, k = c+gap+1, k+1 {
			for r := k % 2 * s; r < len(f); r += 2 * s {
				f.line(r, c, s-1, 0)
			}
		}
	},
}

// eachSize goes through all sizes of a ground that are looked at: each by itself
// to 12, and the largest.
func eachSize(g Ground, visit func(asked map[string]int)) {
	ranges := map[string][]int{"size": {0}, "gap": {0}}
	for _, s := range g.Sizes {
		ranges[s.Name] = nil
		for n := s.Min; n <= s.Max; n++ {
			if n <= 12 || n == s.Max {
				ranges[s.Name] = append(ranges[s.Name], n)
			}
		}
	}
	for _, size := range ranges["size"] {
		for _, gap := range ranges["gap"] {
			asked := map[string]int{"size": size}
			if len(g.Sizes) > 1 {
				asked["gap"] = gap
			}
			visit(asked)
		}
	}
}

// TestTheGroundsRepeatWithoutASeam compares repeats side by side with what a pen
// draws over the whole field.
func TestTheGroundsRepeatWithoutASeam(t *testing.T) {
	looked := 0
	for _, g := range Grounds() {
		draw, ok := drawnGrounds[g.Name]
		if !ok {
			t.Errorf("%s is not drawn", g.Name)
			continue
		}
		eachSize(g, func(asked map[string]int) {
			looked++
			chart, err := g.Chart(asked)
			if err != nil {
				t.Fatal(err)
			}
			rows, columns := 2*len(chart)+1, 2*chart.Columns()+1
			drawn := field(blankChart(rows, columns))
			draw(drawn, asked["size"], asked["gap"])
			if diff := cmp.Diff(upright(Chart(drawn)), upright(tiled(chart, rows, columns))); diff != "" {
				t.Errorf("%s %v (-drawn +repeated):\n%s", g.Name, asked, diff)
			}
		})
	}
	if looked < 500 {
		t.Errorf("only %d looked at", looked)
	}
}

// TestMirroredGrounds: those that say so are their own mirror image, and the
// others are not.
func TestMirroredGrounds(t *testing.T) {
	for _, g := range Grounds() {
		eachSize(g, func(asked map[string]int) {
			chart, err := g.Chart(asked)
			if err != nil {
				t.Fatal(err)
			}
			wide := tiled(chart, len(chart), 2*chart.Columns())
			same := false
			for by := range chart.Columns() {
				same = same || slices.EqualFunc(chart, wide, func(row, wide []bool) bool {
					mirrored := slices.Clone(wide[by : by+len(row)])
					slices.Reverse(mirrored)
					return slices.Equal(row, mirrored)
				})
			}
			if same != g.Symmetric {
				t.Errorf("%s %v: its mirror image is itself: %v", g.Name, asked, same)
			}
		})
	}
}

// TestAGroundHasHolesAndCloth: in each, something is open and something is not.
func TestAGroundHasHolesAndCloth(t *testing.T) {
	for _, g := range Grounds() {
		eachSize(g, func(asked map[string]int) {
			chart, err := g.Chart(asked)
			if err != nil {
				t.Fatal(err)
			}
			text := upright(chart)
			if !strings.Contains(text, "o") || !strings.Contains(text, ".") || len(chart) > MaxChartRows || chart.Columns() > MaxChartColumns {
				t.Errorf("%s %v:\n%s", g.Name, asked, text)
			}
		})
	}
}

// TestTheUsualGroundsHold: laid on usual warps with usual sizes, three repeats
// high, no ground has to be changed.
func TestTheUsualGroundsHold(t *testing.T) {
	for _, g := range Grounds() {
		chart, err := g.Chart(nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, ends := range []int{96, 97, 120, 200, 240} {
			for _, way := range []Way{OneWay, TwoWay} {
				f, err := Motif{Ends: ends, Way: way, Passes: 3, Asked: chart.Tones(), Cell: 3, Rows: 3 * len(chart), Margin: -1}.Fit()
				if err != nil {
					t.Fatal(err)
				}
				if len(f.Changes)+len(f.Doubts) > 0 {
					t.Errorf("%s on %d ends, way %v: changed %v, in doubt %v\n%s", g.Name, ends, way, f.Changes, f.Doubts, upright(f.Chart))
				}
			}
		}
	}
}

var faultyGrounds = []struct {
	name   string
	ground int
	asked  map[string]int
	want   calc.Fault
}{
	{"size too small", 0, map[string]int{"size": 0}, calc.Fault{
		Code: calc.OutOfRange, Key: KeyGroundSize, Field: "size", Args: []any{"size", 0, 1, 24, "diamond"}, Example: "size:2"}},
	{"gap too large", 2, map[string]int{"gap": 25}, calc.Fault{
		Code: calc.OutOfRange, Key: KeyGroundSize, Field: "gap", Args: []any{"gap", 25, 1, 24, "chevron"}, Example: "gap:3"}},
	{"beyond any bound", 1, map[string]int{"size": math.MaxInt}, calc.Fault{
		Code: calc.OutOfRange, Key: KeyGroundSize, Field: "size", Args: []any{"size", math.MaxInt, 2, 24, "lattice"}, Example: "size:3"}},
	{"a size that it has not", 1, map[string]int{"gap": 2}, calc.Fault{
		Code: calc.Conflict, Key: KeyGroundTakes, Field: "gap", Args: []any{"gap", "lattice", "size"}, Example: "ground:lattice size:3"}},
}

func TestGroundsRefuse(t *testing.T) {
	for _, tt := range faultyGrounds {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Grounds()[tt.ground].Chart(tt.asked)
			var fault *calc.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("Chart(%v) = %v", tt.asked, err)
			}
			if diff := cmp.Diff(tt.want, *fault); diff != "" {
				t.Error(diff)
			}
		})
	}
}
