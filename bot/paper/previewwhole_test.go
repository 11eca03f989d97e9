package paper

import (
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// discOn is a disc of holes in the middle of a warp, no hole above another for long.
func discOn(t testing.TB, ends, rows int) *lace.Plan {
	t.Helper()
	const cell = 2
	columns := (ends/2-4)/cell + 1
	asked := chartOf(rows, columns, func(i, j int) bool {
		x, y := 2*j-columns+1, 2*i-rows+1
		return x*x+y*y < min(rows, columns)*min(rows, columns)/2 && (i+j)%2 == 0
	}).Tones()
	f := must(lace.Motif{Ends: ends, Passes: 3, Asked: asked, Cell: cell, Across: 1, Margin: -1}.Fit())
	return must(lace.Make(must(f.Pattern.Design())))
}

// TestAWholeDesignIsShown: of a design, a corner says little; so all of it is shown
// where its threads are still told apart, and else as much as is.
func TestAWholeDesignIsShown(t *testing.T) {
	for _, row := range []struct {
		name       string
		ends, rows int
		p          Preview
		want       Extent
	}{
		{"all ends and rows", 200, 60, Preview{Whole: true}, Extent{200, 200, 60, 60}},
		{"a narrow warp and many rows", 40, 60, Preview{Whole: true}, Extent{40, 40, 60, 60}},
		{"few rows are no smaller than without", 96, 7, Preview{Whole: true}, Extent{96, 96, 7, 7}},
		{"larger than can be told apart", 400, 120, Preview{Whole: true}, Extent{202, 400, 61, 120}},
		{"picks that lie close leave fewer ends", 400, 120, Preview{Whole: true, Sett: 10 * measure.PerInch, PPI: 20 * measure.PerInch}, Extent{101, 400, 61, 120}},
		{"picks that lie apart", 200, 60, Preview{Whole: true, Sett: 20 * measure.PerInch, PPI: 10 * measure.PerInch}, Extent{200, 200, 29, 60}},
		{"not in so few crossings", 200, 60, Preview{Whole: true, Most: 6000}, Extent{72, 200, 18, 60}},
		{"nor unasked", 200, 60, Preview{}, Extent{72, 200, 20, 60}},
	} {
		row.p.Plan, row.p.Words = discOn(t, row.ends, row.rows), previewWords()
		if diff := cmp.Diff(row.want, row.p.Extent()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, diff)
		}
		s, err := row.p.Sheet()
		if err != nil {
			t.Fatal(err)
		}
		if err := legible(s); err != nil {
			t.Errorf("%s: %v", row.name, err)
		}
	}
}

func TestAWholeDesignLooks(t *testing.T) {
	s := must(Preview{Plan: discOn(t, 160, 40), Whole: true, Words: previewWords()}.Sheet())
	looksLike(t, "cloth-whole", s, 260)
}

// TestTheLargestDesignIsDrawnInPart, in measured memory, whatever its setts.
func TestTheLargestDesignIsDrawnInPart(t *testing.T) {
	plan := planOf(t, lace.Pattern{Ends: lace.MaxEnds, Raised: 3, Passes: 3, Rows: lace.MaxRows})
	for _, p := range []Preview{
		{},
		{Sett: measure.PerInch, PPI: 100 * measure.PerInch},
		{Sett: 100 * measure.PerInch, PPI: measure.PerInch},
	} {
		p.Plan, p.Whole, p.Words = plan, true, previewWords()
		e := p.Extent()
		if e.Ends > 210 || e.Rows > 65 {
			t.Errorf("extent %+v", e)
		}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := PNG(must(p.Sheet()), PictureWidth)
		runtime.ReadMemStats(&after)
		if taken := (after.TotalAlloc - before.TotalAlloc) >> 20; err != nil || taken > 400 {
			t.Errorf("%d MB taken, %v", taken, err)
		} else {
			t.Logf("%d ends × %d rows: %d MB taken", e.Ends, e.Rows, taken)
		}
	}
}
