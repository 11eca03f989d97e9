package yarn

import (
	"errors"
	"math"
	"slices"
	"testing"

	"weftroom/calc"
	"weftroom/calc/measure"
)

func FuzzAdvise(f *testing.F) {
	for _, text := range []string{
		"8/2 cotton", "2/16 worsted", "16/2 linen", "40/2 spun silk", "Nm 16/2", "30 tex x 2",
		"70 denier", "3360 yd/lb", "230 m/100g wool", "10 wpi", "R60 tex/2", "0.001 tex", "1000000 tex",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		y, err := measure.ParseYarn(text)
		if err != nil {
			return
		}
		for _, w := range weaves {
			a, err := Advise(y, w, nil)
			if err == nil {
				checkAdvice(t, a, ImperialReeds)
				continue
			}
			var fault *calc.Fault
			if !errors.As(err, &fault) || !slices.Contains(Keys, fault.Key) {
				t.Fatalf("%q: %v", text, err)
			}
		}
	})
}

func FuzzSleyOrder(f *testing.F) {
	f.Add(20.0, 8.0)
	f.Add(400.0, 400.0)
	f.Add(0.0, 1.0)
	f.Add(math.MaxFloat64, 1e-300)
	f.Add(1e-300, math.MaxFloat64)
	f.Fuzz(func(t *testing.T, epi, dpi float64) {
		order, err := SleyOrder(measure.Sett(epi), measure.Sett(dpi))
		if err != nil {
			var fault *calc.Fault
			if !errors.As(err, &fault) || !slices.Contains(Keys, fault.Key) {
				t.Fatalf("%v in %v: %v", epi, dpi, err)
			}
			return
		}
		sum := 0
		for _, n := range order {
			sum += n
		}
		if got := float64(sum) / float64(len(order)); math.Abs(got-epi/dpi) > sameRatio*got {
			t.Fatalf("%v in %v comes out as %v", epi, dpi, order)
		}
	})
}
