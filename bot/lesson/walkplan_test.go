package lesson

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc/lace"
)

// TestAStretchHasTheRowsOfItsPlan: each row that is walked is the row of the
// whole plan, of whatever pattern, listed rows among them, which begin again
// after as many rows as were listed.
func TestAStretchHasTheRowsOfItsPlan(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := lace.Pattern{
			Ends: rapid.IntRange(24, 60).Draw(rt, "ends"), Raised: rapid.IntRange(2, 5).Draw(rt, "raised"), Passes: 3,
			Way: lace.Way(rapid.IntRange(0, 1).Draw(rt, "way")), From: lace.Side(rapid.IntRange(0, 1).Draw(rt, "from")),
			Rows: rapid.IntRange(1, 24).Draw(rt, "rows"), Repeat: lace.Repeat(rapid.IntRange(0, 1).Draw(rt, "repeat")),
		}
		for range rapid.IntRange(0, 7).Draw(rt, "listed") {
			p.Listed = append(p.Listed, rapid.SliceOfN(rapid.IntRange(2, 4), 1, 3).Draw(rt, "groups"))
		}
		whole, err := planned(p)
		if err != nil {
			rt.Fatal(err)
		}
		s, err := stretchAlong(p)
		if err != nil {
			rt.Fatal(err)
		}
		if s.rows() != len(whole.Rows) {
			rt.Fatalf("%d rows, want %d", s.rows(), len(whole.Rows))
		}
		for _, want := range whole.Rows {
			got := s.row(want.Number)
			if sizes := s.t.sizes(got); !slices.Equal(sizes, rowText{plan: whole, pattern: p}.sizes(want)) {
				rt.Fatalf("row %d is said to have groups of %v ends", want.Number, sizes)
			}
			want.Number = got.Number
			if diff := cmp.Diff(want, got); diff != "" {
				rt.Fatalf("row %d:\n%s", want.Number, diff)
			}
		}
	})
}

// TestSixListedRowsAreWalkedAsListed would fail with a cycle of any other length.
func TestSixListedRowsAreWalkedAsListed(t *testing.T) {
	p := lace.Pattern{Ends: 24, Passes: 3, Rows: 14}
	for _, first := range []int{2, 3, 4, 5, 6, 7} {
		p.Listed = append(p.Listed, lace.Groups{first, 12 - first})
	}
	s, err := stretchAlong(p)
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; n <= p.Rows; n++ {
		if got, want := s.row(n).Moves[0].Under, (n-1)%6+2; got != want {
			t.Errorf("row %d begins under %d, want %d", n, got, want)
		}
	}
}

// TestAMiscountInListedRowsIsMadeGoodInTheNextOfThem: problem plans the row that
// she speaks of and the one after it, and what it says of carrying on was woven
// in them: six rows on, all is as in the row that it repeats.
func TestAMiscountInListedRowsIsMadeGoodInTheNextOfThem(t *testing.T) {
	p := lace.Pattern{Ends: 48, Passes: 3, Rows: 14}
	for _, first := range []int{3, 4, 5, 6, 7, 8} {
		p.Listed = append(p.Listed, lace.Groups{first, 12 - first})
	}
	carried := 0
	for row := 1; row < p.Rows; row++ {
		s, err := stretchAlong(p)
		if err != nil {
			t.Fatal(err)
		}
		said, err := withNextRow(s.t, row, s.all)
		if err != nil {
			t.Fatal(err)
		}
		if got := len(said.plan.Rows); got != row+1 {
			t.Fatalf("%d rows are planned for row %d", got, row)
		}
		like := s.row(row + 1)
		if diff := cmp.Diff(like.Moves, said.plan.Rows[row].Moves); diff != "" {
			t.Errorf("after row %d:\n%s", row, diff)
		}
		found, err := lace.Diagnose(said.plan, lace.Observation{Row: row, Short: 1})
		if err != nil {
			t.Fatal(err)
		}
		for _, cause := range found.Causes {
			if found.Remedy(said.plan, cause).CarryOn {
				carried++
			}
		}
	}
	if carried == 0 {
		t.Error("there is no row after which she may carry on")
	}
}
