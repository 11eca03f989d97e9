package warp

import (
	"math"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// maxSkeins is more than anyone buys; beyond it a skein was mistyped.
const maxSkeins = 1_000_000

// Skeins is how many whole skeins of a given length hold the yarn and a margin
// on top, always rounded up: a part of a skein cannot be bought. The margin is
// a share of the yarn, 0 to 1. Errors are *calc.Fault with the fields "yarn",
// "skein" and "margin".
func Skeins(yarn, perSkein measure.Length, margin measure.Ratio) (int, error) {
	if !(yarn >= 0) || math.IsInf(float64(yarn), 0) {
		return 0, outOfRange(KeyLengthRange, "yarn", yarn, measure.Length(0), measure.Length(math.MaxInt32), "yarn:2000yd")
	}
	if err := (limits{"skein", perSkein, measure.Metre, 1e6 * measure.Metre, "skein:300yd"}).check(); err != nil {
		return 0, err
	}
	if err := checkRatio("margin", margin, 1); err != nil {
		return 0, err
	}
	n := roundUp(float64(yarn) * float64(1+margin) / float64(perSkein))
	if n > maxSkeins {
		return 0, &calc.Fault{Code: calc.OutOfRange, Key: KeySkeinsTooMany, Field: "skein", Args: []any{maxSkeins}, Example: "skein:300yd"}
	}
	return int(n), nil
}

// Price is what one unit of something costs.
type Price struct {
	Minor    int64  // in the smallest unit of the currency (cents), 0 to ten thousand million
	Currency string // as the person wrote it
}

// maxMinor is the most that a price or a cost may be: far from where a float64
// no longer tells one cent from the next.
const maxMinor = 10_000_000_000

// Cost is an amount of money in the smallest unit of its currency.
type Cost struct {
	Minor     int64
	Currency  string
	RoundedUp bool // the exact amount is less, by a part of one smallest unit
}

// CostOfMass is the price of m at p for each unit: CostOfMass(m, p,
// measure.Kilogram). A part of a cent is rounded up. Errors are *calc.Fault
// (OutOfRange, field "price").
func CostOfMass(m measure.Mass, p Price, unit measure.Mass) (Cost, error) {
	return cost(float64(m/unit), p)
}

// CostOfLength is the price of l at p for each unit, as CostOfMass.
func CostOfLength(l measure.Length, p Price, unit measure.Length) (Cost, error) {
	return cost(float64(l/unit), p)
}

// CostOfSkeins is the price of n skeins at p each: nothing is rounded.
func CostOfSkeins(n int, p Price) (Cost, error) {
	return cost(float64(n), p)
}

func cost(units float64, p Price) (Cost, error) {
	if p.Minor < 0 || p.Minor > maxMinor {
		return Cost{}, outOfRange(KeyPriceRange, "price", p.Minor, int64(0), int64(maxMinor), "price:12.50")
	}
	exact := units * float64(p.Minor)
	if !(exact >= 0 && exact <= maxMinor) {
		return Cost{}, &calc.Fault{Code: calc.OutOfRange, Key: KeyCostTooLarge, Field: "price", Example: "price:12.50"}
	}
	minor := roundUp(exact)
	return Cost{Minor: int64(minor), Currency: p.Currency, RoundedUp: minor-exact > tiny*math.Max(1, exact)}, nil
}

// roundUp rounds up, but takes a value that is whole but for the last digits of
// a float64 as whole: 3 skeins of 300 yd hold 900 yd.
func roundUp(x float64) float64 {
	if whole := math.Round(x); math.Abs(x-whole) <= tiny*math.Max(1, x) {
		return whole
	}
	return math.Ceil(x)
}
