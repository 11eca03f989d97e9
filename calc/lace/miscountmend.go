package lace

// Remedy is what can be done about a mistake at one place.
//
// To unpick back to the mistake is always right. To carry on is offered only
// where it was woven in simulation: the row as it was made, its pick home with
// what it then lacks, and the next row with what it then leaves out come out
// level, with no pass in the shed of the one below.
type Remedy struct {
	Unpick  int // moves to take out, from the last forward pass back through the mistake; 0 for a warp
	CarryOn bool
	Last    int // raised ends to the far selvedge in the last forward pass, when she carries on
	// Thin are places woven too little, in the order in which the pick home meets
	// them: there she weaves forward and back once more, or Trips times.
	Thin []Stretch
	// Thick is a place woven once there and back too often: the next row leaves one
	// such trip out there. Raised is 0 where there is none.
	Thick Stretch
}

// Stretch is a place in a row, between the raised ends counted from the side
// where the row starts.
type Stretch struct {
	Before int // raised ends before it, in the shed of the first pass
	Raised int // raised ends in it
	Trips  int
	Group  int  // in which it lies, or begins, from 1
	AtEdge bool // it ends at the far selvedge
}

// mostTrips bounds what is asked of a weaver who carries on.
const mostTrips = 4

// Remedy works out what to do about a cause at its likeliest place. For a cause
// that may lie at several places, carrying on is offered only when it would come
// right at the first and the last of them, too.
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
	r, _ := row.remedy(p.Design, next, c.Example, d.left)
	for _, other := range c.others {
		if also, _ := row.remedy(p.Design, next, other, d.left); !also.CarryOn {
			r.CarryOn = false
		}
	}
	return r
}

// remedy tries to carry on after a mistake, if left is not below 0 only in a way
// that leaves so many raised ends in the last forward pass.
func (c *course) remedy(d Design, next *course, m Mistake, left int) (Remedy, *trial) {
	r := Remedy{Unpick: c.last() + 1 - m.Step + 1}
	real, s := c, slip{}
	if m.Kind == WarpCount {
		r.Unpick, real = 0, c.on(c.ends+m.By)
	} else if s = c.slipOf(m); s.times == 0 {
		return r, nil
	}
	if d.Way != OneWay || m.Kind == ShedNotChanged || s.flip || s.from == c.last() {
		return r, nil
	}
	for _, byHole := range []bool{false, true} {
		t, carried := newTrial(c, real), r
		if t.weaveRow(s, byHole) && (left < 0 || t.last == left) && t.fillOnTheWayHome(&carried) && t.settle(next, &carried) {
			carried.CarryOn = true
			return carried, t
		}
	}
	return r, nil
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
	last       int // raised ends of the last forward pass
	made       []stride
}

func newTrial(plan, real *course) *trial {
	t := &trial{plan: plan, real: real}
	wide := *real
	wide.bounds, wide.at = []int{0, real.ends}, []int{0}
	t.cloth = wide.swatch(0, 1)
	return t
}

// pass makes one move and tells whether its whole count could be made.
func (t *trial) pass(m stride) bool {
	to, missed := t.real.go1(t.at, m, false)
	if m.under -= missed; m.under < 1 {
		return false // nothing there to go under
	}
	t.made = append(t.made, m)
	t.cloth.lay(min(t.at, to), max(t.at, to), m.shed, m.forward)
	t.at = to
	return missed == 0
}

// weaveRow weaves the row with its slip. Who comes to the selvedge too soon, or
// goes byHole, goes back to the last hole in the far group; the last forward pass
// is to the selvedge.
func (t *trial) weaveRow(s slip, byHole bool) bool {
	c := t.plan
	far := len(c.bounds) - 2
	hole, early := 0, false
	for i := 0; i < c.last(); i++ {
		made, inFar, slips := c.moves[i:i+1], c.groupOf(i) == far, false
		if s.times > 0 && i == s.from {
			made, slips = s.made, true
			i = s.next - 1
		}
		for _, m := range made {
			back := !m.forward && !slips && (early || byHole && inFar) && hole < t.at
			if back {
				m.under = t.real.raised(m.shed, hole, t.at)
			}
			whole := t.pass(m)
			switch {
			case !m.forward && !whole || back && t.at != hole:
				return false
			case !whole:
				early = true
			}
			if m.forward && !inFar && t.at < t.real.ends {
				hole = t.at
			}
		}
	}
	last := c.moves[c.last()]
	last.under = t.real.ahead(t.at, last.shed)
	t.last = last.under
	if last.under > 0 && !t.pass(last) {
		return false
	}
	return t.at == t.real.ends
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
	r.Last = t.last
	forth := t.plan.moves[0].shed
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
		st := Stretch{Before: t.real.raised(forth, 0, low), Raised: t.real.raised(forth, low, e), Trips: lacks / 2, Group: t.plan.groupAt(low), AtEdge: e == t.real.ends}
		r.Thin = append(r.Thin, st)
		if trips += st.Trips; trips > mostTrips || !t.backTo(low, forth.Other()) {
			return false
		}
		for range st.Trips {
			if !t.pass(stride{true, forth, t.real.raised(forth, low, e)}) || t.at != e && e < t.real.ends || !t.backTo(low, forth.Other()) {
				return false
			}
		}
		e = low + 1
	}
	return t.backTo(0, forth.Other())
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
	moves := append([]stride(nil), next.moves...)
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
	for _, m := range moves {
		if m.under < 1 || !t.pass(m) {
			return false
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
