package measure

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestPrint(t *testing.T) {
	tests := []struct{ name, got, want string }{
		{"inches to an eighth", Imperial.Length(15.5 * Inch), "15 1/2 in"},
		{"eighths in lowest terms", Imperial.Length(0.75 * Inch), "3/4 in"},
		{"rounded to the nearest eighth", Imperial.Length(10.07 * Inch), "10 1/8 in"},
		{"whole inches", Imperial.Length(15 * Inch), "15 in"},
		{"just under 3 yd stays in inches", Imperial.Length(107.875 * Inch), "107 7/8 in"},
		{"what rounds to 3 yd is in yards", Imperial.Length(107.95 * Inch), "3 yd"},
		{"yards to an eighth", Imperial.Length(4.25 * Yard), "4 1/4 yd"},
		{"many yards", Imperial.Length(2112 * Yard), "2112 yd"},
		{"what rounds to 100 yd is in whole yards", Imperial.Length(99.95 * Yard), "100 yd"},
		{"from 100 yd whole yards", Imperial.Length(100.4 * Yard), "100 yd"},
		{"just under 100 m to a centimetre", Metric.Length(99.994), "99.99 m"},
		{"from 100 m whole metres", Metric.Length(231.46), "231 m"},
		{"a warp is never shown shorter in inches", Imperial.LengthUp(10.01 * Inch), "10 1/8 in"},
		{"nor in yards", Imperial.LengthUp(3.01 * Yard), "3 1/8 yd"},
		{"nor in many yards", Imperial.LengthUp(100.2 * Yard), "101 yd"},
		{"nor in centimetres", Metric.LengthUp(38.1 * Centimetre), "38.5 cm"},
		{"nor in metres", Metric.LengthUp(3.251), "3.26 m"},
		{"nor in many metres", Metric.LengthUp(231.1), "232 m"},
		{"what goes up to 3 m is in metres", Metric.LengthUp(299.6 * Centimetre), "3 m"},
		{"what comes out goes no higher", Imperial.LengthUp(4.25 * Yard), "4 1/4 yd"},
		{"nor in centimetres that do", Metric.LengthUp(0.385), "38.5 cm"},
		{"hardly any goes up to something", Imperial.LengthUp(1e-12), "1/8 in"},
		{"nothing stays nothing", Metric.LengthUp(0), "0 cm"},
		{"both up", Metric.BothLengthsUp(38 * Centimetre), "38 cm (15 in)"},
		{"both up, each by its own step", Imperial.BothLengthsUp(15.01 * Inch), "15 1/8 in (38.5 cm)"},
		{"grams up", Metric.MassUp(57.1), "58 g"},
		{"kilograms up", Metric.MassUp(1251), "1.26 kg"},
		{"pounds up", Imperial.MassUp(15.9 * Ounce), "1 lb"},
		{"both masses up", Metric.BothMassesUp(Pound), "454 g (1 lb)"},
		{"no length", Imperial.Length(0), "0 in"},
		{"hardly any inches", Imperial.Length(0.01 * Inch), "under 1/8 in"},
		{"a negative difference", Imperial.Length(-1.5 * Inch), "-1 1/2 in"},
		{"centimetres to a half", Metric.Length(39.37 * Centimetre), "39.5 cm"},
		{"whole centimetres", Metric.Length(38 * Centimetre), "38 cm"},
		{"what rounds to 3 m is in metres", Metric.Length(299.9 * Centimetre), "3 m"},
		{"metres to a centimetre", Metric.Length(3.254), "3.25 m"},
		{"no centimetres", Metric.Length(0), "0 cm"},
		{"hardly any centimetres", Metric.Length(Millimetre), "under 0.5 cm"},
		{"nobody said which units", Unset.Length(38 * Centimetre), "38 cm"},
		{"both, inches first", Imperial.BothLengths(15.5 * Inch), "15 1/2 in (39.5 cm)"},
		{"both, centimetres first", Metric.BothLengths(38 * Centimetre), "38 cm (15 in)"},
		{"both, nobody said", Unset.BothLengths(38 * Centimetre), "38 cm (15 in)"},
		{"grams", Metric.Mass(57.4), "57 g"},
		{"what rounds to 1 kg is in kilograms", Metric.Mass(999.7), "1 kg"},
		{"kilograms", Metric.Mass(1254), "1.25 kg"},
		{"hardly any grams", Metric.Mass(0.2), "under 1 g"},
		{"ounces to a quarter", Imperial.Mass(2.3 * Ounce), "2 1/4 oz"},
		{"pounds and ounces", Imperial.Mass(55 * Ounce), "3 lb 7 oz"},
		{"pounds and quarters", Imperial.Mass(45.75 * Ounce), "2 lb 13 3/4 oz"},
		{"what rounds to a pound", Imperial.Mass(15.9 * Ounce), "1 lb"},
		{"hardly any ounces", Imperial.Mass(0.1 * Ounce), "under 1/4 oz"},
		{"no mass", Imperial.Mass(0), "0 oz"},
		{"a negative difference of mass", Metric.Mass(-3), "-3 g"},
		{"both masses", Metric.BothMasses(Pound), "454 g (1 lb)"},
		{"whole sett", Imperial.Sett(20 * PerInch), "20 per inch"},
		{"half sett", Imperial.Sett(7.5 * PerInch), "7.5 per inch"},
		{"a metric reed in inches", Imperial.Sett(400), "10.2 per inch"},
		{"an inch sett per 10 cm", Metric.Sett(20 * PerInch), "79 per 10 cm"},
		{"a metric reed", Metric.Sett(400), "40 per 10 cm"},
		{"hardly any threads", Metric.Sett(1), "under 1 per 10 cm"},
		{"both setts", Imperial.BothSetts(20 * PerInch), "20 per inch (79 per 10 cm)"},
		{"whole per cent", Metric.Ratio(0.1), "10 %"},
		{"a decimal where needed", Metric.Ratio(0.125), "12.5 %"},
		{"rounded to a decimal", Metric.Ratio(0.067708), "6.8 %"},
		{"hardly any per cent", Metric.Ratio(0.0001), "under 0.1 %"},
		{"nothing at all", Metric.Ratio(0), "0 %"},
		{"a negative ratio", Metric.Ratio(-0.1), "-10 %"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if tt.got != tt.want {
				t.Errorf("printed %q, want %q", tt.got, tt.want)
			}
		})
	}
}

// half is half of what a printed length is rounded to, and a hair for the sum.
func half(u Units, l Length) float64 {
	step := Length(0.005)
	switch {
	case u == Imperial && l < 107.9375*Inch:
		step = Inch / 8
	case u == Imperial && l < 99.9375*Yard:
		step = Yard / 8
	case u == Imperial:
		step = Yard
	case l < 2.9975:
		step = Centimetre / 2
	case l < 99.995:
		step = Centimetre
	default:
		step = Metre
	}
	return float64(step)/2 + 1e-9*float64(l)
}

func checkLengthPrint(t interface{ Fatalf(string, ...any) }, l Length) {
	for _, u := range []Units{Imperial, Metric} {
		text := u.Length(l)
		if strings.HasPrefix(text, "under ") {
			if l == 0 || float64(l) > half(u, l) {
				t.Fatalf("%v m is printed as %q", float64(l), text)
			}
			continue
		}
		again, err := ParseLength(text, Unset)
		if err != nil {
			t.Fatalf("%q cannot be read back: %v", text, err)
		}
		if d := math.Abs(float64(again - l)); d > half(u, l) {
			t.Fatalf("%v m is printed as %q, %v m off", float64(l), text, d)
		}
	}
}

func TestALengthIsReadBackAsPrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Rounding may go up past the bound, so the last yard is left out.
		most := rapid.SampledFrom([]float64{0.01, 1, 10, float64(MaxLength) - 1}).Draw(t, "most")
		checkLengthPrint(t, Length(rapid.Float64Range(0, most).Draw(t, "metres")))
	})
}

// TestUpIsNeverLess: what is rounded up, read back, is no less, and at most two
// of the steps that rounding to the nearest is half of.
func TestUpIsNeverLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		most := rapid.SampledFrom([]float64{0.01, 1, 10, 1000}).Draw(t, "most")
		l := Length(rapid.Float64Range(0, most).Draw(t, "metres"))
		m := Mass(rapid.Float64Range(0, most).Draw(t, "grams"))
		for _, u := range []Units{Imperial, Metric} {
			longer, err := ParseLength(u.LengthUp(l), Unset)
			if err != nil || float64(longer) < float64(l)*(1-2e-9) || float64(longer-l) > 8*half(u, l) {
				t.Fatalf("%v m is shown as %q, %v", float64(l), u.LengthUp(l), err)
			}
			heavier, err := ParseMass(u.MassUp(m))
			if err != nil || float64(heavier) < float64(m)*(1-2e-9) || heavier-m > 10 {
				t.Fatalf("%v g is shown as %q, %v", float64(m), u.MassUp(m), err)
			}
		}
	})
}

func checkMassPrint(t interface{ Fatalf(string, ...any) }, m Mass) {
	for _, u := range []Units{Imperial, Metric} {
		step := Ounce / 4
		if u == Metric {
			step = Gram
			if m >= 999.5 {
				step = 10 * Gram
			}
		}
		text := u.Mass(m)
		if strings.HasPrefix(text, "under ") {
			if m == 0 || m > step/2 {
				t.Fatalf("%v g is printed as %q", float64(m), text)
			}
			continue
		}
		again, err := ParseMass(text)
		if err != nil {
			t.Fatalf("%q cannot be read back: %v", text, err)
		}
		if d := math.Abs(float64(again - m)); d > float64(step)/2+1e-9*float64(m) {
			t.Fatalf("%v g is printed as %q, %v g off", float64(m), text, d)
		}
	}
}

func TestAMassIsReadBackAsPrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		most := rapid.SampledFrom([]float64{1, 100, 2000, float64(MaxMass) - 20}).Draw(t, "most")
		checkMassPrint(t, Mass(rapid.Float64Range(0, most).Draw(t, "grams")))
	})
}

func checkSettPrint(t interface{ Fatalf(string, ...any) }, s Sett) {
	for u, step := range map[Units]Sett{Imperial: PerInch / 10, Metric: PerDecimetre} {
		text := u.Sett(s)
		if strings.HasPrefix(text, "under ") {
			if s > step/2 {
				t.Fatalf("%v per metre is printed as %q", float64(s), text)
			}
			continue
		}
		again, err := ParseSett(text)
		if err != nil {
			t.Fatalf("%q cannot be read back: %v", text, err)
		}
		if d := math.Abs(float64(again - s)); d > float64(step)/2*(1+1e-9)+1e-9*float64(s) {
			t.Fatalf("%v per metre is printed as %q, %v off", float64(s), text, d)
		}
	}
}

func TestASettIsReadBackAsPrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkSettPrint(t, Sett(rapid.Float64Range(float64(MinSett), float64(MaxSett)-5).Draw(t, "per metre")))
	})
}

func checkRatioPrint(t interface{ Fatalf(string, ...any) }, r Ratio) {
	text := Metric.Ratio(r)
	if strings.HasPrefix(text, "under ") {
		if r == 0 || r > 0.0005 {
			t.Fatalf("%v is printed as %q", float64(r), text)
		}
		return
	}
	again, err := ParseRatio(text)
	if err != nil {
		t.Fatalf("%q cannot be read back: %v", text, err)
	}
	if d := math.Abs(float64(again - r)); d > 0.0005+1e-12 {
		t.Fatalf("%v is printed as %q, %v off", float64(r), text, d)
	}
}

func TestARatioIsReadBackAsPrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkRatioPrint(t, Ratio(rapid.Float64Range(0, 1).Draw(t, "ratio")))
	})
}
