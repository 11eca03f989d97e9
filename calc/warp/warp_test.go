package warp

import (
	"errors"
	"math"
	"testing"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// How an outside value in these tests is known.
const (
	seen     = "seen"
	common   = "common practice, no source"
	derived  = "derived"
	inch     = measure.Inch
	yard     = measure.Yard
	perInch  = measure.PerInch
	per10cm  = measure.PerDecimetre
	hankYard = 840 // of cotton to the pound for each count, by definition
)

// cotton is the tex of a cotton count, from the definitions alone.
func cotton(count float64) measure.Tex {
	kilometres := measure.Length(hankYard*count) * yard / 1000
	return measure.Tex(float64(measure.Pound) / float64(kilometres))
}

// peirce is the diameter of a cotton count, 1/(28·√Ne) in.
func peirce(count float64) measure.Length {
	return inch / measure.Length(28*math.Sqrt(count))
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, within)
	}
}

// wantFault checks that err is a mistake of the asker with this key and field
// and something right to write instead.
func wantFault(t *testing.T, err error, code calc.Code, key calc.Key, field string) *calc.Fault {
	t.Helper()
	f, ok := errors.AsType[*calc.Fault](err)
	if !ok {
		t.Fatalf("got %v, want a fault %s on %s", err, key, field)
	}
	if f.Code != code || f.Key != key || f.Field != field {
		t.Errorf("got fault %v, want %s %s on %s", f, code, key, field)
	}
	if f.Example == "" {
		t.Errorf("fault %v has no example", f)
	}
	return f
}

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
