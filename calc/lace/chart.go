package lace

// The bounds of a chart as a person gives it, its rows and the places of each: what
// the largest plan has rows for, and the widest warp pairs of ends.
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

// Tones is the chart as a Motif asks for it: 1 is a hole, 0 is none.
func (c Chart) Tones() [][]float64 {
	tones := make([][]float64, len(c))
	for i, row := range c {
		tones[i] = make([]float64, len(row))
		for j, hole := range row {
			if hole {
				tones[i][j] = 1
			}
		}
	}
	return tones
}

// Alteration is a place where what is woven differs from what was asked for, or
// where it holds badly.
type Alteration struct {
	Row    int // from 1, in the Chart of the piece; two-way, that of the journey out
	Column int // from 1, in the Chart of the piece
	Why    Why
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
	// to 1, laid out as a Chart is. A chart has only 0 and 1 (Chart.Tones gives
	// them), a picture what lies between. A hole is asked for above one half.
	Asked [][]float64

	Cell   int  // pairs of ends from place to place; 0 chooses the widest usual one that fits
	Across int  // repeats across the warp; 0 is as many as fit, or with a Panel once
	Apart  int  // plain places between two repeats, where they share none, 0 to MaxChartColumns
	Rows   int  // woven rows in all, journeys when two-way; 0 weaves the design once
	Mirror bool // every second repeat across is mirrored, and shares the place where it begins with the one before
	Margin int  // the fewest pairs from a selvedge to a place: what is over is shared; -1 chooses
	Panel  int  // which of the panels that a design too wide for the warp is cut into, from 1 at the left; 0 cuts nothing
	AsIs   bool // leave what holds badly (slit, wide, slope) as asked; what cannot be woven is still changed
}

// Fitted is a Motif as a warp carries it. The rows of its Chart and of its
// Pattern that are alike share their memory: treat them as read-only.
type Fitted struct {
	Pattern     Pattern // its rows are Listed and fill the warp
	Chart       Chart   // of the whole piece, a row for each row of the plan
	Cell        int     // pairs from place to place
	Repeats     int     // across the warp, or across all panels
	MarginLeft  int     // pairs from the left selvedge to the first place
	MarginRight int     // pairs from the last place to the right selvedge

	Panels      int // into how many panels the design is cut, 1 when it is whole
	First, Last int // the columns of the whole design, from 1, that this piece has

	Changes   []Alteration // row by row from the first woven, from the left
	Doubts    []Alteration // what holds badly and was left, AsIs; a Slit and a Slope where each becomes one
	Agreement float64      // of the Chart with what was asked for, 0 to 1: 1 less the mean difference of a place, hole or none, from Asked
}
