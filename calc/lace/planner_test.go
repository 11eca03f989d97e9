package lace

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func mustMake(t testing.TB, p Pattern) *Plan {
	t.Helper()
	d, err := p.Design()
	if err != nil {
		t.Fatal(err)
	}
	made, err := Make(d)
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// counts says the moves of a row as CRAFT.md does: "3, back 3, 6, home 48".
func counts(row Row) []string {
	var said []string
	for _, m := range row.Moves {
		switch {
		case m.Kind == HomePick:
			said = append(said, fmt.Sprint("home ", m.Under))
		case m.Toward == row.Start:
			said = append(said, fmt.Sprint("back ", m.Under))
		default:
			said = append(said, fmt.Sprint(m.Under))
		}
	}
	return said
}

// The table "Worked values" of CRAFT.md, section 2, derived there: two programs
// written apart agree.
func TestWorkedValues(t *testing.T) {
	tests := []struct {
		ends, moves int
		first, last string
	}{
		{96, 34, "3, back 3, 6, back 3, 6", "back 3, 6, back 3, 3, home 48"},
		{97, 34, "3, back 3, 6, back 3, 6", "back 3, 7, back 3, 4, home 48"},
		{98, 34, "3, back 3, 6, back 3, 6", "back 3, 7, back 4, 4, home 49"},
		{100, 34, "3, back 3, 6, back 3, 6", "back 3, 8, back 5, 5, home 50"},
		{120, 42, "3, back 3, 6, back 3, 6", "back 3, 6, back 3, 3, home 60"},
	}
	for _, tt := range tests {
		for side, from := range map[string]Side{"right": Right, "left": Left} {
			t.Run(fmt.Sprintf("%d ends from the %s", tt.ends, side), func(t *testing.T) {
				p := mustMake(t, Pattern{Ends: tt.ends, Raised: 3, Passes: 3, Rows: 2, From: from})
				for _, row := range p.Rows {
					got := counts(row)
					if len(got) != tt.moves {
						t.Errorf("row %d: %d moves, want %d", row.Number, len(got), tt.moves)
					}
					if first := strings.Join(got[:5], ", "); first != tt.first {
						t.Errorf("row %d begins %q, want %q", row.Number, first, tt.first)
					}
					if last := strings.Join(got[len(got)-5:], ", "); last != tt.last {
						t.Errorf("row %d ends %q, want %q", row.Number, last, tt.last)
					}
					if row.Start != from {
						t.Errorf("row %d starts at side %d", row.Number, row.Start)
					}
				}
			})
		}
	}
}

// From CRAFT.md, section 1: ends are numbered from the right in data, so the
// shed that raises the edge end on the left depends on how many there are.
func TestFirstShedRaisesTheEdgeEndWhereThePieceBegins(t *testing.T) {
	tests := []struct {
		name string
		ends int
		from Side
		want Shed
	}{
		{"98 from the right", 98, Right, Shed1},
		{"98 from the left", 98, Left, Shed2},
		{"97 from the right", 97, Right, Shed1},
		{"97 from the left", 97, Left, Shed1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := mustMake(t, Pattern{Ends: tt.ends, Raised: 3, Passes: 3, Rows: 2, From: tt.from})
			for _, row := range p.Rows {
				if got := row.Moves[0].Shed; got != tt.want {
					t.Errorf("row %d begins in shed %d, want %d", row.Number, got, tt.want)
				}
			}
		})
	}
}

// notate writes each move as shed, direction, count and tension:
// "1<3." under three in shed 1 toward the left, the weft entering;
// "2>3n" under three in shed 2 toward the right after a snug turn; "s" a slack
// turn, "h" in front the pick home.
func notate(row Row) string {
	var said []string
	for _, m := range row.Moves {
		s := fmt.Sprint(int(m.Shed), string("><"[m.Toward]), m.Under, string(".sn"[m.Turn]))
		s = strings.ReplaceAll(s, " ", "")
		if m.Kind == HomePick {
			s = "h" + s
		}
		said = append(said, s)
	}
	return strings.Join(said, " ")
}

// Small pieces worked by hand, end by end, from CRAFT.md, section 2.
func TestSmallPiecesWorkedByHand(t *testing.T) {
	tests := []struct {
		name   string
		ask    Pattern
		groups [][]int
		rows   []string
	}{
		{"one-way from the right", Pattern{Ends: 12, Raised: 3, Passes: 3, Rows: 2},
			[][]int{{3, 3}, {3, 3}},
			[]string{
				"1<3. 2>3n 1<6s 2>3s 1<3n h2>6s",
				"1<3s 2>3n 1<6s 2>3s 1<3n h2>6s",
			}},
		{"one-way from the left", Pattern{Ends: 12, Raised: 3, Passes: 3, Rows: 1, From: Left},
			[][]int{{3, 3}},
			[]string{"2>3. 1<3n 2>6s 1<3s 2>3n h1<6s"}},
		{"three groups: the middle one turns on borders alone", Pattern{Ends: 12, Raised: 2, Passes: 3, Rows: 1},
			[][]int{{2, 2, 2}},
			[]string{"1<2. 2>2n 1<4s 2>2n 1<4n 2>2s 1<2n h2>6s"}},
		{"odd warp from the left: the end over is at the right", Pattern{Ends: 13, Raised: 3, Passes: 3, Rows: 1, From: Left},
			[][]int{{3, 4}},
			[]string{"1>3. 2<3n 1>7s 2<3s 1>4n h2<6s"}},
		{"two-way, even warp", Pattern{Ends: 12, Raised: 3, Passes: 3, Rows: 3, Way: TwoWay},
			[][]int{{3, 3}, {3, 3}, {3, 3}},
			[]string{
				"1<3. 2>3n 1<6s 2>3s 1<3n",
				"2>3s 1<3n 2>6s 1<3s 2>3n",
				"1<3s 2>3n 1<6s 2>3s 1<3n",
			}},
		{"two-way, odd warp: home begins in the shed that lowers the far edge end", Pattern{Ends: 13, Raised: 3, Passes: 3, Rows: 3, Way: TwoWay},
			[][]int{{3, 4}, {4, 3}, {3, 4}},
			[]string{
				"1<3. 2>3n 1<7s 2>3s 1<4n",
				"2>3s 1<4n 2>6s 1<3s 2>3n",
				"1<3s 2>3n 1<7s 2>3s 1<4n",
			}},
		{"two-way from the left, even warp", Pattern{Ends: 12, Raised: 3, Passes: 3, Rows: 2, Way: TwoWay, From: Left},
			[][]int{{3, 3}, {3, 3}},
			[]string{
				"2>3. 1<3n 2>6s 1<3s 2>3n",
				"1<3s 2>3n 1<6s 2>3s 1<3n",
			}},
		{"five passes", Pattern{Ends: 12, Raised: 3, Passes: 5, Rows: 1},
			[][]int{{3, 3}},
			[]string{"1<3. 2>3n 1<3s 2>3n 1<6s 2>3s 1<3n 2>3s 1<3n h2>6s"}},
		{"seven passes, leftover far", Pattern{Ends: 10, Raised: 2, Passes: 7, Rows: 1},
			[][]int{{2, 3}},
			[]string{"1<2. 2>2n 1<2s 2>2n 1<2s 2>2n 1<5s 2>3s 1<3n 2>3s 1<3n 2>3s 1<3n h2>5s"}},
		{"a single group is full passes", Pattern{Ends: 9, Raised: 4, Passes: 3, Rows: 1},
			[][]int{{5}},
			[]string{"1<5. 2>4s 1<5s h2>4s"}},
		{"a single group two-way", Pattern{Ends: 9, Raised: 4, Passes: 3, Rows: 2, Way: TwoWay},
			[][]int{{5}, {5}},
			[]string{"1<5. 2>4s 1<5s", "2>4s 1<5s 2>4s"}},
		{"plain edges, the end over in the far one", Pattern{Ends: 11, Raised: 3, Passes: 3, Rows: 1, Edge: 1},
			[][]int{{1, 3, 2}},
			[]string{"1<1. 2>1n 1<4s 2>3n 1<5n 2>1s 1<2n h2>5s"}},
		{"half-drop of two", Pattern{Ends: 10, Raised: 2, Passes: 3, Rows: 2, Repeat: HalfDrop},
			[][]int{{2, 3}, {3, 2}},
			[]string{
				"1<2. 2>2n 1<5s 2>3s 1<3n h2>5s",
				"1<3s 2>3n 1<5s 2>2s 1<2n h2>5s",
			}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := mustMake(t, tt.ask)
			var groups [][]int
			var rows []string
			for i, row := range p.Rows {
				if row.Number != i+1 {
					t.Errorf("row %d is numbered %d", i+1, row.Number)
				}
				groups = append(groups, row.Groups)
				rows = append(rows, notate(row))
			}
			if diff := cmp.Diff(tt.groups, groups); diff != "" {
				t.Errorf("groups (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.rows, rows); diff != "" {
				t.Errorf("moves (-want +got):\n%s", diff)
			}
		})
	}
}

// An end is raised in Shed1 when its number from the right is odd, so on 97 ends
// the far group holds one more raised end from either side.
func TestGroupsCountRaisedEndsInShed1(t *testing.T) {
	for _, from := range []Side{Right, Left} {
		p := mustMake(t, Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 2, Way: TwoWay, From: from})
		want := [][]int{join(run(3, 15), Groups{4}), join(Groups{4}, run(3, 15))}
		if diff := cmp.Diff(want, [][]int{p.Rows[0].Groups, p.Rows[1].Groups}); diff != "" {
			t.Errorf("from side %d (-want +got):\n%s", from, diff)
		}
	}
}

func TestRowsAlikeShareTheirMoves(t *testing.T) {
	tests := []struct {
		name string
		ask  Pattern
		want int // distinct rows, the first always apart
	}{
		{"straight one-way", Pattern{}, 2},
		{"straight two-way", Pattern{Way: TwoWay}, 3},
		{"half-drop one-way", Pattern{Repeat: HalfDrop}, 3},
		{"half-drop two-way", Pattern{Repeat: HalfDrop, Way: TwoWay, Leftover: Both}, 5},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.ask.Ends, tt.ask.Raised, tt.ask.Passes, tt.ask.Rows = 99, 4, 3, 100
			moves, groups := map[*Move]bool{}, map[*int]bool{}
			for _, row := range mustMake(t, tt.ask).Rows {
				moves[&row.Moves[0]] = true
				groups[&row.Groups[0]] = true
			}
			if len(moves) != tt.want || len(groups) != tt.want {
				t.Errorf("%d lists of moves, %d of groups; want %d", len(moves), len(groups), tt.want)
			}
		})
	}
}

// Rows of a free design that only look alike must not be taken for one another.
func TestRowsOfOtherGroupsDoNotShare(t *testing.T) {
	p, err := Make(Design{Ends: 14, Way: TwoWay, Passes: 3, Rows: []Groups{{7}, {2, 5}, {2, 5}, {5, 2}, {2, 3, 2}, {2, 5}}})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"1<7. 2>7s 1<7s",
		"2>2s 1<2n 2>7s 1<5s 2>5n",
		"1<2s 2>2n 1<7s 2>5s 1<5n",
		"2>5s 1<5n 2>7s 1<2s 2>2n",
		"1<2s 2>2n 1<5s 2>3n 1<5n 2>2s 1<2n",
		"2>2s 1<2n 2>7s 1<5s 2>5n",
	}
	var got []string
	for _, row := range p.Rows {
		got = append(got, notate(row))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("moves (-want +got):\n%s", diff)
	}
}

func TestMakeRefusesWhatIsNoDesign(t *testing.T) {
	good := func() Design { return Design{Ends: 13, Passes: 3, Rows: []Groups{{3, 3}, {1, 4, 1}}} }
	if _, err := Make(good()); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*Design){
		"no ends":                     func(d *Design) { d.Ends = 0 },
		"too many ends":               func(d *Design) { d.Ends = MaxEnds + 1 },
		"even passes":                 func(d *Design) { d.Passes = 4 },
		"one pass":                    func(d *Design) { d.Passes = 1 },
		"too many passes":             func(d *Design) { d.Passes = 101 },
		"no rows":                     func(d *Design) { d.Rows = nil },
		"too many rows":               func(d *Design) { d.Rows = slices.Repeat(d.Rows[:1], MaxRows+1) },
		"too much in all":             func(d *Design) { *d = Design{Ends: 4000, Passes: 99, Rows: slices.Repeat([]Groups{{2000}}, 51)} },
		"no such way":                 func(d *Design) { d.Way = 2 },
		"no such side":                func(d *Design) { d.From = 2 },
		"row without groups":          func(d *Design) { d.Rows[1] = nil },
		"group of nothing":            func(d *Design) { d.Rows[1] = Groups{3, 0, 3} },
		"group of less than nothing":  func(d *Design) { d.Rows[1] = Groups{7, -1} },
		"group of one pair between":   func(d *Design) { d.Rows[1] = Groups{3, 1, 2} },
		"pairs left bare":             func(d *Design) { d.Rows[1] = Groups{3, 2} },
		"more pairs than the warp":    func(d *Design) { d.Rows[1] = Groups{3, 4} },
		"sum that overflows to right": func(d *Design) { d.Rows[1] = Groups{math.MaxInt, math.MaxInt, 8} },
	} {
		t.Run(name, func(t *testing.T) {
			d := good()
			spoil(&d)
			if p, err := Make(d); err == nil || strings.Contains(err.Error(), "not proven") {
				t.Errorf("Make() = %v, %v; want the planner to refuse it", p, err)
			}
		})
	}
}

// hand follows counts only, as a person does, over ends numbered from the right;
// it stands to the right of end next.
type hand struct{ ends, next int }

// under moves past n raised ends and any lowered ones before the next raised
// end, and gives how many ends it passed.
func (h *hand) under(m Move) int {
	step, passed := 1, 0
	at := h.next
	if m.Toward == Right {
		step, at = -1, h.next-1
	}
	for n := m.Under; at >= 1 && at <= h.ends; at += step {
		if m.Shed.Raises(at) {
			if n == 0 {
				break
			}
			n--
		}
		passed++
	}
	h.next += step * passed
	return passed
}

// Over the whole domain of patterns: rows have the moves they should, sheds
// alternate through the piece, counts followed by hand weave every end p times
// (and once more on the way home), and turn back after even numbers of ends.
func TestEveryPlanFollowedByHand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPattern(t, 400_000)
		d, err := p.Design()
		if err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
		made, err := plan(d)
		if err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
		h := hand{ends: p.Ends, next: 1}
		if p.From == Left {
			h.next = p.Ends + 1
		}
		var last Shed
		for i, row := range made.Rows {
			wantMoves, wantEnds := len(d.Rows[i])*(p.Passes-1)+1, p.Passes*p.Ends
			if p.Way == OneWay {
				wantMoves++
				wantEnds += p.Ends
			}
			if len(row.Moves) != wantMoves {
				t.Fatalf("row %d: %d moves, want %d", row.Number, len(row.Moves), wantMoves)
			}
			ends := 0
			for j, m := range row.Moves {
				if m.Shed == last {
					t.Fatalf("row %d move %d: shed %d again", row.Number, j+1, m.Shed)
				}
				last = m.Shed
				ends += h.under(m)
				at := h.next - 1
				if p.From == Left {
					at = p.Ends - at
				}
				if at != p.Ends && at%2 == 1 {
					t.Fatalf("row %d move %d: turns after %d ends", row.Number, j+1, at)
				}
			}
			if ends != wantEnds {
				t.Fatalf("row %d: passes over %d ends, want %d", row.Number, ends, wantEnds)
			}
		}
	})
}

func TestEveryPatternIsProven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPattern(t, 200_000)
		d, err := p.Design()
		if err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
		if _, err := Make(d); err != nil {
			t.Fatalf("%+v: %v", p, err)
		}
	})
}
