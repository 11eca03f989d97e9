package yarn

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
	"weftroom/calc/measure"
)

var weaves = []Weave{Plain, Twill, Lace}

func TestAdviceByYarnNumber(t *testing.T) {
	a, err := Advise(mustYarn(t, "8/2 cotton"), Plain, ImperialReeds)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name string
		got  measure.Sett
		want float64
	}{
		{"diameters", a.Diameters, 52.169},
		{"maximum, half the diameters", a.Max, 26.084},
		{"target, four fifths of it", a.Target, 20.868},
		{"low", a.Low, 16.955},
		{"high", a.High, 24.128},
		{"ceiling", a.Ceiling, 32.332},
		{"choice", a.Choice, 20},
		{"reed", a.Reed, 10},
	} {
		if got := row.got.In(measure.PerInch); math.Abs(got-row.want) > 0.0005 {
			t.Errorf("%s: %v per inch, want %v", row.name, got, row.want)
		}
	}
	if a.Method != ByYarnNumber || a.K != FirmK || a.Weave != Plain {
		t.Errorf("method %v, k %v, weave %v", a.Method, a.K, a.Weave)
	}
}

func TestAdviceByWraps(t *testing.T) {
	tests := []struct {
		weave       Weave
		rule        float64 // ends per inch for 24 wraps
		choice      float64
		reed        float64
		order       []int
		explanation string
	}{
		{Plain, 12, 12, 12, []int{1}, "half the wraps"},
		{Twill, 16, 16, 8, []int{2}, "two thirds"},
		{Lace, 10, 10, 10, []int{1}, "five sixths of plain"},
	}
	for _, tt := range tests {
		t.Run(tt.explanation, func(t *testing.T) {
			a, err := Advise(mustYarn(t, "24 wpi"), tt.weave, nil)
			if err != nil {
				t.Fatal(err)
			}
			in := func(s measure.Sett) float64 { return math.Round(s.In(measure.PerInch)*1e6) / 1e6 }
			if a.Method != ByWraps || a.K != 0 || in(a.Diameters) != 24 {
				t.Errorf("method %v, k %v, wraps %v", a.Method, a.K, in(a.Diameters))
			}
			if in(a.Max) != tt.rule || in(a.Target) != tt.rule {
				t.Errorf("maximum %v, target %v, want %v", in(a.Max), in(a.Target), tt.rule)
			}
			if math.Abs(in(a.Ceiling)-0.57735*24) > 0.0005 {
				t.Errorf("ceiling %v", in(a.Ceiling))
			}
			if in(a.Choice) != tt.choice || in(a.Reed) != tt.reed || !slices.Equal(a.Sley, tt.order) {
				t.Errorf("choice %v in %v %v, want %v in %v %v", in(a.Choice), in(a.Reed), a.Sley, tt.choice, tt.reed, tt.order)
			}
		})
	}
}

// The choices a weaver would expect, and those of a weaver with a metric reed.
func TestChoiceOfReed(t *testing.T) {
	in, dm := measure.PerInch, measure.PerDecimetre
	tests := []struct {
		name   string
		yarn   string
		weave  Weave
		reeds  []measure.Sett
		choice measure.Sett
		reed   measure.Sett
		order  []int
	}{
		{"8/2 cotton, plain", "8/2 cotton", Plain, ImperialReeds, 20 * in, 10 * in, []int{2}},
		{"10/2 cotton, plain", "10/2 cotton", Plain, ImperialReeds, 24 * in, 12 * in, []int{2}},
		{"5/2 cotton, plain", "5/2 cotton", Plain, ImperialReeds, 16 * in, 8 * in, []int{2}},
		{"10/2 cotton, lace", "10/2 cotton", Lace, ImperialReeds, 20 * in, 10 * in, []int{2}},
		{"8/2 cotton, lace, evenly", "8/2 cotton", Lace, ImperialReeds, 16 * in, 8 * in, []int{2}},
		{"3/2 cotton, lace, evenly", "3/2 cotton", Lace, ImperialReeds, 10 * in, 10 * in, []int{1}},
		{"lace in the one reed at home, unevenly", "8/2 cotton", Lace, []measure.Sett{12 * in}, 18 * in, 12 * in, []int{1, 2}},
		{"8/2 cotton, metric", "8/2 cotton", Plain, MetricReeds, 80 * dm, 40 * dm, []int{2}},
		{"16/2 linen, plain", "16/2 linen", Plain, ImperialReeds, 18 * in, 12 * in, []int{1, 2}},
		{"one reed at home", "8/2 cotton", Plain, []measure.Sett{8 * in}, 20 * in, 8 * in, []int{2, 3}},
		{"more than three in a dent only where there is no other way", "8/2 cotton", Plain, []measure.Sett{5 * in}, 20 * in, 5 * in, []int{4}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, err := Advise(mustYarn(t, tt.yarn), tt.weave, tt.reeds)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(float64(a.Choice/tt.choice)-1) > 1e-12 || a.Reed != tt.reed {
				t.Errorf("%v in %v per inch, want %v in %v", a.Choice.In(in), a.Reed.In(in), tt.choice.In(in), tt.reed.In(in))
			}
			if d := cmp.Diff(tt.order, a.Sley); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestSoftYarnIsSetOpener(t *testing.T) {
	for f, want := range map[measure.Fibre]float64{
		measure.Cotton: 0.9, measure.Worsted: 0.9, measure.NoFibre: 0.9,
		measure.Wool: 0.84, measure.Woollen: 0.84, measure.Mohair: 0.84,
	} {
		if got := AshenhurstK(f); got != want {
			t.Errorf("k for %q is %v, want %v", f, got, want)
		}
	}
}

func TestFaults(t *testing.T) {
	advise := func(y measure.Yarn, w Weave, reeds ...measure.Sett) error { _, err := Advise(y, w, reeds); return err }
	tex := func(y measure.Yarn) error { _, err := Tex(y); return err }
	cotton := mustYarn(t, "8/2 cotton")
	tests := []struct {
		name string
		err  error
		key  calc.Key
		code calc.Code
	}{
		{"wraps have no tex", tex(mustYarn(t, "10 wpi")), KeyWraps, calc.BadValue},
		{"a yarn of nothing", tex(measure.Yarn{}), KeyNumber, calc.BadValue},
		{"a count of nothing", tex(measure.Yarn{System: measure.CottonCount, Plies: 2}), KeyNumber, calc.BadValue},
		{"no plies", tex(measure.Yarn{System: measure.CottonCount, Number: 8}), KeyNumber, calc.BadValue},
		{"not a number", tex(measure.Yarn{System: measure.TexNumber, Number: math.NaN(), Plies: 1}), KeyNumber, calc.BadValue},
		{"no wraps", advise(measure.Yarn{System: measure.WrapsPerInch, Plies: 1}, Plain), KeyNumber, calc.BadValue},
		{"no advice for a yarn of nothing", advise(measure.Yarn{}, Plain), KeyNumber, calc.BadValue},
		{"no such weave", advise(cotton, Weave(9)), KeyNoWeave, calc.BadValue},
		{"too fine for any reed", advise(mustYarn(t, "0.5 tex"), Plain), KeyNoReed, calc.OutOfRange},
		{"too thick for any reed", advise(mustYarn(t, "1000000 tex"), Plain), KeyNoReed, calc.OutOfRange},
		{"no reed of use", advise(cotton, Plain, 0, -1, measure.Sett(math.NaN())), KeyNoReed, calc.OutOfRange},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var f *calc.Fault
			if !errors.As(tt.err, &f) {
				t.Fatalf("got %v, want a Fault", tt.err)
			}
			if f.Key != tt.key || f.Code != tt.code || f.Example == "" {
				t.Errorf("got %s %s, example %q, want %s %s", f.Code, f.Key, f.Example, tt.code, tt.key)
			}
			if !slices.Contains(Keys, f.Key) {
				t.Errorf("%s is not listed", f.Key)
			}
		})
	}
}

func TestNames(t *testing.T) {
	got := []string{Plain.String(), Twill.String(), Lace.String(), Weave(9).String(), ByYarnNumber.String(), ByWraps.String()}
	want := []string{"plain", "twill", "lace", "unknown", "yarn_number", "wraps_per_inch"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestNothingHasNoDiameter(t *testing.T) {
	for _, tex := range []measure.Tex{0, -1, measure.Tex(math.NaN())} {
		if d := Diameter(tex); d != 0 {
			t.Errorf("%v tex has a diameter of %v", tex, d)
		}
		if d := PeirceMetric(tex); d != 0 {
			t.Errorf("%v tex has a metric diameter of %v", tex, d)
		}
		if d := Ashenhurst(tex, measure.Cotton); d != 0 {
			t.Errorf("%v tex lies %v to the metre", tex, d)
		}
		if n := Number(tex, measure.CottonCount); n != 0 {
			t.Errorf("%v tex is cotton %v", tex, n)
		}
	}
	if n := Number(30, measure.WrapsPerInch); n != 0 {
		t.Errorf("30 tex are %v wraps", n)
	}
}

// drawSystem is any system but wraps, which have no mass.
func drawSystem(t *rapid.T) measure.YarnSystem {
	return measure.YarnSystem(rapid.IntRange(int(measure.CottonCount), int(measure.MetresPer100Grams)).Draw(t, "system"))
}

func drawTex(t *rapid.T, label string) measure.Tex {
	return measure.Tex(math.Exp(rapid.Float64Range(math.Log(0.1), math.Log(1e5)).Draw(t, label)))
}

func same(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b)) }

func TestConversionsInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, tex := drawSystem(t), drawTex(t, "tex")
		n := Number(tex, s)
		y := measure.Yarn{System: s, Number: n, Plies: 1}
		if n < measure.MinYarnNumber || n > measure.MaxYarnNumber {
			t.Skip("beyond what can be written")
		}
		back, err := Tex(y)
		if err != nil {
			t.Fatal(err)
		}
		if !same(float64(back), float64(tex)) {
			t.Fatalf("%v tex is %v in system %v and back %v", tex, n, s, back)
		}
	})
}

func TestPliesDivideACount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Float64Range(1, 200).Draw(t, "count")
		plies := rapid.IntRange(1, measure.MaxPlies).Draw(t, "plies")
		y := measure.Yarn{System: measure.CottonCount, Number: n, Plies: plies}
		tex, err := Tex(y)
		if err != nil {
			t.Fatal(err)
		}
		if got := Number(tex, measure.CottonCount); !same(got, n/float64(plies)) {
			t.Fatalf("%v/%d is %v, want %v", n, plies, got, n/float64(plies))
		}
		y.Finished = true
		if tex, err = Tex(y); err != nil || !same(Number(tex, measure.CottonCount), n) {
			t.Fatalf("finished %v/%d is %v tex, %v", n, plies, tex, err)
		}
	})
}

func TestPlyingIsHarmonicAndSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawTex(t, "a"), drawTex(t, "b")
		if Plied(a, b) != Plied(b, a) {
			t.Fatalf("%v and %v are not %v and %v", a, b, b, a)
		}
		na, nb := Number(a, measure.CottonCount), Number(b, measure.CottonCount)
		if got, want := Number(Plied(a, b), measure.CottonCount), na*nb/(na+nb); !same(got, want) {
			t.Fatalf("counts %v and %v give %v, want %v", na, nb, got, want)
		}
		if got := Number(Strands(a, 2), measure.CottonCount); !same(got, na/2) {
			t.Fatalf("two strands of count %v are %v", na, got)
		}
		if Strands(a, 2) != Plied(a, a) {
			t.Fatalf("two strands of %v are not two plies", a)
		}
	})
	if got := Strands(30, -1); got != 0 {
		t.Errorf("fewer than no strands are %v tex", got)
	}
}

func drawReeds(t *rapid.T) []measure.Sett {
	return rapid.SampledFrom([][]measure.Sett{ImperialReeds, MetricReeds}).Draw(t, "reeds")
}

// drawFibre is one firm and one soft fibre, and none.
func drawFibre(t *rapid.T) measure.Fibre {
	return rapid.SampledFrom([]measure.Fibre{measure.Cotton, measure.Wool, measure.NoFibre}).Draw(t, "fibre")
}

func TestAFinerYarnIsNeverSetOpener(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		reeds, f := drawReeds(t), drawFibre(t)
		w := rapid.SampledFrom(weaves).Draw(t, "weave")
		system := rapid.SampledFrom([]measure.YarnSystem{measure.YardsPerPound, measure.WrapsPerInch}).Draw(t, "system")
		most := map[measure.YarnSystem]float64{measure.YardsPerPound: 20000, measure.WrapsPerInch: 100}[system]
		a := rapid.Float64Range(most/100, most).Draw(t, "one")
		b := rapid.Float64Range(most/100, most).Draw(t, "other")
		yarn := func(n float64) measure.Yarn {
			return measure.Yarn{System: system, Number: n, Plies: 1, Finished: true, Fibre: f}
		}
		thick, err := Advise(yarn(min(a, b)), w, reeds)
		if err != nil {
			t.Fatal(err)
		}
		fine, err := Advise(yarn(max(a, b)), w, reeds)
		if err != nil {
			t.Fatal(err)
		}
		if fine.Target < thick.Target || fine.Choice < thick.Choice*(1-1e-12) {
			t.Fatalf("%v is set at %v, %v at %v", min(a, b), thick.Choice, max(a, b), fine.Choice)
		}
	})
}

// checkAdvice holds what every advice must keep.
func checkAdvice(t interface{ Fatalf(string, ...any) }, a Advice, reeds []measure.Sett) {
	const hair = 1 + 1e-9
	if !(a.Low <= a.Target && a.Target <= a.High) {
		t.Fatalf("target %v is not from %v to %v", a.Target, a.Low, a.High)
	}
	if a.Choice < a.Low/hair || a.Choice > a.High*hair {
		t.Fatalf("choice %v is not from %v to %v", a.Choice, a.Low, a.High)
	}
	if a.Method == ByYarnNumber && !(a.High < a.Ceiling && a.High < a.Max) {
		t.Fatalf("high %v is beyond maximum %v or ceiling %v", a.High, a.Max, a.Ceiling)
	}
	if a.Method == ByWraps && a.Weave != Twill && a.High >= a.Ceiling {
		t.Fatalf("high %v is beyond the ceiling %v of plain weave", a.High, a.Ceiling)
	}
	if !slices.Contains(reeds, a.Reed) {
		t.Fatalf("reed %v is not in the list", a.Reed)
	}
	order, err := SleyOrder(a.Choice, a.Reed)
	if err != nil || !slices.Equal(order, a.Sley) {
		t.Fatalf("sley %v, but the order of %v in %v is %v, %v", a.Sley, a.Choice, a.Reed, order, err)
	}
	if slices.Max(a.Sley) > 3 && hasEasierDents(a, reeds) {
		t.Fatalf("%v puts more than three ends in a dent without need", a.Sley)
	}
}

// hasEasierDents looks, the long way round, for a sett within the range with at
// most three ends in a dent.
func hasEasierDents(a Advice, reeds []measure.Sett) bool {
	for _, reed := range reeds {
		for b := 1; b <= longestOrder; b++ {
			for ends := 1; ends <= 3*b; ends++ {
				epi := reed * measure.Sett(ends) / measure.Sett(b)
				if a.Low < epi && epi < a.High {
					return true
				}
			}
		}
	}
	return false
}

func TestAdviceKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		reeds, f := drawReeds(t), drawFibre(t)
		w := rapid.SampledFrom(weaves).Draw(t, "weave")
		y := measure.Yarn{System: measure.WrapsPerInch, Number: rapid.Float64Range(2, 120).Draw(t, "wraps"), Plies: 1, Fibre: f}
		if rapid.Bool().Draw(t, "by number") {
			y.System, y.Number = measure.TexNumber, float64(drawTex(t, "tex"))
		}
		a, err := Advise(y, w, reeds)
		if err != nil {
			var fault *calc.Fault
			if !errors.As(err, &fault) || fault.Key != KeyNoReed {
				t.Fatal(err)
			}
			if tex, _ := Tex(y); 5 < tex && tex < 2e4 {
				t.Fatalf("no reed for %v tex", tex)
			}
			return
		}
		checkAdvice(t, a, reeds)
	})
}
