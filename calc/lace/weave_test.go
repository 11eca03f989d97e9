package lace

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// moves reads moves as a weaver could jot them down: how the turn is left (.
// plain, ~ slack, ! snug), the shed, an arrow, the count, and h after a pick
// home. ".1<3 !2>3" is shed 1 to the left under 3, a snug turn, shed 2 to the
// right under 3.
func moves(t testing.TB, text string) []Move {
	t.Helper()
	var ms []Move
	for _, word := range strings.Fields(text) {
		var turn, toward rune
		var m Move
		if _, err := fmt.Sscanf(strings.TrimSuffix(word, "h"), "%c%d%c%d", &turn, &m.Shed, &toward, &m.Under); err != nil {
			t.Fatalf("move %q: %v", word, err)
		}
		m.Turn = map[rune]Tension{'.': Plain, '~': Slack, '!': Snug}[turn]
		m.Toward = map[rune]Side{'<': Left, '>': Right}[toward]
		if strings.HasSuffix(word, "h") {
			m.Kind = HomePick
		}
		ms = append(ms, m)
	}
	return ms
}

// rowsOf makes rows of moves alone, which is all that the weaver reads.
func rowsOf(t testing.TB, texts ...string) []Row {
	t.Helper()
	var rows []Row
	for _, text := range texts {
		rows = append(rows, Row{Moves: moves(t, text)})
	}
	return rows
}

// What a hand does at each kind of place, counted out on paper.
func TestUnderCountsRaisedEndsOnly(t *testing.T) {
	tests := []struct {
		name string
		ends int
		from Side
		path string
		at   []int // boundaries from the right after each move
	}{
		{"the first end is raised, the lowered one after the last comes along", 8, Right, ".1<2", []int{4}},
		{"the first end is lowered and comes along", 8, Right, ".2<2", []int{5}},
		{"a lowered edge end comes along at the left selvedge", 8, Right, ".1<4", []int{8}},
		{"a lowered edge end comes along at the right selvedge", 8, Left, ".2>4", []int{0}},
		{"lowered at the near edge, raised at the far one", 8, Right, ".2<4", []int{8}},
		{"both edge ends of an odd warp raised", 9, Right, ".1<5", []int{9}},
		{"both edge ends of an odd warp lowered", 9, Right, ".2<4", []int{9}},
		{"both edge ends of an odd warp lowered, from the left", 9, Left, ".2>4", []int{0}},
		{"from the left on an even warp shed 2 raises the first end", 8, Left, ".2>1", []int{6}},
		{"back from a boundary after an even number of ends", 8, Right, ".1<2 !2>2", []int{4, 0}},
		{"back from one after an odd number of ends falls short", 9, Left, ".1>2 !2<1 !1>1", []int{5, 7, 5}},
		{"a warp of one end", 1, Right, ".1<1", []int{1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var at []int
			err := Walk(tt.ends, tt.from, rowsOf(t, tt.path), func(p Pass) error {
				at = append(at, p.End())
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.at, at); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestWeaverIsStuck(t *testing.T) {
	tests := []struct {
		name string
		path string // on 9 ends from the right
		want Stuck
	}{
		{"one raised end too few", ".1<6", Stuck{1, 1, 6, 5}},
		{"too few on the way back", ".1<2 !2>3", Stuck{1, 2, 3, 2}},
		{"at the selvedge already", ".1<5 ~2<1", Stuck{1, 2, 1, 0}},
		{"only a lowered edge end left", ".1<4 !2<1", Stuck{1, 2, 1, 0}},
		{"under none", ".1<0", Stuck{1, 1, 0, 5}},
		{"under fewer than none", ".1<-2", Stuck{1, 1, -2, 5}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Weave(9, Right, rowsOf(t, tt.path))
			var stuck *Stuck
			if !errors.As(err, &stuck) {
				t.Fatalf("got %v, want a *Stuck", err)
			}
			if *stuck != tt.want {
				t.Errorf("got %v, want %v", stuck, &tt.want)
			}
		})
	}
}

func TestClothOfARow(t *testing.T) {
	c, err := Weave(9, Right, rowsOf(t, ".1<2 !2>2 ~1<5 ~2>2 !1<3", "~2>2 !1<3"))
	if err != nil {
		t.Fatal(err)
	}
	want := &Cloth{
		Ends: 9, From: Right,
		Rows: []WovenRow{
			{
				Passes: []Pass{
					{Row: 1, Step: 1, Shed: Shed1, Toward: Left, Under: 2, Low: 0, High: 4},
					{Row: 1, Step: 2, Shed: Shed2, Toward: Right, Under: 2, Low: 0, High: 4},
					{Row: 1, Step: 3, Shed: Shed1, Toward: Left, Under: 5, Low: 0, High: 9},
					{Row: 1, Step: 4, Shed: Shed2, Toward: Right, Under: 2, Low: 4, High: 9},
					{Row: 1, Step: 5, Shed: Shed1, Toward: Left, Under: 3, Low: 4, High: 9},
				},
				Turns: []Turn{
					{At: 4, Step: 2, Round: Right},
					{At: 0, Step: 3, Round: Left},
					{At: 9, Step: 4, Round: Right},
					{At: 4, Step: 5, Round: Left},
				},
				Picks:  []int{3, 3, 3, 3, 3, 3, 3, 3, 3},
				EndsAt: 9,
			},
			{
				Passes: []Pass{
					{Row: 2, Step: 1, Shed: Shed2, Toward: Right, Under: 2, Low: 4, High: 9},
					{Row: 2, Step: 2, Shed: Shed1, Toward: Left, Under: 3, Low: 4, High: 9},
				},
				Turns: []Turn{
					{At: 9, Step: 1, Round: Right},
					{At: 4, Step: 2, Round: Left},
				},
				Picks:  []int{0, 0, 0, 0, 2, 2, 2, 2, 2},
				EndsAt: 9,
			},
		},
		Last: []Shed{1, 1, 1, 1, 1, 1, 1, 1, 1},
	}
	if diff := cmp.Diff(want, c); diff != "" {
		t.Error(diff)
	}
}

func TestClothOfAMistake(t *testing.T) {
	c, err := Weave(8, Right, rowsOf(t, ".1<2 !1>2", "", "~2<9"))
	var stuck *Stuck
	if !errors.As(err, &stuck) || stuck.Row != 3 {
		t.Fatalf("got %v, want *Stuck in row 3", err)
	}
	if len(c.Rows) != 2 {
		t.Fatalf("%d rows woven, want the two before the mistake", len(c.Rows))
	}
	if again := c.Rows[0].Passes[1].Again; again != 1 {
		t.Errorf("the shed not changed: seen at end %d, want 1", again)
	}
	if at := c.Rows[1].EndsAt; at != 0 {
		t.Errorf("a row of no moves ends at %d, want 0", at)
	}
	if diff := cmp.Diff([]Shed{1, 1, 1, 1, 0, 0, 0, 0}, c.Last); diff != "" {
		t.Error(diff)
	}
}

// An end passed in the same shed twice is seen only when nothing came between.
func TestAgainLooksAtTheLastPassAlone(t *testing.T) {
	tests := []struct {
		name string
		path string // on 8 ends from the right
		want []int
	}{
		{"sheds change", ".1<4 ~2>4 ~1<4", []int{0, 0, 0}},
		{"the same shed straight back", ".1<2 !1>2", []int{0, 1}},
		{"the same shed beside it", ".1<2 !1<2", []int{0, 0}},
		{"over some of the ends only", ".1<4 ~2>2 !2<1", []int{0, 0, 5}},
		{"the first such end from the right is named", ".2<1 !1<1 !1>3", []int{0, 0, 4}},
		{"the pass between lay elsewhere", ".1<4 ~2>2 !1>2", []int{0, 0, 1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []int
			err := Walk(8, Right, rowsOf(t, tt.path), func(p Pass) error {
				got = append(got, p.Again)
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestWeaverRefusesNonsense(t *testing.T) {
	good := Move{Shed: Shed1, Toward: Left, Under: 1}
	tests := []struct {
		name string
		ends int
		from Side
		move Move
		want string
	}{
		{"no ends", 0, Right, good, "a warp of 0 ends"},
		{"fewer than none", -3, Right, good, "a warp of -3 ends"},
		{"no such side to begin at", 8, 2, good, "no such side: 2"},
		{"no such shed", 8, Right, Move{Shed: 3, Toward: Left, Under: 1}, "row 1, step 1: no such shed: 3"},
		{"no such direction", 8, Right, Move{Shed: Shed1, Toward: -1, Under: 1}, "row 1, step 1: no such side: -1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rows := []Row{{Moves: []Move{tt.move}}}
			_, weaving := Weave(tt.ends, tt.from, rows)
			walking := Walk(tt.ends, tt.from, rows, func(Pass) error { return nil })
			for _, err := range []error{weaving, walking} {
				if err == nil || err.Error() != tt.want {
					t.Errorf("got %v, want %s", err, tt.want)
				}
			}
		})
	}
}

func TestWalkStopsWhenTold(t *testing.T) {
	enough := errors.New("enough")
	seen := 0
	err := Walk(8, Right, rowsOf(t, ".1<4 ~2>4 ~1<4"), func(Pass) error {
		if seen++; seen == 2 {
			return enough
		}
		return nil
	})
	if err != enough || seen != 2 {
		t.Errorf("got %v after %d passes, want it to stop after 2", err, seen)
	}
}
