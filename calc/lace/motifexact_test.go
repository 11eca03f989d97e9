package lace

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The rules of motifholds.go and Fit, told a second time in the plainest way: all
// rows of holes there can be are tried, one end after the other is looked at, and
// what was woven before is remembered whole.

// search is a design that is settled by trying.
type search struct {
	m          Motif
	f          Fitted // its layout only
	rows       [][]bool
	mostSlit   int
	mostSlope  int
	everything []Alteration
	doubts     []Alteration
}

func newSearch(m Motif, f Fitted) *search {
	tr := &search{m: m, f: f, mostSlit: 30 / m.Passes, mostSlope: 18}
	if m.Way == TwoWay {
		tr.mostSlit, tr.mostSlope = 30/m.Passes/2, 9
	}
	tr.mostSlit = max(tr.mostSlit, 1)
	return tr
}

// pairGroups numbers the groups of a row and says how wide the group of each pair
// of ends is.
func (tr *search) pairGroups(row []bool) (group, width []int) {
	pairs := tr.m.Ends / 2
	border := make([]bool, pairs+1) // by the pairs to its left
	for j, hole := range row {
		if hole {
			border[tr.f.MarginLeft+j*tr.f.Cell] = true
		}
	}
	of := []int{} // pairs of each group
	for pair := range pairs {
		if pair == 0 || border[pair] {
			of = append(of, 0)
		}
		group = append(group, len(of)-1)
		of[len(of)-1]++
	}
	for _, g := range group {
		width = append(width, of[g])
	}
	return group, width
}

// broken is the first rule that a row breaks on the rows below it, slopes apart; -1
// is none.
func (tr *search) broken(row []bool) Why {
	pairs := tr.m.Ends / 2
	for j, hole := range row {
		if at := tr.f.MarginLeft + j*tr.f.Cell; hole && (at < 2 || pairs-at < 2) {
			return AtEdge
		}
	}
	_, width := tr.pairGroups(row)
	if slices.Contains(width, 1) {
		return OnePair
	}
	for j, hole := range row {
		if !hole || tr.m.AsIs {
			continue
		}
		at := tr.f.MarginLeft + j*tr.f.Cell
		if tr.high(j)+1 > tr.mostSlit {
			return Slit
		}
		if width[at-1] > 24 && width[at] > 24 {
			return Wide
		}
	}
	return -1
}

// slopes tells whether a row on those below it has, in more than so many rows
// running, one pair of ends always in a drawn group and another never.
func (tr *search) slopes(row []bool) bool {
	rows := append(slices.Clone(tr.rows), row)
	if len(rows) <= tr.mostSlope {
		return false
	}
	always := map[bool][]int{}
	for pair := range tr.m.Ends / 2 {
		kinds := map[bool]bool{}
		for _, r := range rows[len(rows)-tr.mostSlope-1:] {
			if !slices.Contains(r, true) {
				return false
			}
			_, width := tr.pairGroups(r)
			kinds[width[pair] > 24] = true
		}
		if len(kinds) == 1 {
			always[kinds[true]] = append(always[kinds[true]], pair)
		}
	}
	return len(always) == 2
}

// next tries all rows. The shares asked for are quarters.
func (tr *search) next(asked []float64) []bool {
	var best []bool
	var least [3]int
	for bits := range 1 << len(asked) {
		row := make([]bool, len(asked))
		var cost [3]int // quarters of holes, holes asked for that are left out, places to the others
		for j := range row {
			row[j] = bits>>j&1 == 1
			share := int(4 * asked[j])
			switch {
			case !row[j] && asked[j] > 0.5:
				cost[1]++
			case row[j]:
				share = 4 - share
				cost[2] += nearest(asked, j)
			}
			cost[0] += share
		}
		if order := slices.Compare(cost[:], least[:]); best != nil && (order > 0 || order == 0 && !firstHoleFirst(row, best)) {
			continue
		}
		if tr.broken(row) < 0 {
			best, least = row, cost
		}
	}
	return best
}

// nearest is how many places a hole is from the next one that is asked for, 256 where
// none is.
func nearest(asked []float64, place int) int {
	away := 256
	for k, share := range asked {
		if share > 0.5 {
			away = min(away, max(k-place, place-k))
		}
	}
	return away
}

// firstHoleFirst tells whether, where two rows differ first from the left, a has
// the hole.
func firstHoleFirst(a, b []bool) bool {
	for j := range a {
		if a[j] != b[j] {
			return a[j]
		}
	}
	return false
}

// settle settles the design and explains each change, asked being the rows of the
// piece place by place.
func (tr *search) settle(t rapid.TB, asked [][]float64, changes []Alteration) {
	journeys := 1
	if tr.m.Way == TwoWay {
		journeys = 2
	}
	for i, shares := range asked {
		best := tr.next(shares)
		row := best
		if !tr.m.AsIs && tr.slopes(best) {
			row = make([]bool, len(best))
		}
		for j := range row {
			if row[j] != (shares[j] > 0.5) {
				tr.explain(t, best, j, shares[j] > 0.5, i*journeys+1, changes)
				tr.everything = append(tr.everything, Alteration{Row: i*journeys + 1, Column: j + 1})
			}
		}
		tr.doubt(row, i*journeys+1)
		tr.rows = append(tr.rows, row)
	}
}

// doubt notes what a row that is left as it is does not hold.
func (tr *search) doubt(row []bool, number int) {
	if !tr.m.AsIs {
		return
	}
	_, width := tr.pairGroups(row)
	slopes := tr.slopes(row) && !(len(tr.rows) > 0 && tr.before().slopes(tr.rows[len(tr.rows)-1]))
	for j, hole := range row {
		if !hole {
			continue
		}
		if at := tr.f.MarginLeft + j*tr.f.Cell; width[at-1] > 24 && width[at] > 24 {
			tr.doubts = append(tr.doubts, Alteration{number, j + 1, Wide})
		}
		if tr.high(j) == tr.mostSlit {
			tr.doubts = append(tr.doubts, Alteration{number, j + 1, Slit})
		}
		if slopes {
			tr.doubts = append(tr.doubts, Alteration{number, j + 1, Slope})
			slopes = false
		}
	}
}

// before is the search as it was a row ago.
func (tr *search) before() *search {
	b := *tr
	b.rows = b.rows[:len(b.rows)-1]
	return &b
}

// high is for how many rows below the next one a place has been a hole.
func (tr *search) high(place int) int {
	n := 0
	for i := len(tr.rows) - 1; i >= 0 && tr.rows[i][place]; i-- {
		n++
	}
	return n
}

// explain holds the reason given for a change to what putting it right would break.
func (tr *search) explain(t rapid.TB, best []bool, j int, wanted bool, row int, changes []Alteration) {
	i := slices.IndexFunc(changes, func(a Alteration) bool { return a.Row == row && a.Column == j+1 })
	if i < 0 {
		t.Fatalf("row %d, column %d is not among the changes %v", row, j+1, changes)
	}
	if best[j] == wanted {
		if changes[i].Why != Slope {
			t.Fatalf("row %d, column %d: changed for %d, want a slope", row, j+1, changes[i].Why)
		}
		return
	}
	right := slices.Clone(best)
	right[j] = wanted
	if why := tr.broken(right); why != changes[i].Why {
		t.Fatalf("row %d, column %d: changed for %d, putting it right breaks %d", row, j+1, changes[i].Why, why)
	}
}

// smallMotif is one whose rows can all be tried.
func smallMotif(t *rapid.T) Motif {
	m := Motif{
		Passes: 3 + 2*rapid.IntRange(0, 4).Draw(t, "passes"),
		Way:    Way(rapid.IntRange(0, 1).Draw(t, "way")), From: Side(rapid.IntRange(0, 1).Draw(t, "from")),
		Cell: rapid.IntRange(1, 8).Draw(t, "cell"), Margin: rapid.SampledFrom([]int{-1, 0, 0, 1, 1, 2, 5, 20, 26}).Draw(t, "margin"),
		Across: 1, AsIs: rapid.IntRange(0, 4).Draw(t, "asis") == 0,
	}
	columns, rows, different := rapid.IntRange(1, 12).Draw(t, "columns"), 0, 0
	if rapid.Bool().Draw(t, "long") { // slits and slopes come of many rows that are alike
		columns, different = columns%6+1, rapid.IntRange(1, 3).Draw(t, "different rows")
		rows = rapid.IntRange(different, 45).Draw(t, "rows")
		m.Passes = 3
	} else {
		rows = rapid.IntRange(1, 1+24/columns).Draw(t, "rows")
		different = rows
	}
	share := rapid.SampledFrom([]float64{0, 0.25, 0.5, 0.75, 1, 1, 1})
	for i := range rows {
		if i < different {
			m.Asked = append(m.Asked, rapid.SliceOfN(share, columns, columns).Draw(t, "row"))
		} else {
			m.Asked = append(m.Asked, m.Asked[i-different])
		}
	}
	margins := 2 * m.Margin
	if m.Margin < 0 {
		margins = 4
	}
	pairs := (columns-1)*m.Cell + margins + rapid.IntRange(0, 9).Draw(t, "over")
	m.Ends = max(2*pairs+rapid.IntRange(0, 1).Draw(t, "odd"), MinEnds, 4*m.Margin, 2*m.Cell)
	return m
}

// slopingMotif is a narrow one between wide margins, whose holes stand in every
// second row, so that no slit gets long.
func slopingMotif(t *rapid.T) Motif {
	m := Motif{
		Passes: 3, Across: 1, AsIs: rapid.IntRange(0, 4).Draw(t, "asis") == 0,
		Way: Way(rapid.IntRange(0, 1).Draw(t, "way")), From: Side(rapid.IntRange(0, 1).Draw(t, "from")),
		Cell: rapid.IntRange(2, 4).Draw(t, "cell"), Margin: rapid.IntRange(22, 27).Draw(t, "margin"),
	}
	first := rapid.SliceOfN(rapid.Bool(), 3, 6).Draw(t, "first row")
	second := make([]bool, len(first))
	for j := range first {
		second[j] = !first[j]
	}
	tones := Chart{first, second}.Tones()
	for i := range rapid.IntRange(8, 42).Draw(t, "rows") {
		m.Asked = append(m.Asked, tones[i%2])
	}
	m.Ends = 2 * ((len(first)-1)*m.Cell + 2*m.Margin + rapid.IntRange(0, 5).Draw(t, "over"))
	return m
}

// reasonedMotifs are a few of which each meets a reason to change it, so that no
// reason is left to chance.
func reasonedMotifs(t *testing.T) []Motif {
	on := func(ends, cell, margin int, rows string, times int) Motif {
		asked := chartOf(t, rows).Tones()
		return Motif{Ends: ends, Passes: 3, Cell: cell, Margin: margin, Across: 1, Asked: slices.Repeat(asked, times)}
	}
	return []Motif{
		on(24, 3, -1, "oo", 12),         // a slit
		on(120, 2, -1, "...o...", 1),    // between wide groups
		on(12, 2, 0, "oooo", 1),         // at the selvedge
		on(24, 1, -1, "ooo", 1),         // a group of one pair
		on(122, 3, 26, "o.o./.o.o", 11), // a slope
	}
}

// TestFitIsTheBestOfAllRows: no row of holes that holds agrees better than the one
// chosen, and each change has the reason that it is said to have.
func TestFitIsTheBestOfAllRows(t *testing.T) {
	reasons, doubts := map[Why]int{}, map[Why]int{}
	check := func(t rapid.TB, m Motif) {
		f, err := m.Fit()
		if err != nil {
			t.Fatal(err)
		}
		tr := newSearch(m, f)
		tr.settle(t, m.Asked, f.Changes)
		if diff := cmp.Diff(tr.rows, listedRows(f)); diff != "" {
			t.Fatalf("%+v (-tried +fitted):\n%s", m, diff)
		}
		if len(tr.everything) != len(f.Changes) {
			t.Fatalf("%d changes told, %d made", len(f.Changes), len(tr.everything))
		}
		if diff := cmp.Diff(tr.doubts, f.Doubts); diff != "" {
			t.Fatalf("doubts (-tried +fitted):\n%s", diff)
		}
		if want := agreement(f.Chart, m); math.Abs(f.Agreement-want) > 1e-12 {
			t.Fatalf("agreement %v, want %v", f.Agreement, want)
		}
		for _, a := range f.Changes {
			reasons[a.Why]++
		}
		for _, a := range f.Doubts {
			doubts[a.Why]++
		}
	}
	for _, m := range reasonedMotifs(t) {
		check(t, m)
		m.AsIs = true
		check(t, m)
	}
	for why := Slit; why <= Slope; why++ {
		if reasons[why] == 0 {
			t.Errorf("reason %d was never met", why)
		}
		if possible := why != AtEdge && why != OnePair; possible != (doubts[why] > 0) {
			t.Errorf("doubt %d was met %d times", why, doubts[why])
		}
	}
	rapid.Check(t, func(t *rapid.T) { check(t, smallMotif(t)) })
	rapid.Check(t, func(t *rapid.T) { check(t, slopingMotif(t)) })
}

// listedRows are the rows of the chart, two-way the journeys out.
func listedRows(f Fitted) [][]bool {
	var rows [][]bool
	for i, row := range f.Chart {
		if f.Pattern.Way == OneWay || i%2 == 0 {
			rows = append(rows, row)
		}
	}
	return rows
}

// agreement compares a chart with what was asked for place by place, a design of
// one repeat that is woven once.
func agreement(chart Chart, m Motif) float64 {
	sum, n := 0.0, 0
	for i, row := range chart {
		if m.Way == TwoWay {
			i /= 2
		}
		for j, hole := range row {
			share := m.Asked[i][j]
			if hole {
				share = 1 - share
			}
			sum, n = sum+share, n+1
		}
	}
	return 1 - sum/float64(n)
}
