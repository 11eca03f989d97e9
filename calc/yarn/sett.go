package yarn

import (
	"math"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Weave is the cloth that a sett is wanted for.
type Weave int

// The weaves.
const (
	Plain Weave = iota
	Twill       // 2/2
	Lace        // eyelets and other open work on a ground of plain weave
)

// String is the weave's name in commands and data.
func (w Weave) String() string {
	switch w {
	case Plain:
		return "plain"
	case Twill:
		return "twill"
	case Lace:
		return "lace"
	}
	return "unknown"
}

// laceOpening is how much opener lace is set than plain weave: 10/2 cotton 20
// ends per inch and not 24 (van der Hoogt, Handwoven Q&A).
const laceOpening = 5.0 / 6

// share is the sett at which a weave is full, as a share of the diameters that
// lie side by side: ends/(ends + intersections) over one repeat. Plain weave has
// 2 ends and 2 intersections, 2/2 twill 4 ends and 2; Taylor's 103 plain to 137⅓
// twill is that ratio.
func (w Weave) share() (float64, bool) {
	switch w {
	case Plain:
		return 2.0 / (2 + 2), true
	case Twill:
		return 4.0 / (4 + 2), true
	case Lace:
		return laceOpening * 2 / (2 + 2), true
	}
	return 0, false
}

// Method is the way a sett was found.
type Method int

// The methods.
const (
	ByYarnNumber Method = iota // Ashenhurst's diameters, ends and intersections
	ByWraps                    // the quick rule from wraps per inch
)

// String is the method's name in data.
func (m Method) String() string {
	if m == ByWraps {
		return "wraps_per_inch"
	}
	return "yarn_number"
}

// By yarn number the target is the working sett, 0.8 of the maximum. The range
// reaches from 0.65 to 0.925 of the maximum: the least that holds every
// published and every usual sett that the tests list (8/4 cotton at 12 is 0.651
// of it, 8/2 cotton for lace at 20 is 0.920), and still below Ceiling in each
// weave.
const (
	workingShare = 0.8
	lowShare     = 0.65
	highShare    = 0.925
)

// By wraps the rule gives the sett itself. It runs low for smooth firm yarn and
// wraps are wound more or less snugly, so the range is an eighth to either side;
// at 1.155 times the rule plain weave would jam.
const wrapsSlack = 1.0 / 8

// squareJam is the sett, as a share of Peirce's diameters, at which balanced
// plain weave of equal yarns jams: p/D = √3/2 with D two diameters (derived;
// the angle of 60° is published in notes on Peirce's geometry).
var squareJam = 1 / math.Sqrt(3)

// Advice is a sett for a yarn and a weave, and how it was found.
type Advice struct {
	Weave  Weave
	Method Method
	K      float64 // Ashenhurst's factor, 0 by wraps

	Diameters measure.Sett // yarns side by side; by wraps, the wraps
	Max       measure.Sett // full sett by ends and intersections; by wraps, the rule's own
	Target    measure.Sett // what the choice was to come near
	Low, High measure.Sett // within which cloth is sound and open enough to work

	// Ceiling is where balanced plain weave jams. A warp-faced band goes beyond
	// it; a ground for lace cannot.
	Ceiling measure.Sett

	Choice measure.Sett // the sett to use, Low to High
	Reed   measure.Sett // dents, of the reed to use
	Sley   []int        // ends in each dent, repeating
}

// Advise finds a sett for a yarn in a weave, and a reed from the list that gives
// it. An empty list means ImperialReeds. A yarn given in wraps per inch is judged
// by the quick rule, half the wraps for plain weave, any other by its number.
//
// It returns a *calc.Fault when the yarn has no linear density, the weave is not
// known, or no reed in the list can be sleyed within the range.
func Advise(y measure.Yarn, w Weave, reeds []measure.Sett) (Advice, error) {
	share, ok := w.share()
	if !ok {
		return Advice{}, &calc.Fault{Code: calc.BadValue, Key: KeyNoWeave, Args: []any{int(w)}, Example: Plain.String()}
	}
	a, err := judge(y, share)
	if err != nil {
		return Advice{}, err
	}
	a.Weave = w
	if len(reeds) == 0 {
		reeds = ImperialReeds
	}
	s, ok := chooseReed(a.Target, a.Low, a.High, reeds, w.unevenCost())
	if !ok {
		return Advice{}, &calc.Fault{
			Code: calc.OutOfRange, Key: KeyNoReed,
			Args: []any{a.Low, a.High}, Example: "8/2 cotton",
		}
	}
	a.Choice, a.Reed, a.Sley = s.epi, s.reed, order(s.a, s.b)
	return a, nil
}

// judge works out everything but the reed.
func judge(y measure.Yarn, share float64) (Advice, error) {
	if y.System == measure.WrapsPerInch {
		return judgeWraps(y, share)
	}
	t, err := Tex(y)
	if err != nil {
		return Advice{}, err
	}
	d := Ashenhurst(t, y.Fibre)
	full := d * measure.Sett(share)
	return Advice{
		Method: ByYarnNumber, K: AshenhurstK(y.Fibre),
		Diameters: d, Max: full,
		Target: workingShare * full, Low: lowShare * full, High: highShare * full,
		Ceiling: Ceiling(Diameter(t)),
	}, nil
}

func judgeWraps(y measure.Yarn, share float64) (Advice, error) {
	if !isCountable(y) {
		return Advice{}, &calc.Fault{Code: calc.BadValue, Key: KeyNumber, Args: []any{y}, Example: "10 wpi"}
	}
	d := measure.Sett(y.Number) * measure.PerInch
	rule := d * measure.Sett(share)
	return Advice{
		Method: ByWraps, Diameters: d, Max: rule, Target: rule,
		Low: (1 - wrapsSlack) * rule, High: (1 + wrapsSlack) * rule,
		Ceiling: Ceiling(d.Spacing()),
	}, nil
}

// Ceiling is the sett at which balanced plain weave of a yarn of diameter d
// jams, 0.577 to the diameter: 32.3 ends per inch for 8/2 cotton. d must be
// positive.
func Ceiling(d measure.Length) measure.Sett {
	return measure.Sett(squareJam / float64(d))
}
