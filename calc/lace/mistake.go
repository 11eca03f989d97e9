package lace

import "weftroom/calc"

// MistakeKind is a kind of slip that a person makes while she follows a plan.
type MistakeKind int

// The kinds of mistake. Each is a single slip: all moves after it are made by
// their counts from wherever the shuttle is.
const (
	// GroupLong and GroupShort: a forward pass went under more or fewer raised
	// ends than the plan says, so the group that it opens is too wide or too narrow.
	GroupLong MistakeKind = iota
	GroupShort
	// BackLong and BackShort: a pass back did.
	BackLong
	BackShort
	// ShedNotChanged: a pass went through the shed of the pass before it.
	ShedNotChanged
	// PassMissing and PassExtra: one pass, or one there-and-back, was left out
	// or made once too often.
	PassMissing
	PassExtra
	// WarpCount: the plan was followed; the warp has another number of ends.
	WarpCount
)

// Mistake is one slip.
type Mistake struct {
	Kind  MistakeKind
	Group int // in working order, from 1; 0 for WarpCount
	Step  int // the move that went wrong, the first one of two, from 1 within the row; 0 for WarpCount
	// By is how much: raised ends, passes, changes of shed; for WarpCount the
	// ends that the warp has more (or, below 0, fewer) than the plan.
	By int
	// Stays tells of a shed that was not changed whether she changed it at every
	// turn from then on, so that all later passes lie in the wrong one; otherwise
	// she read each later shed off the plan.
	Stays bool
}

// Seen is what a weaver may see wrong in a group.
type Seen int

// What may be seen. Doubled: two threads of weft side by side in one shed. Open:
// a gap or a hole where none belongs, ends hardly woven. Float: an end or a pair
// of ends that lies free, skipped by the weft. Undone: a pass that came out again.
const (
	NothingSeen Seen = iota
	Doubled
	Open
	Float
	Undone
)

// Observation is what a weaver says of a row that does not come out: a count,
// something seen in a group, or both. She stops at the first count that cannot be
// made, and counts there.
type Observation struct {
	Row int // from 1

	// Move is the one that she is at and has not made, from 1; 0 where she does not
	// say. Left is then of the last forward pass, and Short of any.
	Move int
	// HasLeft and Left: the raised ends she counts from the shuttle to the selvedge
	// to which the move goes.
	HasLeft bool
	Left    int
	// Short: so many raised ends too few for the planned count; 0 for nothing said.
	Short int

	Group int // from 1; 0 for nothing said
	Sees  Seen
}

// Counted tells whether something was said of a count.
func (o Observation) Counted() bool { return o.HasLeft || o.Short > 0 }

// Cause is a mistake that would give what is seen.
type Cause struct {
	Mistake          // Group and Step are 0 where any of several places would do
	And     *Mistake // a second mistake, where none alone would give it
	Places  int      // at how many places it would
	Example Mistake  // the mistake at the likeliest of those places, the first of equals
	Share   float64  // of all causes together, 0 to 1, by the error model
	Else    []int    // of a warp: by how many other ends it would give it as well, likeliest first

	// Near tells that it gives what is seen only to someone who did not stop where a
	// count could not be made, or who went back to a hole and not by her count.
	Near bool

	// Elsewhere tells that it is likelier at places at which only someone would come
	// to what is seen who did not do so. IfTold has the Group and Step, as far as they
	// are known, of someone who did.
	Elsewhere bool
	IfTold    Mistake

	all []Mistake // at each of its places
}

// Diagnosis is what a look for the causes gave.
type Diagnosis struct {
	Row        int
	Move       int     // the number of the move she is at; of the last forward pass where she does not say
	Back       bool    // that move goes back
	Expected   int     // raised ends under it by the plan
	Ahead      int     // raised ends before it up to the selvedge, by the plan
	Causes     []Cause // likeliest first
	Candidates int     // how many mistakes were woven
	Near       bool    // all causes are

	until int
	at    bool // she said at which move, or counted there
}

// The sentences for an observation that cannot be one.
const (
	KeyProblemRow   calc.Key = "problem.row"   // the row given, the rows of the plan
	KeyProblemMove  calc.Key = "problem.move"  // the move given, the moves of the row, the row
	KeyProblemCount calc.Key = "problem.count" // no arguments: a move and a count at it go together
	KeyProblemGroup calc.Key = "problem.group" // the group given, the groups of the row, the row
	KeyProblemLeft  calc.Key = "problem.left"  // the raised ends given, the raised ends of the whole warp
	KeyProblemWhat  calc.Key = "problem.what"  // no arguments: nothing was said that could be looked into
	KeyProblemSees  calc.Key = "problem.sees"  // no arguments: a group and what is seen in it go together
)

// Check tells whether the observation can be one of the plan. The error is a
// *calc.Fault about the first argument that is wrong.
func (o Observation) Check(p *Plan) error {
	if o.Row < 1 || o.Row > len(p.Rows) {
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyProblemRow, Field: "row", Args: []any{o.Row, len(p.Rows)}, Example: example("row", 1)}
	}
	groups, moves, most := len(p.Rows[o.Row-1].Groups), len(p.Rows[o.Row-1].Moves), (p.Design.Ends+1)/2+1
	switch {
	case (o.Group != 0) != (o.Sees != NothingSeen):
		return &calc.Fault{Code: calc.MissingArgument, Key: KeyProblemSees, Field: "sees", Example: example("group", min(5, groups)) + " sees:doubled"}
	case !o.Counted() && o.Sees == NothingSeen:
		return &calc.Fault{Code: calc.MissingArgument, Key: KeyProblemWhat, Field: "left", Example: example("left", 7)}
	case o.Move < 0 || o.Move > moves:
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyProblemMove, Field: "move", Args: []any{o.Move, moves, o.Row}, Example: example("move", moves)}
	case o.Move > 0 && !o.Counted():
		return &calc.Fault{Code: calc.MissingArgument, Key: KeyProblemCount, Field: "left", Example: example("left", 5)}
	case o.Left < 0 || o.Left > most:
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyProblemLeft, Field: "left", Args: []any{o.Left, most}, Example: example("left", 5)}
	case o.Short < 0 || o.Short > most:
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyProblemLeft, Field: "short", Args: []any{o.Short, most}, Example: example("short", 1)}
	case o.Group < 0 || o.Group > groups:
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyProblemGroup, Field: "group", Args: []any{o.Group, groups, o.Row}, Example: example("group", min(5, groups))}
	}
	return nil
}

// Habit is how often one kind of slip is made, relative to others.
type Habit struct {
	Kind   MistakeKind
	By     int
	Per    Unit
	Weight float64 // a raised end counted on a forward pass, miscounted by one too many, is 1
	Reason string
}

// Unit is what a Habit's weight is for.
type Unit int

// The units: each raised end counted in a pass, each pass, each warp.
const (
	PerEnd Unit = iota
	PerPass
	PerWarp
)

// Habits is the error model by which causes are ranked. No source gives figures
// for such slips: the kinds are common practice (every teacher knows them), the
// weights are the project's own judgement, and the study beside the tests
// measures how far the ranking can be trusted when weavers err otherwise.
var Habits = []Habit{
	{GroupLong, 1, PerEnd, 1, "counting raised ends under tension is where most attention goes; a longer count goes wrong more often"},
	{GroupShort, 1, PerEnd, 1, "over and under by one are taken for equally common"},
	{GroupLong, 2, PerEnd, 0.06, "two off in one count is rare: groups are small"},
	{GroupShort, 2, PerEnd, 0.06, "as above"},
	{BackShort, 1, PerEnd, 0.5, "on the way back the last hole is in sight, which halves the chance"},
	{BackLong, 1, PerEnd, 0.3, "to go too far back she must pass the hole that she sees"},
	{ShedNotChanged, 1, PerPass, 1.2, "forgotten most often after an interruption; half of weavers then go on changing, half read the shed off the plan"},
	{PassMissing, 2, PerPass, 0.8, "one repeat too few: the moves repeat, and the place in the list is lost"},
	{PassExtra, 2, PerPass, 0.8, "one repeat too many, for the same reason"},
	{PassMissing, 1, PerPass, 0.2, "a single pass left out leaves the shuttle on the wrong side of the group, which is seen"},
	{PassExtra, 1, PerPass, 0.1, "a single pass made twice goes on beyond its border, which is seen"},
	{WarpCount, 1, PerWarp, 15, "ends are counted once, at the heddle, in poor light; an edge end is easily left out"},
	{WarpCount, -1, PerWarp, 15, "as above"},
	{WarpCount, 2, PerWarp, 8, "a pair too many or too few, from warping in pairs"},
	{WarpCount, -2, PerWarp, 8, "as above"},
}

// What a weight is worth where two slips are weighed against one (our judgement).
const (
	// slipChance is the chance of a slip for each unit of weight: with it about one
	// row of 100 ends in ten has one.
	slipChance = 0.0002
	// sameAgain is how much likelier a slip is in a row in which one of its kind was
	// made: who is tired, or was interrupted, slips again.
	sameAgain = 3
)

// laterRow is how much less likely the warp is to blame in a later row: the
// rows before came out on it (our judgement, no source).
const laterRow = 0.05

// habit is the weight of a slip in a pass under so many raised ends.
func habit(k MistakeKind, by, under int) float64 {
	for _, h := range Habits {
		if h.Kind == k && h.By == by {
			if h.Per == PerEnd {
				return h.Weight * float64(under)
			}
			return h.Weight
		}
	}
	return 0
}
