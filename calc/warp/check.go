package warp

import (
	"strconv"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// The bounds of what is planned. They are wide enough for any hand loom and
// narrow enough that a slipped decimal point is caught.
const (
	minSett = measure.PerInch / 2
	maxSett = 200 * measure.PerInch

	minTex measure.Tex = 0.1
	maxTex measure.Tex = 1e6

	maxItems   = 1000
	maxStrands = 12

	minEnds       = 2
	maxEnds       = 20_000
	maxReedWidth  = 10 * measure.Metre
	maxWarpLength = 1000 * measure.Metre

	maxTakeUp measure.Ratio = 0.6
	maxShrink measure.Ratio = 0.6
	maxDrawIn measure.Ratio = 0.4 // must stay below
)

// limits is what a length given under a name may be.
type limits struct {
	field    string
	value    measure.Length
	low, top measure.Length
	example  string
}

func (l limits) check() error {
	if l.value >= l.low && l.value <= l.top {
		return nil
	}
	return outOfRange(KeyLengthRange, l.field, l.value, l.low, l.top, l.example)
}

func checkCount(field string, n, low, top int) error {
	if n >= low && n <= top {
		return nil
	}
	return outOfRange(KeyCountRange, field, n, low, top, example(field, low))
}

func checkSett(field string, s measure.Sett) error {
	if s >= minSett*(1-tiny) && s <= maxSett*(1+tiny) {
		return nil
	}
	return outOfRange(KeySettRange, field, s, minSett, maxSett, example(field, 10))
}

func checkTex(t measure.Tex) error {
	if t >= minTex && t <= maxTex {
		return nil
	}
	return outOfRange(KeyTexRange, "yarn", t, minTex, maxTex, `yarn:"8/2 cotton"`)
}

func checkRatio(field string, r, top measure.Ratio) error {
	if r >= 0 && r <= top {
		return nil
	}
	return outOfRange(KeyRatioRange, field, r, measure.Ratio(0), top, field+":10%")
}

// checkWarp refuses ends and lengths that no loom holds, whatever they were
// reckoned from.
func checkWarp(field string, ends int, reed measure.Length, sett measure.Sett) error {
	if reed > maxReedWidth {
		return outOfRange2(KeyReedTooWide, field, reed, maxReedWidth, field+":12in")
	}
	if ends < minEnds {
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyTooFewEnds, Field: field, Args: []any{ends, minEnds, reed, sett}, Example: field + ":12in"}
	}
	if ends > maxEnds {
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyTooManyEnds, Field: field, Args: []any{ends, maxEnds, reed, sett}, Example: field + ":12in"}
	}
	return nil
}

func outOfRange(key calc.Key, field string, given, low, top any, example string) error {
	return &calc.Fault{Code: calc.OutOfRange, Key: key, Field: field, Args: []any{given, low, top}, Example: example}
}

func outOfRange2(key calc.Key, field string, given, top any, example string) error {
	return &calc.Fault{Code: calc.OutOfRange, Key: key, Field: field, Args: []any{given, top}, Example: example}
}

// lacking is for an argument that another one makes necessary.
func lacking(key calc.Key, field, example string) error {
	return &calc.Fault{Code: calc.MissingArgument, Key: key, Field: field, Example: example}
}

func example(field string, n int) string { return field + ":" + strconv.Itoa(n) }
