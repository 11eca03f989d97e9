package lesson

import (
	"strconv"
	"sync"
	"testing"

	"weftroom/bot/class"
	"weftroom/calc/lace"
)

// TestLastKeepsWhatWasAskedForLast: it is bounded in things and in weight, what is
// too heavy or failed is made again, and many may ask at once.
func TestLastKeepsWhatWasAskedForLast(t *testing.T) {
	l := newLast[int](3, 10)
	made := 0
	ask := func(n, weight int) {
		t.Helper()
		got, err := l.get(strconv.Itoa(n), func() (int, int, error) { made++; return n, weight, nil })
		if got != n || err != nil {
			t.Fatalf("%d, %v, want %d", got, err, n)
		}
		if l.weight > 10 || len(l.things) > 3 || l.order.Len() != len(l.things) {
			t.Fatalf("%d things of %d in %d", len(l.things), l.weight, l.order.Len())
		}
	}
	for _, turn := range []struct{ n, weight, made int }{
		{1, 2, 1}, {2, 2, 2}, {3, 2, 3}, {1, 2, 3}, // all three are there
		{4, 2, 4}, {1, 2, 4}, {2, 2, 5}, // the fourth takes the place of 2, which takes that of 3
		{5, 9, 6}, {5, 9, 6}, {1, 1, 7}, {5, 9, 7}, {1, 1, 7}, // and 5 that of all
		{6, 11, 8}, {6, 11, 9}, {5, 9, 9}, // what is heavier than all may be is not kept
	} {
		if ask(turn.n, turn.weight); made != turn.made {
			t.Fatalf("%d was made after %d, %d wanted", turn.n, made, turn.made)
		}
	}
	var all sync.WaitGroup
	for n := range 50 {
		all.Go(func() {
			if got, err := l.get(strconv.Itoa(n%5), func() (int, int, error) { return n % 5, 3, nil }); got != n%5 || err != nil {
				t.Errorf("%d, %v", got, err)
			}
		})
	}
	all.Wait()
	if l.weight > 10 || len(l.things) > 3 {
		t.Errorf("%d things of %d", len(l.things), l.weight)
	}
}

// TestPlansAreNotTakenForEachOther: each thing that makes a plan another makes its
// seal another, and a pattern that cannot be woven is refused each time.
func TestPlansAreNotTakenForEachOther(t *testing.T) {
	base := lace.Pattern{Ends: 48, Raised: 3, Passes: 3, Rows: 2}
	listed := base
	listed.Raised, listed.Listed = 0, []lace.Groups{{3, 3, 6}, {6, 3, 3}}
	seen := map[string]lace.Pattern{}
	for _, alter := range []func(*lace.Pattern){
		func(*lace.Pattern) {}, func(p *lace.Pattern) { p.Ends = 49 }, func(p *lace.Pattern) { p.Raised = 4 },
		func(p *lace.Pattern) { p.Passes = 5 }, func(p *lace.Pattern) { p.Way = lace.TwoWay }, func(p *lace.Pattern) { p.From = lace.Left },
		func(p *lace.Pattern) { p.Rows = 3 }, func(p *lace.Pattern) { p.Leftover = lace.Both }, func(p *lace.Pattern) { p.Edge = 1 },
		func(p *lace.Pattern) { p.Repeat = lace.HalfDrop }, func(p *lace.Pattern) { *p = listed },
		func(p *lace.Pattern) { *p = listed; p.Listed = []lace.Groups{{3, 3}, {6, 6, 3, 3}} },
		func(p *lace.Pattern) { *p = listed; p.Listed = []lace.Groups{{3, 3, 6, 6, 3, 3}} },
	} {
		p := base
		alter(&p)
		seal := patternSeal(p)
		if other, known := seen[seal]; known {
			t.Errorf("%+v has the seal of %+v", p, other)
		}
		seen[seal] = p
	}
	for range 2 {
		if _, err := planned(lace.Pattern{Ends: 48, Raised: 3, Passes: 4, Rows: 1}); err == nil {
			t.Error("4 passes are planned")
		}
	}
	one := []class.Laid{{Groups: [][]int{{3, 3}, {6}}, Rows: 2}}
	for _, other := range [][]class.Laid{
		{{Groups: [][]int{{3, 3}, {6}}, Rows: 3}}, {{Groups: [][]int{{3, 3, 6}}, Rows: 2}}, {{Groups: [][]int{{3, 3}}, Rows: 1}, {Groups: [][]int{{6}}, Rows: 1}}, nil,
	} {
		if laidSeal(one) == laidSeal(other) {
			t.Errorf("%v has the seal of %v", other, one)
		}
	}
}

// TestAStepPlansNothing: the second step of a walk has the plan of the first.
func TestAStepPlansNothing(t *testing.T) {
	for _, tt := range []struct {
		line string
		laid []class.Laid
	}{
		{`ends:48 groups:"3 3 6 | 6 3 3" passes:3 from:right way:one rows:6 work:none`, nil},
		{"ends:97 raised:3 passes:3 from:left way:two rows:40 repeat:halfdrop work:none", nil},
		{"ends:24 raised:3 passes:3 from:right way:one rows:3 work:none", []class.Laid{{Groups: [][]int{{3, 3, 3, 3}}, Rows: 2}, {Groups: [][]int{{4, 4, 4}}, Rows: 1}}},
	} {
		one, err := walkKept(tt.line, tt.laid)
		if err != nil {
			t.Fatal(err)
		}
		two, err := walkKept(tt.line, tt.laid)
		if err != nil || one.t.plan == nil || one.t.plan != two.t.plan {
			t.Errorf("%s: planned twice, %v", tt.line, err)
		}
		if tt.laid != nil && len(two.t.plan.Design.Rows[2]) != 3 {
			t.Errorf("%v", two.t.plan.Design.Rows)
		}
	}
}
