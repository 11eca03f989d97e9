package measure

import (
	"fmt"
	"math"
	"strconv"
)

// Printing is rounded to what can be measured on a loom or a kitchen scale:
//
//	lengths   1/8 in, from 3 yd upwards 1/8 yd, from 100 yd upwards 1 yd;
//	          0.5 cm, from 3 m upwards 1 cm, from 100 m upwards 1 m
//	masses    1/4 oz, from 1 lb upwards in pounds and ounces; 1 g, from 1 kg upwards 10 g
//	densities 0.1 per inch; 1 per 10 cm
//	ratios    0.1 %
//
// to the nearest, or up for what must not fall short: LengthUp, MassUp.
// What is more than nothing never prints as nothing: it is "under 1/8 in".
// Unset prints as Metric.

// Other is the system that u is not, Imperial for Unset.
func (u Units) Other() Units {
	if u == Imperial {
		return Metric
	}
	return Imperial
}

// Length prints l: "15 1/2 in", "4 1/4 yd", "39.5 cm", "3.25 m", "120 m".
func (u Units) Length(l Length) string { return u.length(l, math.Round) }

// LengthUp prints l, which is not negative, never shorter than it is: for a warp
// to wind or yarn to buy.
func (u Units) LengthUp(l Length) string { return u.length(l, up) }

func (u Units) length(l Length, round func(float64) float64) string {
	if l < 0 {
		return "-" + u.length(-l, round)
	}
	if u == Imperial {
		return imperialLength(l, round)
	}
	if half := round(l.In(Centimetre) * 2); half < 600 {
		return atLeast(float64(l), half/2, 0.5, Decimal, "cm")
	}
	m := round(l.In(Metre)*100) / 100
	if m >= 100 {
		m = round(l.In(Metre))
	}
	return Decimal(m) + " m"
}

func imperialLength(l Length, round func(float64) float64) string {
	if eighths := round(l.In(Inch) * 8); eighths < 8*3*36 {
		return atLeast(float64(l), eighths/8, 1.0/8, mixedText, "in")
	}
	yd := round(l.In(Yard)*8) / 8
	if yd >= 100 {
		yd = round(l.In(Yard))
	}
	return mixedText(yd) + " yd"
}

// up rounds up, but takes for whole what is so but for the last digits of a
// float64: 4 1/4 yd in metres are no more than 4 1/4 yd.
func up(n float64) float64 {
	if whole := math.Round(n); math.Abs(n-whole) <= 1e-9*math.Max(1, n) && (whole > 0 || n == 0) {
		return whole
	}
	return math.Ceil(n)
}

// Mass prints m: "57 g", "1.25 kg", "2 1/4 oz", "3 lb 7 oz".
func (u Units) Mass(m Mass) string { return u.mass(m, math.Round) }

// MassUp prints m, which is not negative, never less than it is: for yarn to buy.
func (u Units) MassUp(m Mass) string { return u.mass(m, up) }

func (u Units) mass(m Mass, round func(float64) float64) string {
	if m < 0 {
		return "-" + u.mass(-m, round)
	}
	if u == Imperial {
		return imperialMass(m, round)
	}
	if g := round(m.In(Gram)); g < 1000 {
		return atLeast(float64(m), g, 1, Decimal, "g")
	}
	return Decimal(round(m.In(Kilogram)*100)/100) + " kg"
}

func imperialMass(m Mass, round func(float64) float64) string {
	quarters := round(m.In(Ounce) * 4)
	if quarters < 4*16 {
		return atLeast(float64(m), quarters/4, 1.0/4, mixedText, "oz")
	}
	lb := math.Floor(quarters / 64)
	oz := quarters/4 - lb*16
	if oz == 0 {
		return Decimal(lb) + " lb"
	}
	return Decimal(lb) + " lb " + mixedText(oz) + " oz"
}

// Sett prints s without naming what is counted: "20 per inch", "79 per 10 cm".
func (u Units) Sett(s Sett) string {
	if u == Imperial {
		return atLeast(float64(s), math.Round(s.In(PerInch)*10)/10, 0.1, Decimal, "per inch")
	}
	return atLeast(float64(s), math.Round(s.In(PerDecimetre)), 1, Decimal, "per 10 cm")
}

// Ratio prints r in per cent, "10 %" or "12.5 %"; the units do not matter.
func (u Units) Ratio(r Ratio) string {
	if r < 0 {
		return "-" + u.Ratio(-r)
	}
	return atLeast(float64(r), math.Round(float64(r)*1000)/10, 0.1, Decimal, "%")
}

// BothLengths prints l in u and in parentheses in the other system:
// "15 1/2 in (39.5 cm)".
func (u Units) BothLengths(l Length) string { return both(u.Length(l), u.Other().Length(l)) }

// BothMasses prints m in both systems, that of u first.
func (u Units) BothMasses(m Mass) string { return both(u.Mass(m), u.Other().Mass(m)) }

// BothLengthsUp prints l in both systems, that of u first, neither shorter than
// it is.
func (u Units) BothLengthsUp(l Length) string { return both(u.LengthUp(l), u.Other().LengthUp(l)) }

// BothMassesUp prints m in both systems, that of u first, neither less than it is.
func (u Units) BothMassesUp(m Mass) string { return both(u.MassUp(m), u.Other().MassUp(m)) }

// BothSetts prints s in both systems, that of u first.
func (u Units) BothSetts(s Sett) string { return both(u.Sett(s), u.Other().Sett(s)) }

func both(own, other string) string { return own + " (" + other + ")" }

// atLeast prints rounded with its unit, unless rounding has made nothing out of
// something.
func atLeast(exact, rounded, step float64, text func(float64) string, unit string) string {
	if rounded == 0 && exact != 0 {
		return "under " + text(step) + " " + unit
	}
	return text(rounded) + " " + unit
}

// mixedText prints a whole number of eighths as weavers write it: "15 1/2".
func mixedText(n float64) string {
	whole := math.Floor(n)
	eighths := int(math.Round((n - whole) * 8))
	if eighths == 0 {
		return Decimal(whole)
	}
	lower := 8
	for eighths%2 == 0 {
		eighths, lower = eighths/2, lower/2
	}
	part := fmt.Sprintf("%d/%d", eighths, lower)
	if whole == 0 {
		return part
	}
	return Decimal(whole) + " " + part
}

// Decimal prints n as the shortest decimal that reads back as n, without exponent.
func Decimal(n float64) string { return strconv.FormatFloat(n, 'f', -1, 64) }
