package lace

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// copyPlan shares nothing with p, not even between its rows.
func copyPlan(p *Plan) *Plan {
	c := &Plan{Design: p.Design}
	c.Design.Rows = slices.Clone(p.Design.Rows)
	for _, row := range p.Rows {
		row.Groups, row.Moves = slices.Clone(row.Groups), slices.Clone(row.Moves)
		c.Rows = append(c.Rows, row)
	}
	return c
}

// reword gives a spoilt plan the very words of the plan asked, so that only
// shed, direction and count can give it away: the design, the names over each
// row, the last move of a one-way row as the pick home, and for each turn the
// tension of the place where it was woven.
func reword(d Design, good, p *Plan) {
	p.Design = d
	for i := range p.Rows {
		name := &good.Rows[min(i, len(good.Rows)-1)]
		p.Rows[i].Number, p.Rows[i].Start = i+1, name.Start
		p.Rows[i].Groups = slices.Clone(name.Groups)
		moves := p.Rows[i].Moves
		for j := range moves {
			moves[j].Kind = GroupPass
			if d.Way == OneWay && j == len(moves)-1 {
				moves[j].Kind = HomePick
			}
		}
	}
	// Where the weaver cannot go on, no word helps: the error is of no interest.
	_ = Walk(d.Ends, d.From, p.Rows, func(pass Pass) error {
		m := &p.Rows[pass.Row-1].Moves[pass.Step-1]
		m.Turn = Snug
		if begin := pass.Begin(); begin == 0 || begin == d.Ends {
			m.Turn = Slack
		}
		if pass.Row == 1 && pass.Step == 1 {
			m.Turn = Plain
		}
		return nil
	})
}

// tally counts the spoilt plans of one kind.
type tally struct{ tried, same, caught int }

// tallies prints and judges the tallies by the spoilers' names.
type tallies map[string]*tally

func (ts tallies) try(t *testing.T, name string, d Design, good, spoilt *Plan) {
	t.Helper()
	n := ts[name]
	if n == nil {
		n = &tally{}
		ts[name] = n
	}
	n.tried++
	if samePlan(spoilt, good) {
		n.same++
		return
	}
	if err := Prove(d, spoilt); err != nil {
		n.caught++
		return
	}
	t.Errorf("%s: slipped through: %+v for %+v", name, spoilt, d)
}

func (ts tallies) report(t *testing.T, least int) {
	t.Helper()
	var names []string
	all := tally{}
	for name, n := range ts {
		names = append(names, name)
		all.tried, all.same, all.caught = all.tried+n.tried, all.same+n.same, all.caught+n.caught
	}
	slices.Sort(names)
	for _, name := range names {
		n := ts[name]
		if n.tried-n.same < least {
			t.Errorf("%s: only %d plans were spoilt by it", name, n.tried-n.same)
			continue
		}
		t.Logf("%-70s %5d spoilt, %5.1f %% caught (%d more came out the same as the good plan)",
			name, n.tried-n.same, 100*float64(n.caught)/float64(n.tried-n.same), n.same)
	}
	t.Logf("%d spoilt, %d caught", all.tried-all.same, all.caught)
}

// spoilAll tries every spoiler on one good plan, several times over.
//
// A spoilt plan is left out only where it says, in every field, the same as the
// good one (two equal passes swapped, the leftover of nothing moved, "all
// plain" where one group was asked); such a plan is the good one. Everything
// else must be caught, once with its own words and once reworded.
func (ts tallies) spoilAll(t *testing.T, r *rand.Rand, good *Plan, times int) {
	t.Helper()
	d := good.Design
	if err := Prove(d, good); err != nil {
		t.Fatalf("the good plan is refused: %v", err)
	}
	for range times {
		for _, s := range ofMoves {
			spoilt := copyPlan(good)
			if !s.spoil(r, spoilt) {
				continue
			}
			ts.try(t, s.name, d, good, spoilt)
			reword(d, good, spoilt)
			ts.try(t, s.name+" (reworded)", d, good, spoilt)
		}
		for _, s := range ofDesigns {
			other := copyPlan(good).Design
			if !s.other(r, &other) {
				continue
			}
			spoilt := copyPlan(written(other))
			ts.try(t, s.name, d, good, spoilt)
			reword(d, good, spoilt)
			ts.try(t, s.name+" (reworded)", d, good, spoilt)
		}
		for _, s := range ofWords {
			spoilt := copyPlan(good)
			if s.spoil(r, spoilt) {
				ts.try(t, s.name, d, good, spoilt)
			}
		}
	}
}

func TestSpoiltPlansOnPaperAreCaught(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 71))
	ts := tallies{}
	plans := handPlans(t)
	var names []string
	for name := range plans {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		ts.spoilAll(t, r, plans[name], 100)
	}
	ts.report(t, 100)
}

// anyDesign is a design of any groups whatever, three rows in four alike.
func anyDesign(r *rand.Rand) Design {
	d := Design{
		Ends:   8 + r.IntN(60),
		From:   Side(r.IntN(2)),
		Way:    Way(r.IntN(2)),
		Passes: 3 + 2*r.IntN(3),
	}
	for range 1 + r.IntN(4) {
		if len(d.Rows) > 0 && r.IntN(4) > 0 {
			d.Rows = append(d.Rows, d.Rows[0])
			continue
		}
		var groups Groups
		for left := d.Ends / 2; left > 0; {
			g := min(left, 1+r.IntN(5))
			groups = append(groups, g)
			left -= g
		}
		d.Rows = append(d.Rows, groups)
	}
	return d
}

func TestSpoiltPlansOfAnyGroupsAreCaught(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 72))
	ts := tallies{}
	for range 300 {
		ts.spoilAll(t, r, written(anyDesign(r)), 2)
	}
	ts.report(t, 100)
}

// anyPattern is a pattern within the planner's bounds, on a warp small enough
// to try many.
func anyPattern(r *rand.Rand) Pattern {
	p := Pattern{
		Ends:     8 + r.IntN(120),
		Passes:   3 + 2*r.IntN(3),
		Way:      Way(r.IntN(2)),
		From:     Side(r.IntN(2)),
		Rows:     1 + r.IntN(5),
		Leftover: Leftover(r.IntN(2)),
		Repeat:   Repeat(r.IntN(2)),
	}
	p.Raised = 2 + r.IntN(min(8, p.Ends/2-1))
	if r.IntN(3) == 0 {
		p.Edge = r.IntN(4)
	}
	return p
}

func TestSpoiltPlansOfThePlannerAreCaught(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 73))
	ts := tallies{}
	planned := 0
	for range 400 {
		d, err := anyPattern(r).Design()
		if err != nil {
			continue // more edge than warp, say: nothing to plan
		}
		good, err := Make(d)
		if err != nil {
			t.Fatal(err)
		}
		planned++
		ts.spoilAll(t, r, good, 2)
	}
	if planned < 200 {
		t.Errorf("only %d patterns could be planned", planned)
	}
	ts.report(t, 100)
}

// A plan for one pattern must not pass for another: another raised count,
// leftover, edge or repeat.
func TestAPlanForAnotherPatternIsCaught(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 74))
	ts := tallies{}
	for range 3000 {
		one := anyPattern(r)
		two := one
		name := ""
		switch r.IntN(4) {
		case 0:
			name, two.Raised = "another raised count", 2+r.IntN(min(8, one.Ends/2-1))
		case 1:
			name, two.Leftover = "another leftover", 1-one.Leftover
		case 2:
			name, two.Edge = "another edge", r.IntN(4)
		case 3:
			name, two.Repeat = "another repeat", 1-one.Repeat
		}
		d, err := one.Design()
		if err != nil {
			continue
		}
		other, err := two.Design()
		if err != nil {
			continue
		}
		good, err := Make(d)
		if err != nil {
			t.Fatal(err)
		}
		spoilt, err := Make(other)
		if err != nil {
			t.Fatal(err)
		}
		spoilt = copyPlan(spoilt)
		ts.try(t, name, d, good, spoilt)
		reword(d, good, spoilt)
		ts.try(t, name+" (reworded)", d, good, spoilt)
	}
	ts.report(t, 100)
}

// The planner's plan is the one written from the words of the craft page, over
// all that may be asked for, as far as it is quickly woven.
func TestThePlannerPlansWhatIsWritten(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := thatPlans(func(rt *rapid.T) Pattern {
			p := Pattern{
				Ends:     rapid.IntRange(8, 4000).Draw(rt, "ends"),
				Passes:   3 + 2*rapid.IntRange(0, 48).Draw(rt, "passes/2"),
				Way:      Way(rapid.IntRange(0, 1).Draw(rt, "way")),
				From:     Side(rapid.IntRange(0, 1).Draw(rt, "from")),
				Leftover: Leftover(rapid.IntRange(0, 1).Draw(rt, "leftover")),
				Repeat:   Repeat(rapid.IntRange(0, 1).Draw(rt, "repeat")),
			}
			p.Raised = rapid.IntRange(2, p.Ends/2).Draw(rt, "raised")
			p.Edge = rapid.IntRange(0, p.Ends/4).Draw(rt, "edge")
			p.Rows = rapid.IntRange(1, 2+200_000/(p.Ends*p.Passes)).Draw(rt, "rows")
			return p
		}).Draw(rt, "pattern")
		d, err := p.Design()
		if err != nil {
			rt.Fatal(err)
		}
		got, err := Make(d)
		if err != nil {
			rt.Fatal(err)
		}
		if want := written(d); !samePlan(got, want) {
			rt.Fatalf("planned\n%+v\nwritten\n%+v", got, want)
		}
	})
}

// Inner borders lie after an even number of ends counted from where the piece
// begins, in every row of every design.
func TestWantedBordersLieAfterPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 75))
	for range 2000 {
		d := anyDesign(r)
		p := newProof(d)
		for i, groups := range d.Rows {
			p.want(i+1, groups)
			if first, last := p.borders[0], p.borders[len(groups)]; first+last != d.Ends || first*last != 0 {
				t.Fatalf("row %d of %+v runs from %d to %d", i+1, d, first, last)
			}
			for _, b := range p.borders[1:len(groups)] {
				if d.From == Left {
					b = d.Ends - b
				}
				if b%2 != 0 {
					t.Fatalf("row %d of %+v has a border after %d ends", i+1, d, b)
				}
			}
		}
	}
}
