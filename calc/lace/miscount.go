package lace

import (
	"cmp"
	"maps"
	"slices"
)

// Diagnose finds the mistakes that give what a weaver says of a row of p,
// likeliest first. It tries every single slip of Habits at every place (alike
// passes in the middle of a group once for all of them), follows each by its
// counts to where she is or must stop, and keeps those that give the count she
// names; where she saw something in a group, the cloth of each is looked at. When
// no single slip gives her count, pairs are tried; when none does either, slips of
// someone who did not stop (Diagnosis.Near).
//
// The work grows with the moves of the row, and with the ends up to a group that
// is looked at; each slip costs less than planning and proving its row. The
// error is that of Observation.Check.
func Diagnose(p *Plan, o Observation) (Diagnosis, error) {
	if err := o.Check(p); err != nil {
		return Diagnosis{}, err
	}
	f := newFinder(p, o)
	m := f.course.moves[f.until]
	d := Diagnosis{Row: o.Row, Move: f.until + 1, Back: !m.forward, Expected: m.under, until: f.until, at: o.Counted()}
	d.Ahead = f.course.before(f.course.at[f.until], m, false)
	if o.HasLeft && o.Left == d.Ahead && o.Short == 0 && o.Sees == NothingSeen {
		return d, nil // as it should be
	}
	f.singles()
	if len(f.sums) == 0 && o.Counted() {
		f.pairs()
	}
	if len(f.sums) == 0 && (o.Move == 0 || o.Sees != NothingSeen) {
		f.near, d.Near = true, true
		f.singles()
	}
	d.Causes, d.Candidates = f.causes(), f.tried
	return d, nil
}

// finder gathers the mistakes that fit an observation.
type finder struct {
	seen   Observation
	course *course
	until  int // the move she is at, from 0
	near   bool
	memo   map[state]outcome
	stops  map[state]stop
	tried  int

	sums    map[sameMistake]*sum
	effects map[effect]float64 // what each kind of mistake does, for pairs
	atFar   map[state]float64
	noticed map[slipKind]float64
}

// effect is what a mistake leaves behind it: a distance, and which sheds.
type effect struct {
	kind MistakeKind
	by   int
	off  int
	flip bool
}

func newFinder(p *Plan, o Observation) *finder {
	c := courseOf(p, o.Row-1)
	until := c.last()
	if o.Move > 0 {
		until = min(until, o.Move-1) // the pick home begins where the last forward pass ends
	}
	return &finder{
		seen: o, course: c, until: until, memo: map[state]outcome{}, stops: map[state]stop{},
		sums: map[sameMistake]*sum{}, effects: map[effect]float64{},
		atFar: map[state]float64{}, noticed: map[slipKind]float64{},
	}
}

// slip is a mistake with the moves that were made in place of those planned.
type slip struct {
	Mistake
	from   int      // the first planned move that was not made as planned, from 0
	made   []stride // in place of moves from to next-1
	next   int      // the planned move with which she goes on
	flip   bool     // the sheds after it
	weight float64
	times  int // at how many places just like this one
}

func (f *finder) singles() {
	c := f.course
	var made [4]stride // one buffer for all
	for g := range len(c.bounds) - 1 {
		if f.near && f.looksElsewhere(g) {
			continue
		}
		for _, at := range c.alike(g) {
			c.slips(at.index, at.times, made[:0], f.try)
		}
	}
	for _, h := range Habits {
		if h.Kind == WarpCount {
			f.tryWarp(h)
		}
	}
}

// looksElsewhere tells of a group so far from the one that she looks at that no
// slip in it shows there.
func (f *finder) looksElsewhere(g int) bool {
	return f.seen.Group > 0 && !f.isNear(g) && (!f.isFar() || g >= f.seen.Group)
}

// place is a move and how many others of its group are just like it.
type placed struct{ index, times int }

// alike are the moves of group g, of the trips in its middle only one.
func (c *course) alike(g int) []placed {
	p := c.passes - 1
	var all []placed
	for i := range p {
		times := 1
		if i == 2 || i == 3 {
			times = max(1, p/2-2)
		}
		if i > 3 && i < p-2 {
			continue
		}
		all = append(all, placed{g*p + i, times})
	}
	if g == len(c.bounds)-2 {
		all = append(all, placed{c.last(), 1})
	}
	return all
}

// slips gives each slip that begins with move i. In made there must be room for
// four moves.
func (c *course) slips(i, times int, made []stride, try func(slip)) {
	m := c.moves[i]
	s := slip{Mistake: Mistake{Group: c.groupOf(i) + 1, Step: i + 1}, from: i, times: times}
	give := func(kind MistakeKind, by, next int, made ...stride) {
		s.Kind, s.By, s.next, s.made, s.weight = kind, by, next, made, habit(kind, by, m.under)
		if kind == ShedNotChanged || kind >= PassMissing && by == 1 {
			s.weight /= 2 // half go on changing the shed, half read it off the plan
		}
		if s.weight > 0 {
			try(s)
		}
	}
	wrong := m
	wrong.shed = m.shed.Other()
	for _, s.Stays = range []bool{true, false} {
		s.flip = s.Stays
		s.Group = c.groupOf(max(i-1, 0)) + 1 // where the turn was at which the shed should have changed
		give(ShedNotChanged, 1, i+1, append(made, wrong)...)
		if s.Group = c.groupOf(i) + 1; i == c.last() {
			continue
		}
		again := m
		again.shed = m.inShed(s.flip)
		give(PassMissing, 1, i+1)
		give(PassExtra, 1, i+1, append(made, m, again)...)
	}
	if i == c.last() {
		return // her count of it is what we are told
	}
	long, short := GroupLong, GroupShort
	if !m.forward {
		long, short = BackLong, BackShort
	}
	for by := 1; by <= 2; by++ {
		over, under := m, m
		over.under, under.under = m.under+by, m.under-by
		give(long, by, i+1, append(made, over)...)
		if under.under > 0 {
			give(short, by, i+1, append(made, under)...)
		}
	}
	if i+2 <= c.last() {
		give(PassMissing, 2, i+2)
		give(PassExtra, 2, i+2, append(made, m, c.moves[i+1], m, c.moves[i+1])...)
	}
}

// try follows one slip and, if it fits what is seen, adds it up.
func (f *finder) try(s slip) {
	f.tried++
	if f.near {
		out, after := f.course.comesOut(s, f.memo)
		if !out.made {
			return
		}
		weight := s.weight * f.fits(out)
		if weight > 0 && f.seen.Sees != NothingSeen {
			weight *= f.shows(s, after)
		}
		f.add(sameMistake{kind: s.Kind, by: s.By}, s.Mistake, weight, s.times)
		return
	}
	got := f.course.stopOf(s, f.until, f.stops)
	if !got.made {
		return
	}
	if f.seen.Counted() && s.from < f.course.last() {
		if after, _, ok := f.course.slipped(s); ok && after.steady() {
			f.effects[effect{s.Kind, s.By, after.off, after.flipped}] += s.weight * float64(s.times)
		}
	}
	weight := s.weight * f.matches(got)
	if weight > 0 && f.seen.Sees != NothingSeen {
		weight *= f.showsHere(s)
	}
	f.add(sameMistake{kind: s.Kind, by: s.By}, s.Mistake, weight, s.times)
}

// matches is how likely she says what she says of counts where a row has come to
// such a stop: 0 where it is not so.
func (f *finder) matches(got stop) float64 {
	o := f.seen
	switch {
	case o.HasLeft && (got.at != f.until || got.ahead != o.Left):
		return 0
	case o.Short > 0 && (got.missed != o.Short || o.Move > 0 && got.at != f.until):
		return 0
	case !o.Counted() && (got.missed > 0 || got.ahead != f.expected()):
		return unsaid
	}
	return 1
}

// comesOut follows a slip to the far selvedge. after is where it left her.
func (c *course) comesOut(s slip, memo map[state]outcome) (out outcome, after state) {
	if s.from == c.last() { // the very count that we are told, made in the wrong shed
		left := c.ahead(c.at[s.from], s.made[0].shed)
		return outcome{made: true, left: left, seen: left}, state{}
	}
	after, short, ok := c.slipped(s)
	if !ok {
		return outcome{}, after
	}
	out = c.finish(after, memo)
	if short > 0 {
		out.short = short
	}
	if far := len(c.bounds) - 1; s.Group == far && (s.Kind == GroupLong || s.Kind == GroupShort) {
		out.seen = c.moves[c.last()].under // the hole before the far group is where it should be
	}
	return out, after
}

// slipped makes the moves of a slip. short is as in outcome. It is not ok where
// the selvedge stopped a pass back or a miscounted one, which no one misses.
func (c *course) slipped(s slip) (after state, short int, ok bool) {
	place := c.at[s.from]
	for _, m := range s.made {
		var missed int
		place, missed = c.go1(place, m, false)
		switch {
		case missed > 0 && (!m.forward || s.Kind == GroupLong):
			return state{}, 0, false
		case short == 0:
			short = missed
		}
	}
	return state{s.next, place - c.at[s.next], s.flip}, short, true
}

// tryWarp follows the plan on a warp that has more or fewer ends. On fewer ends
// the plan may not be possible at all.
func (f *finder) tryWarp(h Habit) {
	c := f.course
	if c.ends+h.By < 2 {
		return
	}
	f.tried++
	other := c.on(c.ends + h.By)
	weight := h.Weight
	if f.near {
		out := other.finish(state{}, nil)
		if !out.made {
			return
		}
		weight *= f.fits(out)
	} else {
		weight *= f.matches(other.stopsAt(state{}, f.until, nil))
	}
	if f.seen.Row > 1 {
		weight *= laterRow
	}
	if weight > 0 && f.seen.Sees != NothingSeen {
		weight *= firstNamed(c.lookOn(other, f.through(), !f.near), f.seen, 1, f.exactly())
	}
	f.add(sameMistake{kind: WarpCount, by: h.By}, Mistake{Kind: WarpCount, By: h.By}, weight, 1)
}

// How weavers go through the far group (our judgement). Most go back by their
// counts, some to the last hole that they see. Where a forward pass comes to the
// selvedge before its count is made, most stop there and say by how much.
const (
	byCount, byHole                = 0.7, 0.3
	stops, thenByHole, thenByCount = 0.6, 0.3, 0.1
)

// unsaid is how likely someone who tells what she sees in a group has not come
// to a wrong count yet, or does not speak of it.
const unsaid = 0.4

// expected is the planned count of the last forward pass.
func (f *finder) expected() int { return f.course.moves[f.course.last()].under }

// fits is how likely she says what she says when a row came out so.
func (f *finder) fits(out outcome) float64 {
	count, hole := byCount, byHole
	if out.short > 0 {
		count, hole = thenByCount, thenByHole
	}
	counts := func(left int) (chance float64) {
		if out.left == left {
			chance += count
		}
		if out.seen == left {
			chance += hole
		}
		return chance
	}
	o, chance := f.seen, 1.0
	if !o.Counted() && (out.short > 0 || counts(f.expected()) == 0) {
		chance *= unsaid
	}
	if o.HasLeft {
		chance *= counts(o.Left)
	}
	if o.Short > 0 {
		short := counts(f.expected() - o.Short)
		if out.short == o.Short {
			short += stops
		}
		chance *= short
	}
	return chance
}

// pairs puts two slips together, by what each leaves behind it: the second
// begins where the first has left the shuttle.
func (f *finder) pairs() {
	effects := slices.SortedFunc(maps.Keys(f.effects), func(a, b effect) int {
		return cmp.Or(cmp.Compare(f.effects[b], f.effects[a]), cmp.Compare(a.kind, b.kind), cmp.Compare(a.by, b.by), cmp.Compare(a.off, b.off))
	})
	total := 0.0
	for _, e := range effects {
		total += f.effects[e]
	}
	effects = slices.DeleteFunc(effects, func(e effect) bool { return e.off == 0 && !e.flip })
	effects = effects[:min(len(effects), mostEffects)]
	for i, a := range effects {
		for _, b := range effects[i:] {
			f.pair(a, b, f.effects[a]*f.effects[b]/total)
		}
	}
}

// mostEffects bounds the pairs.
const mostEffects = 150

// pair weighs two slips, both made well before the far selvedge.
func (f *finder) pair(a, b effect, weight float64) {
	f.tried++
	off := a.off + b.off
	at := min(f.course.edge(off), f.until)
	got := f.course.stopsAt(state{at, off, a.flip != b.flip}, f.until, f.stops)
	if !got.made {
		return
	}
	if b.kind < a.kind || b.kind == a.kind && b.by < a.by {
		a, b = b, a
	}
	if a == b {
		weight /= 2
	}
	f.add(sameMistake{a.kind, a.by, true, b.kind, b.by}, Mistake{Kind: a.kind, By: a.by}, weight*f.matches(got), 1)
}
