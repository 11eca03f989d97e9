package lace

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// drawn writes an interlacing down as seen from above, the highest level first
// and end 1 at the right: | where the end is over the weft, - where the weft is
// over the end, and between two ends a blank where nothing ties them.
func drawn(in *Interlacing) string {
	var lines []string
	for level := in.Levels - 1; level >= 0; level-- {
		var b strings.Builder
		for end := in.Ends; end >= 1; end-- {
			switch {
			case in.PassAt(end, level) < 0:
				b.WriteByte('.')
			case in.Over(end, level):
				b.WriteByte('|')
			default:
				b.WriteByte('-')
			}
			if end > 1 && in.Tied(end-1, level) {
				b.WriteByte('=')
			} else if end > 1 {
				b.WriteByte(' ')
			}
		}
		lines = append(lines, b.String())
	}
	return strings.Join(lines, "\n")
}

// Worked out on paper with a pencil, pass by pass.
func TestInterlacingOfAFewEnds(t *testing.T) {
	tests := []struct {
		name string
		ends int
		from Side
		rows []string
		want string
	}{
		{"two plain picks on an odd warp", 5, Right, []string{".1<3 ~2>2"}, `
-=|=-=|=-
|=-=|=-=|`},
		{"one row of two groups of two raised ends and the pick home", 8, Right, []string{".1<2 !2>2 ~1<4 !2>2 !1<2 ~2>4"}, `
|=-=|=-=|=-=|=-
-=|=-=| -=|=-=|
|=-=|=- |=-=|=-
-=|=-=| -=|=-=|`},
		{"from the left the edge end on that side is raised first", 8, Left, []string{".2>2 !1<2 ~2>4 !1<2 !2>2 ~1<4"}, `
-=|=-=|=-=|=-=|
|=-=|=- |=-=|=-
-=|=-=| -=|=-=|
|=-=|=- |=-=|=-`},
		{"a group worked alone stands above its neighbour", 4, Right, []string{".1<1 !2>1"}, `
. . |=-
. . -=|`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in, err := Interlace(tt.ends, tt.from, rowsOf(t, tt.rows...))
			if err != nil {
				t.Fatal(err)
			}
			if got := drawn(in); got != strings.TrimPrefix(tt.want, "\n") {
				t.Errorf("it lies so:\n%s", got)
			}
		})
	}
}

// A part of a warp lies as that part of the whole does.
func TestPartOfAnInterlacing(t *testing.T) {
	rows := rowsOf(t, ".1<2 !2>2 ~1<4 !2>2 !1<2 ~2>4")
	whole, err := Interlace(8, Right, rows)
	if err != nil {
		t.Fatal(err)
	}
	part, err := InterlacePart(8, Right, rows, 2, 6)
	if err != nil {
		t.Fatal(err)
	}
	if part.Levels != whole.Levels || len(part.Passes) != len(whole.Passes) {
		t.Errorf("%d levels, %d passes", part.Levels, len(part.Passes))
	}
	for end := 1; end <= 8; end++ {
		for level := range whole.Levels {
			want := whole.PassAt(end, level)
			if end <= 2 || end > 6 {
				want = -1
			}
			got := part.PassAt(end, level)
			if got != want || got >= 0 && part.LevelOf(got, end) != level {
				t.Errorf("end %d, level %d: pass %d, want %d", end, level, got, want)
			}
		}
	}
	for _, bad := range [][2]int{{-1, 4}, {4, 4}, {0, 9}} {
		if _, err := InterlacePart(8, Right, rows, bad[0], bad[1]); err == nil {
			t.Errorf("no complaint about a part from %d to %d", bad[0], bad[1])
		}
	}
}

func TestInterlaceFailsAsTheWeaverDoes(t *testing.T) {
	if _, err := Interlace(0, Right, nil); err == nil {
		t.Error("no complaint about a warp without ends")
	}
	if _, err := Interlace(8, Right, rowsOf(t, ".1<5")); err == nil {
		t.Error("no complaint about a count that cannot be made")
	}
}

// Of any plan: every end has as many crossings as there are levels; two levels
// one above the other are never in the same shed, so an end that is over goes
// under next; a pass runs where PassAt says; and the borders of the groups, and
// nothing else, are open at the levels where they were worked.
func TestInterlacingOfAnyPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := thatPlans(func(t *rapid.T) Pattern {
			return Pattern{
				Ends:   rapid.IntRange(MinEnds, 60).Draw(t, "ends"),
				Raised: rapid.IntRange(2, 4).Draw(t, "raised"),
				Passes: rapid.SampledFrom([]int{3, 5, 7}).Draw(t, "passes"),
				Rows:   rapid.IntRange(1, 4).Draw(t, "rows"),
				Way:    rapid.SampledFrom([]Way{OneWay, TwoWay}).Draw(t, "way"),
				From:   rapid.SampledFrom([]Side{Right, Left}).Draw(t, "from"),
			}
		}).Draw(t, "pattern")
		d, err := p.Design()
		if err != nil {
			t.Fatal(err)
		}
		plan, err := Make(d)
		if err != nil {
			t.Fatal(err)
		}
		in, err := Interlace(p.Ends, p.From, plan.Rows)
		if err != nil {
			t.Fatal(err)
		}
		if in.Levels != plan.PicksHigh() {
			t.Fatalf("%d levels, %d picks high", in.Levels, plan.PicksHigh())
		}
		for end := 1; end <= in.Ends; end++ {
			for level := range in.Levels {
				pass := in.PassAt(end, level)
				if pass < 0 || in.LevelOf(pass, end) != level {
					t.Fatalf("end %d, level %d: pass %d", end, level, pass)
				}
				if level > 0 && in.Over(end, level) == in.Over(end, level-1) {
					t.Fatalf("end %d lies alike at levels %d and %d", end, level-1, level)
				}
			}
		}
		rowHigh := in.Levels / len(plan.Rows)
		for level := range in.Levels {
			open := map[int]bool{}
			if level%rowHigh < p.Passes {
				open = innerBorders(d, level/rowHigh)
			}
			for b := 1; b < in.Ends; b++ {
				if in.Tied(b, level) == open[b] {
					t.Fatalf("boundary %d at level %d: tied %v", b, level, in.Tied(b, level))
				}
			}
		}
	})
}

// innerBorders are the boundaries between the groups of row i.
func innerBorders(d Design, i int) map[int]bool {
	borders, start := map[int]bool{}, d.From
	at := 0
	if d.Way == TwoWay && i%2 == 1 {
		start, at = start.Other(), d.Ends%2
	}
	for _, pairs := range d.Rows[i][:len(d.Rows[i])-1] {
		at += 2 * pairs
		if start == Right {
			borders[at] = true
		} else {
			borders[d.Ends-at] = true
		}
	}
	return borders
}

// A header and a hem of plain picks join on to any plan: no pass undoes the one
// before it.
func TestPlainPicksJoinOn(t *testing.T) {
	for _, from := range []Side{Right, Left} {
		for _, ends := range []int{8, 9, 97, 98} {
			d, err := Pattern{Ends: ends, Raised: 2, Passes: 3, Rows: 1, From: from}.Design()
			if err != nil {
				t.Fatal(err)
			}
			plan, err := Make(d)
			if err != nil {
				t.Fatal(err)
			}
			first := plan.Rows[0].Moves[0].Shed
			header, hem := PlainPicks(ends, 4, from, first), PlainPicks(ends, 3, from, first)
			err = Walk(ends, from, []Row{header, plan.Rows[0], hem}, func(p Pass) error {
				if p.Again != 0 {
					t.Errorf("%d ends: row %d, step %d is in the same shed again", ends, p.Row, p.Step)
				}
				return nil
			})
			if err != nil {
				t.Errorf("%d ends: %v", ends, err)
			}
		}
	}
}

func BenchmarkInterlace(b *testing.B) {
	d, err := Pattern{Ends: 100, Raised: 3, Passes: 3, Rows: 20}.Design()
	if err != nil {
		b.Fatal(err)
	}
	plan, err := Make(d)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Interlace(100, Right, plan.Rows); err != nil {
			b.Fatal(err)
		}
	}
}
