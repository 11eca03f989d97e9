package warp

import (
	"math"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Ends is the nearest whole number of ends in a width at a sett; a half goes
// up. Nothing that is not a positive, finite product has any ends: it gives 0.
// The result is at most math.MaxInt32.
func Ends(width measure.Length, sett measure.Sett) int {
	n := float64(width) * float64(sett)
	if math.IsNaN(n) || n <= 0 || math.IsInf(float64(width), 0) || math.IsInf(float64(sett), 0) {
		return 0
	}
	if n >= math.MaxInt32 {
		return math.MaxInt32
	}
	return int(math.Floor(n*(1+tiny) + 0.5))
}

// Width is what a number of ends takes up in the heddle or reed, exactly: a
// heddle of 40 per 10 cm is 10.16 per inch, not 10. A sett that is not positive
// has no width: it gives 0.
func Width(ends int, sett measure.Sett) measure.Length {
	if !(sett > 0) || ends <= 0 {
		return 0
	}
	return measure.Length(float64(ends) / float64(sett))
}

// Agree tells whether ends that were counted and a width that was measured can
// both be right at a sett: within one end, or the ends in a quarter of an inch
// when that is more. It returns a *calc.Fault (Conflict) that carries both
// numbers when they cannot.
func Agree(ends int, width measure.Length, sett measure.Sett) error {
	fits := float64(width) * float64(sett)
	slack := math.Max(1, float64(inch4)*float64(sett))
	if math.Abs(float64(ends)-fits) <= slack+tiny*math.Abs(fits) {
		return nil
	}
	return &calc.Fault{
		Code: calc.Conflict, Key: KeyEndsDisagree, Field: "ends",
		Args:    []any{ends, Ends(width, sett), width, sett},
		Example: example("ends", Ends(width, sett)),
	}
}
