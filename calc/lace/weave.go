package lace

import "fmt"

// The simulated weaver is a person with a shuttle. She knows how many ends her
// warp has and at which side the weft enters, and from then on only what each
// move says to her: open this shed, go that way, under so many raised ends. She
// has never seen a group or a border, and nothing in this file may know of the
// planner, for what she weaves is what the planner is judged by.
//
// A place between two ends is a boundary: boundary b has b ends to its right,
// so 0 is the right selvedge and the number of ends is the left one. The
// shuttle is always at a boundary.

// Pass is one movement of the shuttle as it came out on the warp. Its weft
// lies over or under the ends Low+1 to High, counted from the right.
type Pass struct {
	Row, Step int // from 1; Step within the row
	Shed      Shed
	Toward    Side
	Under     int // raised ends, as the move says
	Low, High int // boundaries, Low < High
	Again     int // an end under the shuttle whose last pass was in this same shed, 0 when there is none
}

// Begin is the boundary at which the pass begins.
func (p Pass) Begin() int {
	if p.Toward == Left {
		return p.Low
	}
	return p.High
}

// End is the boundary at which the pass ends.
func (p Pass) End() int {
	if p.Toward == Left {
		return p.High
	}
	return p.Low
}

// Turn is a place where the weft turned back.
type Turn struct {
	At    int  // boundary
	Step  int  // of the pass that begins here, from 1 within its row
	Round Side // the side on which the ends lie that the turn goes round
}

// WovenRow is what one row left in the cloth.
type WovenRow struct {
	Passes []Pass
	Turns  []Turn // in order; the turn into the first pass is the first
	Picks  []int  // passes over each end in this row; Picks[0] is end 1
	EndsAt int    // boundary at which the shuttle rests
}

// Cloth is a piece as it was woven.
type Cloth struct {
	Ends int
	From Side
	Rows []WovenRow
	Last []Shed // the shed of the last pass over each end, 0 when there was none; Last[0] is end 1
}

// Stuck is the weaver's complaint that a count cannot be made: more raised
// ends are asked for than there are between the shuttle and the selvedge, or
// fewer than one.
type Stuck struct {
	Row, Step   int // from 1
	Asked, Left int // raised ends
}

// Error is for logs and tests.
func (s *Stuck) Error() string {
	return fmt.Sprintf("row %d, step %d: under %d asked, %d raised ends left", s.Row, s.Step, s.Asked, s.Left)
}

// Weave weaves the rows on a warp of so many ends, the weft entering at the
// side from, and gives the cloth. It reads no more of a row than Shed, Toward
// and Under of its moves. A count that cannot be made is a *Stuck; a warp
// without ends, an unknown shed or side is another error. With an error comes
// the cloth of the rows before.
func Weave(ends int, from Side, rows []Row) (*Cloth, error) {
	if err := checkWarp(ends, from); err != nil {
		return nil, err
	}
	l := newLoom(ends, from)
	c := &Cloth{Ends: ends, From: from, Last: l.last}
	for i, row := range rows {
		woven := WovenRow{Picks: make([]int, ends)}
		if err := l.weaveRow(i+1, row.Moves, &woven); err != nil {
			return c, err
		}
		c.Rows = append(c.Rows, woven)
	}
	return c, nil
}

// Walk weaves as Weave does and keeps nothing: it calls visit for each pass in
// turn, and stops at the first error of visit's or its own.
func Walk(ends int, from Side, rows []Row, visit func(Pass) error) error {
	if err := checkWarp(ends, from); err != nil {
		return err
	}
	l := newLoom(ends, from)
	var pass Pass
	for i, row := range rows {
		for j, m := range row.Moves {
			if err := l.weave(i+1, j+1, m, &pass); err != nil {
				return err
			}
			if err := visit(pass); err != nil {
				return err
			}
		}
	}
	return nil
}

func checkWarp(ends int, from Side) error {
	if ends < 1 {
		return fmt.Errorf("a warp of %d ends", ends)
	}
	if from != Right && from != Left {
		return fmt.Errorf("no such side: %d", from)
	}
	return nil
}

// loom is a warp in work.
type loom struct {
	ends  int
	at    int // boundary at which the shuttle is
	last  []Shed
	came  Side // the way the pass before went
	begun bool // there was a pass before
}

func newLoom(ends int, from Side) *loom {
	l := &loom{ends: ends, last: make([]Shed, ends)}
	l.at = l.selvedge(from)
	return l
}

// selvedge is the outermost boundary on a side.
func (l *loom) selvedge(s Side) int {
	if s == Left {
		return l.ends
	}
	return 0
}

// weaveRow weaves the moves of one row and writes them down in w, whose slices
// it uses again; w.Picks must be as long as the warp is wide.
func (l *loom) weaveRow(number int, moves []Move, w *WovenRow) error {
	w.Passes, w.Turns = w.Passes[:0], w.Turns[:0]
	clear(w.Picks)
	w.EndsAt = l.at
	var pass Pass
	for i, m := range moves {
		came, begun := l.came, l.begun
		if err := l.weave(number, i+1, m, &pass); err != nil {
			return err
		}
		if begun && came != pass.Toward {
			w.Turns = append(w.Turns, Turn{At: pass.Begin(), Step: i + 1, Round: came.Other()})
		}
		picks := w.Picks[pass.Low:pass.High]
		for e := range picks {
			picks[e]++
		}
		w.Passes = append(w.Passes, pass)
		w.EndsAt = l.at
	}
	return nil
}

// weave makes one move and writes it down in pass.
func (l *loom) weave(row, step int, m Move, pass *Pass) error {
	if m.Shed != Shed1 && m.Shed != Shed2 {
		return fmt.Errorf("row %d, step %d: no such shed: %d", row, step, m.Shed)
	}
	if m.Toward != Right && m.Toward != Left {
		return fmt.Errorf("row %d, step %d: no such side: %d", row, step, m.Toward)
	}
	to, raised := l.count(m.Shed, m.Toward, m.Under)
	if raised < m.Under {
		return &Stuck{Row: row, Step: step, Asked: m.Under, Left: raised}
	}
	if m.Under < 1 {
		_, left := l.count(m.Shed, m.Toward, l.ends)
		return &Stuck{Row: row, Step: step, Asked: m.Under, Left: left}
	}
	pass.Row, pass.Step = row, step
	pass.Shed, pass.Toward, pass.Under = m.Shed, m.Toward, m.Under
	pass.Low, pass.High = min(l.at, to), max(l.at, to)
	pass.Again = l.lay(m.Shed, pass.Low, pass.High)
	l.at, l.came, l.begun = to, m.Toward, true
	return nil
}

// count goes from the shuttle past n raised ends, and past every lowered end
// before the next raised one, as a person's hand does. It gives the boundary it
// came to and the raised ends passed, fewer than n when the selvedge came first.
func (l *loom) count(s Shed, toward Side, n int) (to, raised int) {
	to = l.at
	if toward == Left {
		for ; to < l.ends; to++ {
			if s.Raises(to + 1) {
				if raised == n {
					break
				}
				raised++
			}
		}
		return to, raised
	}
	for ; to > 0; to-- {
		if s.Raises(to) {
			if raised == n {
				break
			}
			raised++
		}
	}
	return to, raised
}

// lay lays the weft in a shed between two boundaries. It gives the first end
// there whose last pass was in the same shed, or 0.
func (l *loom) lay(s Shed, low, high int) (again int) {
	under := l.last[low:high]
	for i, before := range under {
		if before == s && again == 0 {
			again = low + i + 1
		}
		under[i] = s
	}
	return again
}
