package measure

import "weftroom/calc"

// Every Fault of this package comes from reading a text. Its Field is empty
// (only the caller knows it) and its Args begin with the text as written
// (string, shortened, invisible characters shown) and the place of trouble
// (int, counted in characters from 1). What follows is said beside each key.
const (
	KeyEmpty       calc.Key = "measure.empty"         // nothing was written
	KeyTooLong     calc.Key = "measure.too_long"      // longer than a quantity can be; then int, the bytes allowed
	KeyEncoding    calc.Key = "measure.encoding"      // not valid UTF-8
	KeyHidden      calc.Key = "measure.hidden"        // an invisible character, direction marks among them; then string, "U+200F"
	KeyNumber      calc.Key = "measure.number"        // a number was expected here
	KeyNegative    calc.Key = "measure.negative"      // a minus sign
	KeyExponent    calc.Key = "measure.exponent"      // 1e3: to be written out
	KeyFraction    calc.Key = "measure.fraction"      // 3/0, or 15 9/8
	KeyComma       calc.Key = "measure.comma"         // 1,000 may be one or a thousand; then string "1000", string "1.000", the two ways to write it
	KeyNoUnit      calc.Key = "measure.no_unit"       // a number without a unit
	KeyUnknownUnit calc.Key = "measure.unknown_unit"  // then string, the word that is no unit of this quantity
	KeyUnitOrder   calc.Key = "measure.unit_order"    // 6 in 5 ft, or 1 yd 3 cm: parts go from large to small in one system
	KeyUnexpected  calc.Key = "measure.unexpected"    // then string, what cannot be read
	KeyTooLarge    calc.Key = "measure.too_large"     // then the largest allowed, in the type that was asked for
	KeyTooSmall    calc.Key = "measure.too_small"     // then the smallest allowed, in the type that was asked for
	KeyPercent     calc.Key = "measure.percent"       // 10 where 10% or 0.1 was meant; then string, the percentage as it would be written: "10%"
	KeyYarnSystem  calc.Key = "measure.yarn_system"   // 8/2, but of which fibre or count
	KeyYarnSilk    calc.Key = "measure.yarn_silk"     // 20/2 silk: spun silk or the metric count; then string, the number as it would be written: "20/2"
	KeyYarnSystems calc.Key = "measure.yarn_systems"  // two counts or two fibres in one yarn; then string, the second
	KeyYarnNumber  calc.Key = "measure.yarn_number"   // a fibre or a count but no number
	KeyYarnRange   calc.Key = "measure.yarn_range"    // yarn number out of bounds; then float64 least, float64 most
	KeyYarnPlies   calc.Key = "measure.yarn_plies"    // plies not whole, or out of bounds; then int, the most
	KeyYarnDirect  calc.Key = "measure.yarn_direct"   // 30/2 tex or 70/34 denier: plies or filaments?
	KeyYarnPerMass calc.Key = "measure.yarn_per_mass" // 230 m, but in what mass
)

// Keys lists every key that this package can return.
var Keys = []calc.Key{
	KeyEmpty, KeyTooLong, KeyEncoding, KeyHidden, KeyNumber, KeyNegative,
	KeyExponent, KeyFraction, KeyComma, KeyNoUnit, KeyUnknownUnit,
	KeyUnitOrder, KeyUnexpected, KeyTooLarge, KeyTooSmall, KeyPercent,
	KeyYarnSystem, KeyYarnSilk, KeyYarnSystems, KeyYarnNumber, KeyYarnRange,
	KeyYarnPlies, KeyYarnDirect, KeyYarnPerMass,
}
