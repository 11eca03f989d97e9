package lace

// What a slip leaves to be seen is found by weaving the groups around it twice,
// as planned and as made, and comparing the two end by end.

// signs are what can be seen in one group.
type signs struct {
	undone  bool // a pass lies in the shed of the pass just before it and so came out again
	doubled bool // a pass lies in the same shed as the one under it, and is held
	thin    bool // a pair of ends has fewer passes than it should
	bare    bool // and so has most of the group
	thick   bool // some ends have more passes
}

// faint is how likely someone says that she sees what is not there (our judgement,
// no source).
const faint = 0.005

// says is how likely she calls a sign by each name, in the order Doubled, Open,
// Float, Undone (our judgement).
var says = []struct {
	sign  func(signs) bool
	names [4]float64
}{
	{func(s signs) bool { return s.undone }, [4]float64{0.40, 0.05, 0.05, 0.50}},
	{func(s signs) bool { return s.doubled }, [4]float64{0.80, 0, 0.10, 0.10}},
	{func(s signs) bool { return s.bare }, [4]float64{0, 0.70, 0.25, 0.05}},
	{func(s signs) bool { return s.thin && !s.bare }, [4]float64{0, 0.45, 0.50, 0.05}},
	{func(s signs) bool { return s.thick }, [4]float64{0.06, 0.08, 0.03, 0}},
}

// anyName is how likely she calls a sign by a name that is none of those (our
// judgement, no source).
const anyName = 0.01

// named is how likely someone who sees this calls it so; noticed, how likely she
// sees it at all.
func (s signs) named(as Seen) (chance, noticed float64) {
	for _, say := range says {
		if say.sign(s) {
			chance = max(chance, say.names[as-1], anyName)
			all := 0.0
			for _, n := range say.names {
				all += n
			}
			noticed = max(noticed, all)
		}
	}
	return chance, noticed
}

// oneOut is how likely she is one group out, to either side, when she says which
// group it is (our judgement, no source).
const oneOut = 0.12

// shows is how likely someone who looks at the cloth of a slip, from the side
// where the row starts, names first what was said.
func (f *finder) shows(s slip, after state) float64 {
	o, c := f.seen, f.course
	if f.isNear(s.Group - 1) {
		low := max(1, min(s.Group, o.Group)-2)
		named, _ := firstNamed(c.look(s, low, min(len(c.bounds)-1, o.Group+1), f.through(), false), o, low)
		return named
	}
	// Far from the slip, only the distance that it left can be seen, at the far selvedge.
	low := max(1, o.Group-2)
	key := state{0, after.off, after.flipped}
	chance, ok := f.atFar[key]
	if !ok {
		chance, _ = firstNamed(c.lookFar(after, low), o, low)
		f.atFar[key] = chance
	}
	return chance * (1 - f.noticedAt(s))
}

// showsHere is how likely she who stops where a count cannot be made names first
// what was said: in all, and because it is in the very group.
func (f *finder) showsHere(s slip) (named, there float64) {
	o := f.seen
	if s.Group > o.Group+aside {
		return o.faintly(), 0
	}
	low := max(1, min(s.Group, o.Group)-2)
	high := min(len(f.course.bounds)-1, o.Group+1)
	return firstNamed(f.course.look(s, low, high, f.through(), true), o, low)
}

// faintly is how likely she says that she sees what is not there. Where it is all
// that she says, it is there.
func (o Observation) faintly() float64 {
	if o.Counted() {
		return faint
	}
	return 0
}

// through is how many moves she has made, or should have: who counts has not made
// the one that she is at.
func (f *finder) through() int {
	if f.seen.Counted() {
		return f.until
	}
	return len(f.course.moves)
}

// noticedAt is how likely she sees a slip where it was made. It is the same for
// slips of one kind well inside the row.
func (f *finder) noticedAt(s slip) float64 {
	key := slipKind{s.Kind, s.By, s.Stays, f.course.moves[s.from].forward}
	noticed, ok := f.noticed[key]
	if !ok {
		for _, g := range f.course.look(s, max(1, s.Group-2), min(len(f.course.bounds)-1, s.Group+1), len(f.course.moves), false) {
			_, n := g.named(Doubled)
			noticed = max(noticed, n)
		}
		f.noticed[key] = noticed
	}
	return noticed
}

// slipKind is what makes two slips show alike.
type slipKind struct {
	kind           MistakeKind
	by             int
	stays, forward bool
}

// namedFirst is how likely she who notices a sign says so, and does not go on to the
// next group (our judgement, no source).
const namedFirst = 0.95

// firstNamed is how likely she who looks at groups, the first of them number low,
// names first what was said: in all, and because it is in the very group. She may
// be one group out.
func firstNamed(seen []signs, o Observation, low int) (named, there float64) {
	named, unseen := o.faintly(), 1.0
	for i, s := range seen {
		chance, noticed := s.named(o.Sees)
		chance *= unseen
		unseen *= 1 - namedFirst*noticed
		switch g := low + i; g {
		case o.Group:
			there = chance
		case o.Group - 1, o.Group + 1:
			chance *= oneOut
		default:
			chance = 0
		}
		named = max(named, chance)
	}
	return named, there
}

// isNear tells of a group (from 0) so near the one that she looks at that a slip in it may
// show there by itself.
func (f *finder) isNear(g int) bool { return g >= f.seen.Group-4 && g <= f.seen.Group+1 }

// isFar tells whether the group that she looks at is where every distance shows.
func (f *finder) isFar() bool { return f.seen.Group >= len(f.course.bounds)-2 }

// aside is how many groups beyond those looked at are woven as well: what
// happens farther off does not reach them.
const aside = 4

// look weaves the neighbourhood of the groups low to high (from 1), and gives
// what is to be seen in each once so many moves of the row are made. When she stops at a count that
// cannot be made, she has what should be woven by then to compare with.
func (c *course) look(s slip, low, high, through int, stops bool) []signs {
	first := max(0, min(low-1-aside, s.Group-2)) * (c.passes - 1)
	end := min(c.movesThrough(max(high, s.Group)+aside), through)
	good, made := c.swatch(first, high+aside), c.swatch(first, high+aside)
	at, _ := made.weave(c, c.at[first], c.moves[first:min(s.from, end)], false, false)
	if s.from < end || s.from == end && s.Kind == PassExtra {
		var n int
		if at, n = made.weave(c, at, s.made, false, stops); n < len(s.made) {
			end = c.planned(s, n)
		}
		if s.next < end {
			at, n = made.weave(c, at, c.moves[s.next:end], s.flip, stops)
			end = s.next + n
		}
	}
	if end == c.last() && s.from < end { // what she counts ahead is what she goes under then
		made.lay(at, c.ends, c.moves[end].inShed(s.flip), true)
		end++
	}
	good.weave(c, c.at[first], c.moves[first:end], false, false)
	return made.compareGroups(good, low, high)
}

// planned is the planned move (from 0) in whose place the nth pass of a slip was
// made, from 0.
func (c *course) planned(s slip, n int) int {
	if s.Kind == PassExtra {
		return s.from + n%s.By
	}
	return s.from + n
}

// lookFar weaves the last groups, from low on, after a slip that lies well
// before them.
func (c *course) lookFar(after state, low int) []signs {
	first := max(0, low-1-aside) * (c.passes - 1)
	good, made := c.swatch(first, len(c.bounds)), c.swatch(first, len(c.bounds))
	good.weave(c, c.at[first], c.moves[first:], false, false)
	made.weave(c, c.at[first]+after.off, c.moves[first:], after.flipped, false)
	return made.compareGroups(good, low, len(c.bounds)-1)
}

// lookOn weaves so many moves of the row as planned and on another warp.
func (c *course) lookOn(other *course, through int, stops bool) []signs {
	good, made := c.swatch(0, len(c.bounds)), c.swatch(0, len(c.bounds))
	_, n := made.weave(other, 0, c.moves[:through], false, stops)
	made.trim(other.ends)
	good.weave(c, 0, c.moves[:n], false, false)
	return made.compareGroups(good, 1, len(c.bounds)-1)
}

// movesThrough is how many moves there are through group g (from 1).
func (c *course) movesThrough(g int) int {
	if g >= len(c.bounds)-1 {
		return len(c.moves)
	}
	return g * (c.passes - 1)
}

// swatch is the warp from where move first begins through group last (from 1).
func (c *course) swatch(first, last int) *swatch {
	from, to := c.at[first], c.bounds[min(last, len(c.bounds)-1)]
	n := to - from
	w := &swatch{course: c, from: from, last: make([]Shed, n), picks: make([]int, n), undone: make([]bool, n), doubled: make([]bool, n)}
	for i := range w.last {
		w.last[i] = c.moves[0].shed.Other()
	}
	return w
}

// swatch is a stretch of the warp in work.
type swatch struct {
	course  *course
	from    int // place at which it begins
	last    []Shed
	picks   []int
	undone  []bool
	doubled []bool
	before  struct { // the pass just made
		low, high int
		shed      Shed
		forward   bool
	}
}

// weave makes moves from a place and gives the place to which they lead, and how
// many were made. stops tells whether she stops before a count that cannot be made.
func (w *swatch) weave(c *course, at int, moves []stride, flipped, stops bool) (place, made int) {
	for i, m := range moves {
		to, missed := c.go1(at, m, flipped)
		if stops && missed > 0 {
			return at, i
		}
		w.lay(min(at, to), max(at, to), m.inShed(flipped), m.forward)
		at = to
	}
	return at, len(moves)
}

// lay lays a pass over the ends between two places.
func (w *swatch) lay(low, high int, s Shed, forward bool) {
	b := w.before
	for e := max(low, w.from); e < min(high, w.from+len(w.last)); e++ {
		i := e - w.from
		if w.last[i] == s {
			if b.shed == s && b.forward != forward && e >= b.low && e < b.high {
				w.undone[i] = true
			} else {
				w.doubled[i] = true
			}
		}
		w.last[i] = s
		w.picks[i]++
	}
	w.before.low, w.before.high, w.before.shed, w.before.forward = low, high, s, forward
}

// trim leaves out ends that the warp does not have.
func (w *swatch) trim(ends int) {
	if n := ends - w.from; n < len(w.last) {
		w.last = w.last[:max(n, 0)]
	}
}

// compareGroups compares the groups low to high, from 1.
func (w *swatch) compareGroups(good *swatch, low, high int) []signs {
	seen := make([]signs, 0, high-low+1)
	for g := low; g <= high; g++ {
		seen = append(seen, w.compare(good, w.course.bounds[g-1], w.course.bounds[g]))
	}
	return seen
}

// compare says what is wrong between two places, beside the cloth as planned.
func (w *swatch) compare(good *swatch, low, high int) signs {
	var s signs
	undone, doubled, thin := 0, 0, 0
	for e := low; e < high; e++ {
		i := e - w.from
		if i < 0 || i >= len(w.last) {
			continue
		}
		if w.undone[i] {
			undone++
		} else if w.doubled[i] {
			doubled++
		}
		s.thick = s.thick || w.picks[i] > good.picks[i]
		if w.picks[i] < good.picks[i] {
			thin++
		}
	}
	s.undone, s.doubled = undone > 1, doubled > 1 // one end alone hardly shows
	s.thin, s.bare = thin > 0, 2*thin > high-low
	return s
}
