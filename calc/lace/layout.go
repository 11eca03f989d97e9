package lace

import "slices"

// Design lays out every row of the pattern. Rows that are alike share their
// Groups.
//
// Pairs are counted from the side where the piece begins. A count made on the
// way back lands where it should only if every inner border lies after an even
// number of ends from that side; so groups are whole pairs, and the one end over
// of an odd warp lives in the group at the far side. The error is that of Check.
func (p Pattern) Design() (Design, error) {
	if err := p.Check(); err != nil {
		return Design{}, err
	}
	cycle := p.cycle()
	rows := make([]Groups, p.Rows)
	for i := range rows {
		rows[i] = cycle[i%len(cycle)]
	}
	return Design{Ends: p.Ends, From: p.From, Way: p.Way, Passes: p.Passes, Rows: rows}, nil
}

// cycle is the rows after which the pattern begins again. A journey home has
// the borders of the journey out, met in the opposite order.
func (p Pattern) cycle() []Groups {
	laid := p.laid()
	var cycle []Groups
	for _, inner := range laid {
		row := withEdges(inner, p.Edge)
		cycle = append(cycle, row)
		if p.Way == TwoWay {
			cycle = append(cycle, reversed(row))
		}
	}
	return cycle
}

// laid are the rows of the pattern that differ, between the edges.
func (p Pattern) laid() []Groups {
	if len(p.Listed) > 0 {
		return p.listedGroups()
	}
	laid := []Groups{straightGroups(p.innerPairs(), p.Raised, p.Leftover)}
	if p.Repeat == HalfDrop {
		laid = append(laid, halfDropGroups(p.innerPairs(), p.Raised, p.Leftover))
	}
	return laid
}

// Cycle is after how many rows the pattern begins again. The pattern must be one
// that Check allows.
func (p Pattern) Cycle() int { return len(p.cycle()) }

// innerPairs is what the edge groups leave.
func (p Pattern) innerPairs() int { return p.Ends/2 - 2*p.Edge }

// straightGroups fills pairs with groups of raised; there is room for one at least.
func straightGroups(pairs, raised int, leftover Leftover) Groups {
	groups := slices.Repeat(Groups{raised}, pairs/raised)
	over := pairs % raised
	near := nearShare(over, leftover)
	groups[0] += near
	groups[len(groups)-1] += over - near
	return groups
}

// halfDropGroups is the row above straightGroups. It starts half a group short
// of the first group below, so that from then on its borders fall between
// theirs; half a group of two would be a group of one, so it starts with half
// and a whole one more. What is left is again filled with groups of raised, the
// leftover on the last. Where not even one fits (groups of 2 on 4 pairs), the
// row is a single group.
func halfDropGroups(pairs, raised int, leftover Leftover) Groups {
	first := nearShare(pairs%raised, leftover) + (raised+1)/2
	if first < MinRaised {
		first += raised
	}
	rest := pairs - first
	if rest < raised {
		return Groups{pairs}
	}
	return append(Groups{first}, straightGroups(rest, raised, Far)...)
}

// nearShare is how many of the pairs over go to the first group.
func nearShare(over int, leftover Leftover) int {
	if leftover == Both {
		return over / 2
	}
	return 0
}

func withEdges(inner Groups, edge int) Groups {
	if edge == 0 {
		return inner
	}
	return slices.Concat(Groups{edge}, inner, Groups{edge})
}

func reversed(groups Groups) Groups {
	back := slices.Clone(groups)
	slices.Reverse(back)
	return back
}
