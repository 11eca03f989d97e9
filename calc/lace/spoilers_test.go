package lace

import (
	"math/rand/v2"
	"slices"
)

// A spoiler takes a copy of a good plan and spoils it in one way; false means
// that this plan has nothing to spoil in that way.
type spoiler struct {
	name  string
	spoil func(r *rand.Rand, p *Plan) bool
}

// anyRow and anyMove pick a place to spoil.
func anyRow(r *rand.Rand, p *Plan) *Row { return &p.Rows[r.IntN(len(p.Rows))] }

func anyMove(r *rand.Rand, p *Plan) *Move {
	row := anyRow(r, p)
	return &row.Moves[r.IntN(len(row.Moves))]
}

// ofMoves are the spoilers which change what is woven.
var ofMoves = []spoiler{
	{"a count one more", func(r *rand.Rand, p *Plan) bool { anyMove(r, p).Under++; return true }},
	{"a count one less", func(r *rand.Rand, p *Plan) bool { anyMove(r, p).Under--; return true }},
	{"one raised end from a pass to the next", func(r *rand.Rand, p *Plan) bool {
		ms := anyRow(r, p).Moves
		i := r.IntN(len(ms) - 1)
		ms[i].Under++
		ms[i+1].Under--
		return true
	}},
	{"a shed not changed, this pass alone", func(r *rand.Rand, p *Plan) bool {
		m := anyMove(r, p)
		m.Shed = m.Shed.Other()
		return true
	}},
	{"a shed not changed, wrong from there to the end", func(r *rand.Rand, p *Plan) bool {
		first := r.IntN(len(p.Rows))
		step := r.IntN(len(p.Rows[first].Moves))
		for i := first; i < len(p.Rows); i++ {
			for j := range p.Rows[i].Moves {
				if i > first || j >= step {
					p.Rows[i].Moves[j].Shed = p.Rows[i].Moves[j].Shed.Other()
				}
			}
		}
		return true
	}},
	{"the whole piece in the other shed", func(r *rand.Rand, p *Plan) bool {
		for i := range p.Rows {
			for j := range p.Rows[i].Moves {
				p.Rows[i].Moves[j].Shed = p.Rows[i].Moves[j].Shed.Other()
			}
		}
		return true
	}},
	{"a pass dropped", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		i := r.IntN(len(row.Moves))
		row.Moves = slices.Delete(row.Moves, i, i+1)
		return true
	}},
	{"two passes dropped", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		i := r.IntN(len(row.Moves) - 1)
		row.Moves = slices.Delete(row.Moves, i, i+2)
		return true
	}},
	{"a pass twice", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		i := r.IntN(len(row.Moves))
		row.Moves = slices.Insert(row.Moves, i, row.Moves[i])
		return true
	}},
	{"two passes twice", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		i := r.IntN(len(row.Moves) - 1)
		row.Moves = slices.Insert(row.Moves, i, row.Moves[i], row.Moves[i+1])
		return true
	}},
	{"two passes swapped", func(r *rand.Rand, p *Plan) bool {
		ms := anyRow(r, p).Moves
		i, j := r.IntN(len(ms)), r.IntN(len(ms))
		ms[i], ms[j] = ms[j], ms[i]
		return true
	}},
	{"a pass made in two", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		i := r.IntN(len(row.Moves))
		if row.Moves[i].Under < 2 {
			return false
		}
		half := row.Moves[i]
		half.Under = 1 + r.IntN(half.Under-1)
		row.Moves[i].Under -= half.Under
		row.Moves = slices.Insert(row.Moves, i, half)
		return true
	}},
	{"one pass the wrong way", func(r *rand.Rand, p *Plan) bool {
		m := anyMove(r, p)
		m.Toward = m.Toward.Other()
		return true
	}},
	{"every pass the wrong way", func(r *rand.Rand, p *Plan) bool {
		for i := range p.Rows {
			for j := range p.Rows[i].Moves {
				p.Rows[i].Moves[j].Toward = p.Rows[i].Moves[j].Toward.Other()
			}
		}
		return true
	}},
	{"the row from its end to its beginning", func(r *rand.Rand, p *Plan) bool {
		slices.Reverse(anyRow(r, p).Moves)
		return true
	}},
	{"a row missing", func(r *rand.Rand, p *Plan) bool {
		i := r.IntN(len(p.Rows))
		p.Rows = slices.Delete(p.Rows, i, i+1)
		return true
	}},
	{"a row twice", func(r *rand.Rand, p *Plan) bool {
		i := r.IntN(len(p.Rows))
		row := p.Rows[i]
		row.Moves = slices.Clone(row.Moves)
		p.Rows = slices.Insert(p.Rows, i, row)
		return true
	}},
	{"two rows swapped", func(r *rand.Rand, p *Plan) bool {
		i, j := r.IntN(len(p.Rows)), r.IntN(len(p.Rows))
		p.Rows[i].Moves, p.Rows[j].Moves = p.Rows[j].Moves, p.Rows[i].Moves
		return true
	}},
	{"all plain", func(r *rand.Rand, p *Plan) bool {
		d := plainOf(p.Design)
		*p = *written(d)
		return true
	}},
	{"all plain in one row", func(r *rand.Rand, p *Plan) bool {
		i := r.IntN(len(p.Rows))
		p.Rows[i] = written(plainOf(p.Design)).Rows[i]
		return true
	}},
	{"the near groups finished on the way home", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		if p.Design.Way == TwoWay || len(row.Groups) < 2 {
			return false
		}
		finishOnTheWayHome(p.Design, row)
		return true
	}},
	{"anything, in any two to four moves", func(r *rand.Rand, p *Plan) bool {
		for range 2 + r.IntN(3) {
			m := anyMove(r, p)
			switch r.IntN(3) {
			case 0:
				m.Under += r.IntN(5) - 2
			case 1:
				m.Shed = m.Shed.Other()
			case 2:
				m.Toward = m.Toward.Other()
			}
		}
		return true
	}},
}

// plainOf is the design with one group as wide as the warp in each row.
func plainOf(d Design) Design {
	d.Rows = repeatRows(Groups{d.Ends / 2}, len(d.Rows))
	return d
}

// finishOnTheWayHome weaves one pass over the first group, works all others,
// and makes the first group's passes up after the pick home, which is no longer
// plain: the same picks over every end and the same turns at the inner borders.
func finishOnTheWayHome(d Design, row *Row) {
	first := d.Passes - 1 // passes over the first group alone
	row.Moves = slices.Concat(row.Moves[first:], row.Moves[:first])
}

// ofDesigns are the spoilers which plan, rightly, for another design than the
// one asked.
var ofDesigns = []struct {
	name  string
	other func(r *rand.Rand, d *Design) bool
}{
	{"a pair of ends moved to the next group, in all rows", func(r *rand.Rand, d *Design) bool {
		g, ok := movePair(r, d.Rows[0])
		d.Rows = repeatRows(g, len(d.Rows))
		return ok
	}},
	{"a pair of ends moved to the next group, in one row", func(r *rand.Rand, d *Design) bool {
		i := r.IntN(len(d.Rows))
		g, ok := movePair(r, d.Rows[i])
		d.Rows[i] = g
		return ok
	}},
	{"two groups in one", func(r *rand.Rand, d *Design) bool {
		i := r.IntN(len(d.Rows))
		g := slices.Clone(d.Rows[i])
		if len(g) < 2 {
			return false
		}
		j := r.IntN(len(g) - 1)
		g[j] += g[j+1]
		d.Rows[i] = slices.Delete(g, j+1, j+2)
		return true
	}},
	{"one group in two", func(r *rand.Rand, d *Design) bool {
		i := r.IntN(len(d.Rows))
		g := slices.Clone(d.Rows[i])
		j := r.IntN(len(g))
		if g[j] < 2 {
			return false
		}
		part := 1 + r.IntN(g[j]-1)
		g[j] -= part
		d.Rows[i] = slices.Insert(g, j, part)
		return true
	}},
	{"the leftover at the other side", func(r *rand.Rand, d *Design) bool {
		for i := range d.Rows {
			d.Rows[i] = slices.Clone(d.Rows[i])
			slices.Reverse(d.Rows[i])
		}
		return true
	}},
	{"another number of raised ends", func(r *rand.Rand, d *Design) bool {
		d.Rows = repeatRows(uniform(d.Ends, 1+r.IntN(d.Ends/2)), len(d.Rows))
		return true
	}},
	{"rows in another order", func(r *rand.Rand, d *Design) bool {
		d.Rows = slices.Clone(d.Rows)
		slices.Reverse(d.Rows)
		return true
	}},
	{"two passes more", func(r *rand.Rand, d *Design) bool { d.Passes += 2; return true }},
	{"two passes fewer", func(r *rand.Rand, d *Design) bool { d.Passes -= 2; return d.Passes >= 3 }},
	{"the other way home", func(r *rand.Rand, d *Design) bool { d.Way = 1 - d.Way; return true }},
	{"from the other side", func(r *rand.Rand, d *Design) bool { d.From = d.From.Other(); return true }},
	{"an end more", func(r *rand.Rand, d *Design) bool { return resize(d, 1) }},
	{"an end fewer", func(r *rand.Rand, d *Design) bool { return resize(d, -1) }},
	{"two ends more", func(r *rand.Rand, d *Design) bool { return resize(d, 2) }},
	{"two ends fewer", func(r *rand.Rand, d *Design) bool { return resize(d, -2) }},
	{"a row more", func(r *rand.Rand, d *Design) bool { d.Rows = append(d.Rows, d.Rows[len(d.Rows)-1]); return true }},
	{"a row fewer", func(r *rand.Rand, d *Design) bool { d.Rows = d.Rows[1:]; return len(d.Rows) > 0 }},
}

func movePair(r *rand.Rand, g Groups) (Groups, bool) {
	g = slices.Clone(g)
	if len(g) < 2 {
		return g, false
	}
	from := r.IntN(len(g))
	to := from + 1
	if to == len(g) || from > 0 && r.IntN(2) == 0 {
		to = from - 1
	}
	if g[from] < 2 {
		return g, false
	}
	g[from]--
	g[to]++
	return g, true
}

// resize gives the last groups what the warp has more or less.
func resize(d *Design, by int) bool {
	pairs := (d.Ends+by)/2 - d.Ends/2
	d.Ends += by
	for i, g := range d.Rows {
		g = slices.Clone(g)
		g[len(g)-1] += pairs
		if g[len(g)-1] < 1 {
			return false
		}
		d.Rows[i] = g
	}
	return true
}

// ofWords are the spoilers which leave the weaving right and say a wrong thing
// about it.
var ofWords = []spoiler{
	{"the word for a turn", func(r *rand.Rand, p *Plan) bool {
		m := anyMove(r, p)
		m.Turn = (m.Turn + Tension(1+r.IntN(2))) % 3
		return true
	}},
	{"the kind of a move", func(r *rand.Rand, p *Plan) bool {
		m := anyMove(r, p)
		m.Kind = 1 - m.Kind
		return true
	}},
	{"the number of a row", func(r *rand.Rand, p *Plan) bool { anyRow(r, p).Number += 1 - 2*r.IntN(2); return true }},
	{"the side of a row", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		row.Start = row.Start.Other()
		return true
	}},
	{"the size of a group", func(r *rand.Rand, p *Plan) bool {
		g := anyRow(r, p).Groups
		g[r.IntN(len(g))]++
		return true
	}},
	{"the sizes of the groups, turned round", func(r *rand.Rand, p *Plan) bool {
		slices.Reverse(anyRow(r, p).Groups)
		return true
	}},
	{"a group not named", func(r *rand.Rand, p *Plan) bool {
		row := anyRow(r, p)
		row.Groups = row.Groups[1:]
		return true
	}},
	{"the ends asked", func(r *rand.Rand, p *Plan) bool { p.Design.Ends++; return true }},
	{"the side asked", func(r *rand.Rand, p *Plan) bool { p.Design.From = p.Design.From.Other(); return true }},
	{"the way asked", func(r *rand.Rand, p *Plan) bool { p.Design.Way = 1 - p.Design.Way; return true }},
	{"the passes asked", func(r *rand.Rand, p *Plan) bool { p.Design.Passes += 2; return true }},
	{"the groups asked", func(r *rand.Rand, p *Plan) bool {
		g, ok := movePair(r, p.Design.Rows[0])
		p.Design.Rows[0] = g
		return ok
	}},
}
