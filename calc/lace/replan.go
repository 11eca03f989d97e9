package lace

import (
	"fmt"
	"slices"
)

// Change is what is changed of a piece of which some rows are woven.
type Change struct {
	Raised int // raised ends per group from here on, 0 as before
	Edge   int // pairs of ends of a plain group at each side from here on, -1 as before
	Ends   int // of the warp, as counted now; 0 as before
	Skip   int // rows that are left out
}

// Replanned is the whole piece, woven rows and those planned anew.
type Replanned struct {
	Pattern Pattern // as changed; its Rows are those of the whole piece
	Plan    *Plan   // of the whole piece, proven
	Borders int     // of the first row that is planned anew
	LinesUp int     // of those, how many lie over borders of the row that would have come
	Was, Is bool    // the rows to come were, and are, the same from both sides
	Further int     // rows left out beyond those asked, so that the piece stays the same from both ends
}

// Replan plans the rest of a piece anew: rows are all of it as it was planned, of
// which so many are woven. The rows to come are laid out on the changed pattern so
// that they stay the same from both sides where they were and can be, and then so
// that as many of their borders as possible lie where the borders of the row lay
// that would have come. A half-drop goes on from the row below it. Listed rows stay
// those of the list, unless another size of groups is asked for.
//
// Ends that are found missing, or found more, are taken to lie at the side away
// from where the piece begins, as a miscount of a warp is elsewhere: the woven
// rows then had them in their far groups. The whole piece is woven in simulation,
// so each row to come is proven on what the woven ones left.
//
// Two-way, the change must begin with a journey out. The error is that of Check,
// about the pattern as changed, or that of Make.
func Replan(p Pattern, rows []Groups, woven int, change Change) (r Replanned, err error) {
	home := p.Way.journeys()
	left := len(rows) - woven - change.Skip
	if woven < 0 || left < 1 || woven%home != 0 {
		return r, fmt.Errorf("lace: no change after %d of %d rows, %d left out", woven, len(rows), change.Skip)
	}
	q := p.changed(change)
	q.Rows = woven + left
	if err := q.Check(); err != nil {
		return r, err
	}
	all := refitted(rows, q.Ends/2-p.Ends/2, p.Way)
	if len(q.Listed) > 0 {
		return q.relisted(all, woven)
	}
	var laid []Groups
	r.Was = true
	lastOut := len(rows) - 1 - (len(rows)-1)%home
	for j := range q.kinds() {
		at := min(woven+j*home, lastOut)
		mirrored := isMirrored(rows[at])
		r.Was = r.Was && mirrored
		laid = append(laid, q.relaid(all[at], laid, mirrored))
	}
	r.Is = areMirrored(laid)
	r.Borders = len(laid[0]) - 1
	r.LinesUp = shared(laid[0], all[woven])
	piece := func(left int) []Groups {
		whole := slices.Clone(all[:woven])
		for i := range left {
			row := laid[i/home%len(laid)]
			if i%home == 1 {
				row = reversed(row)
			}
			whole = append(whole, row)
		}
		return whole
	}
	whole := piece(left)
	if change.Skip > 0 && left > home && isTurnable(rows) && !isTurnable(whole) {
		if shorter := piece(left - home); isTurnable(shorter) {
			whole, r.Further = shorter, home
		}
	}
	q.Rows = len(whole)
	r.Pattern = q
	r.Plan, err = Make(Design{Ends: q.Ends, From: q.From, Way: q.Way, Passes: q.Passes, Rows: whole})
	return r, err
}

// relisted plans the rows to come as they are listed, on the changed warp and
// between the changed edges. all are those of the piece so far, on that warp.
func (p Pattern) relisted(all []Groups, woven int) (r Replanned, err error) {
	d, err := p.Design()
	if err != nil {
		return r, err
	}
	r.Was, r.Is = areMirrored(all[woven:]), areMirrored(d.Rows[woven:])
	r.Borders, r.LinesUp = len(d.Rows[woven])-1, shared(d.Rows[woven], all[woven])
	d.Rows = slices.Concat(all[:woven], d.Rows[woven:])
	r.Pattern = p
	r.Plan, err = Make(d)
	return r, err
}

func (p Pattern) changed(c Change) Pattern {
	if c.Raised > 0 {
		p.Raised, p.Listed = c.Raised, nil
	}
	if c.Edge >= 0 {
		p.Edge = c.Edge
	}
	if c.Ends > 0 {
		p.Ends = c.Ends
	}
	return p
}

// kinds is how many kinds of rows there are, journeys home apart.
func (p Pattern) kinds() int {
	if p.Repeat == HalfDrop {
		return 2
	}
	return 1
}

// refitted are rows on a warp with so many pairs more, or fewer, at the far side.
func refitted(rows []Groups, pairs int, way Way) []Groups {
	if pairs == 0 {
		return rows
	}
	out := make([]Groups, len(rows))
	for i, row := range rows {
		row = slices.Clone(row)
		if way == TwoWay && i%2 == 1 {
			slices.Reverse(row)
		}
		row[len(row)-1] += pairs
		for len(row) > 1 && row[len(row)-1] < 1 {
			last := len(row) - 1
			row[last-1] += row[last]
			row = row[:last]
		}
		if way == TwoWay && i%2 == 1 {
			slices.Reverse(row)
		}
		out[i] = row
	}
	return out
}

// relaid is the layout of a row that fits best: beside other rows it shares as few
// borders as can be with them, it is the same from both sides where that is wanted,
// of its own borders as many as can be lie over some of below, and as many groups
// as can be are of the size asked.
func (p Pattern) relaid(below Groups, beside []Groups, mirrored bool) Groups {
	var best Groups
	var most [4]int
	for _, inner := range fillings(p.innerPairs(), p.Raised) {
		row := withEdges(inner, p.Edge)
		var score [4]int
		for _, other := range beside {
			score[0] -= shared(row, other) - shared(withEdges(Groups{p.innerPairs()}, p.Edge), row)
		}
		if mirrored && isMirrored(row) {
			score[1] = 1
		}
		score[2], score[3] = 1000*shared(row, below)/max(len(row)-1, 1), -odd(inner, p.Raised)
		if best == nil || slices.Compare(score[:], most[:]) > 0 {
			best, most = row, score
		}
	}
	return best
}

// fillings are the ways to fill pairs with groups of raised: the first group may
// be another, and what is over makes the last one larger or is one by itself. Pairs
// too few for two groups may be one.
func fillings(pairs, raised int) []Groups {
	var all []Groups
	if pairs < 2*raised {
		all = append(all, Groups{pairs})
	}
	for first := MinRaised; first < 2*raised; first++ {
		rest := pairs - first
		if rest < raised {
			break
		}
		all = append(all, append(Groups{first}, straightGroups(rest, raised, Far)...))
		if over := rest % raised; over >= MinRaised {
			row := append(Groups{first}, slices.Repeat(Groups{raised}, rest/raised)...)
			all = append(all, append(row, over))
		}
	}
	return all
}

// odd is how many groups are not of the size asked.
func odd(groups Groups, raised int) (n int) {
	for _, g := range groups {
		if g != raised {
			n++
		}
	}
	return n
}

// shared is how many inner borders of a row lie where another has one.
func shared(a, b Groups) (n int) {
	at := map[int]bool{}
	for sum, i := 0, 0; i < len(b)-1; i++ {
		sum += b[i]
		at[sum] = true
	}
	for sum, i := 0, 0; i < len(a)-1; i++ {
		if sum += a[i]; at[sum] {
			n++
		}
	}
	return n
}

// isMirrored tells that a row is the same from both sides, but for an end over.
func isMirrored(row Groups) bool { return slices.Equal(row, reversed(row)) }

// areMirrored tells that all rows are.
func areMirrored(rows []Groups) bool {
	return !slices.ContainsFunc(rows, func(row Groups) bool { return !isMirrored(row) })
}

// isTurnable tells that a piece is the same from both ends.
func isTurnable(rows []Groups) bool {
	for i := range len(rows) / 2 {
		if !slices.Equal(rows[i], rows[len(rows)-1-i]) {
			return false
		}
	}
	return true
}
