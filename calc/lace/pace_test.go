package lace

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func minutes(ms ...float64) (ds []time.Duration) {
	for _, m := range ms {
		ds = append(ds, time.Duration(m*float64(time.Minute)))
	}
	return ds
}

// The rule is our own and the figures are worked by hand.
func TestPaceOf(t *testing.T) {
	const m = time.Minute
	for _, tt := range []struct {
		name string
		took []time.Duration
		want Pace
		ok   bool
	}{
		{"nothing", nil, Pace{}, false},
		{"two rows are too few", minutes(10, 12), Pace{Rows: 2}, false},
		{"three", minutes(10, 14, 12), Pace{Row: 12 * m, Low: 10 * m, High: 14 * m, Rows: 3}, true},
		{"an even number: halfway between the two in the middle", minutes(10, 16, 12, 14), Pace{Row: 13 * m, Low: 10 * m, High: 16 * m, Rows: 4}, true},
		{"tea", minutes(10, 12, 45, 14), Pace{Row: 12 * m, Low: 10 * m, High: 14 * m, Rows: 3, LeftOut: 1}, true},
		{"a week between two evenings", minutes(10, 12, 7*24*60, 11, 14, 13), Pace{Row: 12 * m, Low: 11 * m, High: 13 * m, Rows: 5, LeftOut: 1}, true},
		{"a row jumped over", minutes(10, 0.1, 12, 14), Pace{Row: 12 * m, Low: 10 * m, High: 14 * m, Rows: 3, LeftOut: 1}, true},
		{"a clock set back", minutes(10, -5, 12, 14), Pace{Row: 12 * m, Low: 10 * m, High: 14 * m, Rows: 3, LeftOut: 1}, true},
		{"three times as long still counts", minutes(10, 10, 30), Pace{Row: 10 * m, Low: 10 * m, High: 30 * m, Rows: 3}, true},
		{"no two alike", minutes(1, 10, 100), Pace{Rows: 1, LeftOut: 2}, false},
		{"only the last 15", minutes(40, 40, 40, 40, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10, 10),
			Pace{Row: 10 * m, Low: 10 * m, High: 10 * m, Rows: 15}, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, ok := PaceOf(tt.took)
			if got != tt.want || ok != tt.ok {
				t.Errorf("got %+v %v, want %+v %v", got, ok, tt.want, tt.ok)
			}
		})
	}
}

func TestPaceReckonsBothWays(t *testing.T) {
	p := Pace{Row: 12 * time.Minute}
	if got := p.Within(30 * time.Minute); got != 2.5 {
		t.Errorf("%v rows in half an hour, want 2.5", got)
	}
	if got := p.For(2.5); got != 30*time.Minute {
		t.Errorf("%v for 2.5 rows, want 30m", got)
	}
}

func TestPaceHolds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var took []time.Duration
		for _, s := range rapid.SliceOfN(rapid.IntRange(300, 600), PaceRows, 14).Draw(rt, "seconds") {
			took = append(took, time.Duration(s)*time.Second)
		}
		p, ok := PaceOf(took)
		low, high := slices.Min(took), slices.Max(took)
		if !ok || p.Row < low || p.Row > high || p.Low > p.Row || p.High < p.Row || p.Rows != len(took) {
			rt.Fatalf("%+v %v of %v", p, ok, took)
		}
		// A break, however long, wherever it fell: the pace stays among the rows.
		at := rapid.IntRange(0, len(took)).Draw(rt, "at")
		long := time.Duration(rapid.Int64Range(int64(31*time.Minute), math.MaxInt64/8).Draw(rt, "break"))
		rested, ok := PaceOf(slices.Insert(slices.Clone(took), at, long))
		if !ok || rested.LeftOut != 1 || rested.Row != p.Row {
			rt.Fatalf("with a break of %v: %+v %v, without it %+v", long, rested, ok, p)
		}
		// Of rows in another order the pace is the same.
		slices.Reverse(took)
		if turned, _ := PaceOf(took); turned != p {
			rt.Fatalf("turned round %+v, not %+v", turned, p)
		}
		// At half the speed everything takes twice as long.
		for i := range took {
			took[i] *= 2
		}
		if slow, _ := PaceOf(took); slow.Row != 2*p.Row || slow.Low != 2*p.Low || slow.High != 2*p.High {
			rt.Fatalf("at half the speed %+v, not twice %+v", slow, p)
		}
	})
}
