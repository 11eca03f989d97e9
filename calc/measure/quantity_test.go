package measure

import "testing"

// GNU units 2.22 prints these (seen: units -t -o %.8g HAVE WANT).
func TestUnitsByDefinition(t *testing.T) {
	tests := []struct {
		name      string
		got, want float64
	}{
		{"15.5inch in cm", (15.5 * Inch).In(Centimetre), 39.37},
		{"5ft+6in in m", (5*Foot + 6*Inch).In(Metre), 1.6764},
		{"4yd in m", (4 * Yard).In(Metre), 3.6576},
		{"3lb+7oz in g", (3*Pound + 7*Ounce).In(Gram), 1559.2238},
		{"40/(10cm) in 1/inch", (40 * PerDecimetre).In(PerInch), 10.16},
		{"(10cm)/40 in m", float64((40 * PerDecimetre).Spacing()), 0.0025},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if d := tt.got - tt.want; d > 5e-8*tt.want || d < -5e-8*tt.want {
				t.Errorf("got %v, want %v", tt.got, tt.want)
			}
		})
	}
}
