package measure

import "weftroom/calc"

// ParseRatio reads a fraction of 0 to 1: 10%, 10 %, 10 percent, 0.1, 0,1, 0. A
// bare number of 1 or more is a Fault, since 10 for 10% is the likelier meaning
// than ten times.
func ParseRatio(s string) (Ratio, error) {
	r, err := newReader(s, "10%")
	if err != nil {
		return 0, err
	}
	start := r.pos
	n, err := r.number()
	if err != nil {
		return 0, err
	}
	r.skip()
	if r.end() {
		if n >= 1 {
			return 0, r.fault(calc.BadValue, KeyPercent, start, Decimal(n)+"%")
		}
		return Ratio(n), nil
	}
	if !r.percentSign() {
		return 0, r.unexpected()
	}
	r.skip()
	if !r.end() {
		return 0, r.unexpected()
	}
	if !(n <= 100) {
		return 0, r.fault(calc.OutOfRange, KeyTooLarge, start, Ratio(1))
	}
	return Ratio(n / 100), nil
}

func (r *reader) percentSign() bool {
	if r.at(0) == '%' {
		r.pos++
		return true
	}
	if r.takeWord("percent") {
		return true
	}
	return r.takeWord("per") && r.takeWord("cent")
}
