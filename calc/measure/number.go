package measure

import (
	"strconv"
	"strings"

	"weftroom/calc"
)

// fractions are the characters that are a fraction by themselves.
var fractions = map[rune]float64{
	'½': 1.0 / 2, '⅓': 1.0 / 3, '⅔': 2.0 / 3, '¼': 1.0 / 4, '¾': 3.0 / 4,
	'⅕': 1.0 / 5, '⅖': 2.0 / 5, '⅗': 3.0 / 5, '⅘': 4.0 / 5,
	'⅙': 1.0 / 6, '⅚': 5.0 / 6, '⅐': 1.0 / 7,
	'⅛': 1.0 / 8, '⅜': 3.0 / 8, '⅝': 5.0 / 8, '⅞': 7.0 / 8,
	'⅑': 1.0 / 9, '⅒': 1.0 / 10,
}

// startsNumber tells whether a number can begin with c.
func startsNumber(c rune) bool {
	_, fraction := fractions[c]
	return isDigit(c) || c == '.' || c == ',' || fraction
}

// number reads 15, 15.5, 15,5, 15 1/2, 15-1/2, 15½, ½ and 1/2.
func (r *reader) number() (float64, error) {
	n, whole, err := r.countNumber()
	if err != nil || !whole {
		return n, err
	}
	start := r.pos
	if isSlash(r.at(0)) { // n is the upper part: 1/2
		r.pos++
		return r.below(n, start)
	}
	return r.mixed(n)
}

// countNumber reads a number whose slash, if one follows, is no fraction: the
// 8 of 8/2, the 40 of 40/10 cm. It tells whether it was written in digits only.
func (r *reader) countNumber() (n float64, whole bool, err error) {
	r.skip()
	if isMinus(r.at(0)) {
		return 0, false, r.fault(calc.OutOfRange, KeyNegative, r.pos)
	}
	if f, ok := fractions[r.at(0)]; ok {
		r.pos++
		return f, false, nil
	}
	if !startsNumber(r.at(0)) {
		return 0, false, r.here(KeyNumber)
	}
	n, whole, err = r.decimal()
	if err != nil {
		return 0, false, err
	}
	if !whole {
		return n, false, nil
	}
	if f, ok := fractions[r.at(0)]; ok {
		r.pos++
		return n + f, false, nil
	}
	return n, true, nil
}

// mixed adds the fraction that may stand after whole: a blank or a hyphen, and
// then 1/2 or ½.
func (r *reader) mixed(whole float64) (float64, error) {
	start := r.pos
	r.skip()
	if r.pos == start && isMinus(r.at(0)) {
		r.pos++
	}
	if r.pos == start {
		return whole, nil
	}
	if f, ok := fractions[r.at(0)]; ok {
		r.pos++
		return whole + f, nil
	}
	place := r.pos
	upper := r.whole()
	if upper == "" || !isSlash(r.at(0)) || !isDigit(r.at(1)) {
		r.pos = start
		return whole, nil
	}
	r.pos++
	u, _ := strconv.ParseFloat(upper, 64)
	f, err := r.below(u, place)
	if err != nil {
		return 0, err
	}
	if f >= 1 {
		return 0, r.fault(calc.BadValue, KeyFraction, place)
	}
	return whole + f, nil
}

// below reads the lower part of a fraction and divides.
func (r *reader) below(upper float64, place int) (float64, error) {
	digits := r.whole()
	if digits == "" {
		return 0, r.here(KeyNumber)
	}
	lower, _ := strconv.ParseFloat(digits, 64)
	if lower == 0 {
		return 0, r.fault(calc.BadValue, KeyFraction, place)
	}
	return upper / lower, nil
}

// decimal reads digits with decimal marks and thousands marks.
//
// A full stop alone is a decimal mark. A comma alone is one too (38,5), except
// where it could as well mark thousands: one to three digits, not beginning
// with 0, then a comma and exactly three digits. 1,000 is refused, 0,125 and
// 1000,125 and 38,50 are read. Where both marks stand, or one stands twice, the
// last different one is the decimal mark and the groups before it must be
// thousands: 1,000.5 and 1.000,5 and 1,000,000.
func (r *reader) decimal() (n float64, whole bool, err error) {
	start := r.pos
	var marks []int // places of . and ,
	for isDigit(r.at(0)) || r.at(0) == '.' || r.at(0) == ',' {
		if !isDigit(r.at(0)) {
			marks = append(marks, r.pos)
		}
		r.pos++
	}
	if !isDigit(r.text[r.pos-1]) {
		return 0, false, r.fault(calc.BadValue, KeyNumber, r.pos)
	}
	if r.at(0) == 'e' && (isDigit(r.at(1)) || (isMinus(r.at(1)) || r.at(1) == '+') && isDigit(r.at(2))) {
		return 0, false, r.here(KeyExponent)
	}
	point, err := r.decimalMark(start, marks)
	if err != nil {
		return 0, false, err
	}
	var digits strings.Builder
	for i := start; i < r.pos; i++ {
		if i == point {
			digits.WriteByte('.')
		} else if isDigit(r.text[i]) {
			digits.WriteRune(r.text[i])
		}
	}
	// At most MaxText digits: neither overflow nor a syntax error can happen.
	n, _ = strconv.ParseFloat(digits.String(), 64)
	return n, len(marks) == 0, nil
}

// decimalMark finds which of the marks in text[start:pos] is the decimal one,
// -1 if none is.
func (r *reader) decimalMark(start int, marks []int) (int, error) {
	if len(marks) == 0 {
		return -1, nil
	}
	first, last := marks[0], marks[len(marks)-1]
	if first == last {
		if r.text[first] == ',' && r.couldBeThousands(start, first) {
			all := string(r.text[start:first]) + string(r.text[first+1:r.pos])
			point := string(r.text[start:first]) + "." + string(r.text[first+1:r.pos])
			return 0, r.fault(calc.BadValue, KeyComma, first, all, point)
		}
		return first, nil
	}
	groups, point := marks, -1
	if r.text[first] != r.text[last] {
		groups, point = marks[:len(marks)-1], last
	}
	for i, m := range groups {
		next := r.pos
		if i+1 < len(marks) {
			next = marks[i+1]
		}
		if r.text[m] != r.text[first] || next-m != 4 || m == start || i == 0 && m-start > 3 {
			return 0, r.fault(calc.BadValue, KeyNumber, m)
		}
	}
	return point, nil
}

func (r *reader) couldBeThousands(start, comma int) bool {
	before, after := comma-start, r.pos-comma-1
	return after == 3 && 1 <= before && before <= 3 && r.text[start] != '0'
}
