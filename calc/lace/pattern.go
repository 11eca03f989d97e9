package lace

import (
	"fmt"

	"weftroom/calc"
)

// Leftover says where the pairs go that do not fill a whole group.
type Leftover int

// Far gives them to the group at the far side, as is usual; Both shares them
// between the first and the last group. None is no ask: an Option has it where
// nothing is left over.
const (
	Far Leftover = iota
	Both
	None
)

// Repeat says how a row stands to the row below it.
type Repeat int

// Straight puts hole over hole; HalfDrop moves every second row (two-way: every
// second pair of journeys) by half a group.
const (
	Straight Repeat = iota
	HalfDrop
)

// The bounds of a pattern. MaxWork bounds rows × ends × passes, the number of
// places where an end and a pass cross, so that no ask can keep the simulated
// weaver busy for long.
const (
	MinEnds   = 8
	MaxEnds   = 4000
	MinRaised = 2
	MinPasses = 3
	MaxPasses = 99
	MaxRows   = 1000
	MaxWork   = 20_000_000
)

// The sentences this package asks for. Counts in Args are ints.
const (
	// KeyEndsRange: the ends given, the fewest, the most.
	KeyEndsRange calc.Key = "lace.ends_range"
	// KeyPassesRange: the passes given, the fewest, the most.
	KeyPassesRange calc.Key = "lace.passes_range"
	// KeyEvenPasses: the even passes given, the odd number below, the odd number above.
	KeyEvenPasses calc.Key = "lace.passes_even"
	// KeyRaisedRange: the raised ends per group given, the fewest, the most, the ends of the warp.
	KeyRaisedRange calc.Key = "lace.raised_range"
	// KeyEdgeRange: the pairs of ends per edge given, the fewest (0), the most, the ends of the warp, the raised ends per group.
	KeyEdgeRange calc.Key = "lace.edge_range"
	// KeyRowsRange: the rows given, the fewest, the most.
	KeyRowsRange calc.Key = "lace.rows_range"
	// KeyRowsWork: the rows given, the most rows that would do, the ends of the warp, the passes.
	KeyRowsWork calc.Key = "lace.rows_work"
	// KeyHalfDropRaised: groups too wide to move half of one aside. The raised ends
	// per group given, the fewest, the most that would do, the ends of the
	// warp, the pairs per edge.
	KeyHalfDropRaised calc.Key = "lace.halfdrop_raised"
	// KeyHalfDropEdge: edges that leave too little between them for a half-drop
	// of any size. The pairs per edge given, the most that would do with the
	// smallest groups, the raised ends of those groups, the ends of the warp.
	KeyHalfDropEdge calc.Key = "lace.halfdrop_edge"
)

// Keys lists every key that a Fault of this package can carry.
var Keys = []calc.Key{
	KeyEndsRange, KeyPassesRange, KeyEvenPasses, KeyRaisedRange, KeyEdgeRange, KeyRowsRange, KeyRowsWork, KeyHalfDropRaised, KeyHalfDropEdge,
	KeyProblemRow, KeyProblemMove, KeyProblemCount, KeyProblemGroup, KeyProblemLeft, KeyProblemWhat, KeyProblemSees,
	KeyListSign, KeyListEmpty, KeyListLong, KeyListGroup, KeyListWide,
	KeyChartEmpty, KeyChartSign, KeyChartRagged, KeyChartLong, KeyChartTall, KeyChartWide,
	KeyCellRange, KeyCellWide, KeyAcrossRange, KeyMarginRange, KeyPanelRange,
	KeyLetterUnknown, KeyLettersNone, KeyLettersLong, KeyGroundSize, KeyGroundTakes,
}

// Pattern is what a weaver asks for: eyelet rows whose groups are all alike, or
// rows of groups that are listed.
type Pattern struct {
	Ends     int      // of the warp, MinEnds to MaxEnds
	Raised   int      // raised ends per group, which is its pairs: MinRaised to half the warp
	Passes   int      // how often each group is woven: odd, MinPasses to MaxPasses
	Way      Way      // how the weft comes home
	From     Side     // where the piece begins
	Rows     int      // 1 to MaxRows; journeys when two-way
	Leftover Leftover // Far or Both
	Edge     int      // pairs of ends of a plain group at each side, 0 for none
	Repeat   Repeat

	// Listed, when there are any, are the rows themselves instead of Raised and
	// Repeat, as raised ends per group in working order: each is repeated across
	// the warp, and all of them, the first woven first, along the piece. Two-way,
	// each is woven out and home.
	Listed []Groups
}

// Check tells whether the pattern can be woven. What the weaver can mend is a
// *calc.Fault about the first argument that is wrong; a Way, Side, Leftover or
// Repeat that does not exist is a plain error, since no weaver can say one.
//
// The size of each number is known before any two are multiplied, so no value,
// however absurd, overflows.
func (p Pattern) Check() error {
	for _, check := range []func() *calc.Fault{
		p.checkEnds, p.checkPasses, p.checkRaised, p.checkEdge, p.checkRows, p.checkRepeat, p.checkListed,
	} {
		if fault := check(); fault != nil {
			return fault
		}
	}
	return p.checkChoices()
}

func (p Pattern) checkEnds() *calc.Fault { return checkEnds(p.Ends) }

func checkEnds(ends int) *calc.Fault {
	if ends >= MinEnds && ends <= MaxEnds {
		return nil
	}
	return outOfRange("ends", KeyEndsRange, 97, ends, MinEnds, MaxEnds)
}

func (p Pattern) checkPasses() *calc.Fault {
	if p.Passes < MinPasses || p.Passes > MaxPasses {
		return outOfRange("passes", KeyPassesRange, MinPasses, p.Passes, MinPasses, MaxPasses)
	}
	if p.Passes%2 == 0 {
		return &calc.Fault{
			Code: calc.BadValue, Key: KeyEvenPasses, Field: "passes",
			Args:    []any{p.Passes, p.Passes - 1, p.Passes + 1},
			Example: example("passes", p.Passes-1),
		}
	}
	return nil
}

func (p Pattern) checkRaised() *calc.Fault {
	if len(p.Listed) > 0 {
		return nil
	}
	return checkRaised(p.Raised, p.Ends)
}

func checkRaised(raised, ends int) *calc.Fault {
	if raised >= MinRaised && raised <= ends/2 {
		return nil
	}
	return outOfRange("raised", KeyRaisedRange, 3, raised, MinRaised, ends/2, ends)
}

func (p Pattern) checkEdge() *calc.Fault {
	if len(p.Listed) > 0 {
		p.Raised = MinRaised // each listed row is held to what the edges leave
	}
	most := (p.Ends/2 - p.Raised) / 2
	if p.Edge >= 0 && p.Edge <= most {
		return nil
	}
	return outOfRange("edge", KeyEdgeRange, most, p.Edge, 0, most, p.Ends, p.Raised)
}

func (p Pattern) checkRows() *calc.Fault {
	if p.Rows < 1 || p.Rows > MaxRows {
		return outOfRange("rows", KeyRowsRange, 20, p.Rows, 1, MaxRows)
	}
	if most := MaxWork / (p.Ends * p.Passes); p.Rows > most {
		return outOfRange("rows", KeyRowsWork, most, p.Rows, most, p.Ends, p.Passes)
	}
	return nil
}

// checkRepeat refuses a half-drop where a straight row is a single group: with
// no border below, there is nothing to be half a group away from.
func (p Pattern) checkRepeat() *calc.Fault {
	inner := p.innerPairs()
	if p.Repeat != HalfDrop || len(p.Listed) > 0 || inner >= 2*p.Raised {
		return nil
	}
	fault := &calc.Fault{Code: calc.Conflict, Field: "repeat"}
	if most := inner / 2; most >= MinRaised {
		fault.Key = KeyHalfDropRaised
		fault.Args = []any{p.Raised, MinRaised, most, p.Ends, p.Edge}
		fault.Example = example("raised", most)
		return fault
	}
	most := (p.Ends/2 - 2*MinRaised) / 2
	fault.Key = KeyHalfDropEdge
	fault.Args = []any{p.Edge, most, MinRaised, p.Ends}
	fault.Example = example("edge", most) + " " + example("raised", MinRaised)
	return fault
}

func (p Pattern) checkChoices() error {
	switch {
	case p.Way != OneWay && p.Way != TwoWay:
		return fmt.Errorf("lace: no way %d", p.Way)
	case p.From != Right && p.From != Left:
		return fmt.Errorf("lace: no side %d", p.From)
	case p.Leftover != Far && p.Leftover != Both:
		return fmt.Errorf("lace: no place %d for a leftover", p.Leftover)
	case p.Repeat != Straight && p.Repeat != HalfDrop:
		return fmt.Errorf("lace: no repeat %d", p.Repeat)
	}
	return nil
}

func outOfRange(field string, key calc.Key, right int, args ...any) *calc.Fault {
	return &calc.Fault{Code: calc.OutOfRange, Key: key, Field: field, Args: args, Example: example(field, right)}
}

func example(field string, value int) string { return fmt.Sprintf("%s:%d", field, value) }
