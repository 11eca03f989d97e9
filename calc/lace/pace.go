package lace

import (
	"slices"
	"time"
)

// The rule by which a pace is told from how long rows took. It is our own (no
// source): a median is moved little by a row that took long, and what is not of
// the same order as most rows was no row in one go.
const (
	// PaceRows are the fewest rows of which a pace can be told.
	PaceRows = 3
	// paceLast are the rows that count, the last ones: hands get faster.
	paceLast = 15
	// paceApart: a row longer than so many times the median had a break in it, one
	// shorter than that part of it was not woven step by step.
	paceApart = 3
)

// Pace is how long a row takes a weaver.
type Pace struct {
	Row       time.Duration // the median of the rows that count
	Low, High time.Duration // half of them took from Low to High: the quartiles, rounded outward to rows that were
	Rows      int           // that count
	LeftOut   int           // of the last rows, those of another order
}

// PaceOf is the pace of a weaver whose rows took so long, the last row last. Of
// the last 15 it takes the median, leaves out rows of more than 3 times and less
// than a third of that (a tea break, a night; a row that was jumped over), and
// takes the median of the others. There is none, and ok is false, with fewer
// than PaceRows left. Rows of no length at all do not count.
func PaceOf(took []time.Duration) (p Pace, ok bool) {
	took = slices.Clone(took[max(0, len(took)-paceLast):])
	slices.Sort(took)
	all := len(took)
	took = slices.DeleteFunc(took, func(d time.Duration) bool { return d <= 0 })
	if len(took) > 0 {
		usual := middle(took)
		took = slices.DeleteFunc(took, func(d time.Duration) bool { return d > paceApart*usual || d < usual/paceApart })
	}
	p.Rows, p.LeftOut = len(took), all-len(took)
	if p.Rows < PaceRows {
		return p, false
	}
	quarter := (p.Rows - 1) / 4
	p.Row, p.Low, p.High = middle(took), took[quarter], took[p.Rows-1-quarter]
	return p, true
}

// middle is the median of what is sorted and not empty.
func middle(sorted []time.Duration) time.Duration {
	n := len(sorted)
	low, high := sorted[(n-1)/2], sorted[n/2]
	return low + (high-low)/2
}

// Within is how many rows are done in a time, in rows and parts of one.
func (p Pace) Within(d time.Duration) float64 { return float64(d) / float64(p.Row) }

// For is how long so many rows take.
func (p Pace) For(rows float64) time.Duration { return time.Duration(rows * float64(p.Row)) }
