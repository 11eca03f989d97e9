package lace

import "sort"

// course is one row as the hand goes through it. Places are numbers of ends
// from the side where the row starts, so forward is always up; this keeps one
// arithmetic for both sides. The row ends with its last forward pass; the pick
// home is no part of it.
type course struct {
	ends   int // of the warp as it really is
	start  Side
	moves  []stride
	at     []int // the place before each move by the plan, and after the last
	bounds []int // places of the borders, both selvedges included
	passes int
}

// stride is a move on a course.
type stride struct {
	forward bool
	shed    Shed
	under   int
}

func (s stride) inShed(flipped bool) Shed {
	if flipped {
		return s.shed.Other()
	}
	return s.shed
}

// courseOf is row i (from 0) of a plan.
func courseOf(p *Plan, i int) *course {
	row := p.Rows[i]
	c := &course{ends: p.Design.Ends, start: row.Start, bounds: p.Design.bounds(i), passes: p.Design.Passes}
	for _, m := range row.Moves {
		if m.Kind == GroupPass {
			c.moves = append(c.moves, stride{m.Toward != row.Start, m.Shed, m.Under})
		}
	}
	c.at = make([]int, 1, len(c.moves)+1)
	place := 0
	for _, m := range c.moves {
		place, _ = c.go1(place, m, false)
		c.at = append(c.at, place)
	}
	return c
}

// on is the same course on a warp of another number of ends.
func (c *course) on(ends int) *course {
	d := *c
	d.ends = ends
	return &d
}

// last is the index of the last forward pass.
func (c *course) last() int { return len(c.moves) - 1 }

// groupOf is the index of the group to which move i belongs: the pass on to a
// group is that group's first.
func (c *course) groupOf(i int) int { return min(i/(c.passes-1), len(c.bounds)-2) }

// raises tells whether the end at place e is up.
func (c *course) raises(s Shed, e int) bool {
	if c.start == Left {
		e = c.ends + 1 - e
	}
	return e&1 == int(s)&1
}

// go1 makes a stride from a place. missed is how many raised ends its count
// wanted more than there were before the selvedge, where the shuttle then stops.
func (c *course) go1(at int, m stride, flipped bool) (to, missed int) {
	shed := m.inShed(flipped)
	if m.forward {
		nth := at + 1
		if !c.raises(shed, nth) {
			nth++
		}
		nth += 2 * (m.under - 1)
		if nth > c.ends {
			return c.ends, (nth - c.ends + 1) / 2
		}
		return min(c.ends, nth+1), 0
	}
	nth := at
	if !c.raises(shed, nth) {
		nth--
	}
	nth -= 2 * (m.under - 1)
	if nth < 1 {
		return 0, (2 - nth) / 2
	}
	return max(0, nth-2), 0
}

// ahead is the number of raised ends between a place and the far selvedge.
func (c *course) ahead(at int, s Shed) int {
	if at >= c.ends {
		return 0
	}
	nth := at + 1
	if !c.raises(s, nth) {
		nth++
	}
	if nth > c.ends {
		return 0
	}
	return (c.ends-nth)/2 + 1
}

// state is where a weaver is after a mistake: before move i, off places away
// from where the plan would have her, in the other shed when flipped.
type state struct {
	i, off  int
	flipped bool
}

// outcome is how a row came out after a mistake.
type outcome struct {
	made  bool // false where she could not have gone on: a pass back that runs into the selvedge at which she started is noticed at once
	short int  // raised ends that the first count which could not be made was short of
	left  int  // raised ends ahead in the last forward pass, to one who went back by her counts to the end
	seen  int  // the same, to one who went back to the last hole that she saw
}

// steady tells whether the shuttle has come to places that keep their distance
// from the plan's: an even distance in the planned sheds, an odd one in the
// others. Off from a plan made of whole pairs, it is so after one move.
func (s state) steady() bool { return (s.off&1 == 1) == s.flipped }

// finish weaves on from a state to the last forward pass. Where the count of a
// forward pass cannot be made she goes to the selvedge. Without a memo every
// move is made, and none jumped over.
func (c *course) finish(s state, memo map[state]outcome) outcome {
	out := outcome{made: true}
	keeps := s.off // her distance as the last hole before the far group shows it
	for s.i < c.last() {
		if memo != nil && out.short == 0 && s.steady() && c.groupOf(s.i) > 0 && c.bounds[c.groupOf(s.i)]+s.off > 0 {
			if edge := c.edge(s.off); edge > s.i {
				return c.finishFrom(state{edge, s.off, s.flipped}, memo)
			}
		}
		place, missed := c.go1(c.at[s.i]+s.off, c.moves[s.i], s.flipped)
		switch {
		case missed > 0 && !c.moves[s.i].forward:
			return outcome{}
		case missed > 0 && out.short == 0:
			out.short = missed
		}
		s.i, s.off = s.i+1, place-c.at[s.i+1]
		if c.groupOf(s.i-1) < len(c.bounds)-2 && out.short == 0 {
			keeps = s.off
		}
	}
	last := c.last()
	shed := c.moves[last].inShed(s.flipped)
	out.left = c.ahead(c.at[last]+s.off, shed)
	out.seen = out.left
	if hole := c.at[last] + keeps; hole < c.ends { // else there is none to go back to
		out.seen = c.ahead(hole, shed)
	}
	return out
}

// finishFrom remembers what it found: most mistakes of one kind come to the far
// selvedge in the same state.
func (c *course) finishFrom(s state, memo map[state]outcome) outcome {
	if got, ok := memo[s]; ok {
		return got
	}
	got := c.finish(s, memo)
	memo[s] = got
	return got
}

// edge is the first move at which the far selvedge matters to someone who is
// off by so much: before it, all places keep their distance.
func (c *course) edge(off int) int {
	limit := min(c.ends, c.bounds[len(c.bounds)-1]) - max(off, 0)
	g := sort.Search(len(c.bounds)-2, func(g int) bool { return c.bounds[g+1] >= limit })
	return g * (c.passes - 1)
}
