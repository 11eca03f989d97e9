package lace

import (
	"errors"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
)

// The options are derived by hand from the rule in the doc comment of Fit and
// the layouts of CRAFT.md, section 2.
func TestFit(t *testing.T) {
	tests := []struct {
		name         string
		ends, raised int
		want         []Option
	}{
		{"even warp: exact first, then symmetric, then by the part of a group left over", 100, 0, []Option{
			{2, 25, 0, None, run(2, 25), true, 100, 100},
			{5, 10, 0, None, run(5, 10), true, 100, 100},
			{8, 6, 2, Both, join(Groups{9}, run(8, 4), Groups{9}), true, 96, 112},
			{6, 8, 2, Both, join(Groups{7}, run(6, 6), Groups{7}), true, 96, 108},
			{4, 12, 2, Both, join(Groups{5}, run(4, 10), Groups{5}), true, 96, 104},
			{3, 16, 2, Both, join(Groups{4}, run(3, 14), Groups{4}), true, 96, 102},
			{7, 7, 1, Far, join(run(7, 6), Groups{8}), false, 98, 112},
		}},
		{"odd warp: no size is exact to the end, the usual three comes first of those with no pair over", 97, 0, []Option{
			{3, 16, 0, None, run(3, 16), true, 96, 102},
			{2, 24, 0, None, run(2, 24), true, 96, 100},
			{4, 12, 0, None, run(4, 12), true, 96, 104},
			{6, 8, 0, None, run(6, 8), true, 96, 108},
			{8, 6, 0, None, run(8, 6), true, 96, 112},
			{7, 6, 6, Both, join(Groups{10}, run(7, 4), Groups{10}), true, 84, 98},
			{5, 9, 3, Both, join(Groups{6}, run(5, 7), Groups{7}), false, 90, 100},
		}},
		{"smallest warp that three groups fit", 12, 0, []Option{
			{2, 3, 0, None, Groups{2, 2, 2}, true, 12, 12},
		}},
		{"too small for three groups", 11, 0, []Option{}},
		{"asked: fewer than three groups are answered too", 11, 3, []Option{
			{3, 1, 2, Both, Groups{5}, true, 6, 12},
		}},
		{"asked: above the usual sizes", 100, 12, []Option{
			{12, 4, 2, Both, Groups{13, 12, 12, 13}, true, 96, 120},
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Fit(tt.ends, tt.raised)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got, cmp.Transformer("ints", func(g Groups) []int { return g })); diff != "" {
				t.Errorf("options (-want +got):\n%s", diff)
			}
		})
	}
}

func TestFitRefusesWhatNoWarpHolds(t *testing.T) {
	tests := []struct {
		name         string
		ends, raised int
		want         calc.Fault
	}{
		{"too few ends", 7, 0, calc.Fault{Code: calc.OutOfRange, Key: KeyEndsRange, Field: "ends", Args: []any{7, 8, 4000}, Example: "ends:97"}},
		{"too many ends", 4001, 3, calc.Fault{Code: calc.OutOfRange, Key: KeyEndsRange, Field: "ends", Args: []any{4001, 8, 4000}, Example: "ends:97"}},
		{"groups of one", 20, 1, calc.Fault{Code: calc.OutOfRange, Key: KeyRaisedRange, Field: "raised", Args: []any{1, 2, 10, 20}, Example: "raised:3"}},
		{"below nothing", 20, -3, calc.Fault{Code: calc.OutOfRange, Key: KeyRaisedRange, Field: "raised", Args: []any{-3, 2, 10, 20}, Example: "raised:3"}},
		{"wider than the warp", 21, 11, calc.Fault{Code: calc.OutOfRange, Key: KeyRaisedRange, Field: "raised", Args: []any{11, 2, 10, 21}, Example: "raised:3"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Fit(tt.ends, tt.raised)
			var fault *calc.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("Fit() error = %v, want a fault", err)
			}
			if diff := cmp.Diff(tt.want, *fault); diff != "" {
				t.Errorf("fault (-want +got):\n%s", diff)
			}
		})
	}
}

func TestEveryOptionIsALayoutThatAPatternGives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ends := rapid.IntRange(MinEnds, MaxEnds).Draw(t, "ends")
		options, err := Fit(ends, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range options {
			p := Pattern{Ends: ends, Raised: o.Raised, Passes: 3, Rows: 1, Leftover: o.Placement}
			if o.Placement == None {
				p.Leftover = Far
			}
			d, err := p.Design()
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(o.Sizes, d.Rows[0]) {
				t.Errorf("%d ends, %d raised: option %v, layout %v", ends, o.Raised, o.Sizes, d.Rows[0])
			}
			if o.Groups != len(o.Sizes) || o.Groups < 3 || o.Groups*o.Raised+o.Leftover != ends/2 {
				t.Errorf("%d ends: %d groups of %d and %d over", ends, o.Groups, o.Raised, o.Leftover)
			}
			group := 2 * o.Raised
			if o.ExactBelow%group != 0 || o.ExactAbove%group != 0 || o.ExactBelow > ends || o.ExactAbove < ends ||
				o.ExactAbove-o.ExactBelow > group || (ends%group == 0) != (o.ExactBelow == o.ExactAbove) {
				t.Errorf("%d ends, %d raised: exact at %d and %d", ends, o.Raised, o.ExactBelow, o.ExactAbove)
			}
		}
	})
}
