package lace

import (
	"fmt"
	"math"
	"strings"

	"weftroom/calc"
)

// Sentences about grounds. Counts in Args are ints.
const (
	// KeyGroundSize: the name of the size, the number given, the least, the most, the name of the ground.
	KeyGroundSize calc.Key = "lace.ground_size"
	// KeyGroundTakes: the name of a size that the ground has not, the name of the
	// ground, the names of those that it has, as text.
	KeyGroundTakes calc.Key = "lace.ground_takes"
)

// Size is a number that shapes a Ground, in places and rows.
type Size struct {
	Name              string
	Min, Max, Default int
}

// Ground is a design that fills a cloth by repeating: its geometry says of each
// place whether it is a hole, and comes again across and along without a seam.
type Ground struct {
	Name      string // a plain word of geometry
	Sizes     []Size // "size", and "gap" where something lies apart
	Symmetric bool   // mirrored left for right, it is the same again, if perhaps moved aside

	across, along func(size, gap int) int
	hole          func(row, column, size, gap int) bool // rows from the first woven, from 0
}

var (
	twice    = func(size, _ int) int { return 2 * size }
	gapOne   = func(_, gap int) int { return gap + 1 }
	gapTwice = func(_, gap int) int { return 2 * (gap + 1) }
	apart    = func(size, gap int) int { return 2*size + 1 + gap }
)

// Grounds are those that there are, in the order in which they are offered. The
// geometry is in the comment of each; all are the project's own. The usual sizes are
// such that all holes open with the usual 3 pairs to a place: none lies between two
// groups wider than MaxDrawn, and no column of them is longer than MaxSlit. The
// largest are our own bound.
func Grounds() []Ground {
	size := func(least, usual int) Size { return Size{Name: "size", Min: least, Max: 24, Default: usual} }
	gap := func(usual int) Size { return Size{Name: "gap", Min: 1, Max: 24, Default: usual} }
	return []Ground{
		// Outlines of squares on their points, size places from the middle to each
		// point, gap empty places between two points.
		{Name: "diamond", Sizes: []Size{size(1, 2), gap(1)}, Symmetric: true, across: apart, along: apart, hole: diamond},
		// Two bundles of slanting lines that cross; size places from a crossing to
		// the next row of crossings.
		{Name: "lattice", Sizes: []Size{size(2, 3)}, Symmetric: true, across: twice, along: twice, hole: lattice},
		// Lines that slant up and down by turns, size places each way, gap empty
		// rows between two lines.
		{Name: "chevron", Sizes: []Size{size(1, 3), gap(3)}, Symmetric: true, across: twice, along: gapOne, hole: chevron},
		// The same with round turns: size places from a crest to a trough, half as high.
		{Name: "waves", Sizes: []Size{size(2, 6), gap(3)}, Symmetric: true, across: twice, along: gapOne, hole: wave},
		// Squares of size × size holes and squares without, as on a board.
		{Name: "checks", Sizes: []Size{size(1, 3)}, Symmetric: true, across: twice, along: twice, hole: check},
		// Stairs that rise to the right: treads and risers of size places.
		{Name: "steps", Sizes: []Size{size(2, 3)}, across: twice, along: twice, hole: step},
		// Upright strokes of size holes, gap empty columns between two; each begins
		// where its neighbours end.
		{Name: "rain", Sizes: []Size{size(1, 2), gap(1)}, Symmetric: true, across: gapTwice, along: twice, hole: drop},
	}
}

// Chart is one repeat of the ground, with the sizes that were asked for by name
// and the usual ones for the others. The error is a *calc.Fault about a size that is
// out of its bounds or that the ground has not.
func (g Ground) Chart(asked map[string]int) (Chart, error) {
	sizes := map[string]int{}
	for _, s := range g.Sizes {
		n, said := asked[s.Name]
		if !said {
			n = s.Default
		}
		if n < s.Min || n > s.Max {
			return nil, outOfRange(s.Name, KeyGroundSize, s.Default, s.Name, n, s.Min, s.Max, g.Name)
		}
		sizes[s.Name] = n
	}
	for name := range asked {
		if _, takes := sizes[name]; !takes {
			return nil, g.takesNo(name)
		}
	}
	size, gap := sizes["size"], sizes["gap"]
	chart := make(Chart, g.along(size, gap))
	for r := range chart {
		chart[r] = make([]bool, g.across(size, gap))
		for c := range chart[r] {
			chart[r][c] = g.hole(r, c, size, gap)
		}
	}
	return chart, nil
}

func (g Ground) takesNo(name string) *calc.Fault {
	var names []string
	for _, s := range g.Sizes {
		names = append(names, s.Name)
	}
	first := g.Sizes[0]
	return &calc.Fault{
		Code: calc.Conflict, Key: KeyGroundTakes, Field: name, Args: []any{name, g.Name, strings.Join(names, ", ")},
		Example: fmt.Sprintf("ground:%s %s:%d", g.Name, first.Name, first.Default),
	}
}

// diamond: |row − middle| + |column − middle| = size.
func diamond(row, column, size, _ int) bool { return away(row-size)+away(column-size) == size }

// lattice: row + column or row − column is a multiple of twice the size.
func lattice(row, column, size, _ int) bool {
	return (row+column)%(2*size) == 0 || (row-column)%(2*size) == 0
}

// chevron: row = |column − size| but for whole distances between two lines.
func chevron(row, column, size, gap int) bool { return (row-away(column-size))%(gap+1) == 0 }

// wave: row = size/2 · (1 + cos(π·column/size))/2, rounded, but for whole distances
// between two lines. The slope is at most π/4, so a line has no break.
func wave(row, column, size, gap int) bool {
	high := float64(size / 2)
	from := min(column, 2*size-column) // so that both sides round alike
	line := int(math.Round(high * (1 + math.Cos(math.Pi*float64(from)/float64(size))) / 2))
	return (row-line)%(gap+1) == 0
}

// check: row and column lie in squares of which both are even or both odd.
func check(row, column, size, _ int) bool { return row/size%2 == column/size%2 }

// step: on a tread, whose height rises by the size with each; or on the riser at the
// first column of a tread, from the tread before up to it.
func step(row, column, size, _ int) bool {
	below := ((column/size*size-row)%(2*size) + 2*size) % (2 * size)
	return below == 0 || column%size == 0 && below <= size
}

// drop: the column has strokes, and in every second of them row and size are even.
func drop(row, column, size, gap int) bool {
	return column%(gap+1) == 0 && row/size%2 == column/(gap+1)%2
}

func away(distance int) int { return max(distance, -distance) }
