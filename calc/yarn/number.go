// Package yarn turns a yarn as it was written into what the rest needs to know
// of it: its linear density, its diameter, and the sett that suits it.
//
// A measure.Yarn comes in; a measure.Tex, a measure.Length or an Advice goes
// out. Every result says by which method it was found.
package yarn

import (
	"weftroom/calc"
	"weftroom/calc/measure"
)

// perKilometre is the mass of 1 km of a yarn of which one yard weighs one
// pound, in grams: 496 054.65.
const perKilometre = float64(measure.Pound) / (float64(measure.Yard) / 1000)

// yardsToPound gives the hank of each count: the length, in yards, of one pound
// of number 1 (ASTM D2260, table 1; GNU units has the same).
var yardsToPound = map[measure.YarnSystem]float64{
	measure.CottonCount:   840,
	measure.WorstedCount:  560,
	measure.LinenLea:      300,
	measure.WoollenRun:    1600,
	measure.YardsPerPound: 1,
}

// unity is the tex of number 1 in each system. For counts, which grow with
// fineness, tex is unity divided by the number; for direct systems tex is unity
// times the number. ISO 1144, from memory, defines tex as grams to the
// kilometre.
func unity(s measure.YarnSystem) (tex float64, direct, ok bool) {
	if yards, ok := yardsToPound[s]; ok {
		return perKilometre / yards, false, true
	}
	switch s {
	case measure.MetricCount:
		return 1000, false, true
	case measure.MetresPer100Grams:
		return 100_000, false, true
	case measure.TexNumber:
		return 1, true, true
	case measure.DtexNumber:
		return 1.0 / 10, true, true
	case measure.DenierNumber:
		return 1.0 / 9, true, true
	}
	return 0, false, false
}

// Tex is the linear density of y as it comes off the cone, all plies together.
//
// Plies divide a count and multiply a tex or denier, except where the number is
// already that of the finished yarn: spun silk 40/2 is 40, not 20 (Taylor,
// Cotton Weaving and Designing, 6th ed.). No allowance is made for the length
// that twisting takes up.
//
// Wraps per inch say nothing of mass and are a Fault (BadValue), and so is a
// yarn without a positive number or without plies.
func Tex(y measure.Yarn) (measure.Tex, error) {
	if y.System == measure.WrapsPerInch {
		return 0, &calc.Fault{Code: calc.BadValue, Key: KeyWraps, Args: []any{y}, Example: "8/2 cotton"}
	}
	one, direct, ok := unity(y.System)
	if !ok || !isCountable(y) {
		return 0, &calc.Fault{Code: calc.BadValue, Key: KeyNumber, Args: []any{y}, Example: "8/2 cotton"}
	}
	single := one / y.Number
	if direct {
		single = one * y.Number
	}
	if y.Finished {
		return measure.Tex(single), nil
	}
	return Strands(measure.Tex(single), y.Plies), nil
}

func isCountable(y measure.Yarn) bool {
	return y.Number >= measure.MinYarnNumber && y.Number <= measure.MaxYarnNumber &&
		y.Plies >= 1 && y.Plies <= measure.MaxPlies
}

// Number is what a finished yarn of linear density t is called in a system, as
// if it were a single: 147.635 tex is 4 on the cotton count, 3360 yd/lb. It is
// the inverse of Tex for a Yarn of one ply. It is 0 where there is no answer:
// for wraps per inch, and for a t that is not positive.
func Number(t measure.Tex, s measure.YarnSystem) float64 {
	one, direct, ok := unity(s)
	if !ok || !(t > 0) {
		return 0
	}
	if direct {
		return float64(t) / one
	}
	return one / float64(t)
}

// Plied is the linear density of unequal yarns twisted together, without
// take-up: they add in tex, so that counts add harmonically. 40s and 20s make
// 13⅓ (Brooks, Cotton Manufacturing).
func Plied(singles ...measure.Tex) measure.Tex {
	var sum measure.Tex
	for _, t := range singles {
		sum += t
	}
	return sum
}

// Strands is the linear density of n equal strands wound together, as weft for
// lace usually is. n below 1 gives 0.
func Strands(t measure.Tex, n int) measure.Tex {
	return t * measure.Tex(max(n, 0))
}
