package warp

import (
	"math"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Balanced is the share of the crimp height that warp and weft have each in a
// balanced cloth.
const Balanced measure.Ratio = 0.5

// Geometry is Peirce's picture of plain weave: round yarns that neither flatten
// nor stretch, arcs where they touch, straight in between (Peirce, J. Textile
// Inst. 28, 1937, T45, as secondary sources give it).
type Geometry struct {
	Warp, Weft  measure.Length // diameters, above 0 up to 5 cm; several weft strands count as one yarn
	Ends, Picks measure.Sett   // 0.5 to 200 per inch
	F           measure.Ratio  // share of the crimp height in the warp, 0 to 1; Balanced is 0.5
}

// The widest yarn that the geometry is asked about.
const maxDiameter = 5 * measure.Centimetre

// Crimp gives the crimp of the warp and of the weft: how much longer the yarn
// is than the cloth that it lies in, as a share of the cloth.
//
// With D the sum of the diameters, h the crimp height of one system and p the
// spacing of the other: R = √(p² + (D−h)²), θ = asin(D/R) − atan2(D−h, p),
// the straight part is s = (p − D·sin θ)/cos θ, the yarn is s + D·θ long for
// every p of cloth.
//
// A pair of setts that the yarn leaves no room for (R < D) is refused with a
// *calc.Fault (Conflict, KeyJammed; field "ppi" when the picks are too close,
// "sett" when the ends are). Values outside their bounds are refused too.
func (g Geometry) Crimp() (warp, weft measure.Ratio, err error) {
	if err := g.check(); err != nil {
		return 0, 0, err
	}
	d := float64(g.Warp + g.Weft)
	h := d * float64(g.F)
	warp, ok := crimp(d, h, float64(g.Picks.Spacing()))
	if !ok {
		return 0, 0, jammed("ppi", g.Picks, d, h)
	}
	weft, ok = crimp(d, d-h, float64(g.Ends.Spacing()))
	if !ok {
		return 0, 0, jammed("sett", g.Ends, d, d-h)
	}
	return warp, weft, nil
}

func (g Geometry) check() error {
	for _, d := range []measure.Length{g.Warp, g.Weft} {
		if !(d > 0 && d <= maxDiameter) {
			return outOfRange(KeyDiameterRange, "yarn", d, measure.Length(0), maxDiameter, `yarn:"8/2 cotton"`)
		}
	}
	if err := checkSett("sett", g.Ends); err != nil {
		return err
	}
	if err := checkSett("ppi", g.Picks); err != nil {
		return err
	}
	if !(g.F >= 0 && g.F <= 1) {
		return outOfRange(KeyRatioRange, "balance", g.F, measure.Ratio(0), measure.Ratio(1), "balance:50%")
	}
	return nil
}

// crimp solves one system. The straight part is √(R²−D²), the same as
// (p − D·sin θ)/cos θ and not 0/0 where the yarn is all arc; so it is negative
// exactly when R < D, and one test covers both signs of a jam.
func crimp(d, h, p float64) (c measure.Ratio, ok bool) {
	r := math.Hypot(p, d-h)
	if r < d {
		return 0, false
	}
	theta := math.Asin(d/r) - math.Atan2(d-h, p)
	straight := math.Sqrt((r - d) * (r + d))
	length := straight + d*theta
	return measure.Ratio(math.Max(0, length/p-1)), true
}

// jammed names the closest sett that this yarn does allow: at R = D the
// spacing is √(D² − (D−h)²).
func jammed(field string, asked measure.Sett, d, h float64) error {
	closest := measure.Sett(1 / math.Sqrt(d*d-(d-h)*(d-h)))
	return &calc.Fault{
		Code: calc.Conflict, Key: KeyJammed, Field: field,
		Args:    []any{asked, closest},
		Example: settExample(field, closest),
	}
}

// settExample is a whole number of threads per inch that stays a little below
// the jam, since no cloth is woven right at it.
func settExample(field string, closest measure.Sett) string {
	return example(field, int(math.Max(1, math.Floor(0.85*closest.In(measure.PerInch)))))
}

// TakeUp is the share of the yarn that is lost to bending, c/(1+c) of a crimp c
// (ASTM D3883).
func TakeUp(crimp measure.Ratio) measure.Ratio { return crimp / (1 + crimp) }

// CrimpOf is the crimp that goes with a take-up t, t/(1−t): TakeUp the other
// way round. t must be below 1.
func CrimpOf(takeUp measure.Ratio) measure.Ratio { return takeUp / (1 - takeUp) }
