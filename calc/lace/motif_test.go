package lace

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
)

// motifOn is a chart on a warp, one-way from the right with three passes, woven as
// it is asked where it can be.
func motifOn(t testing.TB, ends int, text string) Motif {
	return Motif{Ends: ends, Passes: 3, Asked: chartOf(t, text).Tones(), Across: 1, Margin: -1}
}

// The layouts are worked out by hand from the rules that Motif gives.
func TestMotifLayout(t *testing.T) {
	for _, row := range []struct {
		name  string
		ask   func(*Motif)
		chart string
		want  []Groups
		f     Fitted // Cell, Repeats and margins
	}{
		{"in the middle of an even warp", func(m *Motif) { m.Ends = 32 }, "o.o", []Groups{{5, 6, 5}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 5, MarginRight: 5}},
		{"from the right an odd pair goes to the left", func(m *Motif) { m.Ends = 34 }, "oo.", []Groups{{8, 3, 6}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 6, MarginRight: 5}},
		{"from the left an odd pair goes to the right", func(m *Motif) { m.Ends, m.From = 34, Left }, "oo.", []Groups{{5, 3, 9}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 5, MarginRight: 6}},
		{"the end over of an odd warp is in no margin", func(m *Motif) { m.Ends = 33 }, "o.o", []Groups{{5, 6, 5}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 5, MarginRight: 5}},
		{"the narrow cell where the wide one does not fit", func(m *Motif) { m.Ends = 18 }, "o.o", []Groups{{2, 4, 3}},
			Fitted{Cell: 2, Repeats: 1, MarginLeft: 3, MarginRight: 2}},
		{"one pair where no two holes are side by side", func(m *Motif) { m.Ends = 14 }, "o.o.", []Groups{{3, 2, 2}},
			Fitted{Cell: 1, Repeats: 1, MarginLeft: 2, MarginRight: 2}},
		{"the cell asked for", func(m *Motif) { m.Ends, m.Cell = 32, 5 }, "oo", []Groups{{5, 5, 6}},
			Fitted{Cell: 5, Repeats: 1, MarginLeft: 6, MarginRight: 5}},
		{"as many repeats as fit", func(m *Motif) { m.Ends, m.Across = 50, 0 }, "oo.", []Groups{{8, 3, 6, 3, 5}},
			Fitted{Cell: 3, Repeats: 2, MarginLeft: 5, MarginRight: 5}},
		{"repeats apart, and margins alike", func(m *Motif) { m.Ends, m.Across, m.Apart = 50, 2, 2 }, "oo", []Groups{{5, 3, 9, 3, 5}},
			Fitted{Cell: 3, Repeats: 2, MarginLeft: 5, MarginRight: 5}},
		{"mirrored repeats share the place between", func(m *Motif) { m.Ends, m.Across, m.Mirror = 50, 2, true }, "oo.", []Groups{{6, 3, 6, 3, 7}},
			Fitted{Cell: 3, Repeats: 2, MarginLeft: 7, MarginRight: 6}},
		{"a margin asked for", func(m *Motif) { m.Ends, m.Margin = 34, 7 }, "oo", []Groups{{7, 3, 7}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 7, MarginRight: 7}},
		{"rows beyond the chart begin it again", func(m *Motif) { m.Ends, m.Rows = 32, 3 }, "o.o/.../", []Groups{{5, 6, 5}, {16}, {5, 6, 5}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 5, MarginRight: 5}},
		{"fewer rows cut it", func(m *Motif) { m.Ends, m.Rows = 32, 1 }, "o.o/...", []Groups{{5, 6, 5}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 5, MarginRight: 5}},
		{"two-way, each row of the chart is one listed row", func(m *Motif) { m.Ends, m.Way = 34, TwoWay }, "oo./...", []Groups{{8, 3, 6}, {17}},
			Fitted{Cell: 3, Repeats: 1, MarginLeft: 6, MarginRight: 5}},
		{"the first of two panels", func(m *Motif) { m.Ends, m.Panel = 20, 1 }, "oo.oo.oo", []Groups{{2, 4, 2, 2}},
			Fitted{Cell: 2, Repeats: 1, MarginLeft: 2, MarginRight: 2, Panels: 2, First: 1, Last: 4}},
		{"the second of two panels", func(m *Motif) { m.Ends, m.Panel = 20, 2 }, "oo.oo.oo", []Groups{{2, 2, 4, 2}},
			Fitted{Cell: 2, Repeats: 1, MarginLeft: 2, MarginRight: 2, Panels: 2, First: 5, Last: 8}},
	} {
		t.Run(row.name, func(t *testing.T) {
			m := motifOn(t, 0, row.chart)
			row.ask(&m)
			f, err := m.Fit()
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(row.want, f.Pattern.Listed); diff != "" {
				t.Errorf("groups (-want +got):\n%s", diff)
			}
			got := [...]int{f.Cell, f.Repeats, f.MarginLeft, f.MarginRight}
			want := [...]int{row.f.Cell, row.f.Repeats, row.f.MarginLeft, row.f.MarginRight}
			if got != want {
				t.Errorf("cell, repeats, margins %v, want %v", got, want)
			}
			if row.f.Panels > 0 && (f.Panels != row.f.Panels || f.First != row.f.First || f.Last != row.f.Last) {
				t.Errorf("columns %d to %d in %d panels, want %d to %d in %d", f.First, f.Last, f.Panels, row.f.First, row.f.Last, row.f.Panels)
			}
		})
	}
}

var refusedMotifs = []struct {
	name  string
	spoil func(*Motif)
	want  calc.Fault
}{
	{"no warp", func(m *Motif) { m.Ends = math.MaxInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyEndsRange, Field: "ends", Args: []any{math.MaxInt, 8, 4000}, Example: "ends:97"}},
	{"even passes", func(m *Motif) { m.Passes = 4 },
		calc.Fault{Code: calc.BadValue, Key: KeyEvenPasses, Field: "passes", Args: []any{4, 3, 5}, Example: "passes:3"}},
	{"no design", func(m *Motif) { m.Asked = nil },
		calc.Fault{Code: calc.BadValue, Key: KeyChartEmpty, Field: "chart", Example: chartExample}},
	{"no places", func(m *Motif) { m.Asked = [][]float64{{}} },
		calc.Fault{Code: calc.BadValue, Key: KeyChartEmpty, Field: "chart", Example: chartExample}},
	{"a ragged design", func(m *Motif) { m.Asked = [][]float64{{0, 1}, {1}} },
		calc.Fault{Code: calc.BadValue, Key: KeyChartRagged, Field: "chart", Args: []any{2, 1, 2}, Example: chartExample}},
	{"more places than any warp", func(m *Motif) { m.Asked = [][]float64{make([]float64, 2001)} },
		calc.Fault{Code: calc.OutOfRange, Key: KeyChartLong, Field: "chart", Args: []any{1, 1000, 2001, 2000}, Example: chartExample}},
	{"more rows than a piece, out and home", func(m *Motif) { m.Asked, m.Way = make501(), TwoWay },
		calc.Fault{Code: calc.OutOfRange, Key: KeyChartTall, Field: "rows", Args: []any{501, 500, 30, 3}, Example: "rows:1000"}},
	{"more rows than are woven at once", func(m *Motif) { m.Ends, m.Passes, m.Asked = 4000, 99, make501() },
		calc.Fault{Code: calc.OutOfRange, Key: KeyChartTall, Field: "rows", Args: []any{501, 50, 4000, 99}, Example: "rows:50"}},
	{"absurdly many rows do not overflow", func(m *Motif) { m.Rows = math.MaxInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRowsRange, Field: "rows", Args: []any{math.MaxInt, 1, 1000}, Example: "rows:20"}},
	{"rows below nothing", func(m *Motif) { m.Rows = -1 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRowsRange, Field: "rows", Args: []any{-1, 1, 1000}, Example: "rows:20"}},
	{"rows, ends and passes together too many", func(m *Motif) { m.Ends, m.Passes, m.Rows = 4000, 99, 51 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRowsWork, Field: "rows", Args: []any{51, 50, 4000, 99}, Example: "rows:50"}},
	{"a cell wider than the warp", func(m *Motif) { m.Cell = 16 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyCellRange, Field: "cell", Args: []any{16, 0, 15, 30}, Example: "cell:3"}},
	{"an absurd cell does not overflow", func(m *Motif) { m.Cell = math.MinInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyCellRange, Field: "cell", Args: []any{math.MinInt, 0, 15, 30}, Example: "cell:3"}},
	{"absurdly many repeats do not overflow", func(m *Motif) { m.Across = math.MaxInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyAcrossRange, Field: "across", Args: []any{math.MaxInt, 0, 666, 30, 3}, Example: "across:1"}},
	{"one repeat more than fit", func(m *Motif) { m.Across = 3 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyAcrossRange, Field: "across", Args: []any{3, 0, 2, 30, 3}, Example: "across:2"}},
	{"one mirrored repeat more than fits", func(m *Motif) { m.Across, m.Mirror = 6, true },
		calc.Fault{Code: calc.OutOfRange, Key: KeyAcrossRange, Field: "across", Args: []any{6, 0, 5, 30, 3}, Example: "across:5"}},
	{"margins wider than the warp", func(m *Motif) { m.Margin = 8 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyMarginRange, Field: "margin", Args: []any{8, 0, 7, 30}, Example: "margin:2"}},
	{"an absurd margin does not overflow", func(m *Motif) { m.Margin = math.MaxInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyMarginRange, Field: "margin", Args: []any{math.MaxInt, 0, 7, 30}, Example: "margin:2"}},
	{"too wide at any cell", func(m *Motif) { m.Asked = [][]float64{slices.Repeat([]float64{1}, 16)} },
		calc.Fault{Code: calc.Conflict, Key: KeyChartWide, Field: "panel", Args: []any{16, 68, 2, 30, 6, 2, 3, 6}, Example: "panel:1"}},
	{"too wide even at one pair", func(m *Motif) { m.Asked = [][]float64{slices.Repeat([]float64{1, 0}, 8)} },
		calc.Fault{Code: calc.Conflict, Key: KeyChartWide, Field: "panel", Args: []any{16, 38, 1, 30, 6, 2, 3, 6}, Example: "panel:1"}},
	{"too wide at the cell asked for", func(m *Motif) { m.Cell = 6 },
		calc.Fault{Code: calc.Conflict, Key: KeyCellWide, Field: "cell", Args: []any{6, 3, 32, 30, 5}, Example: "cell:5"}},
	{"a cell of one pair is offered where no holes are side by side", func(m *Motif) { m.Ends, m.Cell = 14, 2 },
		calc.Fault{Code: calc.Conflict, Key: KeyCellWide, Field: "cell", Args: []any{2, 3, 16, 14, 1}, Example: "cell:1"}},
	{"and none where there are", func(m *Motif) { m.Ends, m.Cell, m.Asked = 14, 2, [][]float64{{1, 1, 1}} },
		calc.Fault{Code: calc.Conflict, Key: KeyChartWide, Field: "panel", Args: []any{3, 16, 2, 14, 2, 2, 2, 2}, Example: "panel:1"}},
	{"a panel that there is not", func(m *Motif) { m.Asked, m.Panel = [][]float64{slices.Repeat([]float64{1}, 16)}, 4 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyPanelRange, Field: "panel", Args: []any{4, 3}, Example: "panel:1"}},
	{"an absurd panel does not overflow", func(m *Motif) { m.Panel = math.MinInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyPanelRange, Field: "panel", Args: []any{math.MinInt, 1}, Example: "panel:1"}},
}

const chartExample = `chart:"..o../.o.o./..o.."`

// make501 is a design of 501 rows of one place.
func make501() [][]float64 { return slices.Repeat([][]float64{{1}}, 501) }

func TestMotifRefuses(t *testing.T) {
	for _, row := range refusedMotifs {
		t.Run(row.name, func(t *testing.T) {
			m := motifOn(t, 30, "o.o/.o.")
			row.spoil(&m)
			_, err := m.Fit()
			f, ok := errors.AsType[*calc.Fault](err)
			if !ok {
				t.Fatalf("Fit() = %v, want a fault", err)
			}
			if diff := cmp.Diff(row.want, *f); diff != "" {
				t.Errorf("fault (-want +got):\n%s", diff)
			}
		})
	}
}

func TestADesignThatCannotBeSaidIsNotTheWeaversMistake(t *testing.T) {
	for name, spoil := range map[string]func(*Motif){
		"way":                func(m *Motif) { m.Way = 2 },
		"side":               func(m *Motif) { m.From = -1 },
		"repeats overlap":    func(m *Motif) { m.Apart = -1 },
		"repeats far away":   func(m *Motif) { m.Apart = MaxChartColumns + 1 },
		"less than no hole":  func(m *Motif) { m.Asked[0][0] = -0.1 },
		"more than a hole":   func(m *Motif) { m.Asked[0][0] = 1.1 },
		"a share of nothing": func(m *Motif) { m.Asked[0][0] = math.NaN() },
	} {
		m := motifOn(t, 30, "o.o/.o.")
		spoil(&m)
		_, err := m.Fit()
		if _, fault := errors.AsType[*calc.Fault](err); err == nil || fault {
			t.Errorf("%s: Fit() = %v, want an error that is no fault", name, err)
		}
	}
}

// anyMotif is a design, drawn or of tones, on a warp of any kind; it need not fit.
func anyMotif(t *rapid.T) Motif {
	m := Motif{
		Ends: rapid.IntRange(MinEnds, 300).Draw(t, "ends"), Passes: 3 + 2*rapid.IntRange(0, 2).Draw(t, "passes"),
		Way: Way(rapid.IntRange(0, 1).Draw(t, "way")), From: Side(rapid.IntRange(0, 1).Draw(t, "from")),
		Cell: rapid.IntRange(0, 5).Draw(t, "cell"), Across: rapid.IntRange(0, 3).Draw(t, "across"),
		Rows: rapid.IntRange(0, 30).Draw(t, "rows"), Mirror: rapid.Bool().Draw(t, "mirror"),
		Apart:  max(0, rapid.IntRange(-3, 4).Draw(t, "apart")),
		Margin: rapid.IntRange(-1, 9).Draw(t, "margin"), Panel: max(0, rapid.IntRange(-4, 4).Draw(t, "panel")),
		AsIs: rapid.Bool().Draw(t, "asis"),
	}
	if rapid.Bool().Draw(t, "drawn") {
		m.Asked = anyChart(t).Tones()
		return m
	}
	columns := rapid.IntRange(1, 40).Draw(t, "columns")
	for range rapid.IntRange(1, 30).Draw(t, "rows of tones") {
		m.Asked = append(m.Asked, rapid.SliceOfN(rapid.Float64Range(0, 1), columns, columns).Draw(t, "row"))
	}
	return m
}

// refused tells that something cannot be woven, with a reason that the weaver can
// mend. Any other error is none that a property may pass over.
func refused(err error) bool {
	fault, ok := errors.AsType[*calc.Fault](err)
	return ok && fault.Example != ""
}

// thatPlans draws patterns of those that are not refused.
func thatPlans(draw func(*rapid.T) Pattern) *rapid.Generator[Pattern] {
	return rapid.Custom(draw).Filter(func(p Pattern) bool {
		_, err := p.Design()
		return !refused(err)
	})
}

// motifThatFits draws designs as anyMotif does, each changed, of those for which
// there is room.
func motifThatFits(change func(*Motif)) *rapid.Generator[Motif] {
	return rapid.Custom(func(t *rapid.T) Motif {
		m := anyMotif(t)
		change(&m)
		return m
	}).Filter(func(m Motif) bool {
		_, err := m.Fit()
		return !refused(err)
	})
}

// TestMotifsAreProven: whatever is asked for is a proven plan, whose holes in cloth
// are exactly those of the chart, or a named reason.
func TestMotifsAreProven(t *testing.T) {
	plans := 0
	rapid.Check(t, func(t *rapid.T) {
		m := anyMotif(t)
		f, err := m.Fit()
		if err != nil {
			if !refused(err) {
				t.Fatalf("%v without a reason", err)
			}
			return
		}
		p := proven(t, f)
		if diff := cmp.Diff(chartHoles(f.Chart, f.Cell, f.MarginLeft), wovenHoles(t, p)); diff != "" {
			t.Fatalf("holes (-chart +woven):\n%s", diff)
		}
		places := f.MarginLeft + (f.Chart.Columns()-1)*f.Cell + f.MarginRight
		if places != m.Ends/2 || len(f.Chart) != len(p.Rows) || f.Last-f.First+1 != f.Chart.Columns() {
			t.Fatalf("%d pairs of %d, %d rows of %d, columns %d to %d of %d",
				places, m.Ends/2, len(f.Chart), len(p.Rows), f.First, f.Last, f.Chart.Columns())
		}
		if m.Rows > 0 && len(f.Chart) != m.Rows || !(f.Agreement >= 0 && f.Agreement <= 1) {
			t.Fatalf("%d rows, %d asked; agreement %v", len(f.Chart), m.Rows, f.Agreement)
		}
		holdToAsked(t, m, f)
		plans++
	})
	if plans < 20 {
		t.Errorf("only %d plans", plans)
	}
}

// holdToAsked holds each place of each row of the design to the column that was
// asked for there: it is as asked just when no change is told. A mirrored design
// goes to and fro between its first column and its last.
func holdToAsked(t *rapid.T, m Motif, f Fitted) {
	changed := map[[2]int]bool{}
	for _, a := range f.Changes {
		changed[[2]int{a.Row, a.Column}] = true
	}
	journeys := 1
	if m.Way == TwoWay {
		journeys = 2
	}
	width := len(m.Asked[0])
	for i, row := range f.Chart {
		if i%journeys == 1 {
			if !slices.Equal(row, f.Chart[i-1]) {
				t.Fatalf("the journey home in row %d has other holes than the one out", i+1)
			}
			continue
		}
		asked := m.Asked[i/journeys%len(m.Asked)]
		for j, hole := range row {
			c := (f.First - 1 + j) % (width + m.Apart)
			if m.Mirror && width > 1 {
				c = (f.First - 1 + j) % (2 * (width - 1))
				c = min(c, 2*(width-1)-c)
			}
			wish := 0.0 // between two repeats
			if c < width {
				wish = asked[c]
			}
			if (hole == (wish > 0.5)) == changed[[2]int{i + 1, j + 1}] {
				t.Fatalf("row %d, place %d: hole %v, asked %v of column %d, change told %v", i+1, j+1, hole, wish, c+1, !changed[[2]int{i + 1, j + 1}])
			}
		}
	}
}

// TestMotifsAreLaidOutAsWideAsTheyCan: of the usual cells the widest that has room,
// as many repeats as fit and no more, and margins that differ by one pair at most,
// the wider one at the far side.
func TestMotifsAreLaidOutAsWideAsTheyCan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := motifThatFits(func(m *Motif) { m.Panel = 0 }).Draw(t, "motif")
		f, err := m.Fit()
		if err != nil {
			t.Fatal(err)
		}
		span := func(repeats, cell int) int {
			places := repeats*(len(m.Asked[0])+m.Apart) - m.Apart
			if m.Mirror && len(m.Asked[0]) > 1 {
				places = repeats*len(m.Asked[0]) - (repeats - 1) // those between two repeats are shared
			}
			return (places - 1) * cell
		}
		margin := m.Margin
		if margin < 0 {
			margin = 2
		}
		fits := func(repeats, cell int) bool { return span(repeats, cell)+2*margin <= m.Ends/2 }
		need := max(m.Across, 1)
		if m.Cell == 0 && (!fits(need, f.Cell) || f.Cell < 3 && fits(need, f.Cell+1)) || m.Cell > 0 && f.Cell != m.Cell {
			t.Fatalf("cell %d", f.Cell)
		}
		if m.Across == 0 && (!fits(f.Repeats, f.Cell) || fits(f.Repeats+1, f.Cell)) || m.Across > 0 && f.Repeats != m.Across {
			t.Fatalf("%d repeats", f.Repeats)
		}
		near, far := f.MarginRight, f.MarginLeft
		if m.From == Left {
			near, far = far, near
		}
		if near < margin || far-near < 0 || far-near > 1 || near+far+span(f.Repeats, f.Cell) != m.Ends/2 {
			t.Fatalf("margins of %d and %d pairs", near, far)
		}
	})
}

func TestTheLargestMotifIsAllowed(t *testing.T) {
	for name, m := range map[string]Motif{
		"all the work there may be": {Ends: MaxEnds, Passes: 5, Rows: MaxRows, Asked: slices.Repeat([][]float64{slices.Repeat([]float64{1}, 997)}, 3)},
		"as many rows as a chart":   {Ends: 200, Passes: 99, Asked: slices.Repeat([][]float64{{1, 0, 1}}, MaxChartRows)},
		"the smallest warp":         {Ends: MinEnds, Passes: 3, Asked: [][]float64{{1}}},
	} {
		m.Margin = -1
		if _, err := m.Fit(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// proven weaves the pattern of a design, which must be the rows it lists and no
// others.
func proven(t rapid.TB, f Fitted) *Plan {
	d, err := f.Pattern.Design()
	if err != nil {
		t.Fatal(err)
	}
	for i, groups := range d.Rows {
		row, home := i, false
		if f.Pattern.Way == TwoWay {
			row, home = i/2, i%2 == 1
		}
		listed := f.Pattern.Listed[row]
		if home {
			listed = reversed(listed)
		}
		if !slices.Equal(groups, listed) {
			t.Fatalf("row %d is laid out as %v, listed as %v", i+1, groups, listed)
		}
	}
	p, err := Make(d)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestPanelsMakeTheWholeDesign: side by side, the panels have each column once.
func TestPanelsMakeTheWholeDesign(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := motifThatFits(func(m *Motif) { m.Panel, m.Cell = 1, 0 }).Draw(t, "motif")
		next, cell := 1, 0
		for {
			f, err := m.Fit()
			if err != nil {
				t.Fatalf("panel %d: %v", m.Panel, err)
			}
			if f.First != next || m.Panel > 1 && f.Cell != cell {
				t.Fatalf("panel %d begins at column %d, cell %d; want %d and %d", m.Panel, f.First, f.Cell, next, cell)
			}
			next, cell = f.Last+1, f.Cell
			if m.Panel == f.Panels {
				break
			}
			m.Panel++
		}
		if want := m.placesOf(max(m.Across, 1)); next-1 != want {
			t.Fatalf("the panels have %d columns, the design %d", next-1, want)
		}
	})
}

// What does not hold, worked out by hand: 3 passes one-way make a slit of ten rows
// 30 picks high.
func TestWhatDoesNotHold(t *testing.T) {
	for _, row := range []struct {
		name      string
		ask       Motif
		chart     string // - stands for rows alike
		want      []string
		changes   []Alteration
		doubts    []Alteration
		agreement float64
	}{
		{"a slit of ten rows holds, the eleventh hole is left out",
			Motif{Ends: 24, Cell: 3}, strings.Repeat("oo/", 12),
			[]string{"oo", "oo", "oo", "oo", "oo", "oo", "oo", "oo", "oo", "oo", "..", "oo"},
			[]Alteration{{11, 1, Slit}, {11, 2, Slit}}, nil, 11. / 12},
		{"two-way, five rows out and home",
			Motif{Ends: 24, Cell: 3, Way: TwoWay}, strings.Repeat("oo/", 6),
			[]string{"oo", "oo", "oo", "oo", "oo", "oo", "oo", "oo", "oo", "oo", "..", ".."},
			[]Alteration{{11, 1, Slit}, {11, 2, Slit}}, nil, 10. / 12},
		{"as it is, the slit is told where it gets too long",
			Motif{Ends: 24, Cell: 3, AsIs: true}, strings.Repeat("oo/", 12),
			slices.Repeat([]string{"oo"}, 12), nil, []Alteration{{11, 1, Slit}, {11, 2, Slit}}, 1},
		{"one hole between wide groups does not open alone",
			Motif{Ends: 120, Cell: 2}, "...o...",
			[]string{"..oo..."}, []Alteration{{1, 3, Wide}}, nil, 6. / 7},
		{"and is left out where there is no room for another",
			Motif{Ends: 120, Cell: 2}, "o",
			[]string{"."}, []Alteration{{1, 1, Wide}}, nil, 0},
		{"as it is, it is a doubt",
			Motif{Ends: 120, Cell: 2, AsIs: true}, "...o...",
			[]string{"...o..."}, nil, []Alteration{{1, 4, Wide}}, 1},
		{"holes within reach of each other open",
			Motif{Ends: 120, Cell: 2}, "o...........o",
			[]string{"o...........o"}, nil, nil, 1},
		{"side by side at one pair, every second is left out",
			Motif{Ends: 24, Cell: 1}, "ooo",
			[]string{"o.o"}, []Alteration{{1, 2, OnePair}}, nil, 2. / 3},
		{"holes at the selvedge and one pair from it are left out",
			Motif{Ends: 12, Cell: 2, Margin: 0}, "oooo",
			[]string{".oo."}, []Alteration{{1, 1, AtEdge}, {1, 4, AtEdge}}, nil, 0.5},
	} {
		t.Run(row.name, func(t *testing.T) {
			m := row.ask
			m.Passes, m.Across, m.Asked = 3, 1, chartOf(t, row.chart).Tones()
			if m.Margin == 0 && !strings.Contains(row.name, "selvedge") {
				m.Margin = -1
			}
			f, err := m.Fit()
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(row.want, f.Chart.Strings()); diff != "" {
				t.Errorf("chart (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(row.changes, f.Changes); diff != "" {
				t.Errorf("changes (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(row.doubts, f.Doubts); diff != "" {
				t.Errorf("doubts (-want +got):\n%s", diff)
			}
			if math.Abs(f.Agreement-row.agreement) > 1e-12 {
				t.Errorf("agreement %v, want %v", f.Agreement, row.agreement)
			}
		})
	}
}
