package warp

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc/measure"
	"weftroom/calc/yarn"
)

func TestNearestHeddle(t *testing.T) {
	for _, row := range []struct {
		name         string
		want         measure.Sett
		list         []measure.Sett
		heddle, more measure.Sett
	}{
		{"exactly one that is made", 12.5 * perInch, yarn.ImperialReeds, 12.5 * perInch, 0},
		{"16 is nearest to 15", 16 * perInch, yarn.ImperialReeds, 15 * perInch, -perInch},
		{"9.5 is nearest to 10", 9.5 * perInch, yarn.ImperialReeds, 10 * perInch, 0.5 * perInch},
		{"9 lies between 8 and 10: the more open", 9 * perInch, yarn.ImperialReeds, 8 * perInch, -perInch},
		{"10 per inch in metric is 40/10 cm, a little closer", 10 * perInch, yarn.MetricReeds, 40 * per10cm, 0.16 * perInch},
		{"closer than any is the closest", 30 * perInch, yarn.ImperialReeds, 15 * perInch, -15 * perInch},
	} {
		t.Run(row.name, func(t *testing.T) {
			heddle, more, ok := NearestHeddle(row.want, row.list)
			if !ok || heddle != row.heddle {
				t.Errorf("got %v per inch, %v", heddle.In(perInch), ok)
			}
			near(t, "difference, per inch", more.In(perInch), row.more.In(perInch), 1e-12)
		})
	}
	for name, sett := range map[string]measure.Sett{"no sett": 0, "negative": -1} {
		if _, _, ok := NearestHeddle(sett, yarn.ImperialReeds); ok {
			t.Errorf("a heddle for %s", name)
		}
	}
	if _, _, ok := NearestHeddle(10*perInch, nil); ok {
		t.Error("a heddle from an empty list")
	}
}

func TestNoListedHeddleIsNearer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := measure.Sett(rapid.Float64Range(1, 5000).Draw(t, "want"))
		heddle, closer, ok := NearestHeddle(want, yarn.ImperialReeds)
		if !ok || heddle-want != closer {
			t.Fatalf("%v, %v, %v", heddle, closer, ok)
		}
		for _, h := range yarn.ImperialReeds {
			if off := max(h-want, want-h); off < max(closer, -closer)*(1-1e-9) {
				t.Errorf("%v is nearer to %v than %v", h, want, heddle)
			}
		}
	})
}

// The orders themselves are checked in calc/yarn; here, that a plan carries the
// one that belongs to its reed.
func TestPlanSleys(t *testing.T) {
	noOrder := KeyNoteNoSley
	for _, row := range []struct {
		name         string
		loom         Loom
		heddle, sett measure.Sett
		sley         []int
		notes        []Note
	}{
		{"one end to a dent", FloorLoom, 10 * perInch, 0, []int{1}, nil},
		{"20 in 8", FloorLoom, 8 * perInch, 20 * perInch, []int{2, 3}, nil},
		{"15 in 10", FloorLoom, 10 * perInch, 15 * perInch, []int{1, 2}, nil},
		{"a sett alone has no dents", FloorLoom, 0, 15 * perInch, nil, nil},
		{"10 in 40/10 cm has no order", FloorLoom, 40 * per10cm, 10 * perInch, nil,
			[]Note{{noOrder, []any{10 * perInch, 40 * per10cm, 40 * per10cm}}}},
		{"the heddle's own number said twice", RigidHeddle, 40 * per10cm, 10.1600000001 * perInch, []int{1}, nil},
		{"doubled in a rigid heddle", RigidHeddle, 10 * perInch, 20 * perInch, []int{2},
			[]Note{{KeyNoteNotOneEach, []any{10 * perInch, 20 * perInch}}}},
	} {
		t.Run(row.name, func(t *testing.T) {
			o := scarf()
			o.Loom, o.Heddle, o.Sett, o.Waste = row.loom, row.heddle, row.sett, 36*inch
			r, err := Plan(o)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(row.sley, r.Sley); diff != "" {
				t.Error(diff)
			}
			var notes []Note
			for _, n := range r.Notes {
				if n.Key == KeyNoteNotOneEach || n.Key == noOrder {
					notes = append(notes, n)
				}
			}
			if diff := cmp.Diff(row.notes, notes); diff != "" {
				t.Error(diff)
			}
		})
	}
}
