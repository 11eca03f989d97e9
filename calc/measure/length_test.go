package measure

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"weftroom/calc"
)

// near compares to the last few bits: conversions here are one multiplication.
func near(got, want float64) bool {
	return math.Abs(got-want) <= 1e-12*math.Max(1, math.Abs(want))
}

func TestParseLength(t *testing.T) {
	tests := []struct {
		name string
		text string
		bare Units
		want Length
	}{
		{"unit without a blank", "15in", Unset, 15 * Inch},
		{"unit after a blank", "15 in", Unset, 15 * Inch},
		{"abbreviated with a full stop", "15 in.", Unset, 15 * Inch},
		{"mixed number and a straight quote", `15 1/2"`, Unset, 15.5 * Inch},
		{"mixed number with a hyphen", "15-1/2 in", Unset, 15.5 * Inch},
		{"fraction character", "7½ in", Unset, 7.5 * Inch},
		{"fraction character after a blank", "7 ½ in", Unset, 7.5 * Inch},
		{"fraction character alone", "⅝ in", Unset, 0.625 * Inch},
		{"fraction alone", "3/8 in", Unset, 0.375 * Inch},
		{"fraction slash", "7 1\u20442 in", Unset, 7.5 * Inch},
		{"division slash", "1\u22154 yd", Unset, 9 * Inch},
		{"bare number read as inches", "7½", Imperial, 7.5 * Inch},
		{"bare mixed number read as inches", "7 1/2", Imperial, 7.5 * Inch},
		{"bare number read as centimetres", "38", Metric, 38 * Centimetre},
		{"bare decimal comma read as centimetres", "38,5", Metric, 38.5 * Centimetre},
		{"a unit outweighs the person's system", "15in", Metric, 15 * Inch},
		{"centimetres", "38 cm", Unset, 38 * Centimetre},
		{"decimal comma", "38,5 cm", Unset, 38.5 * Centimetre},
		{"decimal comma, three digits after a nought", "0,125 m", Unset, 0.125},
		{"decimal comma, four digits before", "1234,567 mm", Unset, 1.234567},
		{"decimal comma, two digits", "1,25 m", Unset, 1.25},
		{"decimal point with three digits", "1.234 m", Unset, 1.234},
		{"no nought before the mark", ".5 in", Unset, 0.5 * Inch},
		{"thousands comma and decimal point", "1,000.5 yd", Unset, 1000.5 * Yard},
		{"thousands point and decimal comma", "1.000,5 m", Unset, 1000.5},
		{"two thousands marks", "1,000,000 mm", Unset, 1000},
		{"yards", "4 yd", Unset, 4 * Yard},
		{"metres", "1.2m", Unset, 1.2},
		{"millimetres", "12 mm", Unset, 12 * Millimetre},
		{"feet", "3 ft", Unset, Yard},
		{"double prime", "15″", Unset, 15 * Inch},
		{"two apostrophes", "15''", Unset, 15 * Inch},
		{"two primes", "15′′", Unset, 15 * Inch},
		{"curly double quote", "15”", Unset, 15 * Inch},
		{"prime is feet", "2′", Unset, 24 * Inch},
		{"curly apostrophe is feet", "2’", Unset, 24 * Inch},
		{"feet and inches as marks", `5'6"`, Unset, 66 * Inch},
		{"feet and inches as phones write them", "5’ 6½”", Unset, 66.5 * Inch},
		{"feet and inches as words", "5 ft 6 in", Unset, 66 * Inch},
		{"yard and inches", "1 yd 3 in", Unset, 39 * Inch},
		{"three parts", "1 yard 1 foot 1 inch", Unset, 49 * Inch},
		{"metre and centimetres", "1 m 20 cm", Unset, 1.2},
		{"words in full", "2 centimetres", Unset, 2 * Centimetre},
		{"words in full, other spelling", "2 Centimeters", Unset, 2 * Centimetre},
		{"capitals", "15 INCHES", Unset, 15 * Inch},
		{"no-break space", "15\u00a0in", Unset, 15 * Inch},
		{"narrow no-break space", "38\u202fcm", Unset, 38 * Centimetre},
		{"thin space inside a mixed number", "7\u20091/2\u2009in", Unset, 7.5 * Inch},
		{"blanks around", "  15 in \n", Unset, 15 * Inch},
		{"nothing needs no unit", "0", Unset, 0},
		{"nothing with decimals", "0,0", Unset, 0},
		{"nothing with a unit", "0 in", Unset, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseLength(tt.text, tt.bare)
			if err != nil {
				t.Fatalf("ParseLength(%q): %v", tt.text, err)
			}
			if !near(float64(got), float64(tt.want)) {
				t.Errorf("ParseLength(%q) = %v m, want %v m", tt.text, got, tt.want)
			}
		})
	}
}

// Feet and yards must come out as whole inches, or a width of 2 ft would be a
// hair under 240 ends.
func TestFeetAreWholeInches(t *testing.T) {
	for feet := 1.0; feet <= 20; feet++ {
		l, err := ParseLength(Decimal(feet)+" ft", Unset)
		if err != nil {
			t.Fatal(err)
		}
		inches, err := ParseLength(Decimal(12*feet)+" in", Unset)
		if err != nil {
			t.Fatal(err)
		}
		if l != inches {
			t.Errorf("%v ft = %v m, but %v in = %v m", feet, l, 12*feet, inches)
		}
	}
}

// faultRow is a text that must be refused, and how.
type faultRow struct {
	name string
	text string
	key  calc.Key
	code calc.Code
	pos  int // counted in characters from 1
}

func (row faultRow) check(t *testing.T, err error) *calc.Fault {
	t.Helper()
	var f *calc.Fault
	if !errors.As(err, &f) {
		t.Fatalf("%q: got %v, want a Fault", row.text, err)
	}
	if f.Key != row.key || f.Code != row.code {
		t.Errorf("%q: got %s %s, want %s %s", row.text, f.Code, f.Key, row.code, row.key)
	}
	if pos := f.Args[1].(int); pos != row.pos {
		t.Errorf("%q: trouble at character %d, want %d", row.text, pos, row.pos)
	}
	if !slices.Contains(Keys, f.Key) {
		t.Errorf("%s is not listed", f.Key)
	}
	if f.Field != "" || f.Example == "" {
		t.Errorf("%q: field %q, example %q", row.text, f.Field, f.Example)
	}
	return f
}

func TestParseLengthFaults(t *testing.T) {
	tests := []faultRow{
		{"nothing", "", KeyEmpty, calc.BadValue, 1},
		{"blanks only", " \u00a0 ", KeyEmpty, calc.BadValue, 1},
		{"no unit", "15", KeyNoUnit, calc.BadValue, 3},
		{"no unit after feet", "5'6", KeyNoUnit, calc.BadValue, 4},
		{"unknown unit", "15 furlongs", KeyUnknownUnit, calc.BadValue, 4},
		{"a mass", "15 kg", KeyUnknownUnit, calc.BadValue, 4},
		{"a sign that is no unit", "15 $", KeyUnexpected, calc.BadValue, 4},
		{"words after", "15 in wide", KeyUnexpected, calc.BadValue, 7},
		{"a word", "wide", KeyNumber, calc.BadValue, 1},
		{"infinite", "inf in", KeyNumber, calc.BadValue, 1},
		{"not a number", "NaN", KeyNumber, calc.BadValue, 1},
		{"negative", "-3 in", KeyNegative, calc.OutOfRange, 1},
		{"true minus sign", "\u22123 in", KeyNegative, calc.OutOfRange, 1},
		{"exponent", "1e309", KeyExponent, calc.BadValue, 2},
		{"signed exponent", "1e-3 in", KeyExponent, calc.BadValue, 2},
		{"too large", "2000 km", KeyUnknownUnit, calc.BadValue, 6},
		{"too large in metres", "1000001 m", KeyTooLarge, calc.OutOfRange, 1},
		{"too large in the second part", "1 m 2000000000 cm", KeyTooLarge, calc.OutOfRange, 5},
		{"a hundred nines", strings.Repeat("9", 100) + " in", KeyTooLarge, calc.OutOfRange, 1},
		{"thousands or decimal", "1,000 yd", KeyComma, calc.BadValue, 2},
		{"thousands or decimal, three digits", "123,456 mm", KeyComma, calc.BadValue, 4},
		{"marks in disorder", "1.0,0.5 m", KeyNumber, calc.BadValue, 2},
		{"a mark at the end", "15. in", KeyNumber, calc.BadValue, 4},
		{"marks only", ".,. in", KeyNumber, calc.BadValue, 4},
		{"nothing below the line", "1/ in", KeyNumber, calc.BadValue, 3},
		{"division by nothing", "15 1/0 in", KeyFraction, calc.BadValue, 4},
		{"fraction of one or more", "15 9/8 in", KeyFraction, calc.BadValue, 4},
		{"small before large", "3 in 5 ft", KeyUnitOrder, calc.BadValue, 8},
		{"the same unit twice", "3 in 5 in", KeyUnitOrder, calc.BadValue, 8},
		{"two systems", "1 yd 3 cm", KeyUnitOrder, calc.BadValue, 8},
		{"two numbers", "15 20 in", KeyUnexpected, calc.BadValue, 4},
		{"left-to-right mark", "15\u200ein", KeyHidden, calc.BadValue, 3},
		{"right-to-left mark", "\u200f15in", KeyHidden, calc.BadValue, 1},
		{"right-to-left override", "15\u202ein", KeyHidden, calc.BadValue, 3},
		{"directional isolate", "15in\u2067", KeyHidden, calc.BadValue, 5},
		{"zero-width space", "1\u200b5in", KeyHidden, calc.BadValue, 2},
		{"byte order mark", "\ufeff15in", KeyHidden, calc.BadValue, 1},
		{"broken encoding", "1½\xff5in", KeyEncoding, calc.BadValue, 3},
		{"cut-off encoding", "15 \xe2\x80", KeyEncoding, calc.BadValue, 4},
		{"a megabyte", strings.Repeat("1", 1<<20), KeyTooLong, calc.BadValue, MaxText + 1},
		{"a control character", "15\x00in", KeyUnexpected, calc.BadValue, 3},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseLength(tt.text, Unset)
			tt.check(t, err)
		})
	}
}

func TestFaultsCarryWhatTheSentenceNeeds(t *testing.T) {
	fault := func(err error) *calc.Fault {
		var f *calc.Fault
		if !errors.As(err, &f) {
			t.Fatalf("got %v, want a Fault", err)
		}
		return f
	}
	_, err := ParseLength("2000000 m", Unset)
	if limit, ok := fault(err).Args[2].(Length); !ok || limit != MaxLength {
		t.Errorf("bound of a length: %#v", fault(err).Args)
	}
	_, err = ParseMass("2000000000 g")
	if limit, ok := fault(err).Args[2].(Mass); !ok || limit != MaxMass {
		t.Errorf("bound of a mass: %#v", fault(err).Args)
	}
	_, err = ParseLength("3,360 yd", Unset)
	if a := fault(err).Args; a[2] != "3360" || a[3] != "3.360" {
		t.Errorf("two ways to write 3,360: %#v", a)
	}
	_, err = ParseLength("1\u202e5in\x00", Unset)
	if a := fault(err).Args; a[0] != "1<U+202E>5in<U+0000>" || a[2] != "U+202E" {
		t.Errorf("hidden characters must be shown: %#v", a)
	}
	_, err = ParseLength(strings.Repeat("1", 1<<20), Unset)
	if a := fault(err).Args; len([]rune(a[0].(string))) > 41 || a[2] != MaxText {
		t.Errorf("long text must be shortened: %#v", a)
	}
	_, err = ParseLength("15", Metric)
	if err != nil {
		t.Errorf("bare metric: %v", err)
	}
	_, err = ParseLength("15 furlongs", Metric)
	if f := fault(err); f.Example != "38cm" || f.Args[2] != "furlongs" {
		t.Errorf("example for a metric person: %v", f)
	}
}

func TestKeysAreListedOnce(t *testing.T) {
	seen := map[calc.Key]bool{}
	for _, k := range Keys {
		if seen[k] {
			t.Errorf("%s is listed twice", k)
		}
		seen[k] = true
	}
}
