package lace

import (
	"fmt"
	"slices"
)

// The five things that must hold for any plan, as Flaw.Invariant numbers them.
const (
	endsAtSelvedge = 1 // every row ends at the selvedge at which it should
	shedChanges    = 2 // no two passes in succession over an end are in the same shed
	fellIsLevel    = 3 // after each row every end has had the same number of picks
	countsAreTrue  = 4 // the count shown is what the ends under the shuttle are
	clothAsAsked   = 5 // turns, passes, rows, sides and words are those asked for
)

// Flaw is what is wrong with a plan: a mistake of the planner, never of the
// asker. It is for logs and tests.
type Flaw struct {
	Invariant int // 1 to 5
	Row, Step int // from 1; 0 when the flaw is of the whole plan or row
	What      string
}

// Error is for logs and tests.
func (f *Flaw) Error() string {
	return fmt.Sprintf("invariant %d, row %d, step %d: %s", f.Invariant, f.Row, f.Step, f.What)
}

// Prove weaves a plan from shed, direction and count alone and compares the
// cloth with what was asked. It gives nil only if every row ends at the
// selvedge it should, no two passes in succession over an end share a shed, the
// fell is level after each row, every count is true, and the cloth, its turns
// and the words that go with it are those of d; otherwise a *Flaw. Every row is
// woven, repeats too. Work grows with the ends covered by all passes together,
// memory with the ends and the moves of the longest row.
//
// For one design there is exactly one plan that passes: the weft crosses each
// inner border once on the way out (p passes over the group before it, two of
// them taken up by each of the (p-1)/2 turns there), so the groups are woven in
// order; the first shed is fixed and every later one alternates; and a count
// cannot differ without another boundary.
func Prove(d Design, p *Plan) error {
	if err := canBeProved(d); err != nil {
		return err
	}
	if p == nil {
		return asked(0, 0, "there is no plan")
	}
	if !samePiece(p.Design, d) {
		return asked(0, 0, "the plan is for another design")
	}
	if len(p.Rows) != len(d.Rows) {
		return asked(0, 0, "%d rows planned, %d asked", len(p.Rows), len(d.Rows))
	}
	pr := newProof(d)
	for i := range p.Rows {
		if err := pr.proveRow(i+1, d.Rows[i], &p.Rows[i]); err != nil {
			return err
		}
	}
	return nil
}

// asked is a Flaw of the fifth kind.
func asked(row, step int, format string, args ...any) error {
	return &Flaw{Invariant: clothAsAsked, Row: row, Step: step, What: fmt.Sprintf(format, args...)}
}

// canBeProved refuses a design which no plan could answer.
func canBeProved(d Design) error {
	if d.Ends < 2 || d.Passes < 3 || d.Passes%2 == 0 || len(d.Rows) == 0 {
		return asked(0, 0, "no design: %d ends, %d passes, %d rows", d.Ends, d.Passes, len(d.Rows))
	}
	if d.From != Right && d.From != Left || d.Way != OneWay && d.Way != TwoWay {
		return asked(0, 0, "no design: from %d, way %d", d.From, d.Way)
	}
	for i, groups := range d.Rows {
		pairs := d.Ends / 2
		for _, g := range groups {
			if g < 1 || g > pairs {
				return asked(i+1, 0, "no design: a group of %d pairs where %d are left", g, pairs)
			}
			pairs -= g
		}
		if pairs != 0 {
			return asked(i+1, 0, "no design: %d pairs in no group", pairs)
		}
	}
	return nil
}

func samePiece(a, b Design) bool {
	sameGroups := func(x, y Groups) bool { return slices.Equal(x, y) }
	return a.Ends == b.Ends && a.From == b.From && a.Way == b.Way && a.Passes == b.Passes &&
		slices.EqualFunc(a.Rows, b.Rows, sameGroups)
}

// proof is one piece in weaving, with what is wanted of the row in hand.
type proof struct {
	d     Design
	loom  *loom
	woven WovenRow

	start   Side
	borders []int    // boundaries of the groups in working order, both selvedges included
	isAt    []int    // by boundary: 1 + its index in borders, 0 where no border is
	turns   [2][]int // by Turn.Round and index in borders: how often the weft turned
}

func newProof(d Design) *proof {
	return &proof{
		d:     d,
		loom:  newLoom(d.Ends, d.From),
		woven: WovenRow{Picks: make([]int, d.Ends)},
		isAt:  make([]int, d.Ends+1),
	}
}

// proveRow weaves one row and compares it.
func (p *proof) proveRow(number int, groups Groups, row *Row) error {
	p.want(number, groups)
	if err := p.proveNames(number, row); err != nil {
		return err
	}
	if err := p.loom.weaveRow(number, row.Moves, &p.woven); err != nil {
		return &Flaw{Invariant: countsAreTrue, Row: number, Step: len(p.woven.Passes) + 1, What: err.Error()}
	}
	for i, m := range row.Moves {
		if err := p.provePass(&p.woven.Passes[i], m); err != nil {
			return err
		}
	}
	if err := p.proveEnd(number); err != nil {
		return err
	}
	if err := p.proveLevel(number); err != nil {
		return err
	}
	if err := p.proveWay(number, row); err != nil {
		return err
	}
	return p.proveTurns(number)
}

// want works out the side and the borders of a row from the design. Groups are
// pairs of ends in working order; the end over of an odd warp is at the side
// away from the beginning of the piece: in the last group of a row which starts
// there, in the first group of a journey back. So every inner border lies after
// an even number of ends counted from the side where the piece begins, which is
// what makes a count on the way back come out there.
func (p *proof) want(number int, groups Groups) {
	for _, b := range p.borders {
		p.isAt[b] = 0
	}
	p.start = p.d.From
	if p.d.Way == TwoWay && number%2 == 0 {
		p.start = p.d.From.Other()
	}
	covered := 0 // ends, from the side where the row starts
	p.borders = append(p.borders[:0], p.loom.selvedge(p.start))
	for i, g := range groups {
		covered += 2 * g
		if p.start == p.d.From && i == len(groups)-1 || p.start != p.d.From && i == 0 {
			covered += p.d.Ends % 2
		}
		border := covered
		if p.start == Left {
			border = p.d.Ends - covered
		}
		p.borders = append(p.borders, border)
	}
	for i, b := range p.borders {
		p.isAt[b] = i + 1
	}
}

// proveNames holds the number, the side and the group sizes printed over a row
// to what was asked.
func (p *proof) proveNames(number int, row *Row) error {
	if row.Number != number {
		return asked(number, 0, "it is numbered %d", row.Number)
	}
	if row.Start != p.start {
		return asked(number, 0, "it says side %d, not side %d", row.Start, p.start)
	}
	if len(row.Groups) != len(p.borders)-1 {
		return asked(number, 0, "%d groups shown, %d asked", len(row.Groups), len(p.borders)-1)
	}
	for i, g := range row.Groups {
		low, high := min(p.borders[i], p.borders[i+1]), max(p.borders[i], p.borders[i+1])
		if up := raisedIn(Shed1, low, high); g != up {
			return asked(number, 0, "group %d shown with %d raised ends, it has %d", i+1, g, up)
		}
	}
	return nil
}

// raisedIn is the number of ends up in a shed between two boundaries: of the
// ends 1 to b, b/2 rounded up are odd, b/2 rounded down even.
func raisedIn(s Shed, low, high int) int {
	if s == Shed1 {
		return (high+1)/2 - (low+1)/2
	}
	return high/2 - low/2
}

// provePass holds one pass to its move, to the passes before it, and to the
// borders.
func (p *proof) provePass(pass *Pass, m Move) error {
	row, step := pass.Row, pass.Step
	if up := raisedIn(m.Shed, pass.Low, pass.High); up != m.Under {
		return &Flaw{countsAreTrue, row, step, fmt.Sprintf("under %d said, %d raised ends", m.Under, up)}
	}
	if pass.Again != 0 {
		return &Flaw{shedChanges, row, step, fmt.Sprintf("shed %d again over end %d", m.Shed, pass.Again)}
	}
	if row == 1 && step == 1 && !m.Shed.Raises(p.edgeEnd()) {
		return asked(row, step, "the first shed leaves the edge end down")
	}
	if step > 1 && p.woven.Passes[step-2].Toward == pass.Toward {
		return asked(row, step, "the weft goes on where it should turn")
	}
	if p.isAt[pass.Begin()] == 0 {
		return asked(row, step, "a turn inside a group, at boundary %d", pass.Begin())
	}
	if want := p.tension(pass); m.Turn != want {
		return asked(row, step, "tension %d said, %d wanted", m.Turn, want)
	}
	return nil
}

// edgeEnd is the end at the selvedge where the piece begins.
func (p *proof) edgeEnd() int {
	if p.d.From == Left {
		return p.d.Ends
	}
	return 1
}

// tension is how the turn at which a pass begins is to be left.
func (p *proof) tension(pass *Pass) Tension {
	if pass.Row == 1 && pass.Step == 1 {
		return Plain
	}
	if begin := pass.Begin(); begin == 0 || begin == p.d.Ends {
		return Slack
	}
	return Snug
}

// proveEnd holds the end of a row to the selvedge where it began when one-way,
// the one across when two-way: in either case where the next row starts.
func (p *proof) proveEnd(number int) error {
	side := p.start
	if p.d.Way == TwoWay {
		side = side.Other()
	}
	if want := p.loom.selvedge(side); p.woven.EndsAt != want {
		return &Flaw{endsAtSelvedge, number, len(p.woven.Passes),
			fmt.Sprintf("the row ends at boundary %d, not %d", p.woven.EndsAt, want)}
	}
	return nil
}

// proveLevel holds each end's picks in a row to those asked.
func (p *proof) proveLevel(number int) error {
	want := p.d.Passes
	if p.d.Way == OneWay {
		want++
	}
	for e, picks := range p.woven.Picks {
		if picks != want {
			return &Flaw{fellIsLevel, number, 0, fmt.Sprintf("end %d has had %d picks, not %d", e+1, picks, want)}
		}
	}
	return nil
}

// proveWay holds a row that has come to its end, level, to the way home: its
// last move is a plain pick from selvedge to selvedge when one-way, and no move
// is when two-way.
func (p *proof) proveWay(number int, row *Row) error {
	inGroups := len(row.Moves)
	if p.d.Way == OneWay {
		inGroups--
	}
	for i, m := range row.Moves {
		want := GroupPass
		if i >= inGroups {
			want = HomePick
		}
		if m.Kind != want {
			return asked(number, i+1, "kind %d said, %d wanted", m.Kind, want)
		}
	}
	if p.d.Way == TwoWay {
		return nil
	}
	// Without this the near groups could be finished on the way back: the same
	// picks and turns, but no plain pick.
	if begin := p.woven.Passes[inGroups].Begin(); begin != p.loom.selvedge(p.start.Other()) {
		return asked(number, inGroups+1, "the pick home begins at boundary %d", begin)
	}
	return nil
}

// proveTurns holds the turns of a row to those asked: (p-1)/2 at each border on
// each side that has a group, one more at the far selvedge where a plain pick
// goes home, and one where the weft came from the row before.
func (p *proof) proveTurns(number int) error {
	for side := range p.turns {
		p.turns[side] = slices.Grow(p.turns[side][:0], len(p.borders))[:len(p.borders)]
		clear(p.turns[side])
	}
	for _, t := range p.woven.Turns {
		p.turns[t.Round][p.isAt[t.At]-1]++
	}
	each, last := (p.d.Passes-1)/2, len(p.borders)-1
	behind, ahead := p.start, p.start.Other()
	for i, b := range p.borders {
		wantBehind, wantAhead := each, each
		if i == 0 {
			wantBehind = 0
			if number > 1 {
				wantAhead++
			}
		}
		if i == last {
			wantAhead = 0
			if p.d.Way == OneWay {
				wantBehind++
			}
		}
		gotBehind, gotAhead := p.turns[behind][i], p.turns[ahead][i]
		if gotBehind != wantBehind || gotAhead != wantAhead {
			return asked(number, 0, "at boundary %d the weft turned %d and %d times, not %d and %d",
				b, gotBehind, gotAhead, wantBehind, wantAhead)
		}
	}
	return nil
}
