package lace

import (
	"math/rand/v2"
	"testing"
)

// What is offered as a way to carry on is woven by the simulated weaver, move by
// move as she would make them, and must come out level at the selvedge with no
// pass in the shed of the one below.
func TestCarryingOnComesRight(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 3))
	tried, offered := map[MistakeKind]int{}, map[MistakeKind]int{}
	for _, p := range plansToErrOn(t, r, 150) {
		if p.Design.Way != OneWay {
			continue
		}
		number := 1 + r.IntN(len(p.Rows))
		c := courseOf(p, number-1)
		var next *course
		if number < len(p.Rows) {
			next = courseOf(p, number)
		}
		check := func(m Mistake, ends int) {
			tried[m.Kind]++
			remedy, made := c.remedy(p.Design, next, m, -1)
			if !remedy.CarryOn {
				return
			}
			offered[m.Kind]++
			cloth, err := Weave(ends, c.start, []Row{{Moves: movesOf(made.made, c.start)}})
			if err != nil {
				t.Fatalf("%+v of %+v: %v", m, p.Design, err)
			}
			row := cloth.Rows[0]
			if row.EndsAt != row.Passes[0].Begin() {
				t.Errorf("%+v of %+v: the weft ends at %d", m, p.Design, row.EndsAt)
			}
			for _, pass := range row.Passes {
				if pass.Again != 0 {
					t.Errorf("%+v of %+v: a pass in the shed of the one below, over end %d", m, p.Design, pass.Again)
				}
			}
			for _, picks := range row.Picks {
				if picks != row.Picks[0] || picks%(p.Design.Passes+1) != 0 {
					t.Fatalf("%+v of %+v: not level: %v", m, p.Design, row.Picks)
				}
			}
		}
		for i := range c.moves {
			c.slips(i, 1, make([]stride, 0, 4), func(s slip) { check(s.Mistake, c.ends) })
		}
		for _, by := range []int{-2, -1, 1, 2} {
			check(Mistake{Kind: WarpCount, By: by}, c.ends+by)
		}
	}
	for kind := GroupLong; kind <= WarpCount; kind++ {
		t.Logf("%s: carrying on offered for %d of %d", kindNames[kind], offered[kind], tried[kind])
	}
	for _, kind := range []MistakeKind{GroupLong, GroupShort, BackShort, PassMissing, WarpCount} {
		if offered[kind] < 20 {
			t.Errorf("%s: carrying on offered only %d times", kindNames[kind], offered[kind])
		}
	}
	if offered[ShedNotChanged] > 0 {
		t.Error("a pass in the wrong shed must be taken out")
	}
}

func movesOf(made []stride, start Side) (moves []Move) {
	for _, m := range made {
		move := Move{Shed: m.shed, Toward: start, Under: m.under}
		if m.forward {
			move.Toward = start.Other()
		}
		moves = append(moves, move)
	}
	return moves
}
