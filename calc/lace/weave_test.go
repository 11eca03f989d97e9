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
