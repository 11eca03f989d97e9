package lace

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
)

// onceWoven is what a weaver who errs once and stops where a count cannot be made
// comes to, woven by a weaver who knows nothing of the search.
type onceWoven struct {
	slipped
	stays bool
	out   told
	loom  *atLoom
}

// everySlip weaves every single slip of the model in a row.
func everySlip(p *Plan, number int) (all []onceWoven) {
	r := rand.New(rand.NewPCG(1, 1))
	row := p.Rows[number-1]
	moves := row.Moves
	if moves[len(moves)-1].Kind == HomePick {
		moves = moves[:len(moves)-1]
	}
	weave := func(s slipped, stays bool) {
		reads := 1.0
		if stays {
			reads = 0
		}
		l, _, out := weaveErring(r, erring{readsSheds: reads, stops: 1, lastByCount: true}, p, number, []slipped{s})
		if !out.noticed || out.short > 0 {
			all = append(all, onceWoven{s, stays, out, l})
		}
	}
	for i, m := range moves {
		for _, stays := range []bool{false, true} {
			weave(slipped{kind: ShedNotChanged, step: i + 1, by: 1}, stays)
			if i+1 < len(moves) {
				weave(slipped{kind: PassMissing, step: i + 1, by: 1}, stays)
				weave(slipped{kind: PassExtra, step: i + 1, by: 1}, stays)
			}
		}
		if i+1 == len(moves) {
			continue
		}
		long, short := GroupLong, GroupShort
		if m.Toward == row.Start {
			long, short = BackLong, BackShort
		}
		for by := 1; by <= 2; by++ {
			if m.Toward == row.Start && by == 2 {
				continue // not in the model
			}
			weave(slipped{kind: long, step: i + 1, by: by}, false)
			if m.Under > by {
				weave(slipped{kind: short, step: i + 1, by: by}, false)
			}
		}
		if i+2 < len(moves) {
			weave(slipped{kind: PassMissing, step: i + 1, by: 2}, false)
			weave(slipped{kind: PassExtra, step: i + 1, by: 2}, false)
		}
	}
	for _, by := range []int{-2, -1, 1, 2} {
		if p.Design.Ends+by >= 2 {
			weave(slipped{kind: WarpCount, by: by}, false)
		}
	}
	return all
}

// says are the ways to tell of a count. The first is the bare one.
func (w onceWoven) says(p *Plan, number int) (all []Observation) {
	moves := p.Rows[number-1].Moves
	last := len(moves)
	if moves[last-1].Kind == HomePick {
		last--
	}
	o := Observation{Row: number}
	switch planned := moves[last-1].Under; {
	case w.out.short > 0:
		o.Short = w.out.short
		at := Observation{Row: number, Move: w.out.move, Short: w.out.short}
		counted := Observation{Row: number, Move: w.out.move, HasLeft: true, Left: moves[w.out.move-1].Under - w.out.short}
		return append(all, o, at, counted)
	case w.out.left >= 0:
		o.HasLeft, o.Left = true, w.out.left
		all = append(all, o)
		o.Move = last
		all = append(all, o)
		if w.out.left < planned {
			all = append(all, Observation{Row: number, Short: planned - w.out.left})
		}
	}
	return all
}

func (w onceWoven) name() string { return fmt.Sprintf("%s %d", kindNames[w.kind], w.by) }

// smallPlans are those on which every slip is woven: every warp of a few ends.
func smallPlans(t *testing.T) (plans []*Plan) {
	for ends := 12; ends <= 34; ends++ {
		for raised := 1; raised <= 4; raised++ {
			for i, passes := range []int{3, 3, 3, 5} {
				ask := Pattern{Ends: ends, Raised: raised, Passes: passes, Rows: 2, From: Side(i % 2), Way: Way(i / 2 % 2), Leftover: Leftover(ends / 2 % 2), Edge: ends / 3 % 2}
				d, err := ask.Design()
				if err != nil || len(d.Rows[0]) < 2 {
					continue
				}
				p, err := Make(d)
				if err != nil {
					t.Fatal(err)
				}
				plans = append(plans, p)
			}
		}
	}
	return plans
}

// The causes of a count are exactly the slips that give it: each slip woven is
// among the causes of what it leaves, and no cause is named that leaves another.
func TestCausesAreExactlyTheSlipsThatGiveACount(t *testing.T) {
	observations, causes := 0, 0
	for _, p := range smallPlans(t) {
		for number := 1; number <= len(p.Rows); number++ {
			all := everySlip(p, number)
			gives := map[Observation]map[string]bool{}
			for _, w := range all {
				for _, o := range w.says(p, number) {
					if gives[o] == nil {
						gives[o] = map[string]bool{}
					}
					gives[o][w.name()] = true
				}
			}
			for o, want := range gives {
				d, err := Diagnose(p, o)
				if err != nil {
					t.Fatal(err)
				}
				got := map[string]bool{}
				for _, c := range d.Causes {
					for _, by := range append([]int{c.By}, c.Else...) {
						if causes++; !c.Near {
							got[fmt.Sprintf("%s %d", kindNames[c.Kind], by)] = c.And == nil
						}
					}
				}
				observations++
				if d.Near || !maps.Equal(got, want) {
					t.Fatalf("%+v of %+v:\n named %v\nleave it %v", o, p.Design, slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(want)))
				}
			}
		}
	}
	t.Logf("%d observations, %d causes", observations, causes)
	if observations < 1000 {
		t.Errorf("only %d observations", observations)
	}
}

// signsIn are what a group shows of a woven row beside the same row well woven up
// to the same move.
func signsIn(w onceWoven, good *atLoom, start Side, low, high int) (s signs) {
	undone, doubled, thin := 0, 0, 0
	for k := low + 1; k <= high; k++ {
		e, g := k, k
		if start == Left {
			e, g = w.loom.ends+1-k, good.ends+1-k
		}
		if e < 1 || e > w.loom.ends {
			continue
		}
		if w.loom.undone[e] {
			undone++
		} else if w.loom.doubled[e] {
			doubled++
		}
		if w.loom.over[e] < good.over[g] {
			thin++
		}
		s.thick = s.thick || w.loom.over[e] > good.over[g]
	}
	s.undone, s.doubled, s.thin, s.bare = undone > 1, doubled > 1, thin > 0, 2*thin > high-low
	return s
}

// What is seen in a group is there in the cloth of each cause, woven as she weaves.
func TestCausesOfWhatIsSeenShowIt(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	looked, near := 0, 0
	for i, p := range smallPlans(t) {
		if i%3 != 0 {
			continue
		}
		all := everySlip(p, 1)
		bounds := p.Design.bounds(0)
		for group := 1; group < len(bounds); group++ {
			for sees := Doubled; sees <= Undone; sees++ {
				shows := map[string]bool{}
				for _, w := range all {
					good, _, _ := weaveErring(r, erring{readsSheds: 1, lastByCount: true, until: w.out.move}, p, 1, []slipped{})
					chance, _ := signsIn(w, good, p.Rows[0].Start, bounds[group-1], bounds[group]).named(sees)
					if chance > 0 {
						shows[w.name()] = true
					}
				}
				d, err := Diagnose(p, Observation{Row: 1, Group: group, Sees: sees})
				if err != nil {
					t.Fatal(err)
				}
				if d.Near {
					if near++; len(shows) > 0 {
						t.Errorf("group %d, sees %d of %+v: none found, and %v show it", group, sees, p.Design, shows)
					}
					continue
				}
				for _, c := range d.Causes {
					if c.Near {
						continue
					}
					for _, by := range append([]int{c.By}, c.Else...) {
						looked++
						name := fmt.Sprintf("%s %d", kindNames[c.Kind], by)
						if !shows[name] {
							t.Errorf("group %d, sees %d of %+v: %s does not show it", group, sees, p.Design, name)
						}
						delete(shows, name)
					}
				}
				if len(shows) > 0 {
					t.Errorf("group %d, sees %d of %+v: %v show it too", group, sees, p.Design, shows)
				}
				if t.Failed() {
					t.FailNow()
				}
			}
		}
	}
	t.Logf("%d causes looked at, %d times none exact", looked, near)
	if looked < 1000 {
		t.Errorf("only %d causes looked at", looked)
	}
}
