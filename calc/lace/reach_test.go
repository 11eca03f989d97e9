package lace

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"weftroom/calc/measure"
)

// 120 ends at 10 per inch, groups of 3 raised ends, 3 passes: a row takes 48 in
// of one strand with its pick home, 36 in without (the craft page's worked value,
// derived there by a separate program); a pass over one group 0.6 in.
func TestReachByHand(t *testing.T) {
	d, err := Pattern{Ends: 120, Raised: 3, Passes: 3, Rows: 3}.Design()
	if err != nil {
		t.Fatal(err)
	}
	p, err := Make(d)
	if err != nil {
		t.Fatal(err)
	}
	const in = measure.Inch
	for _, tt := range []struct {
		name      string
		row, move int
		have      measure.Length
		strands   int
		want      Reached
	}{
		{"nothing left", 1, 1, 0, 1, Reached{Row: 1, Move: 1, Group: 1, Need: 144 * in}},
		{"two passes", 1, 1, 1.3 * in, 1, Reached{Row: 1, Move: 3, Group: 2, Need: 144 * in}},
		{"to the pick home", 1, 1, 36.1 * in, 1, Reached{Row: 1, Move: 42, Need: 144 * in}},
		{"a row and a bit", 1, 1, 48.7 * in, 1, Reached{Row: 2, Move: 2, Group: 1, Rows: 1, Need: 144 * in}},
		{"the same in two strands", 1, 1, 97.4 * in, 2, Reached{Row: 2, Move: 2, Group: 1, Rows: 1, Need: 288 * in}},
		{"from the second row", 2, 1, 50 * in, 1, Reached{Row: 3, Move: 3, Group: 2, Rows: 1, Need: 96 * in}},
		{"from the last pick", 3, 42, 12.1 * in, 1, Reached{All: true, Need: 12 * in}},
		{"all", 1, 1, 145 * in, 1, Reached{All: true, Rows: 3, Need: 144 * in}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Reach(p, tt.row, tt.move, tt.have, 10*measure.PerInch, 0, tt.strands)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(float64(got.Need-tt.want.Need)) > 1e-9 {
				t.Errorf("needs %v, want %v", got.Need, tt.want.Need)
			}
			if got.Need = tt.want.Need; got != tt.want {
				t.Errorf("got %+v, want %+v", got, tt.want)
			}
		})
	}
	for _, at := range [][2]int{{0, 1}, {4, 1}, {1, 0}, {1, 43}} {
		if _, err := Reach(p, at[0], at[1], 1, 10*measure.PerInch, 0, 1); err == nil {
			t.Errorf("row %d, move %d: no error", at[0], at[1])
		}
	}
}

// What the whole plan takes by Reach is what it takes by Weft, drops included.
func TestReachNeedsWhatWeftSays(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		ask := thatPlans(func(rt *rapid.T) Pattern {
			return Pattern{
				Ends: rapid.IntRange(12, 90).Draw(rt, "ends"), Raised: rapid.IntRange(2, 5).Draw(rt, "raised"),
				Passes: 3 + 2*rapid.IntRange(0, 3).Draw(rt, "passes/2"), Way: Way(rapid.IntRange(0, 1).Draw(rt, "way")),
				From: Side(rapid.IntRange(0, 1).Draw(rt, "from")), Rows: rapid.IntRange(1, 4).Draw(rt, "rows"),
				Repeat: Repeat(rapid.IntRange(0, 1).Draw(rt, "repeat")),
			}
		}).Draw(rt, "pattern")
		d, err := ask.Design()
		if err != nil {
			rt.Fatal(err)
		}
		p, err := Make(d)
		if err != nil {
			rt.Fatal(err)
		}
		sett, strands := 10*measure.PerInch, rapid.IntRange(1, 3).Draw(rt, "strands")
		ppi := measure.Sett(rapid.IntRange(0, 20).Draw(rt, "ppi")) * measure.PerInch
		want, err := Weft(p, sett, ppi, strands)
		if err != nil {
			rt.Fatal(err)
		}
		got, err := Reach(p, 1, 1, want+1e-9, sett, ppi, strands)
		if err != nil {
			rt.Fatal(err)
		}
		if math.Abs(float64(got.Need-want)) > 1e-9 || !got.All || got.Rows != ask.Rows {
			rt.Fatalf("%+v, Weft says %v", got, want)
		}
		less, err := Reach(p, 1, 1, want*0.999-1e-9, sett, ppi, strands)
		if err != nil || less.All || less.Row != ask.Rows {
			rt.Fatalf("a little less: %+v, %v", less, err)
		}
	})
}
