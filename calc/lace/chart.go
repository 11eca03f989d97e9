package lace

import "weftroom/calc"

// The bounds of a chart as a person gives it.
const (
	MaxChartRows    = MaxRows
	MaxChartColumns = MaxEnds / 2
)

// Chart says where holes go. Each column is a place between two cells of the
// warp, from left to right as the weaver sees it; each row is woven once, the
// first woven row first. All rows are equally long.
type Chart [][]bool

// Columns is the number of places of each row.
func (c Chart) Columns() int {
	if len(c) == 0 {
		return 0
	}
	return len(c[0])
}

// Strings writes the chart as it is typed: o is a hole, a dot is none, the first
// woven row first.
func (c Chart) Strings() []string {
	rows := make([]string, len(c))
	for i, row := range c {
		b := make([]byte, len(row))
		for j, hole := range row {
			b[j] = '.'
			if hole {
				b[j] = 'o'
			}
		}
		rows[i] = string(b)
	}
	return rows
}

// Alteration is a place where what is woven differs from what was asked for.
type Alteration struct {
	Row, Column int // from 1, in the Chart of the piece
	Why         Why
}

// Why is the reason of an Alteration.
type Why int

// The reasons why a hole cannot be where it was asked for, or one has to be where
// none was.
const (
	Slit    Why = iota // too many holes one above the other: one long slit
	Wide               // a hole between two groups that are too wide to be drawn aside
	AtEdge             // a hole at the selvedge, or too near
	OnePair            // a group of a single pair
	Slope              // too many rows running with narrow groups beside a wide one
)

// Motif is a design made of holes that is asked for on a warp.
type Motif struct {
	Ends   int  // of the warp, MinEnds to MaxEnds
	From   Side // where the piece begins
	Way    Way  // two-way, each row of the chart is woven out and home
	Passes int  // odd, MinPasses to MaxPasses

	// Asked is one repeat of the design: how much each place should be a hole, 0
	// to 1, laid out as a Chart is. A chart has only 0 and 1, a picture what lies between.
	Asked [][]float64

	Cell   int  // pairs of ends from place to place; 0 chooses the widest usual one that fits
	Across int  // repeats across the warp; 0 is as many as fit
	Rows   int  // woven rows in all, journeys when two-way; 0 weaves the design once
	Mirror bool // every second repeat across is mirrored
	Margin int  // the fewest pairs from a selvedge to a hole: what is over is shared; -1 chooses
	AsIs   bool // leave what holds badly (slit, wide, slope) as asked; what cannot be woven is still changed
}

// Fitted is a Motif as a warp carries it.
type Fitted struct {
	Pattern     Pattern // its rows are Listed and fill the warp
	Chart       Chart   // of the whole piece, a row for each row of the plan
	Cell        int     // pairs from place to place
	Repeats     int     // across the warp
	MarginLeft  int     // pairs from the left selvedge to the first place
	MarginRight int     // pairs from the last place to the right selvedge
	Changes     []Alteration
	Agreement   float64 // of the Chart with what was asked for, 0 to 1
}

// Fit lays the design out on the warp and changes what does not hold. The error is
// a *calc.Fault about the first argument that is wrong.
func (m Motif) Fit() (Fitted, error) {
	return Fitted{}, &calc.Fault{Code: calc.BadValue}
}
