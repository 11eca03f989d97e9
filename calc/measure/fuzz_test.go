package measure

import (
	"errors"
	"math"
	"slices"
	"testing"
	"unicode/utf8"

	"weftroom/calc"
)

// Seeds lie in testdata/fuzz, named after what they show.

// checkFault holds what every refusal must have: a listed key, a place within
// the text, and an example that would have been accepted.
func checkFault(t *testing.T, text string, err error, accepts func(string) error) {
	t.Helper()
	var f *calc.Fault
	if !errors.As(err, &f) {
		t.Fatalf("%q: %v is no Fault", text, err)
	}
	if !slices.Contains(Keys, f.Key) || f.Field != "" {
		t.Fatalf("%q: key %q, field %q", text, f.Key, f.Field)
	}
	said, ok := f.Args[0].(string)
	if !ok || !utf8.ValidString(said) {
		t.Fatalf("%q: first argument %#v", text, f.Args[0])
	}
	if pos, ok := f.Args[1].(int); !ok || pos < 1 || pos > utf8.RuneCountInString(text)+1 {
		t.Fatalf("%q: place %#v", text, f.Args[1])
	}
	if err := accepts(f.Example); err != nil {
		t.Fatalf("%q: the example %q is refused: %v", text, f.Example, err)
	}
}

func checkFinite(t *testing.T, text string, v, least, most float64) {
	t.Helper()
	if math.IsNaN(v) || v < least || v > most {
		t.Fatalf("%q is read as %v", text, v)
	}
}

func FuzzParseLength(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		for _, bare := range []Units{Unset, Imperial, Metric} {
			l, err := ParseLength(text, bare)
			if err != nil {
				checkFault(t, text, err, func(s string) error { _, err := ParseLength(s, Unset); return err })
				continue
			}
			checkFinite(t, text, float64(l), 0, float64(MaxLength))
			if l < MaxLength-1 {
				checkLengthPrint(t, l)
			}
		}
	})
}

func FuzzParseMass(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ParseMass(text)
		if err != nil {
			checkFault(t, text, err, func(s string) error { _, err := ParseMass(s); return err })
			return
		}
		checkFinite(t, text, float64(m), 0, float64(MaxMass))
		if m < MaxMass-20 {
			checkMassPrint(t, m)
		}
	})
}

func FuzzParseSett(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSett(text)
		if err != nil {
			checkFault(t, text, err, func(s string) error { _, err := ParseSett(s); return err })
			return
		}
		checkFinite(t, text, float64(s), float64(MinSett), float64(MaxSett))
		if s < MaxSett-5 {
			checkSettPrint(t, s)
		}
	})
}

func FuzzParseRatio(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRatio(text)
		if err != nil {
			checkFault(t, text, err, func(s string) error { _, err := ParseRatio(s); return err })
			return
		}
		checkFinite(t, text, float64(r), 0, 1)
		checkRatioPrint(t, r)
	})
}

func FuzzParseYarn(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		y, err := ParseYarn(text)
		if err != nil {
			checkFault(t, text, err, func(s string) error { _, err := ParseYarn(s); return err })
			return
		}
		checkFinite(t, text, y.Number, MinYarnNumber, MaxYarnNumber)
		if y.Plies < 1 || y.Plies > MaxPlies || y.System == NoYarnSystem {
			t.Fatalf("%q is read as %#v", text, y)
		}
		again, err := ParseYarn(y.String())
		if err != nil || again != y {
			t.Fatalf("%q is printed as %q and read back as %#v, %v", text, y.String(), again, err)
		}
	})
}
