package lace

import (
	"fmt"

	"weftroom/calc/measure"
)

// Reached is how far a length of weft goes in a plan.
type Reached struct {
	All   bool           // to the end of the plan
	Row   int            // in which it runs out, from 1; 0 when All
	Move  int            // the first move that it is too short for, from 1; 0 when All
	Group int            // to which that move belongs, from 1; 0 for a pick home and when All
	Rows  int            // whole rows from the first move on that it does for
	Need  measure.Length // for the rest of the plan, all strands together
}

// Reach follows the weft from a move of a plan (row and move from 1) and says
// where so much of it, all strands together, runs out. It reckons as Weft does:
// each pass takes the reed width that it covers, of each strand (the mill rule;
// Taylor, Cotton Weaving and Designing), and with the picks per length known
// each move on to a group its drop. What turns and joins take comes on top
// (common practice: keep a little in hand).
//
// The sett is that of the ends in the heddle or reed; sett and strands must be
// positive. An error means that there is no such move.
func Reach(p *Plan, row, move int, have measure.Length, sett, ppi measure.Sett, strands int) (Reached, error) {
	if row < 1 || row > len(p.Rows) || move < 1 || move > len(p.Rows[row-1].Moves) {
		return Reached{}, fmt.Errorf("lace: no move %d in row %d", move, row)
	}
	r := Reached{All: true}
	perGroup := p.Design.Passes - 1
	err := Walk(p.Design.Ends, p.Design.From, p.Rows, func(pass Pass) error {
		if pass.Row < row || pass.Row == row && pass.Step < move {
			return nil
		}
		planned := &p.Rows[pass.Row-1]
		weft := measure.Length(pass.High-pass.Low) * sett.Spacing()
		groups := len(planned.Groups)
		if ppi > 0 && pass.Step > 1 && (pass.Step-1)%perGroup == 0 && pass.Step <= (groups-1)*perGroup+1 {
			weft += measure.Length(perGroup) * ppi.Spacing()
		}
		r.Need += weft * measure.Length(strands)
		switch {
		case !r.All:
		case r.Need > have:
			r.All, r.Row, r.Move = false, pass.Row, pass.Step
			if planned.Moves[pass.Step-1].Kind == GroupPass {
				r.Group = min((pass.Step-1)/perGroup, groups-1) + 1
			}
		case pass.Step == len(planned.Moves) && (pass.Row > row || move == 1):
			r.Rows++
		}
		return nil
	})
	return r, err
}
