package lace

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
)

// usual is a pattern with nothing wrong in it; each row spoils one thing.
func usual() Pattern {
	return Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 2}
}

var faultyPatterns = []struct {
	name  string
	spoil func(*Pattern)
	want  calc.Fault
}{
	{"one end too few", func(p *Pattern) { p.Ends = 7 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyEndsRange, Field: "ends", Args: []any{7, 8, 4000}, Example: "ends:97"}},
	{"one end too many", func(p *Pattern) { p.Ends = 4001 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyEndsRange, Field: "ends", Args: []any{4001, 8, 4000}, Example: "ends:97"}},
	{"single pass", func(p *Pattern) { p.Passes = 1 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyPassesRange, Field: "passes", Args: []any{1, 3, 99}, Example: "passes:3"}},
	{"passes even and out of range is out of range", func(p *Pattern) { p.Passes = 100 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyPassesRange, Field: "passes", Args: []any{100, 3, 99}, Example: "passes:3"}},
	{"even passes", func(p *Pattern) { p.Passes = 4 },
		calc.Fault{Code: calc.BadValue, Key: KeyEvenPasses, Field: "passes", Args: []any{4, 3, 5}, Example: "passes:3"}},
	{"groups of one", func(p *Pattern) { p.Raised = 1 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRaisedRange, Field: "raised", Args: []any{1, 2, 48, 97}, Example: "raised:3"}},
	{"group wider than the warp", func(p *Pattern) { p.Raised = 49 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRaisedRange, Field: "raised", Args: []any{49, 2, 48, 97}, Example: "raised:3"}},
	{"more edge than warp", func(p *Pattern) { p.Edge = 23 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyEdgeRange, Field: "edge", Args: []any{23, 0, 22, 97, 3}, Example: "edge:22"}},
	{"edge below nothing", func(p *Pattern) { p.Edge = -1 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyEdgeRange, Field: "edge", Args: []any{-1, 0, 22, 97, 3}, Example: "edge:22"}},
	{"no rows", func(p *Pattern) { p.Rows = 0 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRowsRange, Field: "rows", Args: []any{0, 1, 1000}, Example: "rows:20"}},
	{"one row too many", func(p *Pattern) { p.Rows = 1001 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRowsRange, Field: "rows", Args: []any{1001, 1, 1000}, Example: "rows:20"}},
	{"rows, ends and passes together too many", func(p *Pattern) { p.Ends, p.Passes, p.Rows = 4000, 99, 51 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRowsWork, Field: "rows", Args: []any{51, 50, 4000, 99}, Example: "rows:50"}},
	{"half-drop of a single group", func(p *Pattern) { p.Raised, p.Repeat = 25, HalfDrop },
		calc.Fault{Code: calc.Conflict, Key: KeyHalfDropRaised, Field: "repeat", Args: []any{25, 2, 24, 97, 0}, Example: "raised:24"}},
	{"half-drop between wide edges", func(p *Pattern) { p.Raised, p.Edge, p.Repeat = 5, 20, HalfDrop },
		calc.Fault{Code: calc.Conflict, Key: KeyHalfDropRaised, Field: "repeat", Args: []any{5, 2, 4, 97, 20}, Example: "raised:4"}},
	{"half-drop on three pairs between edges", func(p *Pattern) { p.Ends, p.Edge, p.Repeat = 14, 2, HalfDrop },
		calc.Fault{Code: calc.Conflict, Key: KeyHalfDropEdge, Field: "repeat", Args: []any{2, 1, 2, 14}, Example: "edge:1 raised:2"}},
	{"absurdly many ends do not overflow", func(p *Pattern) { p.Ends, p.Rows, p.Passes = math.MaxInt, math.MaxInt, 3 },
		calc.Fault{Code: calc.OutOfRange, Key: KeyEndsRange, Field: "ends", Args: []any{math.MaxInt, 8, 4000}, Example: "ends:97"}},
	{"absurdly few passes do not overflow", func(p *Pattern) { p.Passes = math.MinInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyPassesRange, Field: "passes", Args: []any{math.MinInt, 3, 99}, Example: "passes:3"}},
	{"absurdly wide groups do not overflow", func(p *Pattern) { p.Raised = math.MinInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRaisedRange, Field: "raised", Args: []any{math.MinInt, 2, 48, 97}, Example: "raised:3"}},
	{"absurdly wide edges do not overflow", func(p *Pattern) { p.Edge = math.MaxInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyEdgeRange, Field: "edge", Args: []any{math.MaxInt, 0, 22, 97, 3}, Example: "edge:22"}},
	{"absurdly many rows do not overflow", func(p *Pattern) { p.Rows = math.MaxInt },
		calc.Fault{Code: calc.OutOfRange, Key: KeyRowsRange, Field: "rows", Args: []any{math.MaxInt, 1, 1000}, Example: "rows:20"}},
}

func TestWhatAWeaverCanMendIsAFault(t *testing.T) {
	for _, tt := range faultyPatterns {
		t.Run(tt.name, func(t *testing.T) {
			p := usual()
			tt.spoil(&p)
			_, err := p.Design()
			var fault *calc.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("Design() = %v, want a fault", err)
			}
			if diff := cmp.Diff(tt.want, *fault); diff != "" {
				t.Errorf("fault (-want +got):\n%s", diff)
			}
		})
	}
}

func TestKeysAreAllOfThoseInUse(t *testing.T) {
	var used []calc.Key
	for _, tt := range faultyPatterns {
		used = append(used, tt.want.Key)
	}
	for _, tt := range faultyObservations {
		used = append(used, tt.want.Key)
	}
	for _, row := range refusedTexts {
		used = append(used, row.want)
	}
	for _, row := range refusedLists {
		used = append(used, row.want)
	}
	for _, row := range refusedCharts {
		used = append(used, row.want)
	}
	for _, row := range refusedMotifs {
		used = append(used, row.want.Key)
	}
	for _, tt := range faultyLetters {
		used = append(used, tt.want.Key)
	}
	for _, tt := range faultyGrounds {
		used = append(used, tt.want.Key)
	}
	slices.Sort(used)
	listed := slices.Sorted(slices.Values(Keys))
	if diff := cmp.Diff(slices.Compact(used), listed); diff != "" {
		t.Errorf("keys in use and keys listed (-used +listed):\n%s", diff)
	}
}

func TestAChoiceThatDoesNotExistIsNotTheWeaversMistake(t *testing.T) {
	for name, spoil := range map[string]func(*Pattern){
		"way":              func(p *Pattern) { p.Way = 2 },
		"side":             func(p *Pattern) { p.From = -1 },
		"leftover":         func(p *Pattern) { p.Leftover = None },
		"repeat":           func(p *Pattern) { p.Repeat = 2 },
		"leftover unknown": func(p *Pattern) { p.Leftover = 3 },
	} {
		t.Run(name, func(t *testing.T) {
			p := usual()
			spoil(&p)
			err := p.Check()
			var fault *calc.Fault
			if err == nil || errors.As(err, &fault) {
				t.Errorf("Check() = %v, want an error that is no fault", err)
			}
		})
	}
}

func TestThePatternsAtTheBoundsAreAllowed(t *testing.T) {
	for name, p := range map[string]Pattern{
		"smallest":                      {Ends: 8, Raised: 2, Passes: 3, Rows: 1},
		"widest warp":                   {Ends: 4000, Raised: 2000, Passes: 99, Rows: 50},
		"most rows":                     {Ends: 200, Raised: 2, Passes: 99, Rows: 1000},
		"exactly 20 million":            {Ends: 4000, Raised: 3, Passes: 5, Rows: 1000},
		"widest edge":                   {Ends: 97, Raised: 3, Passes: 3, Rows: 1, Edge: 22},
		"narrowest half-drop":           {Ends: 8, Raised: 2, Passes: 3, Rows: 2, Repeat: HalfDrop},
		"half-drop of the widest group": {Ends: 97, Raised: 24, Passes: 3, Rows: 2, Repeat: HalfDrop},
	} {
		t.Run(name, func(t *testing.T) {
			if err := p.Check(); err != nil {
				t.Errorf("Check(%+v) = %v", p, err)
			}
		})
	}
}
