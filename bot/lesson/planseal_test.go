package lesson

import (
	"reflect"
	"testing"

	"weftroom/calc/lace"
)

// TestPlanSealHoldsEverything changes each number of a pattern, one at a time, and
// those that stand in new fields by themselves: each change is another seal, or two
// weavers would share a plan.
func TestPlanSealHoldsEverything(t *testing.T) {
	p := lace.Pattern{Listed: []lace.Groups{{3, 4}, {5}}}
	usual := patternSeal(p)
	other := func(name string) {
		t.Helper()
		if patternSeal(p) == usual {
			t.Errorf("%s is not in the seal", name)
		}
	}
	changes := 0
	fields := reflect.ValueOf(&p).Elem()
	for i := range fields.NumField() {
		f, name := fields.Field(i), fields.Type().Field(i).Name
		switch {
		case name == "Listed":
			continue // below
		case f.CanInt():
			f.SetInt(f.Int() + 1)
			other(name)
			f.SetInt(f.Int() - 1)
		case f.CanUint():
			f.SetUint(f.Uint() + 1)
			other(name)
			f.SetUint(f.Uint() - 1)
		default:
			t.Fatalf("%s is a %s, which this test cannot change", name, f.Kind())
		}
		changes++
	}
	if changes < 9 {
		t.Errorf("only %d numbers were changed", changes)
	}
	if patternSeal(p) != usual {
		t.Fatal("the same pattern has two seals")
	}
	for name, listed := range map[string][]lace.Groups{
		"a group": {{3, 5}, {5}}, "another order": {{5}, {3, 4}}, "one row less": {{3, 4}}, "none": nil,
		"one row of the two": {{3, 4, 5}}, "where a row ends": {{3}, {4, 5}}, "a row more": {{3, 4}, {5}, {5}},
	} {
		p.Listed = listed
		other("Listed, " + name)
	}
}
