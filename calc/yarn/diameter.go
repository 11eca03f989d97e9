package yarn

import (
	"math"

	"weftroom/calc/measure"
)

// Diameter is that of a round yarn of 1.1 cm³/g: d = 1/(28·√Ne) inch (Peirce,
// Journal of the Textile Institute 28, 1937, T45; read at second hand). This is
// the diameter that all geometry here uses. It is 0 for a t that is not
// positive.
func Diameter(t measure.Tex) measure.Length {
	if !(t > 0) {
		return 0
	}
	ne := Number(t, measure.CottonCount)
	return measure.Inch / measure.Length(28*math.Sqrt(ne))
}

// PeirceMetric is the same diameter in the form 0.00374·√tex cm, which is often
// printed beside the other and is 0.2 % larger; a round yarn of exactly
// 1.1 cm³/g would be 0.25 % larger. It is here to be compared with.
func PeirceMetric(t measure.Tex) measure.Length {
	if !(t > 0) {
		return 0
	}
	return measure.Length(0.00374*math.Sqrt(float64(t))) * measure.Centimetre
}

// The factors of Ashenhurst's rule.
const (
	FirmK = 0.9  // cotton, linen, silk, worsted and other firm, smooth yarn
	SoftK = 0.84 // woollen and other soft yarn
)

// AshenhurstK is the factor for a fibre: SoftK for woollen, for wool of which
// nobody said how it was spun, and for alpaca, mohair and acrylic; FirmK for all
// others and where the fibre is not known.
func AshenhurstK(f measure.Fibre) float64 {
	switch f {
	case measure.Woollen, measure.Wool, measure.Alpaca, measure.Mohair, measure.Acrylic:
		return SoftK
	}
	return FirmK
}

// Ashenhurst is how many diameters of a yarn lie in a length, touching each
// other: k·√(yards per pound) to the inch. 8/2 cotton has 52.17.
func Ashenhurst(t measure.Tex, f measure.Fibre) measure.Sett {
	return Diameters(t, AshenhurstK(f))
}

// Diameters is Ashenhurst's rule with a factor of one's own; Taylor's table of
// cotton has 0.95. It is 0 for a t that is not positive.
func Diameters(t measure.Tex, k float64) measure.Sett {
	return measure.Sett(k*math.Sqrt(Number(t, measure.YardsPerPound))) * measure.PerInch
}
