package measure

import (
	"fmt"
	"math"
	"strconv"
)

// Printing is rounded to what can be measured on a loom or a kitchen scale:
//
//	lengths   1/8 in, from 3 yd upwards 1/8 yd; 0.5 cm, from 3 m upwards 1 cm
//	masses    1/4 oz, from 1 lb upwards in pounds and ounces; 1 g, from 1 kg upwards 10 g
//	densities 0.1 per inch; 1 per 10 cm
//	ratios    0.1 %
//
// What is more than nothing never prints as nothing: it is "under 1/8 in".
// Unset prints as Metric.

// Other is the system that u is not, Imperial for Unset.
func (u Units) Other() Units {
	if u == Imperial {
		return Metric
	}
	return Imperial
}

// Length prints l: "15 1/2 in", "4 1/4 yd", "39.5 cm", "3.25 m".
func (u Units) Length(l Length) string {
	if l < 0 {
		return "-" + u.Length(-l)
	}
	if u == Imperial {
		return imperialLength(l)
	}
	if half := math.Round(l.In(Centimetre) * 2); half < 600 {
		return atLeast(float64(l), half/2, 0.5, Decimal, "cm")
	}
	return Decimal(math.Round(l.In(Metre)*100)/100) + " m"
}

func imperialLength(l Length) string {
	if eighths := math.Round(l.In(Inch) * 8); eighths < 8*3*36 {
		return atLeast(float64(l), eighths/8, 1.0/8, mixedText, "in")
	}
	return mixedText(math.Round(l.In(Yard)*8)/8) + " yd"
}

// Mass prints m: "57 g", "1.25 kg", "2 1/4 oz", "3 lb 7 oz".
func (u Units) Mass(m Mass) string {
	if m < 0 {
		return "-" + u.Mass(-m)
	}
	if u == Imperial {
		return imperialMass(m)
	}
	if g := math.Round(m.In(Gram)); g < 1000 {
		return atLeast(float64(m), g, 1, Decimal, "g")
	}
	return Decimal(math.Round(m.In(Kilogram)*100)/100) + " kg"
}

func imperialMass(m Mass) string {
	quarters := math.Round(m.In(Ounce) * 4)
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
