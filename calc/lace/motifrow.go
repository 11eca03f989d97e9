package lace

import "math"

// A place costs the difference that a hole makes there against none, in whole
// parts of holeParts, so that sums are exact in whatever order they are made;
// times keptWeight, so that below it the holes asked for can be counted; and those
// times nearWeight, so that below them it counts how far the others are from them.
const (
	holeParts  = 1 << 17
	keptWeight = 1 << 32
	nearWeight = 1 << 20
	farthest   = 1 << 8            // places from a hole asked for, beyond which all are alike
	noRow      = math.MaxInt64 / 2 // costs more than any row that can be woven
)

// holeCosts is what a hole costs at each place of a row, into costs.
func holeCosts(costs []int64, asked func(place int) float64) {
	last := -farthest // place of a hole asked for
	for place := range costs {
		share := asked(place)
		costs[place] = int64(math.Round((1-2*share)*holeParts)) * keptWeight
		if share > 0.5 {
			costs[place] -= nearWeight
			last = place
			continue
		}
		costs[place] += int64(min(place-last, farthest))
	}
	next := len(costs) + farthest
	for place := len(costs) - 1; place >= 0; place-- {
		if asked(place) > 0.5 {
			next = place
			continue
		}
		if away := int64(next - place); away < costs[place]%nearWeight {
			costs[place] += away - costs[place]%nearWeight
		}
	}
}

// chooser finds the row of holes that costs least among those that can be woven
// and open. It goes from the last place to the first and keeps for each, were it a
// hole, what it and the places to the right of it cost at best: once for a drawn
// group to the left of it, and once for a wider one, after which the next group
// must be drawn.
//
// Of the places that a drawn group reaches, and of those beyond, it needs the best
// alone, and both are kept up from place to place: time grows with the places.
type chooser struct {
	motifLayout
	anyWidth bool // a hole between two wide groups will do

	rest [2][]int64 // by the group to the left, drawn or wide, and place; barred places cost noRow
	next [2][]int   // the next hole of the best, or the number of places
	line []int      // see reached
	head int        // of the line
}

// The groups to the left of a hole.
const (
	drawnBefore = iota
	wideBefore
)

func newChooser(l motifLayout, anyWidth bool) chooser {
	c := chooser{motifLayout: l, anyWidth: anyWidth}
	for i := range c.rest {
		c.rest[i] = make([]int64, len(l.columns))
		c.next[i] = make([]int, len(l.columns))
	}
	return c
}

// row gives the holes of the best row, given what a hole costs at each place and
// where none can be.
func (c *chooser) row(cost []int64, barred []bool) []bool {
	n := len(cost)
	reach := MaxDrawn / c.cell // places ahead that a drawn group spans at most
	beyond := best{noRow, n}   // of the places that it does not reach
	c.line, c.head = c.line[:0], 0
	for place := n - 1; place >= 0; place-- {
		if k := place + reach + 1; k < n {
			beyond.offer(c.rest[wideBefore][k], k)
		}
		near := c.reached(place, reach)
		if barred[place] {
			c.rest[drawnBefore][place], c.rest[wideBefore][place] = noRow, noRow
			continue
		}
		free, drawn := c.goOn(place, near, beyond)
		c.rest[drawnBefore][place], c.next[drawnBefore][place] = cost[place]+free.cost, free.place
		c.rest[wideBefore][place], c.next[wideBefore][place] = cost[place]+drawn.cost, drawn.place
	}
	return c.read(c.first(n), n)
}

// reached is the best of the places that a drawn group to the right of a place
// can end at. Of two that it reaches, the one farther to the right is of use only
// while it is cheaper; so they wait in a line, the cheapest first, and each place
// joins it once.
func (c *chooser) reached(place, reach int) best {
	rest := c.rest[drawnBefore]
	n := len(rest)
	if k := place + (MinRaised+c.cell-1)/c.cell; k < n && k <= place+reach {
		for len(c.line) > c.head && rest[c.line[len(c.line)-1]] >= rest[k] {
			c.line = c.line[:len(c.line)-1]
		}
		c.line = append(c.line, k)
	}
	for len(c.line) > c.head && c.line[c.head] > place+reach {
		c.head++
	}
	if len(c.line) == c.head {
		return best{noRow, n}
	}
	return best{rest[c.line[c.head]], c.line[c.head]}
}

// goOn finds what comes best after a hole: any group, as may come after a drawn
// one, and a drawn group, as must come after a wide one.
func (c *chooser) goOn(place int, near, beyond best) (free, drawn best) {
	n := len(c.columns)
	free, drawn = beyond, near
	free.offer(near.cost, near.place)
	free.offer(0, n) // costs like no other
	if c.fromRight(place) <= MaxDrawn {
		drawn.offer(0, n)
	}
	if c.anyWidth {
		drawn = free
	}
	return free, drawn
}

// first is the hole with which the best row begins, or the number of places.
func (c *chooser) first(n int) int {
	b := best{0, n}
	for k := n - 1; k >= 0; k-- {
		b.offer(c.rest[width(c.fromLeft(k))][k], k)
	}
	return b.place
}

// read follows the holes of the best row from the first on.
func (c *chooser) read(place, n int) []bool {
	row := make([]bool, n)
	before := 0 // pairs to the left of the border before
	for place < n {
		row[place] = true
		here := c.fromLeft(place)
		place, before = c.next[width(here-before)][place], here
	}
	return row
}

// width classes a group of so many pairs.
func width(pairs int) int {
	if pairs > MaxDrawn {
		return wideBefore
	}
	return drawnBefore
}

// best is the cheapest of what it was offered, from right to left: of equals the
// last one, which is the leftmost.
type best struct {
	cost  int64
	place int
}

func (b *best) offer(cost int64, place int) {
	if cost <= b.cost {
		b.cost, b.place = cost, place
	}
}
