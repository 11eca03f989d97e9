package lace

import (
	"errors"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
)

// Worked by hand on 24 or so ends; the rule is our own.
func TestReplanByHand(t *testing.T) {
	for _, tt := range []struct {
		name    string
		ask     Pattern
		woven   int
		change  Change
		rows    []Groups // all of them
		linesUp int
		was, is bool
		further int
	}{
		{"nothing changed", Pattern{Ends: 24, Raised: 3, Rows: 2}, 1, Change{Edge: -1},
			[]Groups{{3, 3, 3, 3}, {3, 3, 3, 3}}, 3, true, true, 0},
		{"groups twice as wide lie over every second border", Pattern{Ends: 24, Raised: 3, Rows: 3}, 1, Change{Raised: 6, Edge: -1},
			[]Groups{{3, 3, 3, 3}, {6, 6}, {6, 6}}, 1, true, true, 0},
		{"half as wide, every border stays", Pattern{Ends: 24, Raised: 4, Rows: 2}, 1, Change{Raised: 2, Edge: -1},
			[]Groups{{4, 4, 4}, {2, 2, 2, 2, 2, 2}}, 2, true, true, 0},
		{"edges, with the holes where they were", Pattern{Ends: 32, Raised: 4, Rows: 2}, 1, Change{Edge: 2},
			[]Groups{{4, 4, 4, 4}, {2, 2, 4, 4, 2, 2}}, 3, true, true, 0},
		{"two ends fewer", Pattern{Ends: 26, Raised: 3, Rows: 2}, 1, Change{Edge: -1, Ends: 24},
			[]Groups{{3, 3, 3, 3}, {3, 3, 3, 3}}, 3, false, true, 0},
		{"one end fewer, of an odd warp", Pattern{Ends: 25, Raised: 3, Rows: 2}, 1, Change{Edge: -1, Ends: 24},
			[]Groups{{3, 3, 3, 3}, {3, 3, 3, 3}}, 3, true, true, 0},
		{"a row left out", Pattern{Ends: 24, Raised: 3, Rows: 4}, 2, Change{Edge: -1, Skip: 1},
			[]Groups{{3, 3, 3, 3}, {3, 3, 3, 3}, {3, 3, 3, 3}}, 3, true, true, 0},
		{"one more, so that a half-drop begins and ends alike", Pattern{Ends: 24, Raised: 4, Repeat: HalfDrop, Rows: 5}, 1, Change{Edge: -1, Skip: 1},
			[]Groups{{4, 4, 4}, {2, 4, 6}, {4, 4, 4}}, 2, false, false, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tt.ask.Passes = 3
			d, err := tt.ask.Design()
			if err != nil {
				t.Fatal(err)
			}
			r, err := Replan(tt.ask, d.Rows, tt.woven, tt.change)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.rows, r.Plan.Design.Rows); diff != "" {
				t.Errorf("- want, + got:\n%s", diff)
			}
			if r.LinesUp != tt.linesUp || r.Was != tt.was || r.Is != tt.is || r.Further != tt.further {
				t.Errorf("got %d of %d, %v %v, %d", r.LinesUp, r.Borders, r.Was, r.Is, r.Further)
			}
		})
	}
}

// TestReplanOfListedRows: the rows to come stay those of the list, and go on where
// the piece is; the woven ones stay as they are woven.
func TestReplanOfListedRows(t *testing.T) {
	ask := Pattern{Ends: 48, Passes: 3, Rows: 6, Listed: []Groups{{3, 3, 6}, {6, 3, 3}, {4, 8}}}
	d, err := ask.Design()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name   string
		change Change
		want   []Groups
	}{
		{"rows left out", Change{Edge: -1, Skip: 2}, []Groups{{3, 3, 6, 3, 3, 6}, {6, 3, 3, 6, 3, 3}, {4, 8, 4, 8}, {3, 3, 6, 3, 3, 6}}},
		{"edges", Change{Edge: 3}, []Groups{{3, 3, 6, 3, 3, 6}, {6, 3, 3, 6, 3, 3}, {3, 4, 8, 6, 3}, {3, 3, 3, 6, 3, 3, 3}, {3, 6, 3, 3, 6, 3}, {3, 4, 8, 6, 3}}},
		{"a pair fewer", Change{Edge: -1, Ends: 46}, []Groups{{3, 3, 6, 3, 3, 5}, {6, 3, 3, 6, 3, 2}, {4, 8, 4 + 7}, {3, 3, 6, 3, 3 + 5}, {6, 3, 3, 6, 3 + 2}, {4, 8, 4 + 7}}},
		{"groups all alike", Change{Edge: -1, Raised: 4}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, err := Replan(ask, d.Rows, 2, tt.change)
			if err != nil {
				t.Fatal(err)
			}
			if tt.want == nil {
				if len(r.Pattern.Listed) > 0 || r.Pattern.Raised != 4 || !slices.Equal(r.Plan.Design.Rows[2], Groups{4, 4, 4, 4, 4, 4}) {
					t.Errorf("%+v, %v", r.Pattern, r.Plan.Design.Rows)
				}
				return
			}
			if diff := cmp.Diff(tt.want, r.Plan.Design.Rows); diff != "" {
				t.Errorf("rows (-want +got):\n%s", diff)
			}
		})
	}
	var fault *calc.Fault
	if _, err := Replan(ask, d.Rows, 2, Change{Edge: 11}); !errors.As(err, &fault) || fault.Key != KeyListWide {
		t.Errorf("edges that leave no room: %v", err)
	}
}

// TestReplanOfOneGroup: where a row has room for one group only, it stays one.
func TestReplanOfOneGroup(t *testing.T) {
	ask := Pattern{Ends: 20, Raised: 6, Passes: 3, Rows: 4}
	d, err := ask.Design()
	if err != nil {
		t.Fatal(err)
	}
	r, err := Replan(ask, d.Rows, 0, Change{Edge: -1})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(d.Rows, r.Plan.Design.Rows); diff != "" {
		t.Errorf("no change of the rows, and yet:\n%s", diff)
	}
}

// replanAsk is a change of a piece on its way.
type replanAsk struct {
	Piece  Pattern
	Woven  int
	Change Change
}

func (a replanAsk) replan() (Design, Replanned, error) {
	d, err := a.Piece.Design()
	if err != nil {
		return d, Replanned{}, err
	}
	r, err := Replan(a.Piece, d.Rows, a.Woven, a.Change)
	return d, r, err
}

func anyReplan(t *rapid.T) replanAsk {
	piece := Pattern{
		Ends: rapid.IntRange(20, 80).Draw(t, "ends"), Raised: rapid.IntRange(2, 6).Draw(t, "raised"), Passes: 3,
		Way: Way(rapid.IntRange(0, 1).Draw(t, "way")), From: Side(rapid.IntRange(0, 1).Draw(t, "from")),
		Rows: rapid.IntRange(2, 12).Draw(t, "rows"), Repeat: Repeat(rapid.IntRange(0, 1).Draw(t, "repeat")),
		Leftover: Leftover(rapid.IntRange(0, 1).Draw(t, "leftover")), Edge: rapid.IntRange(0, 2).Draw(t, "edge"),
	}
	a := replanAsk{Piece: piece, Woven: rapid.IntRange(0, piece.Rows-1).Draw(t, "woven")}
	if piece.Way == TwoWay {
		a.Woven -= a.Woven % 2
	}
	a.Change = Change{Edge: rapid.IntRange(-1, 3).Draw(t, "new edge"), Raised: rapid.SampledFrom([]int{0, 2, 3, 4, 5}).Draw(t, "new raised")}
	if rapid.Bool().Draw(t, "counted") {
		a.Change.Ends = piece.Ends + rapid.IntRange(-3, 3).Draw(t, "ends more")
	}
	a.Change.Skip = rapid.IntRange(0, piece.Rows-a.Woven-1).Draw(t, "skip")
	return a
}

// Whatever is changed, wherever: the woven rows stay as they are woven, the whole
// is proven, and nothing changed changes nothing but how it is laid out best.
func TestReplanHolds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a := rapid.Custom(anyReplan).Filter(func(a replanAsk) bool {
			_, _, err := a.replan()
			return !refused(err)
		}).Draw(rt, "change")
		ask, change := a.Piece, a.Change
		d, r, err := a.replan()
		if err != nil {
			rt.Fatal(err)
		}
		now := r.Plan.Design
		if err := Prove(now, r.Plan); err != nil {
			rt.Fatal(err)
		}
		if len(now.Rows) != ask.Rows-change.Skip-r.Further || r.Pattern.Rows != len(now.Rows) {
			rt.Fatalf("%d rows of %d, %d left out and %d further", len(now.Rows), ask.Rows, change.Skip, r.Further)
		}
		if change.Ends == 0 || change.Ends/2 == ask.Ends/2 {
			if diff := cmp.Diff(d.Rows[:a.Woven], now.Rows[:a.Woven], cmp.Comparer(func(a, b Groups) bool { return slices.Equal(a, b) })); diff != "" {
				rt.Fatalf("woven rows are others now:\n%s", diff)
			}
		}
		if change.Raised == 0 && change.Edge == -1 && change.Ends == 0 && r.LinesUp != r.Borders && r.Is == r.Was {
			rt.Fatalf("no change of the row, and %d of %d borders line up: %v", r.LinesUp, r.Borders, now.Rows)
		}
	})
}
