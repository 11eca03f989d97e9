package yarn

import "weftroom/calc"

// The Faults of this package.
const (
	KeyWraps   calc.Key = "yarn.wraps"   // wraps per inch give no linear density; Args: measure.Yarn
	KeyNumber  calc.Key = "yarn.number"  // a yarn whose number or plies nobody could have read; Args: measure.Yarn
	KeyNoReed  calc.Key = "yarn.no_reed" // no reed in the list can be sleyed for this yarn; Args: measure.Sett lowest, measure.Sett highest that would do
	KeySley    calc.Key = "yarn.sley"    // no short sleying order; Args: measure.Sett of ends, measure.Sett of dents, measure.Sett nearest that has one
	KeyNoSett  calc.Key = "yarn.no_sett" // a density of nothing; Args: measure.Sett of ends, measure.Sett of dents
	KeyNoWeave calc.Key = "yarn.weave"   // not a weave of this package; Args: int
)

// Keys lists every key that this package can return.
var Keys = []calc.Key{KeyWraps, KeyNumber, KeyNoReed, KeySley, KeyNoSett, KeyNoWeave}
