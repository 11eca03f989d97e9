package measure

import "weftroom/calc"

// MinSett and MaxSett bound what is read. A sett of nothing has no spacing, so
// zero is refused too.
const (
	MinSett Sett = 1              // one thread in a metre
	MaxSett Sett = 1000 * PerInch // finer than the finest silk
)

// ParseSett reads a density of ends, picks or dents: 10, 10 epi, 12.5 dpi,
// 10/in, 10 ends per inch, 8/cm, 40/10cm, 40 per 10 cm. A bare number is per
// inch, as the trade says it, whatever units the person otherwise uses.
func ParseSett(s string) (Sett, error) {
	r, err := newReader(s, "10/in")
	if err != nil {
		return 0, err
	}
	n, whole, err := r.countNumber()
	if err != nil {
		return 0, err
	}
	if whole {
		if n, err = r.mixed(n); err != nil {
			return 0, err
		}
	}
	per, err := r.per()
	if err != nil {
		return 0, err
	}
	r.skip()
	if !r.end() {
		return 0, r.unexpected()
	}
	return r.boundSett(n, per)
}

// boundSett divides, once the length is known to be more than nothing.
func (r *reader) boundSett(n float64, per Length) (Sett, error) {
	v := Sett(n / float64(per))
	if per == Inch {
		v = Sett(n) * PerInch
	}
	if per == 10*Centimetre {
		v = Sett(n) * PerDecimetre
	}
	if v < MinSett {
		return 0, r.fault(calc.OutOfRange, KeyTooSmall, 0, MinSett)
	}
	if !(v <= MaxSett) {
		return 0, r.fault(calc.OutOfRange, KeyTooLarge, 0, MaxSett)
	}
	return v, nil
}

// per reads the length in which the threads were counted.
func (r *reader) per() (Length, error) {
	r.skip()
	if r.end() {
		return Inch, nil
	}
	place := r.pos
	if w := r.peekWord(); w != "" && w != "per" {
		r.word()
		switch w {
		case "epi", "ppi", "dpi":
			return Inch, nil
		case "end", "ends", "pick", "picks", "dent", "dents", "thread", "threads":
		default:
			return 0, r.unknownUnit(place, w)
		}
	}
	if !r.takeSlash() && !r.takeWord("per") {
		return 0, r.unexpected()
	}
	r.skip()
	n, err := r.divisor()
	if err != nil {
		return 0, err
	}
	place = r.pos
	if r.end() {
		return 0, r.here(KeyNoUnit)
	}
	if u, ok := r.quote(); ok {
		return Length(u.value(n)), nil
	}
	w := r.word()
	u, ok := lengthUnits[w]
	if !ok {
		return 0, r.unknownUnit(place, w)
	}
	return Length(u.value(n)), nil
}

// divisor reads the 10 of "per 10 cm", 1 if there is no number.
func (r *reader) divisor() (float64, error) {
	place := r.pos
	if !startsNumber(r.at(0)) {
		return 1, nil
	}
	n, err := r.number()
	if err != nil {
		return 0, err
	}
	if n == 0 {
		return 0, r.fault(calc.BadValue, KeyNumber, place)
	}
	r.skip()
	return n, nil
}
