package paper

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The words of the tests. What people read comes from the catalogue.
func previewWords() PreviewWords {
	return PreviewWords{
		Title: "How it will look", Start: "begin here", Scale: "2 in", Warp: "your ends", Weft: "the weft",
		Hole: "a hole, where the weft turned back", Notes: []string{"A picture of shape."},
	}
}

func rowDiagram(p *lace.Plan, row int) RowDiagram {
	w := RowWords{
		Title: "Row " + strconv.Itoa(row), Begin: "begin here", End: "the other edge",
		Group: func(n int) string { return fmt.Sprintf("%d ends", n) },
		More:  func(n int, alike bool) string { return fmt.Sprintf("%d more groups, alike %v", n, alike) },
		Picks: func(n int) string { return fmt.Sprintf("%d more passes", n) },
		Shed:  [3]string{"", "heddle up", "heddle down"}, Hole: "a hole", Drop: "the short slant", Loop: "a loop",
		Notes: []string{"Grey is the plain pick before the row."},
	}
	w.Moves = func(move int) string {
		m := p.Rows[row-1].Moves[move-1]
		if m.Toward == lace.Left {
			return fmt.Sprintf("← %d", m.Under)
		}
		return fmt.Sprintf("→ %d", m.Under)
	}
	return RowDiagram{Plan: p, Row: row, Words: w}
}

func rowSheet(t testing.TB, p lace.Pattern, row int) *Sheet {
	t.Helper()
	s, err := rowDiagram(planOf(t, p), row).Sheet()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func previewSheet(t testing.TB, p lace.Pattern) *Sheet {
	t.Helper()
	s, err := Preview{Plan: planOf(t, p), Sett: 10 * measure.PerInch, Scale: 2 * measure.Inch, Words: previewWords()}.Sheet()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The looms that the drawings were looked at for.
func drawings(t testing.TB) map[string]*Sheet {
	return map[string]*Sheet{
		"row-97":            rowSheet(t, lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 1}, 1),
		"row-five-passes":   rowSheet(t, lace.Pattern{Ends: 24, Raised: 3, Passes: 5, Rows: 1}, 1),
		"row-left-edges":    rowSheet(t, lace.Pattern{Ends: 61, Raised: 4, Passes: 3, Rows: 1, From: lace.Left, Edge: 3}, 1),
		"row-home-two-way":  rowSheet(t, lace.Pattern{Ends: 49, Raised: 3, Passes: 3, Rows: 2, Way: lace.TwoWay}, 2),
		"row-wide-group":    rowSheet(t, lace.Pattern{Ends: 120, Raised: 20, Passes: 3, Rows: 1}, 1),
		"row-99-passes":     rowSheet(t, lace.Pattern{Ends: 24, Raised: 3, Passes: 99, Rows: 1}, 1),
		"cloth-97":          previewSheet(t, lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 4}),
		"cloth-half-drop":   previewSheet(t, lace.Pattern{Ends: 40, Raised: 3, Passes: 3, Rows: 4, Repeat: lace.HalfDrop}),
		"cloth-part":        previewSheet(t, lace.Pattern{Ends: 400, Raised: 3, Passes: 3, Rows: 100, From: lace.Left}),
		"which-heddle":      WhichUp{Words: WhichUpWords{Title: "Which?", Sits: [2]string{"in a hole", "in a slot"}, Moves: [2]string{"it goes up", "it stays down"}, Here: "rightmost end"}}.Sheet(),
		"which-shaft":       WhichUp{Holder: TwoShafts, Words: WhichUpWords{Title: "Which?", Sits: [2]string{"shaft 1", "shaft 2"}, Moves: [2]string{"it goes up", "it stays down"}, Here: "rightmost end"}}.Sheet(),
		"sleying-heddle":    Sleying{Ends: 97, Hole: true, Words: SleyingWords{Title: "Your heddle", Right: "right edge", Left: "left edge"}}.Sheet(),
		"sleying-reed":      Sleying{Ends: 150, Dents: []int{2, 3}, Words: SleyingWords{Title: "Your reed", Right: "right edge", Left: "left edge"}}.Sheet(),
		"card":              Card{Class: "Evening lace", Title: "Session 3: half-drop", When: []string{"Tuesday 1 December 2026, 19:00 CET"}, About: []string{"About: odd warps"}, Head: "Have ready", Ready: "your loom, dressed"}.Sheet(),
		"card-of-few-words": Card{Title: "Session 1"}.Sheet(),
	}
}

func TestDrawingsLook(t *testing.T) {
	for name, s := range drawings(t) {
		t.Run(name, func(t *testing.T) { looksLike(t, name, s, 260) })
	}
}

// eachText visits every text of a sheet where it comes to stand.
func eachText(s *Sheet, dx, dy, scale float64, visit func(l Lettered, left, right, base float64)) {
	for _, item := range s.Items {
		switch it := item.(type) {
		case Lettered:
			left := it.X - alignShift(it)
			visit(it, dx+scale*left, dx+scale*(left+TextWidth(it.Text, it.Size, it.Style)), dy+scale*it.Y)
		case Placed:
			eachText(it.Sheet, dx+scale*it.X, dy+scale*it.Y, scale*it.Scale, visit)
		}
	}
}

// legible holds every text to the paper and to the least size on a phone.
func legible(s *Sheet) error {
	var wrong []string
	eachText(s, 0, 0, 1, func(l Lettered, left, right, base float64) {
		switch {
		case l.Size < sizeSmall:
			wrong = append(wrong, fmt.Sprintf("%q has %g points", l.Text, l.Size))
		case left < 0 || right > s.W || base < l.Size/2 || base > s.H:
			wrong = append(wrong, fmt.Sprintf("%q runs from %.1f to %.1f at %.1f", l.Text, left, right, base))
		}
	})
	if s.H > 8*s.W {
		wrong = append(wrong, fmt.Sprintf("it is %.0f points high", s.H))
	}
	if len(wrong) > 0 {
		return fmt.Errorf("%s", strings.Join(wrong, "; "))
	}
	return nil
}

func TestDrawingsAreLegible(t *testing.T) {
	for name, s := range drawings(t) {
		if err := legible(s); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// anyPattern draws what can be asked for; what is refused, with a reason that the weaver
// can mend, is drawn anew.
func anyPattern() *rapid.Generator[lace.Pattern] {
	return rapid.Custom(func(t *rapid.T) lace.Pattern {
		p := lace.Pattern{
			Ends:   rapid.OneOf(rapid.IntRange(lace.MinEnds, 150), rapid.SampledFrom([]int{401, lace.MaxEnds})).Draw(t, "ends"),
			Passes: rapid.SampledFrom([]int{3, 3, 5, 7, 9, 99}).Draw(t, "passes"),
			Rows:   rapid.IntRange(1, 5).Draw(t, "rows"),
			Way:    rapid.SampledFrom([]lace.Way{lace.OneWay, lace.TwoWay}).Draw(t, "way"),
			From:   rapid.SampledFrom([]lace.Side{lace.Right, lace.Left}).Draw(t, "from"),
			Repeat: rapid.SampledFrom([]lace.Repeat{lace.Straight, lace.HalfDrop}).Draw(t, "repeat"),
		}
		p.Raised = rapid.IntRange(lace.MinRaised, p.Ends/2).Draw(t, "raised")
		return p
	}).Filter(func(p lace.Pattern) bool {
		_, err := p.Design()
		_, refused := errors.AsType[*calc.Fault](err)
		return !refused
	})
}

// Whatever can be asked for is drawn, and every word of it can be read.
func TestAnyPlanIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyPattern().Draw(t, "pattern")
		d, err := p.Design()
		if err != nil {
			t.Fatal(err)
		}
		plan, err := lace.Make(d)
		if err != nil {
			t.Fatal(err)
		}
		row := rapid.IntRange(1, p.Rows).Draw(t, "row")
		s, err := rowDiagram(plan, row).Sheet()
		if err != nil {
			t.Fatal(err)
		}
		if err := legible(s); err != nil {
			t.Fatalf("row: %v", err)
		}
		if said, drawn := rowDiagram(plan, row).Whole(), drawnWhole(must(rowDiagram(plan, row).work())); said != drawn {
			t.Fatalf("whole %v, drawn whole %v", said, drawn)
		}
		preview := Preview{
			Plan: plan, Sett: measure.Sett(rapid.Float64Range(0, 8000).Draw(t, "sett")), PPI: measure.Sett(rapid.Float64Range(0, 8000).Draw(t, "ppi")),
			Scale: 2 * measure.Inch, Words: previewWords(),
		}
		if s, err = preview.Sheet(); err != nil {
			t.Fatal(err)
		}
		if err := legible(s); err != nil {
			t.Fatalf("preview: %v", err)
		}
		if math.Abs(s.H-preview.Height()) > 1e-9 {
			t.Fatalf("%g points high, %g foretold", s.H, preview.Height())
		}
		e := preview.Extent()
		if e.OfEnds != p.Ends || e.OfRows != p.Rows || e.Ends < 1 || e.Ends > e.OfEnds || e.Rows < 1 || e.Rows > e.OfRows {
			t.Fatalf("extent %+v", e)
		}
	})
}

// drawnWhole tells whether what was woven stands on the strips without a gap.
func drawnWhole(w *rowWork) bool {
	strips, left := w.strips()
	for _, st := range strips {
		if slices.ContainsFunc(st.cells, func(c cell) bool { return c.after }) {
			return false
		}
	}
	return left == 0 && w.Plan.Design.Passes <= wholePasses
}

// numbersOn are the numbers that stand on a sheet, from the left to the right.
func numbersOn(s *Sheet) []int {
	type at struct {
		x float64
		n int
	}
	var all []at
	eachText(s, 0, 0, 1, func(l Lettered, left, _, _ float64) {
		if n, err := strconv.Atoi(l.Text); err == nil {
			all = append(all, at{left, n})
		}
	})
	slices.SortStableFunc(all, func(a, b at) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	var ns []int
	for _, a := range all {
		ns = append(ns, a.n)
	}
	return ns
}

// A row that fits shows each of its moves once in the work and once in the list.
func TestRowDiagramShowsEveryMove(t *testing.T) {
	p := lace.Pattern{Ends: 24, Raised: 3, Passes: 3, Rows: 1}
	shown := numbersOn(rowSheet(t, p, 1))
	slices.Sort(shown)
	var want []int
	for i := range planOf(t, p).Rows[0].Moves {
		want = append(want, i+1, i+1)
	}
	if diff := cmp.Diff(want, shown); diff != "" {
		t.Error(diff)
	}
}

// A wide row shows its first move and its last, and says how many groups are
// left out: those of 97 ends in groups of 6 are 15 and one of 7.
func TestRowDiagramOfAWideRowShowsBothEdges(t *testing.T) {
	s := rowSheet(t, lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 1}, 1)
	shown := numbersOn(s)
	for _, n := range []int{1, 2, 33, 34} {
		if !slices.Contains(shown, n) {
			t.Errorf("move %d is not shown", n)
		}
	}
	said, groups := 0, 0
	eachText(s, 0, 0, 1, func(l Lettered, _, _, _ float64) {
		var n int
		if _, err := fmt.Sscanf(l.Text, "… %d more groups, alike true", &n); err == nil {
			said = n
		}
		if l.Text == "6 ends" || l.Text == "7 ends" {
			groups++
		}
	})
	if said == 0 || said+groups != 16 {
		t.Errorf("%d groups shown and %d said to be left out", groups, said)
	}
}

// Right is right: whoever begins there finds moves 1 and 3 in the right half of
// the picture, at the edge of the work, and its words over it.
func TestRowDiagramLiesAsItLiesBeforeHer(t *testing.T) {
	for _, from := range []lace.Side{lace.Right, lace.Left} {
		for _, ends := range []int{24, 97} {
			d := rowDiagram(planOf(t, lace.Pattern{Ends: ends, Raised: 3, Passes: 3, Rows: 1, From: from}), 1)
			d.Words.Moves = nil // the list below
			seen := 0
			eachText(must(d.Sheet()), 0, 0, 1, func(l Lettered, left, right, _ float64) {
				if l.Text != "1" && l.Text != "3" && l.Text != d.Words.Begin {
					return
				}
				seen++
				if atRight := (left+right)/2 > phoneWidth/2; atRight != (from == lace.Right) {
					t.Errorf("%d ends from side %d: %q is at %.0f", ends, from, l.Text, left)
				}
			})
			if seen != 3 {
				t.Errorf("%d ends from side %d: %d of 3 found", ends, from, seen)
			}
		}
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// The groups are those of the design, found in what the weaver made.
func TestGroupsOfARow(t *testing.T) {
	w := must(rowDiagram(planOf(t, lace.Pattern{Ends: 31, Raised: 4, Passes: 3, Rows: 1, From: lace.Left}), 1).work())
	want := []span{{23, 31}, {15, 23}, {0, 15}}
	if diff := cmp.Diff(want, w.groups, cmp.AllowUnexported(span{})); diff != "" {
		t.Error(diff)
	}
}

func TestNoSuchRow(t *testing.T) {
	d := rowDiagram(planOf(t, lace.Pattern{Ends: 24, Raised: 3, Passes: 3, Rows: 1}), 1)
	for _, row := range []int{0, 2} {
		d.Row = row
		if _, err := d.Sheet(); err == nil {
			t.Errorf("row %d was drawn", row)
		}
	}
}

// A piece far too big for a picture is drawn in part, says so in its Extent, and
// is not drawn from more memory than a handful of pictures.
func TestTheLargestPieceIsDrawnInPart(t *testing.T) {
	plan := planOf(t, lace.Pattern{Ends: lace.MaxEnds, Raised: 3, Passes: 3, Rows: lace.MaxRows})
	p := Preview{Plan: plan, Words: previewWords()}
	if e := p.Extent(); e.Whole() || e.Ends != partEnds || e.Rows >= 100 {
		t.Errorf("extent %+v", e)
	}
	for name, draw := range map[string]func() (*Sheet, error){"preview": p.Sheet, "row": rowDiagram(plan, 1000).Sheet} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		s := must(draw())
		runtime.ReadMemStats(&after)
		const most = 48 << 20
		taken := after.TotalAlloc - before.TotalAlloc
		t.Logf("%s: %d KB in all, %d items", name, taken>>10, len(s.Items))
		if taken > most {
			t.Errorf("%s took %d MB", name, taken>>20)
		}
		if _, err := pixels(s, PictureWidth); err != nil {
			t.Error(err)
		}
	}
}

// Threads, ground and holes are told apart in grey.
func TestInksDifferInGrey(t *testing.T) {
	inks := []Ink{inkShade, inkLine, inkWoven, inkWeft, inkWarp}
	for i := 1; i < len(inks); i++ {
		if dark, light := greyOf(inks[i-1]), greyOf(inks[i]); light-dark < 0.09 {
			t.Errorf("inks %d and %d are %.2f and %.2f in grey", i-1, i, dark, light)
		}
	}
}

// greyOf is how light an ink looks in black and white, 0 (black) to 1 (white), by
// the weights of Rec. ITU-R BT.601.
func greyOf(k Ink) float64 {
	return (0.299*float64(k.R) + 0.587*float64(k.G) + 0.114*float64(k.B)) / 255
}

// Sleying: which ends are in which place, from the right.
func TestPlacesInAReed(t *testing.T) {
	tests := []struct {
		name   string
		d      Sleying
		places int
		in     map[int][2]int
	}{
		{"one to each hole and slot", Sleying{Ends: 97}, 97, map[int][2]int{0: {1, 1}, 96: {97, 97}}},
		{"2, then 3", Sleying{Ends: 150, Dents: []int{2, 3}}, 60, map[int][2]int{0: {1, 2}, 1: {3, 5}, 59: {148, 150}}},
		{"the last dent not full", Sleying{Ends: 11, Dents: []int{2, 3}}, 5, map[int][2]int{3: {8, 10}, 4: {11, 11}}},
		{"every fourth dent left empty", Sleying{Ends: 9, Dents: []int{0, 1, 1, 1}}, 12, map[int][2]int{0: {1, 0}, 1: {1, 1}, 11: {9, 9}}},
		{"no dents at all", Sleying{Ends: 9, Dents: []int{0}}, 0, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := tt.d.places(); got != tt.places {
				t.Errorf("%d places, want %d", got, tt.places)
			}
			for place, want := range tt.in {
				first, last := tt.d.endsIn(place)
				if got := [2]int{first, last}; got != want {
					t.Errorf("place %d: ends %v, want %v", place, got, want)
				}
			}
		})
	}
}

// An absurd title is cut, with a sign that it was.
func TestAnAbsurdTitleIsCut(t *testing.T) {
	s := Card{Title: strings.Repeat("very ", 500) + strings.Repeat("long", 500), Ready: strings.Repeat("x", 5000)}.Sheet()
	if err := legible(s); err != nil {
		t.Error(err)
	}
	if s.H > 700 {
		t.Errorf("the card is %.0f points high", s.H)
	}
}
