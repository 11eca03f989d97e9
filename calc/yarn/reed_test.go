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

func TestSleyOrder(t *testing.T) {
	in, dm := measure.PerInch, measure.PerDecimetre
	tests := []struct {
		name     string
		epi, dpi measure.Sett
		want     []int
		source   string
	}{
		{"one in each", 10 * in, 10 * in, []int{1}, derived},
		{"15 in 10", 15 * in, 10 * in, []int{1, 2}, derived},
		{"18 in 12", 18 * in, 12 * in, []int{1, 2}, derived},
		{"20 in 8", 20 * in, 8 * in, []int{2, 3}, derived},
		{"24 in 10", 24 * in, 10 * in, []int{2, 2, 3, 2, 3}, derived},
		{"9 in 12", 9 * in, 12 * in, []int{0, 1, 1, 1}, derived},
		{"three in each", 24 * in, 8 * in, []int{3}, derived},
		{"20 in 12.5", 20 * in, 12.5 * in, []int{1, 2, 1, 2, 2}, derived},
		{"metric, 80 in 40", 80 * dm, 40 * dm, []int{2}, derived},
		{"metric, 60 in 40", 60 * dm, 40 * dm, []int{1, 2}, derived},
		{"an inch sett in an inch reed, said in centimetres", 20 / 0.0254, 10 / 0.0254, []int{2}, derived},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := SleyOrder(tt.epi, tt.dpi)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Errorf("%s: %s", tt.source, d)
			}
		})
	}
}

// Published orders begin elsewhere than ours. Both are right: the reed is the
// same for as long as the warp is wide.
func TestPublishedSleyOrdersAreOursTurned(t *testing.T) {
	tests := []struct {
		name      string
		epi, dpi  float64
		published []int
		source    string
	}{
		{"20 in 8", 20, 8, []int{3, 2}, hoogt},
		{"32 in 12", 32, 12, []int{2, 3, 3}, hoogt},
		{"16 in 12", 16, 12, []int{2, 1, 1}, hoogt},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := SleyOrder(measure.Sett(tt.epi)*measure.PerInch, measure.Sett(tt.dpi)*measure.PerInch)
			if err != nil {
				t.Fatal(err)
			}
			if !isTurned(got, tt.published) {
				t.Errorf("ours %v is no turn of %v: %s", got, tt.published, tt.source)
			}
		})
	}
}

func isTurned(a, b []int) bool {
	for i := range b {
		if slices.Equal(a, append(slices.Clone(b[i:]), b[:i]...)) {
			return true
		}
	}
	return false
}

func TestSleyOrderFaults(t *testing.T) {
	in := measure.PerInch
	tests := []struct {
		name     string
		epi, dpi measure.Sett
		key      calc.Key
		example  string
	}{
		{"an inch sett in a metric reed", 20 * in, 40 * measure.PerDecimetre, KeySley, "20.32/in"},
		{"13 dents before it repeats", 10 * in * 14 / 13, 10 * in, KeySley, "10.83333/in"},
		{"less than one in twelve", 1 * in, 15 * in, KeySley, "1.25/in"},
		{"13 ends in a dent", 130 * in, 10 * in, KeySley, "120/in"},
		{"no ends", 0, 10 * in, KeyNoSett, "20/in"},
		{"no dents", 10 * in, 0, KeyNoSett, "20/in"},
		{"negative", -10 * in, 10 * in, KeyNoSett, "20/in"},
		{"not a number", measure.Sett(math.NaN()), 10 * in, KeyNoSett, "20/in"},
		{"infinite", measure.Sett(math.Inf(1)), 10 * in, KeyNoSett, "20/in"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			order, err := SleyOrder(tt.epi, tt.dpi)
			var f *calc.Fault
			if !errors.As(err, &f) {
				t.Fatalf("got %v, %v, want a Fault", order, err)
			}
			if f.Key != tt.key || f.Example != tt.example {
				t.Errorf("got %s, example %s, want %s, %s", f.Key, f.Example, tt.key, tt.example)
			}
			example, err := measure.ParseSett(f.Example)
			if err != nil {
				t.Errorf("the example cannot be read: %v", err)
			}
			if _, err := SleyOrder(example, tt.dpi); tt.key == KeySley && err != nil {
				t.Errorf("the example cannot be sleyed: %v", err)
			}
		})
	}
}

func TestSleyOrdersHoldTheirEndsEvenly(t *testing.T) {
	reeds := slices.Concat(ImperialReeds, MetricReeds)
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.IntRange(1, longestOrder).Draw(t, "dents")
		a := rapid.IntRange(1, fullestDent*b).Draw(t, "ends")
		dpi := rapid.SampledFrom(reeds).Draw(t, "reed")
		order, err := SleyOrder(dpi*measure.Sett(a)/measure.Sett(b), dpi)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0
		for _, n := range order {
			sum += n
		}
		if sum*b != a*len(order) || b%len(order) != 0 {
			t.Fatalf("%d ends to %d dents came out as %v", a, b, order)
		}
		if slices.Max(order)-slices.Min(order) > 1 {
			t.Fatalf("uneven: %v", order)
		}
	})
}

func TestReedsAreExact(t *testing.T) {
	want := []float64{5.08, 6.35, 7.62, 10.16, 12.7, 15.24}
	for i, r := range MetricReeds {
		if got := r.In(measure.PerInch); math.Abs(got-want[i]) > 1e-12 {
			t.Errorf("metric reed %d has %v dents per inch, want %v", i, got, want[i])
		}
	}
}
