// Package lace plans hand-manipulated open work on two sheds and proves each
// plan by weaving it in simulation before anyone sees it.
//
// A Pattern is what a weaver asks for ("groups of 3 raised ends, 3 passes,
// one-way, 97 ends"). It is laid out into a Design: for every row the list of
// groups that together cover her warp. The planner turns a Design into a Plan:
// for every row the moves of the shuttle, each no more than a shed, a direction
// and a count. The simulated weaver knows nothing of the planner; it follows
// those three things only, and Prove compares the cloth that comes out with the
// Design that was asked for. No Plan leaves this package unproven.
//
// A Motif is a design made of holes: a chart that is typed, letters, a ground, a
// picture. It is fitted to a warp, changed where it would not hold, and becomes a
// Pattern that lists its rows.
//
// Inside the package, and in everything that a Plan says, ends are numbered
// from the right, 1 to N, and Shed1 raises the odd ones; a piece of 98 ends
// begun at the left therefore begins in Shed2.
//
// Spanish lace (eyelet rows) needs one kind of move, the pass. Later techniques
// add further kinds (picking up on a stick, looping, a needle pass) to Kind.
package lace

// Side is a side of the loom as the weaver sits at it.
type Side int

// The two sides.
const (
	Right Side = iota
	Left
)

// Other is the opposite side.
func (s Side) Other() Side { return 1 - s }

// Shed is one of the two openings: Shed1 raises the odd ends counted from the
// right, Shed2 the even ones.
type Shed int

// The two sheds.
const (
	Shed1 Shed = 1
	Shed2 Shed = 2
)

// Other is the other shed.
func (s Shed) Other() Shed { return 3 - s }

// Raises tells whether end e, counted from the right from 1, is up in s.
func (s Shed) Raises(e int) bool { return e%2 == int(s)%2 }

// Way says how the weft comes home after an eyelet row.
type Way int

// One-way: one plain pick straight back. Two-way: the return is an eyelet row too.
const (
	OneWay Way = iota
	TwoWay
)

// journeys is how many rows of a plan the weft makes out and home.
func (w Way) journeys() int {
	if w == TwoWay {
		return 2
	}
	return 1
}

// Tension says how the turn at which a pass begins is left.
type Tension int

// Plain: the weft enters here, nothing turns. Slack: a turn at a selvedge.
// Snug: a turn between two groups; it opens the hole.
const (
	Plain Tension = iota
	Slack
	Snug
)

// Kind is the kind of a move.
type Kind int

// GroupPass belongs to the work of the groups; HomePick is the plain pick
// straight back after a one-way row.
const (
	GroupPass Kind = iota
	HomePick
)

// Move is one movement of the shuttle.
type Move struct {
	Kind   Kind
	Shed   Shed
	Toward Side
	Under  int // raised ends, counted from where the shuttle is
	Turn   Tension
}

// Groups are the groups of one row in working order, each as its number of
// pairs of ends. When the warp is odd, the one end over belongs to the group at
// the side away from where the piece began.
type Groups []int

// Design is what is to be woven, row by row: the ask of which a Plan is the
// answer. Every row's groups cover the whole warp.
type Design struct {
	Ends   int
	From   Side // where the piece begins
	Way    Way
	Passes int // odd, 3 or more: how often each group is woven before the weft moves on
	Rows   []Groups
}

// Row is one planned row: an eyelet row with its pick home when one-way, a
// single journey when two-way.
type Row struct {
	Number int // from 1
	Start  Side
	Groups []int // raised ends of each group in Shed1, in working order
	Moves  []Move
}

// Plan is a proven list of moves in rows. Rows that are alike share their
// Moves; treat them as read-only.
type Plan struct {
	Design Design
	Rows   []Row
}

// PicksHigh is the height of the whole plan in picks: a one-way row is p+1
// picks high, a two-way journey p.
func (p *Plan) PicksHigh() int {
	each := p.Design.Passes
	if p.Design.Way == OneWay {
		each++
	}
	return each * len(p.Rows)
}
