package lace

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// groups of one size with others about them: run(3, 15) is fifteen groups of 3.
func run(size, times int) Groups { return slices.Repeat(Groups{size}, times) }

func join(parts ...Groups) Groups { return slices.Concat(parts...) }

// The layouts are derived by hand from the rules of CRAFT.md, section 2.
func TestLayouts(t *testing.T) {
	tests := []struct {
		name string
		ask  Pattern
		want []Groups
	}{
		{"nothing over", Pattern{Ends: 96, Raised: 3, Rows: 1}, []Groups{run(3, 16)}},
		{"the end over of an odd warp is in no pair", Pattern{Ends: 97, Raised: 3, Rows: 1}, []Groups{run(3, 16)}},
		{"leftover to the far group", Pattern{Ends: 100, Raised: 3, Rows: 1}, []Groups{join(run(3, 15), Groups{5})}},
		{"leftover shared", Pattern{Ends: 100, Raised: 3, Rows: 1, Leftover: Both}, []Groups{join(Groups{4}, run(3, 14), Groups{4})}},
		{"an odd leftover shared gives the far group one more", Pattern{Ends: 106, Raised: 5, Rows: 1, Leftover: Both},
			[]Groups{join(Groups{6}, run(5, 8), Groups{7})}},
		{"a leftover of one shared goes far", Pattern{Ends: 98, Raised: 3, Rows: 1, Leftover: Both}, []Groups{join(run(3, 15), Groups{4})}},
		{"a single group", Pattern{Ends: 9, Raised: 3, Rows: 2}, []Groups{{4}, {4}}},
		{"plain edges", Pattern{Ends: 20, Raised: 3, Rows: 1, Edge: 2}, []Groups{{2, 3, 3, 2}}},
		{"plain edges of one pair", Pattern{Ends: 23, Raised: 3, Rows: 1, Edge: 1}, []Groups{{1, 3, 3, 3, 1}}},
		{"leftover goes to the last group between the edges", Pattern{Ends: 24, Raised: 3, Rows: 1, Edge: 2}, []Groups{{2, 3, 5, 2}}},
		{"leftover shared between the edges", Pattern{Ends: 24, Raised: 3, Rows: 1, Edge: 2, Leftover: Both}, []Groups{{2, 4, 4, 2}}},
		{"two-way comes back over the same borders", Pattern{Ends: 22, Raised: 3, Rows: 3, Way: TwoWay}, []Groups{{3, 3, 5}, {5, 3, 3}, {3, 3, 5}}},

		{"half-drop of three", Pattern{Ends: 24, Raised: 3, Rows: 3, Repeat: HalfDrop}, []Groups{{3, 3, 3, 3}, {2, 3, 3, 4}, {3, 3, 3, 3}}},
		{"half-drop of four", Pattern{Ends: 24, Raised: 4, Rows: 2, Repeat: HalfDrop}, []Groups{{4, 4, 4}, {2, 4, 6}}},
		{"half-drop of two starts with three", Pattern{Ends: 20, Raised: 2, Rows: 2, Repeat: HalfDrop}, []Groups{{2, 2, 2, 2, 2}, {3, 2, 2, 3}}},
		{"half-drop with the leftover shared is half a group off the first", Pattern{Ends: 28, Raised: 4, Rows: 2, Repeat: HalfDrop, Leftover: Both},
			[]Groups{{5, 4, 5}, {3, 4, 7}}},
		{"half-drop of two groups", Pattern{Ends: 12, Raised: 3, Rows: 2, Repeat: HalfDrop}, []Groups{{3, 3}, {2, 4}}},
		{"half-drop of two on four pairs merges", Pattern{Ends: 8, Raised: 2, Rows: 2, Repeat: HalfDrop}, []Groups{{2, 2}, {4}}},
		{"half-drop between edges", Pattern{Ends: 20, Raised: 3, Rows: 2, Edge: 2, Repeat: HalfDrop}, []Groups{{2, 3, 3, 2}, {2, 2, 4, 2}}},
		{"half-drop two-way moves every second pair of journeys", Pattern{Ends: 18, Raised: 3, Rows: 6, Way: TwoWay, Repeat: HalfDrop},
			[]Groups{{3, 3, 3}, {3, 3, 3}, {2, 3, 4}, {4, 3, 2}, {3, 3, 3}, {3, 3, 3}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.ask.Passes = 3
			d, err := tt.ask.Design()
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, d.Rows); diff != "" {
				t.Errorf("groups (-want +got):\n%s", diff)
			}
		})
	}
}

// Every pair of numbers that a valid half-drop can have is tried, not a sample:
// between its edges a row is given by its pairs, the size of a group and the
// place of the leftover alone.
func TestHalfDropSharesNoBorderWithTheRowBelow(t *testing.T) {
	most := MaxEnds / 2
	if testing.Short() {
		most = 300
	}
	for pairs := 4; pairs <= most; pairs++ {
		for raised := MinRaised; raised <= pairs/2; raised++ {
			for _, leftover := range []Leftover{Far, Both} {
				below := straightGroups(pairs, raised, leftover)
				above := halfDropGroups(pairs, raised, leftover)
				if at := sharedBorder(below, above); at != 0 {
					t.Fatalf("%d pairs, %d raised, leftover %d: both have a border after %d pairs", pairs, raised, leftover, at)
				}
				if len(above) < 2 && pairs != 4 {
					t.Fatalf("%d pairs, %d raised, leftover %d: half-drop row is a single group", pairs, raised, leftover)
				}
				if slices.Min(above) < 2 || slices.Min(below) < 2 {
					t.Fatalf("%d pairs, %d raised, leftover %d: a group of one", pairs, raised, leftover)
				}
			}
		}
	}
}

// sharedBorder is a place, in pairs, where both rows have an inner border, or 0.
func sharedBorder(a, b Groups) int {
	i, j, atA, atB := 1, 1, a[0], b[0]
	for i < len(a) && j < len(b) {
		switch {
		case atA == atB:
			return atA
		case atA < atB:
			atA += a[i]
			i++
		default:
			atB += b[j]
			j++
		}
	}
	return 0
}

// drawPattern draws from the whole valid domain, with no more than maxWork
// crossings of an end and a pass so that a test ends soon.
func drawPattern(t *rapid.T, maxWork int) Pattern {
	p := Pattern{
		Ends:     rapid.OneOf(rapid.IntRange(MinEnds, 40), rapid.IntRange(MinEnds, MaxEnds)).Draw(t, "ends"),
		Passes:   2*rapid.IntRange(MinPasses/2, MaxPasses/2).Draw(t, "backs") + 1,
		Way:      rapid.SampledFrom([]Way{OneWay, TwoWay}).Draw(t, "way"),
		From:     rapid.SampledFrom([]Side{Right, Left}).Draw(t, "from"),
		Leftover: rapid.SampledFrom([]Leftover{Far, Both}).Draw(t, "leftover"),
		Repeat:   rapid.SampledFrom([]Repeat{Straight, HalfDrop}).Draw(t, "repeat"),
	}
	pairs := p.Ends / 2
	widest := pairs
	if p.Repeat == HalfDrop {
		widest = pairs / 2
	}
	p.Raised = rapid.OneOf(rapid.IntRange(MinRaised, min(8, widest)), rapid.IntRange(MinRaised, widest)).Draw(t, "raised")
	need := p.Raised
	if p.Repeat == HalfDrop {
		need *= 2
	}
	p.Edge = rapid.OneOf(rapid.Just(0), rapid.IntRange(0, (pairs-need)/2)).Draw(t, "edge")
	p.Rows = rapid.IntRange(1, max(1, min(MaxRows, maxWork/(p.Ends*p.Passes)))).Draw(t, "rows")
	return p
}

func TestEveryLayoutCoversTheWarpInGroupsOfTwoPairsOrMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPattern(t, MaxWork)
		d, err := p.Design()
		if err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
		if len(d.Rows) != p.Rows {
			t.Fatalf("%d rows, want %d", len(d.Rows), p.Rows)
		}
		for i, groups := range d.Rows[:min(len(d.Rows), 4)] {
			sum := 0
			for j, pairs := range groups {
				sum += pairs
				isEdge := p.Edge > 0 && (j == 0 || j == len(groups)-1)
				if isEdge && pairs != p.Edge {
					t.Fatalf("row %d: edge group of %d pairs, want %d: %v", i+1, pairs, p.Edge, groups)
				}
				if !isEdge && pairs < 2 {
					t.Fatalf("row %d: a group of %d: %v", i+1, pairs, groups)
				}
			}
			if sum != p.Ends/2 {
				t.Fatalf("row %d covers %d of %d pairs: %v", i+1, sum, p.Ends/2, groups)
			}
		}
	})
}
