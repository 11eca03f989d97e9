package lace

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
)

// chartOf reads a chart that is right.
func chartOf(t testing.TB, text string) Chart {
	t.Helper()
	chart, err := ParseChart(text)
	if err != nil {
		t.Fatal(err)
	}
	return chart
}

func TestParseChart(t *testing.T) {
	for _, row := range []struct {
		name, text string
		want       []string
	}{
		{"rows on lines, the first woven first", "..o..\n.o.o.\n", []string{"..o..", ".o.o."}},
		{"slashes", "..o/.o./o..", []string{"..o", ".o.", "o.."}},
		{"bars and blanks around", " ..o | .o. ", []string{"..o", ".o."}},
		{"capitals, as phones write them", "O.o\noOo", []string{"o.o", "ooo"}},
		{"three dots that became one sign", "o…/….", []string{"o...", "...."}},
		{"empty lines and the line ends of other machines", "\r\n\n..o\r\n\r\no..\r\n", []string{"..o", "o.."}},
		{"a code block", "```\n..o\no..\n```", []string{"..o", "o.."}},
		{"a code block of a language", "```text\n..o\n```", []string{"..o"}},
		{"a code block on one line", "```..o/o..```", []string{"..o", "o.."}},
		{"backticks around a line", "`..o/o..`", []string{"..o", "o.."}},
		{"one place", "o", []string{"o"}},
		{"no hole at all", "...", []string{"..."}},
	} {
		got, err := ParseChart(row.text)
		if diff := cmp.Diff(row.want, got.Strings()); diff != "" || err != nil {
			t.Errorf("%s: %v (-want +got):\n%s", row.name, err, diff)
		}
	}
}

var refusedCharts = []struct {
	name, text string
	want       calc.Key
	args       []any
}{
	{"nothing", "", KeyChartEmpty, nil},
	{"blank lines", " \n\n / ", KeyChartEmpty, nil},
	{"a code block with nothing in it", "```\n```", KeyChartEmpty, nil},
	{"a row that is shorter", "...\n..", KeyChartRagged, []any{2, 2, 3}},
	{"a row that is longer", "..o/o../o...", KeyChartRagged, []any{3, 4, 3}},
	{"another sign", "..o/.x.", KeyChartSign, []any{"x", 2, 2}},
	{"a nought, which could be either", "..0", KeyChartSign, []any{"0", 1, 3}},
	{"a blank within a row", "o o", KeyChartSign, []any{" ", 1, 2}},
	{"a sign that cannot be shown", "..\x1b[31m", KeyChartSign, []any{"\uFFFD", 1, 3}},
	{"bytes that are no text", ".\xff", KeyChartSign, []any{"\uFFFD", 1, 2}},
	{"too many places", strings.Repeat(".", 2001), KeyChartLong, []any{1, 1000, 2001, 2000}},
	{"too many rows", strings.Repeat("o/", 1001), KeyChartLong, []any{1001, 1000, 1, 2000}},
}

func TestParseChartRefuses(t *testing.T) {
	for _, row := range refusedCharts {
		chart, err := ParseChart(row.text)
		f, ok := errors.AsType[*calc.Fault](err)
		if !ok || f.Key != row.want || f.Field != "chart" || chart != nil {
			t.Errorf("%s: %v and %v, want %s", row.name, chart, err, row.want)
			continue
		}
		if diff := cmp.Diff(row.args, f.Args); diff != "" {
			t.Errorf("%s: arguments (-want +got):\n%s", row.name, diff)
		}
	}
}

func anyChart(t *rapid.T) Chart {
	chart := make(Chart, rapid.IntRange(1, 12).Draw(t, "rows"))
	columns := rapid.IntRange(1, 20).Draw(t, "columns")
	for i := range chart {
		chart[i] = rapid.SliceOfN(rapid.Bool(), columns, columns).Draw(t, "row")
	}
	return chart
}

// TestChartsAreReadAsTheyAreWritten: what Strings writes, ParseChart reads, however
// the rows are set apart.
func TestChartsAreReadAsTheyAreWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chart := anyChart(t)
		between := rapid.SampledFrom([]string{"\n", "/", " | ", "\r\n", "\n\n"}).Draw(t, "between")
		got, err := ParseChart(strings.Join(chart.Strings(), between))
		if diff := cmp.Diff(chart, got); diff != "" || err != nil {
			t.Fatalf("%v (-written +read):\n%s", err, diff)
		}
	})
}

func FuzzParseChart(f *testing.F) {
	for _, s := range []string{"..o/.o.", "```\n..o\n```", "…o", "O|.", "o.\n.", "..x", "\xff", "`", "/"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		chart, err := ParseChart(text)
		if err != nil {
			if _, ok := errors.AsType[*calc.Fault](err); !ok {
				t.Fatal(err)
			}
			return
		}
		if len(chart) < 1 || len(chart) > MaxChartRows || chart.Columns() < 1 || chart.Columns() > MaxChartColumns {
			t.Fatalf("a chart of %d rows, %d places", len(chart), chart.Columns())
		}
		again, err := ParseChart(strings.Join(chart.Strings(), "/"))
		if err != nil || !slices.EqualFunc(chart, again, slices.Equal) {
			t.Fatalf("%q reads as %q, and that as %q (%v)", text, chart.Strings(), again.Strings(), err)
		}
	})
}

// The charts are read off the lists by hand.
func TestChartOfADesign(t *testing.T) {
	for _, row := range []struct {
		name              string
		d                 Design
		want              []string
		cell, left, right int
	}{
		{"from the right", Design{Ends: 24, From: Right, Rows: []Groups{{3, 3, 6}, {6, 3, 3}}}, []string{".oo", "oo."}, 3, 3, 3},
		{"from the left", Design{Ends: 24, From: Left, Rows: []Groups{{3, 3, 6}, {6, 3, 3}}}, []string{"oo.", ".oo"}, 3, 3, 3},
		{"the end over of an odd warp is in no margin", Design{Ends: 21, From: Left, Rows: []Groups{{2, 4, 4}}}, []string{"oo"}, 4, 2, 4},
		{"two-way, the way home has the same places", Design{Ends: 24, Way: TwoWay, Rows: []Groups{{3, 3, 6}, {6, 3, 3}}}, []string{"oo", "oo"}, 3, 6, 3},
		{"the greatest distance that all borders are apart by", Design{Ends: 40, Rows: []Groups{{4, 6, 10}, {20}, {8, 12}}}, []string{"o..o", "....", ".o.."}, 2, 10, 4},
		{"borders one above the other", Design{Ends: 40, Rows: []Groups{{4, 16}, {4, 16}}}, []string{"o", "o"}, 1, 16, 4},
		{"no border", Design{Ends: 41, Rows: []Groups{{20}}}, []string{""}, 1, 20, 0},
	} {
		chart, cell, left, right := ChartOf(row.d)
		if diff := cmp.Diff(row.want, chart.Strings()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, diff)
		}
		if cell != row.cell || left != row.left || right != row.right {
			t.Errorf("%s: cell %d, margins %d and %d, want %d, %d and %d", row.name, cell, left, right, row.cell, row.left, row.right)
		}
	}
}

// wovenHoles weaves a plan and gives the holes that are in the cloth, whatever the
// plan says of its groups, as pairs from the left: the places within the warp at
// which the weft turned.
func wovenHoles(t rapid.TB, p *Plan) [][]int {
	d := p.Design
	cloth, err := Weave(d.Ends, d.From, p.Rows)
	if err != nil {
		t.Fatal(err)
	}
	holes := make([][]int, len(cloth.Rows))
	for i, row := range cloth.Rows {
		for _, turn := range row.Turns {
			if turn.At == 0 || turn.At == d.Ends {
				continue
			}
			left := d.Ends - turn.At
			if d.From == Right { // then an end over is at the left
				left -= d.Ends % 2
			}
			if left%2 != 0 {
				t.Fatalf("row %d: a hole within a pair, %d ends from the left", i+1, left)
			}
			holes[i] = append(holes[i], left/2)
		}
		slices.Sort(holes[i])
		holes[i] = slices.Compact(holes[i])
	}
	return holes
}

// chartHoles are the holes of a chart as pairs from the left.
func chartHoles(chart Chart, cell, left int) [][]int {
	holes := make([][]int, len(chart))
	for i, row := range chart {
		for j, hole := range row {
			if hole {
				holes[i] = append(holes[i], left+j*cell)
			}
		}
	}
	return holes
}

// TestHolesOfAListAreWhereItsChartHasThem: of any list of groups, the weaver opens
// the holes of its chart and no others.
func TestHolesOfAListAreWhereItsChartHasThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.Custom(anyList).Filter(func(p Pattern) bool { return !refused(p.Check()) }).Draw(t, "list")
		d, err := list.Design()
		if err != nil {
			t.Fatal(err)
		}
		p, err := Make(d)
		if err != nil {
			t.Fatal(err)
		}
		chart, cell, left, _ := ChartOf(d)
		if diff := cmp.Diff(chartHoles(chart, cell, left), wovenHoles(t, p)); diff != "" {
			t.Fatalf("holes (-chart +woven):\n%s", diff)
		}
	})
}
