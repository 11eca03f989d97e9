package lace

// stop is where a weaver is when she says what she sees: at a move that she has
// not made, because its count cannot be made or because she was asked there.
type stop struct {
	made   bool // false where she cannot have come there with this slip
	at     int  // the planned move, from 0
	ahead  int  // raised ends from the shuttle to the selvedge to which it goes
	missed int  // how many that is short of the count
}

// before is the number of raised ends between a place and the selvedge to which
// a move goes.
func (c *course) before(place int, m stride, flipped bool) int {
	shed := m.inShed(flipped)
	if m.forward {
		return c.ahead(place, shed)
	}
	return c.raised(shed, 0, min(place, c.ends))
}

// stopAt is the stop at a move, made or not.
func (c *course) stopAt(i, place int, m stride, flipped bool) stop {
	ahead := c.before(place, m, flipped)
	return stop{true, i, ahead, max(0, m.under-ahead)}
}

// stopsAt weaves on from a state to the first count that cannot be made, or to
// the move until. Without a memo every move is made, and none jumped over.
func (c *course) stopsAt(s state, until int, memo map[state]stop) stop {
	if s.i > until {
		return stop{}
	}
	for s.i < until {
		if g := c.groupOf(s.i); memo != nil && s.steady() && g > 0 && c.bounds[g]+s.off > 0 {
			if edge := min(until, c.edge(s.off)); edge > s.i {
				key := state{edge, s.off, s.flipped}
				got, ok := memo[key]
				if !ok {
					got = c.stopsAt(key, until, memo)
					memo[key] = got
				}
				return got
			}
		}
		place, missed := c.go1(c.at[s.i]+s.off, c.moves[s.i], s.flipped)
		if missed > 0 {
			break
		}
		s.i, s.off = s.i+1, place-c.at[s.i+1]
	}
	return c.stopAt(s.i, c.at[s.i]+s.off, c.moves[s.i], s.flipped)
}

// stopOf follows a slip to the first count that cannot be made, or to the move
// until. A miscounted pass that the selvedge stops is not one: no one misses that.
func (c *course) stopOf(s slip, until int, memo map[state]stop) stop {
	place := c.at[s.from]
	for n, m := range s.made {
		again := s.Kind == PassExtra && n >= s.By
		at := c.planned(s, n)
		if at == until && (again || s.Kind == ShedNotChanged) {
			return c.stopAt(at, place, m, false)
		}
		if at >= until && s.Kind != PassExtra {
			return stop{}
		}
		to, missed := c.go1(place, m, false)
		if missed > 0 {
			if s.Kind <= BackShort {
				return stop{}
			}
			return c.stopAt(at, place, m, false)
		}
		place = to
	}
	return c.stopsAt(state{s.next, place - c.at[s.next], s.flip}, until, memo)
}
