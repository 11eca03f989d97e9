package lace

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// Make plans a design and has the plan proven. It is the only way to a Plan.
//
// Moves are made once for rows that are alike, and those rows share them: the
// time and the memory of the planner itself grow with the distinct rows, not
// with the rows. The plan keeps d, so leave its rows alone afterwards.
//
// An error means that d is no design (its groups do not cover the warp, say) or
// that the plan failed its proof. Neither is the weaver's mistake: what she asks
// is checked by Pattern.
func Make(d Design) (*Plan, error) {
	p, err := plan(d)
	if err != nil {
		return nil, err
	}
	if err := Prove(d, p); err != nil {
		return nil, fmt.Errorf("lace: plan not proven: %w", err)
	}
	return p, nil
}

func plan(d Design) (*Plan, error) {
	if err := d.checkFrame(); err != nil {
		return nil, err
	}
	p := &Plan{Design: d, Rows: make([]Row, len(d.Rows))}
	made := map[string]Row{}
	var key []byte
	for i, groups := range d.Rows {
		key = d.appendLikeness(key[:0], i)
		row, ok := made[string(key)]
		if !ok {
			if err := d.checkGroups(groups); err != nil {
				return nil, fmt.Errorf("lace: row %d: %w", i+1, err)
			}
			row = d.row(i)
			made[string(key)] = row
		}
		row.Number = i + 1
		p.Rows[i] = row
	}
	return p, nil
}

// checkFrame checks all that does not belong to a single row. A warp smaller
// than MinEnds is allowed: a sample of two groups is a design too.
func (d Design) checkFrame() error {
	rows := len(d.Rows)
	switch {
	case d.Ends < 2 || d.Ends > MaxEnds:
		return fmt.Errorf("lace: design on %d ends, want 2 to %d", d.Ends, MaxEnds)
	case d.Passes < MinPasses || d.Passes > MaxPasses || d.Passes%2 == 0:
		return fmt.Errorf("lace: design of %d passes, want an odd number from %d to %d", d.Passes, MinPasses, MaxPasses)
	case rows < 1 || rows > MaxRows:
		return fmt.Errorf("lace: design of %d rows, want 1 to %d", rows, MaxRows)
	case rows > MaxWork/(d.Ends*d.Passes):
		return fmt.Errorf("lace: design of %d rows × %d ends × %d passes is over %d", rows, d.Ends, d.Passes, MaxWork)
	case d.Way != OneWay && d.Way != TwoWay:
		return fmt.Errorf("lace: design with no way %d", d.Way)
	case d.From != Right && d.From != Left:
		return fmt.Errorf("lace: design from no side %d", d.From)
	}
	return nil
}

// checkGroups wants groups that cover the warp exactly. A group of one pair is
// no group to work lace on; as a selvedge it is allowed.
func (d Design) checkGroups(groups Groups) error {
	if len(groups) == 0 {
		return errors.New("no groups")
	}
	left := d.Ends / 2
	for i, pairs := range groups {
		atSide := i == 0 || i == len(groups)-1
		switch {
		case pairs < 1:
			return fmt.Errorf("group %d has %d pairs of ends", i+1, pairs)
		case pairs == 1 && !atSide:
			return fmt.Errorf("group %d, of one pair of ends, is not at a side", i+1)
		case pairs > left:
			return fmt.Errorf("groups go beyond the %d pairs of the warp", d.Ends/2)
		}
		left -= pairs
	}
	if left > 0 {
		return fmt.Errorf("groups leave %d of the %d pairs of the warp bare", left, d.Ends/2)
	}
	return nil
}

// goesHome tells whether row i is the journey home of a two-way pair.
func (d Design) goesHome(i int) bool { return d.Way == TwoWay && i%2 == 1 }

// appendLikeness appends what makes row i the row it is: two rows of one design
// have the same moves just when these bytes are the same. The first row stands
// apart, since its weft enters where that of every other row turns.
func (d Design) appendLikeness(b []byte, i int) []byte {
	switch {
	case i == 0:
		b = append(b, 'f')
	case d.goesHome(i):
		b = append(b, 'h')
	default:
		b = append(b, 'o')
	}
	for _, pairs := range d.Rows[i] {
		b = binary.AppendVarint(b, int64(pairs))
	}
	return b
}

// row makes row i. Passes alternate sheds through the whole piece. A one-way row
// is an even number of passes with its pick home, so each begins in the shed
// that the piece began in; a two-way journey is an odd number, so the journeys
// home begin in the other.
func (d Design) row(i int) Row {
	w := worker{ends: d.Ends, start: d.From, shed: d.firstShed()}
	if d.goesHome(i) {
		w.start, w.shed = w.start.Other(), w.shed.Other()
	}
	bounds := d.bounds(i)
	row := Row{Start: w.start, Groups: w.raisedInShed1(bounds)}
	w.workGroups(bounds, d.Passes)
	if d.Way == OneWay {
		w.pass(HomePick, d.Ends, 0)
	}
	if i == 0 {
		w.moves[0].Turn = Plain
	}
	row.Moves = w.moves
	return row
}

// firstShed raises the edge end on the starting side.
func (d Design) firstShed() Shed {
	edge := 1
	if d.From == Left {
		edge = d.Ends
	}
	if Shed1.Raises(edge) {
		return Shed1
	}
	return Shed2
}

// bounds is where the groups of row i end: 0, then for each group the number of
// ends from the row's starting side through its last one. The one end over of
// an odd warp, far from where the piece began, is met first on the way home.
func (d Design) bounds(i int) []int {
	groups, over := d.Rows[i], d.Ends%2
	bounds := make([]int, 1, len(groups)+1)
	at := 0
	if d.goesHome(i) {
		at = over
	}
	for _, pairs := range groups {
		at += 2 * pairs
		bounds = append(bounds, at)
	}
	bounds[len(groups)] = d.Ends
	return bounds
}

// GroupEnds are the ends of each group of row i, counted from 0, in working order.
func (d Design) GroupEnds(i int) []int {
	bounds := d.bounds(i)
	ends := bounds[:len(bounds)-1]
	for g := range ends {
		ends[g] = bounds[g+1] - bounds[g]
	}
	return ends
}

// worker writes down the moves of one row. Places are numbers of ends from the
// side where the row starts: place 6 lies between the sixth end and the seventh.
type worker struct {
	ends  int
	start Side
	shed  Shed // of the next pass
	moves []Move
}

// workGroups weaves each group p times: forward and back by turns, the last pass
// forward over one group being the first over the next as well.
func (w *worker) workGroups(bounds []int, p int) {
	groups, backs := len(bounds)-1, (p-1)/2
	w.moves = make([]Move, 0, groups*(p-1)+2)
	at := 0
	for i := range groups {
		near, far := bounds[i], bounds[i+1]
		for range backs {
			w.pass(GroupPass, at, far)
			w.pass(GroupPass, far, near)
			at = near
		}
	}
	w.pass(GroupPass, at, w.ends)
}

func (w *worker) pass(kind Kind, from, to int) {
	m := Move{Kind: kind, Shed: w.shed, Under: w.raised(w.shed, from, to), Toward: w.start, Turn: Snug}
	if to > from {
		m.Toward = w.start.Other()
	}
	if from == 0 || from == w.ends {
		m.Turn = Slack
	}
	w.moves = append(w.moves, m)
	w.shed = w.shed.Other()
}

func (w *worker) raisedInShed1(bounds []int) []int {
	groups := make([]int, len(bounds)-1)
	for i := range groups {
		groups[i] = w.raised(Shed1, bounds[i], bounds[i+1])
	}
	return groups
}

// raised counts the ends between two places that are up in s.
func (w *worker) raised(s Shed, a, b int) int {
	if w.start == Left {
		a, b = w.ends-a, w.ends-b
	}
	return raisedThrough(s, max(a, b)) - raisedThrough(s, min(a, b))
}

// raisedThrough counts the ends 1 to e, from the right, that are up in s: the
// odd ones in Shed1, the even ones in Shed2.
func raisedThrough(s Shed, e int) int {
	if s == Shed1 {
		return (e + 1) / 2
	}
	return e / 2
}
