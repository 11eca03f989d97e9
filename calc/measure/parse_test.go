package measure

import (
	"strings"
	"testing"

	"weftroom/calc"
)

func TestParseMass(t *testing.T) {
	tests := []struct {
		name, text string
		want       Mass
	}{
		{"grams", "57 g", 57},
		{"kilograms with a decimal comma", "1,25kg", 1250},
		{"a word in full", "2 kilograms", 2000},
		{"ounces with a fraction", "2 1/4 oz", 2.25 * Ounce},
		{"pounds and ounces", "3 lb 7 oz", 55 * Ounce},
		{"pounds and ounces with a fraction character", "2 lbs 13¾ oz", 45.75 * Ounce},
		{"nothing needs no unit", "0", 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseMass(tt.text)
			if err != nil || !near(float64(got), float64(tt.want)) {
				t.Errorf("ParseMass(%q) = %v g, %v, want %v g", tt.text, got, err, tt.want)
			}
		})
	}
}

func TestParseMassFaults(t *testing.T) {
	tests := []faultRow{
		{"no unit", "57", KeyNoUnit, calc.BadValue, 3},
		{"a length", "57 cm", KeyUnknownUnit, calc.BadValue, 4},
		{"an inch mark", `57"`, KeyUnexpected, calc.BadValue, 3},
		{"ounces before pounds", "7 oz 3 lb", KeyUnitOrder, calc.BadValue, 8},
		{"too large", "1001 kg", KeyTooLarge, calc.OutOfRange, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseMass(tt.text)
			tt.check(t, err)
		})
	}
}

func TestParseSett(t *testing.T) {
	tests := []struct {
		name, text string
		perInch    float64
	}{
		{"bare", "10", 10},
		{"bare half", "12.5", 12.5},
		{"bare mixed number", "12 1/2", 12.5},
		{"bare fraction character", "7½", 7.5},
		{"ends per inch", "10 epi", 10},
		{"picks per inch", "10ppi", 10},
		{"dents per inch", "12,5 dpi", 12.5},
		{"slash", "10/in", 10},
		{"slash and a word", "10 / inch", 10},
		{"slash and a mark", `10/"`, 10},
		{"words", "20 ends per inch", 20},
		{"per centimetre", "8/cm", 20.32},
		{"per 10 cm", "40/10cm", 10.16},
		{"per 10 cm with a blank", "40/10 cm", 10.16},
		{"per 10 cm in words", "40 per 10 cm", 10.16},
		{"a swatch of four inches", "22 per 4 in", 5.5},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseSett(tt.text)
			if err != nil || !near(got.In(PerInch), tt.perInch) {
				t.Errorf("ParseSett(%q) = %v per inch, %v, want %v", tt.text, got.In(PerInch), err, tt.perInch)
			}
		})
	}
}

func TestFortyPerTenCentimetresIsExact(t *testing.T) {
	for _, text := range []string{"40/10cm", "40 per 10 cm"} {
		if got, err := ParseSett(text); err != nil || got != 400 {
			t.Errorf("ParseSett(%q) = %v per metre, %v, want 400 exactly", text, float64(got), err)
		}
	}
}

func TestParseSettFaults(t *testing.T) {
	tests := []faultRow{
		{"nothing to the inch", "0", KeyTooSmall, calc.OutOfRange, 1},
		{"almost nothing", "0.001", KeyTooSmall, calc.OutOfRange, 1},
		{"too fine", "1001", KeyTooLarge, calc.OutOfRange, 1},
		{"to no length at all", "40/0 cm", KeyNumber, calc.BadValue, 4},
		{"no length", "40/10", KeyNoUnit, calc.BadValue, 6},
		{"no length after per", "40 per", KeyNoUnit, calc.BadValue, 7},
		{"a length instead", "10 in", KeyUnknownUnit, calc.BadValue, 4},
		{"per mass", "10/kg", KeyUnknownUnit, calc.BadValue, 4},
		{"what is counted but not in what", "20 ends", KeyUnexpected, calc.BadValue, 8},
		{"words after", "10 epi plain", KeyUnexpected, calc.BadValue, 8},
		{"negative", "-10", KeyNegative, calc.OutOfRange, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseSett(tt.text)
			tt.check(t, err)
		})
	}
}

func TestParseRatio(t *testing.T) {
	tests := []struct {
		name, text string
		want       float64
	}{
		{"per cent", "10%", 0.1},
		{"per cent after a blank", "10 %", 0.1},
		{"per cent with a decimal", "7,5%", 0.075},
		{"per cent in words", "10 percent", 0.1},
		{"per cent in two words", "10 per cent", 0.1},
		{"decimal point", "0.1", 0.1},
		{"decimal comma", "0,1", 0.1},
		{"three decimals after a nought", "0,125", 0.125},
		{"fraction", "1/8", 0.125},
		{"nothing", "0", 0},
		{"everything", "100%", 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseRatio(tt.text)
			if err != nil || !near(float64(got), tt.want) {
				t.Errorf("ParseRatio(%q) = %v, %v, want %v", tt.text, got, err, tt.want)
			}
		})
	}
}

func TestParseRatioFaults(t *testing.T) {
	tests := []faultRow{
		{"ten times or ten per cent", "10", KeyPercent, calc.BadValue, 1},
		{"one", "1", KeyPercent, calc.BadValue, 1},
		{"more than all", "101%", KeyTooLarge, calc.OutOfRange, 1},
		{"a unit", "10 in", KeyUnexpected, calc.BadValue, 4},
		{"twice", "10%%", KeyUnexpected, calc.BadValue, 4},
		{"negative", "-10%", KeyNegative, calc.OutOfRange, 1},
		{"long", strings.Repeat(" ", 500), KeyTooLong, calc.BadValue, MaxText + 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseRatio(tt.text)
			tt.check(t, err)
		})
	}
}
