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
// names; where she saw something in a group, the cloth of each is looked at. Each
// is followed a second time as someone goes on who does not stop where a count
// cannot be made, or who goes by her holes: what gives it only so is Near, and
// has the lesser weight of those who do (otherwise.go). Where no slip of one
// who stops gives her count, pairs are tried as well.
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
	if o.Counted() && !f.exact() {
		f.pairs()
	}
	d.Causes, d.Candidates = f.causes(), f.tried
	d.Near = len(d.Causes) > 0 && !slices.ContainsFunc(d.Causes, func(c Cause) bool { return !c.Near })
	return d, nil
}

// finder gathers the mistakes that fit an observation.
type finder struct {
	seen   Observation
	course *course
	until  int // the move she is at, from 0
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

// placed is a move and how many others of its group are just like it.
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

// try follows one slip, as made by someone who does as she is told and by others,
// and adds up what fits what is seen.
func (f *finder) try(s slip) {
	f.tried++
	told, near := f.asTold(s)
	f.add(sameMistake{kind: s.Kind, by: s.By}, s.Mistake, s.weight*told, s.weight*(near+f.otherwise(s)), s.times)
}

// asTold is how likely she who stops where a count cannot be made, and goes by her
// counts, says what is said after a slip, and how likely she is then one group out.
func (f *finder) asTold(s slip) (told, near float64) {
	got := f.course.stopOf(s, f.until, f.stops)
	if !got.made {
		return 0, 0
	}
	if f.seen.Counted() && s.from < f.course.last() {
		if after, _, ok := f.course.slipped(s); ok && after.steady() {
			f.effects[effect{s.Kind, s.By, after.off, after.flipped}] += s.weight * float64(s.times)
		}
	}
	told = f.matches(got)
	if told == 0 || f.seen.Sees == NothingSeen {
		return told, 0
	}
	named, there := f.showsHere(s)
	return f.seen.split(told, named, there)
}

// split is a chance of what is said where something is seen in a group: that it is
// there, and that it is not. Beside a count, which is exact, what is seen is a hint.
func (o Observation) split(chance, named, there float64) (exact, near float64) {
	if o.Counted() {
		return chance * named, 0
	}
	return chance * there, chance * (named - there)
}

// matches is how likely she says what she says of counts where a row has come to
// such a stop: 0 where it is not so.
func (f *finder) matches(got stop) float64 {
	o, does := f.seen, byCount
	if got.missed > 0 {
		does = stops
	}
	switch {
	case o.HasLeft && (got.at != f.until || got.ahead != o.Left):
		return 0
	case o.Short > 0 && (got.missed != o.Short || o.Move > 0 && got.at != f.until):
		return 0
	case !o.Counted() && (got.missed > 0 || got.ahead != f.expected()):
		return does * unsaid
	}
	return does
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
	other, weight := c.on(c.ends+h.By), h.Weight
	if f.seen.Row > 1 {
		weight *= laterRow
	}
	told, others := f.matches(other.stopsAt(state{}, f.until, nil)), 0.0
	if out := other.finish(state{}, nil); out.made {
		others = f.fits(out)
	}
	if f.seen.Sees != NothingSeen {
		named, there := firstNamed(c.lookOn(other, f.through(), true), f.seen, 1)
		anyway, _ := firstNamed(c.lookOn(other, f.through(), false), f.seen, 1)
		others *= anyway
		var near float64
		told, near = f.seen.split(told, named, there)
		others += near
	}
	f.add(sameMistake{kind: WarpCount}, Mistake{Kind: WarpCount, By: h.By}, weight*told, weight*others, 1)
}

// expected is the planned count of the last forward pass.
func (f *finder) expected() int { return f.course.moves[f.course.last()].under }

// pairs puts two slips together, by what each leaves behind it: the second
// begins where the first has left the shuttle. The same slip twice is likelier
// than two of a kind apart.
func (f *finder) pairs() {
	effects := slices.SortedFunc(maps.Keys(f.effects), func(a, b effect) int {
		return cmp.Or(cmp.Compare(f.effects[b], f.effects[a]), cmp.Compare(a.kind, b.kind), cmp.Compare(a.by, b.by), cmp.Compare(a.off, b.off))
	})
	effects = slices.DeleteFunc(effects, func(e effect) bool { return e.off == 0 && !e.flip })
	effects = effects[:min(len(effects), mostEffects)]
	for i, a := range effects {
		for _, b := range effects[i:] {
			chance := slipChance
			if a.kind == b.kind {
				chance *= sameAgain
			}
			f.pair(a, b, f.effects[a]*f.effects[b]*chance)
		}
	}
}

// mostEffects bounds the pairs that are tried (our own bound).
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
	f.add(sameMistake{a.kind, a.by, true, b.kind, b.by}, Mistake{Kind: a.kind, By: a.by}, weight*f.matches(got), 0, 1)
}
