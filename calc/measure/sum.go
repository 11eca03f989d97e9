package measure

import (
	"strings"
	"unicode"

	"weftroom/calc"
)

// unit is one unit of a quantity: how many of its system's base unit it holds,
// and that base in the unit that is kept. The two are apart so that 2 ft is
// worked out as 24 in and not as a rounded multiple of a rounded foot.
type unit struct {
	size   float64
	base   float64
	system Units
}

// value is n of u in the unit that is kept.
func (u unit) value(n float64) float64 { return n * u.size * u.base }

// MaxLength and MaxMass bound what is read; both are far beyond any loom.
const (
	MaxLength Length = 1e6 // 1000 km
	MaxMass   Mass   = 1e6 // 1000 kg
)

var (
	inch       = unit{1, float64(Inch), Imperial}
	foot       = unit{12, float64(Inch), Imperial}
	yard       = unit{36, float64(Inch), Imperial}
	millimetre = unit{0.001, 1, Metric}
	centimetre = unit{0.01, 1, Metric}
	metre      = unit{1, 1, Metric}
	gram       = unit{1, 1, Metric}
	kilogram   = unit{1000, 1, Metric}
	ounce      = unit{1.0 / 16, float64(Pound), Imperial}
	pound      = unit{1, float64(Pound), Imperial}
)

var lengthUnits = map[string]unit{
	"in": inch, "ins": inch, "inch": inch, "inches": inch,
	"ft": foot, "foot": foot, "feet": foot,
	"yd": yard, "yds": yard, "yard": yard, "yards": yard,
	"mm": millimetre, "millimetre": millimetre, "millimetres": millimetre,
	"millimeter": millimetre, "millimeters": millimetre,
	"cm": centimetre, "cms": centimetre, "centimetre": centimetre, "centimetres": centimetre,
	"centimeter": centimetre, "centimeters": centimetre,
	"m": metre, "metre": metre, "metres": metre, "meter": metre, "meters": metre,
}

var massUnits = map[string]unit{
	"g": gram, "gr": gram, "gram": gram, "grams": gram, "gramme": gram, "grammes": gram,
	"kg": kilogram, "kgs": kilogram, "kilo": kilogram, "kilos": kilogram,
	"kilogram": kilogram, "kilograms": kilogram, "kilogramme": kilogram, "kilogrammes": kilogram,
	"oz": ounce, "ounce": ounce, "ounces": ounce,
	"lb": pound, "lbs": pound, "pound": pound, "pounds": pound,
}

// UnitsOf is the system of the last unit of length in a text, so that a person
// can be answered in the units that she wrote: Imperial for 15 1/2", 5 yd and
// 10 epi, Metric for 38 cm and 40/10cm. It is Unset where there is none.
func UnitsOf(text string) Units {
	text = strings.ToLower(text)
	found := Unset
	for word := range strings.FieldsFuncSeq(text, func(c rune) bool { return !unicode.IsLetter(c) }) {
		switch u, ok := lengthUnits[word]; {
		case ok:
			found = u.system
		case word == "epi", word == "dpi", word == "ppi":
			found = Imperial
		}
	}
	if found == Unset && strings.ContainsFunc(text, func(c rune) bool { return isSingleMark(c) || isDoubleMark(c) }) {
		return Imperial
	}
	return found
}

// kind is a quantity that is written as a sum of parts.
type kind struct {
	units map[string]unit
	marks bool // feet and inches may be written as marks: 5'6"
	alone unit // what a single number without a unit counts
	most  float64
	limit any // most in its own type, for the Fault
}

// ParseLength reads a length of 0 to MaxLength: 15in, 15 1/2", 7½ in, 38,5 cm,
// 1.2m, 4 yd, and sums from large to small within one system: 5'6", 1 yd 3 in.
// A number alone is read by bare, inches or centimetres, and is a Fault when
// bare is Unset; 0 needs no unit. How commas are read is said at decimal.
func ParseLength(s string, bare Units) (Length, error) {
	k := kind{units: lengthUnits, marks: true, most: float64(MaxLength), limit: MaxLength}
	example := "15in"
	switch bare {
	case Imperial:
		k.alone = inch
	case Metric:
		k.alone, example = centimetre, "38cm"
	}
	r, err := newReader(s, example)
	if err != nil {
		return 0, err
	}
	v, err := r.sum(k)
	return Length(v), err
}

// ParseMass reads a mass of 0 to MaxMass: 57 g, 1.2kg, 3 lb 7 oz, 2 1/4 oz. Only
// 0 needs no unit, since nobody can tell grams from ounces in a bare number.
func ParseMass(s string) (Mass, error) {
	r, err := newReader(s, "250g")
	if err != nil {
		return 0, err
	}
	v, err := r.sum(kind{units: massUnits, most: float64(MaxMass), limit: MaxMass})
	return Mass(v), err
}

// sum reads parts, each a number and a unit, and adds them up.
func (r *reader) sum(k kind) (float64, error) {
	total, last := 0.0, unit{}
	for first := true; first || !r.end(); first = false {
		if !first && !startsNumber(r.at(0)) {
			return 0, r.unexpected()
		}
		start := r.pos
		n, err := r.number()
		if err != nil {
			return 0, err
		}
		r.skip()
		place := r.pos
		u, err := r.unit(k, first, n == 0)
		if err != nil {
			return 0, err
		}
		if !first && (u.system != last.system || u.size >= last.size) {
			return 0, r.fault(calc.BadValue, KeyUnitOrder, place)
		}
		total += n * u.size
		if !(total*u.base <= k.most) {
			return 0, r.fault(calc.OutOfRange, KeyTooLarge, start, k.limit)
		}
		last = u
		r.skip()
	}
	return total * last.base, nil
}

// unit reads the unit of one part. The first part may do without one, if it is
// the only one.
func (r *reader) unit(k kind, first, zero bool) (unit, error) {
	switch {
	case r.end() && first && zero:
		return unit{}, nil
	case r.end() && first && k.alone.size > 0:
		return k.alone, nil
	case r.end():
		return unit{}, r.here(KeyNoUnit)
	}
	if k.marks {
		if u, ok := r.quote(); ok {
			return u, nil
		}
	}
	place := r.pos
	w := r.word()
	if w == "" {
		return unit{}, r.unexpected()
	}
	u, ok := k.units[w]
	if !ok {
		return unit{}, r.unknownUnit(place, w)
	}
	return u, nil
}

func (r *reader) unknownUnit(place int, w string) *calc.Fault {
	return r.fault(calc.BadValue, KeyUnknownUnit, place, visible([]rune(w)))
}

// quote reads the marks for feet and inches, straight, curly or primes; two
// single marks make a double one.
func (r *reader) quote() (unit, bool) {
	switch {
	case isSingleMark(r.at(0)) && isSingleMark(r.at(1)):
		r.pos += 2
		return inch, true
	case isSingleMark(r.at(0)):
		r.pos++
		return foot, true
	case isDoubleMark(r.at(0)):
		r.pos++
		return inch, true
	}
	return unit{}, false
}

func isSingleMark(c rune) bool {
	switch c {
	case '\'', '′', '’', '‘', '´', '`', 'ʹ':
		return true
	}
	return false
}

func isDoubleMark(c rune) bool {
	switch c {
	case '"', '″', '”', '“', '„', 'ʺ':
		return true
	}
	return false
}
