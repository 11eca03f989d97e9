package lace

import "math/rand/v2"

// The weavers of the study err while they weave, end by end, with a heddle that
// stays where they left it. They share the types of plan.go with the rest of the
// package and nothing else, so that a mistake in the search for causes is not
// made here too; TestStudyWeaverKnowsNothingOfTheSearch holds that.

// erring is how often a weaver errs, and how she goes on.
type erring struct {
	perEnd           float64 // a raised end more or fewer in a forward count, for each raised end counted and each of the two
	offByTwo         float64 // share of two in place of one
	backShort        float64 // as perEnd, for passes back
	backLong         float64
	shed             float64 // for each pass
	lostTrip         float64 // a there-and-back left out, for each pass; and one too many
	lostPass         float64 // a single pass left out
	extraPass        float64
	warpOne, warpTwo float64 // for each row; more and fewer each

	bursts float64 // share of rows with a stretch in which all of these but the warp happen burst times as often
	burst  float64

	readsSheds  float64 // share who read each shed off the plan; the others change it at each turn
	byHole      float64 // share who go back in the far group to the last hole that they see
	stops       float64 // share who stop where a count cannot be made; the others go on
	thenByHole  float64 // share of those who go on that go back to the hole
	oneGroupOut float64 // share who miscount the group that they look at
	wrongName   float64 // share who call what they see by any other name
	looks       float64 // share who look at the cloth at all
	saysMove    float64 // share of those who stop who say at which move, as the stepper knows it

	lastByCount bool // she goes by the count in the last forward pass too, and stops there where it cannot be made
	until       int  // the move before which she ends, 0 for none
}

// slipped is what a study weaver did wrong, as she would never know it.
type slipped struct {
	kind  MistakeKind
	step  int // from 1
	group int // whose cloth it is about, from 1; 0 for the warp
	by    int
}

// told is what she then says.
type told struct {
	noticed bool // a pass back, or one that she miscounts, ran into the selvedge
	left    int  // in the last forward pass; -1 for nothing
	short   int
	move    int // at which she stopped
	group   int
	sees    Seen
}

// atLoom is one weaver at one row.
type atLoom struct {
	r       *rand.Rand
	e       erring
	ends    int // as they are
	at      int // ends to the right of the shuttle
	heddle  Shed
	over    []int  // passes over each end, from the right
	last    []Shed // of the last pass over each end
	undone  []bool
	doubled []bool
	turned  map[int]int // where each group's forward passes ended, by the groups before it
	passes  []int       // shed, side, from, to of each
	before  struct {
		low, high int
		shed      Shed
		toward    Side
	}
}

// crosses takes the shuttle past raised ends, one end after another.
func (l *atLoom) crosses(s Shed, toward Side, n int) (missed int) {
	from, counted := l.at, 0
	for {
		next := l.at + 1
		if toward == Right {
			next = l.at
		}
		if next < 1 || next > l.ends {
			break
		}
		if s.Raises(next) {
			if counted == n {
				break
			}
			counted++
		}
		if toward == Left {
			l.at++
		} else {
			l.at--
		}
	}
	l.lays(s, toward, from)
	return n - counted
}

// lacks is by how many raised ends a count cannot be made.
func (l *atLoom) lacks(a act) int {
	if room := 2*a.under + 1; a.Toward == Left && l.at+room < l.ends || a.Toward == Right && l.at > room {
		return 0
	}
	return max(0, a.under-l.raisedTo(l.heddle, a.Toward))
}

// reaches takes the shuttle to a place.
func (l *atLoom) reaches(s Shed, toward Side, place int) {
	from := l.at
	l.at = place
	l.lays(s, toward, from)
}

func (l *atLoom) lays(s Shed, toward Side, from int) {
	low, high := min(from, l.at), max(from, l.at)
	for e := low + 1; e <= high; e++ {
		if l.last[e] == s {
			if l.before.shed == s && l.before.toward != toward && e > l.before.low && e <= l.before.high {
				l.undone[e] = true
			} else {
				l.doubled[e] = true
			}
		}
		l.last[e] = s
		l.over[e]++
	}
	l.before.low, l.before.high, l.before.shed, l.before.toward = low, high, s, toward
	l.passes = append(l.passes, int(s), int(toward), from, l.at)
}

// raisedTo counts the raised ends from the shuttle to a selvedge.
func (l *atLoom) raisedTo(s Shed, toward Side) (n int) {
	for e := 1; e <= l.ends; e++ {
		if s.Raises(e) && (toward == Left && e > l.at || toward == Right && e <= l.at) {
			n++
		}
	}
	return n
}

// chance draws.
func (l *atLoom) chance(p float64) bool { return l.r.Float64() < p }

// act is one thing that she does at the loom.
type act struct {
	Move
	step    int  // of the plan, from 0
	under   int  // as she counts it
	forget  bool // to change the shed
	counted bool // wrongly
}

// acts are what comes of a plan's moves and her slips.
func acts(moves []Move, slips []slipped) []act {
	at := map[int]slipped{}
	for _, s := range slips {
		if s.kind != WarpCount {
			at[s.step-1] = s
		}
	}
	var all []act
	for i := 0; i < len(moves); i++ {
		a := act{Move: moves[i], step: i, under: moves[i].Under}
		s, wrong := at[i]
		if !wrong {
			all = append(all, a)
			continue
		}
		switch s.kind {
		case GroupLong, BackLong:
			a.under, a.counted = a.under+s.by, true
		case GroupShort, BackShort:
			a.under, a.counted = a.under-s.by, true
		case ShedNotChanged:
			a.forget = true
		case PassMissing:
			i += s.by - 1
			continue
		case PassExtra:
			all = append(all, a)
			if s.by == 2 {
				i++
				next := act{Move: moves[i], step: i, under: moves[i].Under}
				all = append(all, next, a)
				a = next
			}
		}
		all = append(all, a)
	}
	return all
}

// weaveErring weaves a row on a warp and says what she did wrong and what she
// tells. fixed, when not nil, are the slips that she makes, and no others.
func weaveErring(r *rand.Rand, e erring, p *Plan, number int, fixed []slipped) (*atLoom, []slipped, told) {
	row, perGroup := p.Rows[number-1], p.Design.Passes-1
	moves := row.Moves
	if moves[len(moves)-1].Kind == HomePick {
		moves = moves[:len(moves)-1]
	}
	l := &atLoom{r: r, e: e, ends: p.Design.Ends}
	slips := fixed
	if fixed == nil {
		slips = l.drawAll(row, moves, number, perGroup)
	}
	for _, s := range slips {
		if s.kind == WarpCount {
			l.ends += s.by
		}
	}
	l.sits(row)
	reads, byHole, stuck := l.chance(e.readsSheds), l.chance(e.byHole), false
	out := told{left: -1}
	for _, a := range acts(moves, slips) {
		if e.until > 0 && a.step+1 >= e.until {
			return l, slips, out
		}
		if !a.forget {
			l.heddle = l.heddle.Other()
			if reads {
				l.heddle = a.Shed
			}
		}
		group := min(a.step/perGroup, len(row.Groups)-1)
		forward := a.Toward != row.Start
		if a.step == len(moves)-1 {
			if left := l.raisedTo(l.heddle, a.Toward); left != a.Move.Under {
				out.left = left
			}
			switch {
			case !e.lastByCount:
				l.crosses(l.heddle, a.Toward, l.ends)
			case l.lacks(a) > 0:
				out.move = a.step + 1
			default:
				l.crosses(l.heddle, a.Toward, a.under)
			}
			return l, slips, out
		}
		if hole, known := l.turned[group]; known && group == len(row.Groups)-1 && !forward && !a.counted && byHole && l.isBehind(hole, a.Toward) {
			l.reaches(l.heddle, a.Toward, hole)
			continue
		}
		missed := l.lacks(a)
		switch {
		case missed > 0 && (!forward || a.counted):
			if out.noticed = true; !a.counted {
				out.short, out.move = missed, a.step+1
			}
			return l, slips, out
		case missed > 0 && !stuck && l.chance(e.stops):
			out.short, out.move = missed, a.step+1
			return l, slips, out
		case missed > 0 && !stuck:
			stuck, byHole = true, l.chance(e.thenByHole)
		}
		l.crosses(l.heddle, a.Toward, a.under)
		if forward {
			l.turned[group+1] = l.at
		}
	}
	return l, slips, out
}

// sits has her sit down at her loom before a row.
func (l *atLoom) sits(row Row) {
	n := l.ends + 2
	l.over, l.last, l.undone, l.doubled = make([]int, n), make([]Shed, n), make([]bool, n), make([]bool, n)
	l.heddle = row.Moves[0].Shed.Other()
	for i := range l.last {
		l.last[i] = l.heddle
	}
	if row.Start == Left {
		l.at = l.ends
	}
	l.turned = map[int]int{0: l.at}
}

// isBehind tells whether a place lies on the way to a side.
func (l *atLoom) isBehind(place int, toward Side) bool {
	return toward == Left && place > l.at || toward == Right && place < l.at
}

// drawAll draws the slips of a row.
func (l *atLoom) drawAll(row Row, moves []Move, number, perGroup int) []slipped {
	slips := []slipped{}
	if by := l.warpOff(number); by != 0 {
		slips = append(slips, slipped{kind: WarpCount, by: by})
	}
	burst := len(moves)
	if l.chance(l.e.bursts) {
		burst = l.r.IntN(len(moves))
	}
	for i := 0; i < len(moves); i++ {
		times := 1.0
		if i >= burst && i < burst+6 {
			times = l.e.burst
		}
		s := l.draws(moves[i], moves[i].Toward != row.Start, len(moves)-1-i, times)
		if s.kind == WarpCount {
			continue
		}
		s.step, s.group = i+1, min(i/perGroup, len(row.Groups)-1)+1
		if s.kind == ShedNotChanged {
			s.group = min(max(i-1, 0)/perGroup, len(row.Groups)-1) + 1 // the turn before it
		}
		if s.kind == PassMissing || s.kind == PassExtra {
			i += s.by - 1
		}
		slips = append(slips, s)
	}
	return slips
}

// warpOff is by how many ends the warp is not what the plan says.
func (l *atLoom) warpOff(number int) int {
	one, two := l.e.warpOne, l.e.warpTwo
	if number > 1 {
		one, two = one/20, two/20
	}
	switch x := l.r.Float64(); {
	case x < one:
		return 1
	case x < 2*one:
		return -1
	case x < 2*one+two:
		return 2
	case x < 2*one+2*two:
		return -2
	}
	return 0
}

// draws is the slip that she makes in a move with so many after it, of kind
// WarpCount for none.
func (l *atLoom) draws(m Move, forward bool, after int, times float64) slipped {
	none := slipped{kind: WarpCount}
	if l.chance(l.e.shed * times) {
		return slipped{kind: ShedNotChanged, by: 1}
	}
	if after == 0 {
		return none
	}
	long, short, kindLong, kindShort := l.e.perEnd, l.e.perEnd, GroupLong, GroupShort
	if !forward {
		long, short, kindLong, kindShort = l.e.backLong, l.e.backShort, BackLong, BackShort
	}
	by := 1
	if forward && l.chance(l.e.offByTwo) {
		by = 2
	}
	n := float64(m.Under) * times
	switch x := l.r.Float64(); {
	case x < long*n:
		return slipped{kind: kindLong, by: by}
	case x < (long+short)*n && m.Under > by:
		return slipped{kind: kindShort, by: by}
	}
	if after >= 2 {
		switch x := l.r.Float64(); {
		case x < l.e.lostTrip*times:
			return slipped{kind: PassMissing, by: 2}
		case x < 2*l.e.lostTrip*times:
			return slipped{kind: PassExtra, by: 2}
		}
	}
	switch x := l.r.Float64(); {
	case x < l.e.lostPass*times:
		return slipped{kind: PassMissing, by: 1}
	case x < (l.e.lostPass+l.e.extraPass)*times:
		return slipped{kind: PassExtra, by: 1}
	}
	return none
}

// looksAt has her look at the cloth of a row beside the same row well woven, and
// say what she sees first, counted from the side where the row starts.
func (l *atLoom) looksAt(good *atLoom, row Row, sizes []int, out *told) {
	if !l.chance(l.e.looks) {
		return
	}
	names := []Seen{Doubled, Open, Float, Undone}
	at := 0
	for g, size := range sizes {
		undone, doubled, thin, thick := 0, 0, 0, 0
		for k := at + 1; k <= at+size; k++ {
			e := k
			if row.Start == Left {
				e = l.ends + 1 - k
			}
			if e < 1 || e > l.ends || e > good.ends {
				continue
			}
			switch {
			case l.undone[e]:
				undone++
			case l.doubled[e]:
				doubled++
			}
			switch d := l.over[e] - good.over[e]; {
			case d < 0:
				thin++
			case d > 0:
				thick++
			}
		}
		at += size
		x := l.r.Float64()
		switch {
		case undone > 1: // one end alone hardly shows
			out.sees = Undone
			if x < 0.45 {
				out.sees = Doubled
			}
		case doubled > 1:
			out.sees = Doubled
		case 2*thin > size:
			out.sees = Open
			if x < 0.25 {
				out.sees = Float
			}
		case thin > 0:
			out.sees = Float
			if x < 0.45 {
				out.sees = Open
			}
		case thick > 0 && x < 0.17:
			out.sees = Doubled
			switch {
			case x < 0.08:
				out.sees = Open
			case x < 0.11:
				out.sees = Float
			}
		default:
			continue
		}
		out.group = g + 1
		break
	}
	if out.group == 0 {
		return
	}
	if l.chance(l.e.wrongName) {
		out.sees = names[l.r.IntN(len(names))]
	}
	if l.chance(l.e.oneGroupOut) {
		out.group = max(1, min(len(sizes), out.group+1-2*l.r.IntN(2)))
	}
}
