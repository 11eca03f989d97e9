package lace

import (
	"math"
	"testing"

	"weftroom/calc/measure"
)

// The check value of the eyelet rule: 120 ends at 10 to the inch, every group
// and edge worked 3 times, takes 36 in of a strand before drops and the pick
// home, 48 in with it (derived by two programs written apart). Nineteen borders
// with a drop of 2 picks at 10 to the inch add 3.8 in.
func TestWeftOfAnEyeletRow(t *testing.T) {
	for _, c := range []struct {
		name    string
		way     Way
		ppi     measure.Sett
		strands int
		inches  float64
	}{
		{"a journey without the pick home", TwoWay, 0, 1, 36},
		{"with the pick home", OneWay, 0, 1, 48},
		{"two strands", OneWay, 0, 2, 96},
		{"with the drops", OneWay, 10 * measure.PerInch, 1, 48 + 19*2/10.0},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := Pattern{Ends: 120, Raised: 3, Passes: 3, Way: c.way, Rows: 1}.Design()
			if err != nil {
				t.Fatal(err)
			}
			p, err := Make(d)
			if err != nil {
				t.Fatal(err)
			}
			weft, err := Weft(p, 10*measure.PerInch, c.ppi, c.strands)
			if err != nil {
				t.Fatal(err)
			}
			if got := weft.In(measure.Inch); math.Abs(got-c.inches) > 1e-9 {
				t.Errorf("%v in of weft, want %v", got, c.inches)
			}
		})
	}
}
