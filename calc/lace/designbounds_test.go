package lace

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"weftroom/calc"
)

// eachSmallDesign goes through every chart of one row and one to three places, in
// every layout, on the smallest warps, odd and even.
func eachSmallDesign(visit func(Motif)) {
	m := Motif{Passes: 3}
	for _, m.Ends = range []int{8, 9, 10, 11, 12, 13, 16} {
		for layout := range 2 * 2 * 2 {
			m.From, m.Way, m.Mirror = Side(layout&1), Way(layout>>1&1), layout>>2&1 == 1
			for m.Margin = -1; m.Margin <= 3; m.Margin++ {
				for m.Cell = 0; m.Cell <= 3; m.Cell++ {
					for m.Across = 0; m.Across <= 2; m.Across++ {
						for m.Panel = 0; m.Panel <= 2; m.Panel++ {
							for _, m.Asked = range smallCharts {
								visit(m)
							}
						}
					}
				}
			}
		}
	}
}

var smallCharts = func() (all [][][]float64) {
	for columns := 1; columns <= 3; columns++ {
		for bits := range 1 << columns {
			row := make([]float64, columns)
			for j := range row {
				row[j] = float64(bits >> j & 1)
			}
			all = append(all, [][]float64{row})
		}
	}
	return all
}()

// TestEverySmallDesign leaves nothing to chance where margins, cells and repeats
// meet the edges of a warp: each design is woven with holes just where its chart
// has them, or refused with an example.
func TestEverySmallDesign(t *testing.T) {
	plans, refusals := 0, 0
	eachSmallDesign(func(m Motif) {
		f, err := m.Fit()
		if err != nil {
			if !refused(err) {
				t.Fatalf("%+v: %v without a reason", m, err)
			}
			refusals++
			return
		}
		got, want := wovenHoles(t, proven(t, f)), chartHoles(f.Chart, f.Cell, f.MarginLeft)
		if !slices.EqualFunc(got, want, slices.Equal) {
			t.Fatalf("%+v: woven with holes at %v, the chart has them at %v", m, got, want)
		}
		plans++
	})
	t.Logf("%d plans, %d refused", plans, refusals)
	if min(plans, refusals) < 10_000 {
		t.Errorf("%d plans and %d refused are no look at both", plans, refusals)
	}
}

// TestAnExampleMendsADesign takes each refusal at its word: whoever writes what its
// example says, one after the other, comes to a plan, and is never told the same
// thing twice.
func TestAnExampleMendsADesign(t *testing.T) {
	told := map[calc.Key]int{}
	eachSmallDesign(func(m Motif) {
		asked := m
		var seen []calc.Key
		for {
			_, err := m.Fit()
			if err == nil {
				return
			}
			fault, ok := errors.AsType[*calc.Fault](err)
			if !ok || slices.Contains(seen, fault.Key) || !follow(&m, fault.Example) {
				t.Fatalf("%+v, after %v: %v, example %q", asked, seen, err, fault.Example)
			}
			told[fault.Key]++
			seen = append(seen, fault.Key)
		}
	})
	for _, key := range []calc.Key{KeyChartWide, KeyCellWide, KeyAcrossRange, KeyMarginRange, KeyPanelRange} {
		if told[key] == 0 {
			t.Errorf("%s was never told", key)
		}
	}
}

// follow does what an example says.
func follow(m *Motif, example string) bool {
	var name string
	var n int
	if _, err := fmt.Sscanf(strings.ReplaceAll(example, ":", " "), "%s %d", &name, &n); err != nil {
		return false
	}
	field, ok := map[string]*int{
		"cell": &m.Cell, "across": &m.Across, "margin": &m.Margin, "panel": &m.Panel, "rows": &m.Rows, "ends": &m.Ends,
	}[name]
	if ok {
		*field = n
	}
	return ok
}

// TestOffersForAWideDesignAreTrue holds the numbers of a refusal to what happens
// when somebody goes by them: the ends that it names carry the design and two
// fewer do not, the panels that it names are there and no more.
func TestOffersForAWideDesignAreTrue(t *testing.T) {
	offers := map[calc.Key]int{}
	eachSmallDesign(func(m Motif) {
		_, err := m.Fit()
		fault, _ := errors.AsType[*calc.Fault](err)
		if fault == nil {
			return
		}
		switch fault.Key {
		case KeyChartWide:
			ends, cell, panels := fault.Args[1].(int), fault.Args[2].(int), fault.Args[6].(int)
			wider := m
			wider.Ends, wider.Cell = ends, cell
			laidOut(t, wider)
			if wider.Ends -= 2; wider.Ends >= MinEnds {
				refusedFor(t, wider, anyKey)
			}
			for m.Panel = 1; m.Panel <= panels; m.Panel++ {
				laidOut(t, m)
			}
			refusedFor(t, m, KeyPanelRange)
		case KeyCellWide:
			ends, most := fault.Args[2].(int), fault.Args[4].(int)
			wider := m
			wider.Ends = ends
			laidOut(t, wider)
			m.Cell = most
			laidOut(t, m)
			m.Cell++
			refusedFor(t, m, anyKey)
		case KeyAcrossRange:
			m.Across = fault.Args[2].(int)
			laidOut(t, m)
			m.Across++
			refusedFor(t, m, KeyAcrossRange)
		default:
			return
		}
		offers[fault.Key]++
	})
	if len(offers) < 3 {
		t.Errorf("only %v were offered", offers)
	}
}

func laidOut(t *testing.T, m Motif) {
	t.Helper()
	if _, err := m.Fit(); err != nil {
		t.Fatalf("%+v: %v", m, err)
	}
}

// anyKey stands for whichever reason.
const anyKey calc.Key = ""

func refusedFor(t *testing.T, m Motif, want calc.Key) {
	t.Helper()
	_, err := m.Fit()
	if fault, ok := errors.AsType[*calc.Fault](err); !ok || want != anyKey && fault.Key != want {
		t.Fatalf("%+v: %v, want %q", m, err, want)
	}
}

// TestTheLargestDesigns measures what the largest charts that a person can give
// take, whole pages of changes among them.
func TestTheLargestDesigns(t *testing.T) {
	all := func(rows, columns int, hole func(i, j int) float64) [][]float64 {
		asked := make([][]float64, rows)
		for i := range asked {
			asked[i] = make([]float64, columns)
			for j := range asked[i] {
				asked[i][j] = hole(i, j)
			}
		}
		return asked
	}
	every := func(int, int) float64 { return 1 }
	for _, row := range []struct {
		name string
		m    Motif
		key  calc.Key
	}{
		{"1000 × 2000 holes are wider than any warp", Motif{Ends: MaxEnds, Passes: 5, Asked: all(MaxChartRows, MaxChartColumns, every)}, KeyChartWide},
		{"the same in panels", Motif{Ends: MaxEnds, Passes: 5, Panel: 1, Asked: all(MaxChartRows, MaxChartColumns, every)}, ""},
		{"all holes one pair apart, each second left out", Motif{Ends: MaxEnds, Passes: 5, Cell: 1, Asked: all(MaxChartRows, 1997, every)}, ""},
		{"all half tones", Motif{Ends: MaxEnds, Passes: 5, Cell: 1, Asked: all(MaxChartRows, 1997, func(int, int) float64 { return 0.5 })}, ""},
		{"grain", Motif{Ends: MaxEnds, Passes: 5, Cell: 1, Asked: all(MaxChartRows, 1997, func(i, j int) float64 { return float64((i*7919+j*104729)%1009) / 1008 })}, ""},
		{"no holes", Motif{Ends: MaxEnds, Passes: 5, Cell: 1, Asked: all(MaxChartRows, 1997, func(int, int) float64 { return 0 })}, ""},
		{"one column of holes over and over", Motif{Ends: MaxEnds, Passes: 5, Cell: 1, Rows: MaxRows, Asked: [][]float64{{1}}}, ""},
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		row.m.Margin = -1
		f, err := row.m.Fit()
		runtime.ReadMemStats(&after)
		fault, _ := errors.AsType[*calc.Fault](err)
		if (fault == nil) != (row.key == "") || fault != nil && fault.Key != row.key {
			t.Errorf("%s: %v", row.name, err)
		}
		taken := after.TotalAlloc - before.TotalAlloc
		t.Logf("%s: %d KB, %d changes", row.name, taken>>10, len(f.Changes))
		if taken > 200<<20 {
			t.Errorf("%s: %d MB taken", row.name, taken>>20)
		}
	}
}

// TestOneRowOfHolesIsAlwaysAllowed: a single row may be higher than a slit that is
// grown of many, and the next one above it is left out.
func TestOneRowOfHolesIsAlwaysAllowed(t *testing.T) {
	for _, row := range []struct {
		name   string
		passes int
		way    Way
		want   []string
	}{
		{"as high as a slit may be", 29, OneWay, []string{"o.o", "..."}},
		{"higher than a slit", 31, OneWay, []string{"o.o", "..."}},
		{"as many passes as there may be", MaxPasses, OneWay, []string{"o.o", "..."}},
		{"higher than a slit out and home", 17, TwoWay, []string{"o.o", "o.o", "...", "..."}},
	} {
		m := Motif{Ends: 40, Passes: row.passes, Way: row.way, Asked: chartOf(t, "o.o/o.o").Tones(), Across: 1, Margin: -1}
		f, err := m.Fit()
		if err != nil {
			t.Fatal(err)
		}
		if got := f.Chart.Strings(); !slices.Equal(got, row.want) {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
		if len(f.Changes) != 2 || f.Changes[0].Why != Slit {
			t.Errorf("%s: changes %v", row.name, f.Changes)
		}
	}
}
