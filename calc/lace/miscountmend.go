package lace

import "slices"

// Remedy is what can be done about a mistake.
//
// To unpick back to the mistake is always right. To carry on is offered only
// where it was woven in simulation exactly as it is told: the row as it was made up
// to where she must stop, from there the passes of Rest in place of those planned,
// the way home in the parts of Home, and the next row with those of Next come out
// level, with no pass in the shed of the one below.
type Remedy struct {
	Unpick  int // passes to take out, from where she is back through the mistake; 0 for a warp, or where nothing has to come out
	CarryOn bool
	Rest    []Instead // passes of this row, from where she stops on, that go under another number
	Next    []Instead // and of the next row
	// Home is the way home, its parts turn by turn; empty for one plain pick.
	Home []Part
	// Thin are places woven too little, in the order in which the way home meets them.
	Thin []Stretch
	// Thick is a place woven once there and back too often, which Next lets out.
	// Raised is 0 where there is none.
	Thick Stretch
}

// Instead is a pass that goes under another number of raised ends than planned.
type Instead struct {
	Step    int // from 1, within its row
	Back    bool
	Under   int
	Planned int
}

// Part is a pass on the way home.
type Part struct {
	Forward bool // away from where the row starts
	Under   int  // raised ends
}

// Stretch is a place in a row, between the raised ends counted from the side
// where the row starts.
type Stretch struct {
	Before int // raised ends before it, in the shed of the first pass
	Raised int // raised ends in it, in that shed
	Back   int // and in the other one
	Trips  int // there and back
	Group  int // in which it lies, or begins, from 1
	AtEdge bool
}

// mostTrips bounds what is asked of a weaver who carries on, mostPlaces the places
// of a cause at which carrying on is tried (our own bounds).
const (
	mostTrips  = 4
	mostPlaces = 60
)

// Remedy works out what to do about a cause. For one that may lie at several
// places, carrying on is offered only where it is told in the same words for all of
// them: of more than mostPlaces, for those at both ends and every so many between.
func (d Diagnosis) Remedy(p *Plan, c Cause) Remedy {
	at := d.Row - 1
	row := courseOf(p, at)
	var next *course
	if at+1 < len(p.Rows) {
		next = courseOf(p, at+1)
	}
	if c.And != nil {
		return Remedy{}
	}
	r, _ := row.remedy(p.Design, next, c.Example, d.until)
	if c.Near || !d.at { // where she is, no one knows
		r.Unpick = 0
	}
	if c.Near {
		r.CarryOn = false
	}
	every := 1 + len(c.all)/mostPlaces
	for i, other := range c.all {
		if !r.CarryOn {
			break
		}
		if i%every != 0 && i > mostPlaces/4 && i < len(c.all)-mostPlaces/4 || other == c.Example {
			continue
		}
		also, _ := row.remedy(p.Design, next, other, d.until)
		r.CarryOn = also.CarryOn && c.Places != 1 && r.toldAs(also)
	}
	if !r.CarryOn {
		return Remedy{Unpick: r.Unpick}
	}
	return r
}

// toldAs tells whether two remedies are the same to someone who must find the
// place herself.
func (r Remedy) toldAs(o Remedy) bool {
	same := func(a, b Stretch) bool {
		return a.Raised == b.Raised && a.Back == b.Back && a.Trips == b.Trips && a.AtEdge == b.AtEdge
	}
	return slices.Equal(r.Rest, o.Rest) && slices.Equal(r.Next, o.Next) && slices.EqualFunc(r.Thin, o.Thin, same)
}

// remedy tries to carry on after a mistake that shows at the move until or before.
func (c *course) remedy(d Design, next *course, m Mistake, until int) (Remedy, *trial) {
	var r Remedy
	real, s := c, slip{}
	var stops stop
	if m.Kind == WarpCount {
		real = c.on(c.ends + m.By)
		stops = real.stopsAt(state{}, c.last(), nil)
	} else {
		if s = c.slipOf(m); s.times == 0 {
			return r, nil
		}
		is := c.stopOf(s, until, nil)
		r.Unpick = max(0, is.at-s.next+len(s.made))
		if is.at == s.from {
			r.Unpick = 0
		}
		stops = c.stopOf(s, c.last(), nil)
	}
	if d.Way != OneWay || m.Kind == ShedNotChanged || s.flip || !stops.made {
		return r, nil
	}
	if m.Kind == WarpCount && c.start == Left && m.By%2 != 0 {
		return r, nil // the next row would begin in the shed of the way home
	}
	t := newTrial(c, real)
	from := max(min(stops.at, until), 0)
	if t.weaveRow(s, from, &r) && t.fillOnTheWayHome(&r) && t.settle(next, &r) {
		r.CarryOn = true
		return r, t
	}
	return Remedy{Unpick: r.Unpick}, nil
}

// slipOf finds the slip of a mistake; times is 0 when there is none.
func (c *course) slipOf(m Mistake) (found slip) {
	c.slips(m.Step-1, 1, make([]stride, 0, 4), func(s slip) {
		if s.Mistake == m {
			found = s
			found.made = append([]stride(nil), s.made...)
		}
	})
	return found
}

// trial is a row woven on to its end in spite of a mistake.
type trial struct {
	plan, real *course
	cloth      *swatch
	at         int
	made       []stride
}

func newTrial(plan, real *course) *trial {
	t := &trial{plan: plan, real: real}
	wide := *real
	wide.bounds, wide.at = []int{0, real.ends}, []int{0}
	t.cloth = wide.swatch(0, 1)
	return t
}

// pass makes one move, and tells whether it could be made.
func (t *trial) pass(m stride) bool {
	if m.under < 1 {
		return false
	}
	to, missed := t.real.go1(t.at, m, false)
	if missed > 0 {
		return false
	}
	t.made = append(t.made, m)
	t.cloth.lay(min(t.at, to), max(t.at, to), m.shed, m.forward)
	t.at = to
	return true
}

// weaveRow weaves the row with its slip, up to the move stops as she made it. From
// there on who comes to the selvedge too soon goes back to the last hole; the last
// forward pass is to the selvedge.
func (t *trial) weaveRow(s slip, stops int, r *Remedy) bool {
	c := t.plan
	far := len(c.bounds) - 2
	hole, early := 0, false
	for i := 0; i < c.last(); i++ {
		made, slips := c.moves[i:i+1], false
		if s.times > 0 && i == s.from {
			made, slips = s.made, true
			i = s.next - 1
		}
		for _, m := range made {
			planned := m.under
			if !slips && early && !m.forward && hole < t.at {
				m.under = t.real.raised(m.shed, hole, t.at)
			}
			if !slips && m.forward && i >= stops {
				if ahead := t.real.ahead(t.at, m.shed); ahead < m.under {
					m.under, early = ahead, true
				}
			}
			if !t.pass(m) || !slips && !m.forward && early && t.at != hole {
				return false
			}
			if m.under != planned {
				r.Rest = append(r.Rest, Instead{i + 1, !m.forward, m.under, planned})
			}
			if m.forward && c.groupOf(i) != far && t.at < t.real.ends {
				hole = t.at
			}
		}
	}
	last := c.moves[c.last()]
	planned := last.under
	if last.under = t.real.ahead(t.at, last.shed); last.under != planned {
		r.Rest = append(r.Rest, Instead{c.last() + 1, false, last.under, planned})
	}
	return t.pass(last) && t.at == t.real.ends
}

// raised is the number of raised ends between two places.
func (c *course) raised(s Shed, low, high int) (n int) {
	for e := low + 1; e <= high; e++ {
		if c.raises(s, e) {
			n++
		}
	}
	return n
}

// fillOnTheWayHome weaves the pick home, and in it once more what was woven too
// little. Every count is made as she would make it, and must come out.
func (t *trial) fillOnTheWayHome(r *Remedy) bool {
	forth, begun := t.plan.moves[0].shed, len(t.made)
	trips := 0
	for e := t.real.ends; e > 0; e-- {
		lacks := t.plan.passes - t.cloth.picks[e-1]
		if lacks <= 0 {
			continue
		}
		if lacks%2 != 0 {
			return false
		}
		low := e - 1
		for low > 0 && t.plan.passes-t.cloth.picks[low-1] == lacks {
			low--
		}
		st := Stretch{Before: t.real.raised(forth, 0, low), Raised: t.real.raised(forth, low, e), Back: t.real.raised(forth.Other(), low, e), Trips: lacks / 2, Group: t.plan.groupAt(low), AtEdge: e == t.real.ends}
		r.Thin = append(r.Thin, st)
		if trips += st.Trips; trips > mostTrips || !t.backTo(low, forth.Other()) {
			return false
		}
		for range st.Trips {
			if !t.pass(stride{true, forth, t.real.raised(forth, low, e)}) || t.at != e || !t.backTo(low, forth.Other()) {
				return false
			}
		}
		e = low + 1
	}
	if !t.backTo(0, forth.Other()) {
		return false
	}
	if len(r.Thin) > 0 {
		r.Home = partsOf(t.made[begun:])
	}
	return true
}

// partsOf joins passes that go on the same way.
func partsOf(made []stride) (parts []Part) {
	for _, m := range made {
		if n := len(parts); n > 0 && parts[n-1].Forward == m.forward {
			parts[n-1].Under += m.under
			continue
		}
		parts = append(parts, Part{m.forward, m.under})
	}
	return parts
}

// backTo goes back to a place by a count, if there is one that leads there.
func (t *trial) backTo(place int, s Shed) bool {
	if t.at == place {
		return true
	}
	return t.pass(stride{false, s, t.real.raised(s, place, t.at)}) && t.at == place
}

// groupAt is the group (from 1) in which a place lies.
func (c *course) groupAt(place int) int {
	g := 1
	for g < len(c.bounds)-1 && c.bounds[g] <= place {
		g++
	}
	return g
}

// settle looks at the cloth once the weft is home. What was woven once too often
// must be left out by the next row, where its group can do without.
func (t *trial) settle(next *course, r *Remedy) bool {
	level := t.plan.passes + 1
	low, high := -1, -1
	for e := 1; e <= t.real.ends; e++ {
		if t.cloth.undone[e-1] || t.cloth.doubled[e-1] {
			return false
		}
		switch t.cloth.picks[e-1] - level {
		case 0:
		case 2:
			if low >= 0 && high != e-1 {
				return false // two such places
			}
			if low < 0 {
				low = e - 1
			}
			high = e
		default:
			return false
		}
	}
	if low < 0 {
		return true
	}
	forth := t.plan.moves[0].shed
	r.Thick = Stretch{Before: t.real.raised(forth, 0, low), Raised: t.real.raised(forth, low, high), Trips: 1}
	if next == nil || t.real.ends != t.plan.ends {
		return false
	}
	return t.leaveOut(next, low, high, r)
}

// leaveOut weaves the next row with one trip less over a stretch that lies at
// one side of a group, and tells whether all is level then.
func (t *trial) leaveOut(next *course, low, high int, r *Remedy) bool {
	g := next.groupAt(low)
	r.Thick.Group = g
	moves := slices.Clone(next.moves)
	first := (g - 1) * (next.passes - 1)
	switch {
	case high == next.bounds[g] && low > next.bounds[g-1]: // forward stops short, and so does the way back
		moves[first].under -= r.Thick.Raised
		moves[first+1].under -= r.Thick.Raised
	case low == next.bounds[g-1] && high < next.bounds[g]: // the way back stops short, and the next forward pass
		moves[first+1].under -= r.Thick.Raised
		moves[first+2].under -= r.Thick.Raised
	default:
		return false
	}
	for i, m := range moves {
		if !t.pass(m) {
			return false
		}
		if planned := next.moves[i].under; m.under != planned {
			r.Next = append(r.Next, Instead{i + 1, !m.forward, m.under, planned})
		}
	}
	if t.at != t.real.ends || !t.backTo(0, moves[0].shed.Other()) {
		return false
	}
	for e := range t.real.ends {
		if t.cloth.undone[e] || t.cloth.doubled[e] || t.cloth.picks[e] != 2*(next.passes+1) {
			return false
		}
	}
	return true
}
