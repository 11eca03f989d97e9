// Package measure holds the quantities that weavers speak of, each a type of
// its own so that a width is never taken for a mass, and reads and prints them
// the way people write them.
//
// Everything is kept in one unit per quantity (metres, grams, tex, threads per
// metre, plain fractions) and converted exactly by the definitions of the
// international yard (0.9144 m) and pound (0.45359237 kg).
package measure

// Length is in metres.
type Length float64

// Lengths by definition of the international yard (exact).
const (
	Metre      Length = 1
	Centimetre Length = 0.01
	Millimetre Length = 0.001
	Inch       Length = 0.0254
	Foot       Length = 12 * Inch
	Yard       Length = 36 * Inch
)

// In gives l as a multiple of unit: Length(1).In(Inch) is 39.37….
func (l Length) In(unit Length) float64 { return float64(l / unit) }

// Mass is in grams.
type Mass float64

// Masses by definition of the international pound (exact).
const (
	Gram     Mass = 1
	Kilogram Mass = 1000
	Pound    Mass = 453.59237
	Ounce    Mass = Pound / 16
)

// In gives m as a multiple of unit.
func (m Mass) In(unit Mass) float64 { return float64(m / unit) }

// Tex is linear density in grams per kilometre (ISO 1144, from memory).
type Tex float64

// Sett is a density of threads, ends or picks or dents, in threads per metre.
type Sett float64

// Densities of threads.
const (
	PerInch      Sett = 1 / 0.0254
	PerDecimetre Sett = 10 // "40/10 cm"
)

// In gives s as a multiple of unit: Sett(400).In(PerInch) is 10.16.
func (s Sett) In(unit Sett) float64 { return float64(s / unit) }

// Spacing is the distance from one thread to the next.
func (s Sett) Spacing() Length { return Length(1 / float64(s)) }

// Ratio is a plain fraction: ten per cent is 0.1.
type Ratio float64

// Units is the system a person reads and writes.
type Units int

// The systems of units. Unset means that the person has not said.
const (
	Unset Units = iota
	Imperial
	Metric
)

// Need is a length that must not fall short, of a warp or of yarn to buy: it is
// shown rounded up.
type Need Length

// NeedMass is a mass that must not fall short.
type NeedMass Mass
