package lace

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
)

func TestParseGroups(t *testing.T) {
	for _, row := range []struct {
		name, text string
		want       []Groups
	}{
		{"two rows", "3 3 6 | 6 3 3", []Groups{{3, 3, 6}, {6, 3, 3}}},
		{"commas and no blanks", "3,3,6|6,3,3", []Groups{{3, 3, 6}, {6, 3, 3}}},
		{"times", "4x3 2 | 2×5", []Groups{{3, 3, 3, 3, 2}, {5, 5}}},
		{"rows on lines of their own", "3 3\n2 4\n", []Groups{{3, 3}, {2, 4}}},
		{"bars that end and begin lines", "3 3 | \n| 2 4 |\r\n", []Groups{{3, 3}, {2, 4}}},
		{"lines with nothing on them", "\n3 3\n \n\n2 4\n", []Groups{{3, 3}, {2, 4}}},
		{"slashes, as charts have them", "3 3 / 2 4", []Groups{{3, 3}, {2, 4}}},
		{"a code block", "```\n3 3\n2 4\n```", []Groups{{3, 3}, {2, 4}}},
		{"one group", "3", []Groups{{3}}},
		{"zero is read, and refused on a warp", "0", []Groups{{0}}},
	} {
		got, err := ParseGroups(row.text)
		if diff := cmp.Diff(row.want, got); diff != "" || err != nil {
			t.Errorf("%s: %v (-want +got):\n%s", row.name, err, diff)
		}
	}
}

var refusedTexts = []struct {
	name, text string
	want       calc.Key
}{
	{"nothing", " ", KeyListEmpty},
	{"bars alone", "||", KeyListEmpty},
	{"a letter", "3 a 3", KeyListSign},
	{"a fraction", "3 1.5", KeyListSign},
	{"a sign", "3 -3", KeyListSign},
	{"a plus", "+3", KeyListSign},
	{"a row of blanks", "3 3 | | 3", KeyListEmpty},
	{"a row of nothing", "3 3 || 3", KeyListEmpty},
	{"times of nothing", "0x3", KeyListSign},
	{"times of no number", "ax3", KeyListSign},
	{"more than any warp", "4001", KeyListSign},
	{"too many groups", "4000x3", KeyListLong},
	{"too many rows", strings.Repeat("3|", MaxListRows+1), KeyListLong},
}

func TestParseGroupsRefuses(t *testing.T) {
	for _, row := range refusedTexts {
		_, err := ParseGroups(row.text)
		f, ok := errors.AsType[*calc.Fault](err)
		if !ok || f.Key != row.want || f.Field != "groups" {
			t.Errorf("%s: %v, want %s", row.name, err, row.want)
		}
	}
}

// The layouts are derived by hand from the rules of the List.
func TestListLayouts(t *testing.T) {
	for _, row := range []struct {
		name string
		ask  Pattern
		want []Groups
	}{
		{"as listed", Pattern{Ends: 24, Listed: []Groups{{3, 3, 6}, {6, 3, 3}}}, []Groups{{3, 3, 6}, {6, 3, 3}}},
		{"across the warp", Pattern{Ends: 48, Listed: []Groups{{3, 3, 6}}}, []Groups{{3, 3, 6, 3, 3, 6}}},
		{"whole groups go on at the far side", Pattern{Ends: 40, Listed: []Groups{{3, 3, 6}}}, []Groups{{3, 3, 6, 3, 5}}},
		{"shared, the middle stays whole", Pattern{Ends: 40, Listed: []Groups{{3, 3, 6}}, Leftover: Both}, []Groups{{7, 3, 6, 4}}},
		{"shared, whole groups to either side", Pattern{Ends: 46, Listed: []Groups{{3, 5, 2}}, Leftover: Both}, []Groups{{4, 5, 2, 3, 5, 4}}},
		{"along the piece", Pattern{Ends: 12, Listed: []Groups{{3, 3}, {2, 4}}, Rows: 5}, []Groups{{3, 3}, {2, 4}, {3, 3}, {2, 4}, {3, 3}}},
		{"two-way is woven out and home", Pattern{Ends: 12, Listed: []Groups{{2, 4}}, Way: TwoWay}, []Groups{{2, 4}, {4, 2}}},
		{"between edges", Pattern{Ends: 20, Listed: []Groups{{2, 4}}, Edge: 2}, []Groups{{2, 2, 4, 2}}},
		{"the end over of an odd warp is in no pair", Pattern{Ends: 13, Listed: []Groups{{2, 4}}}, []Groups{{2, 4}}},
	} {
		row.ask.Passes = 3
		if row.ask.Rows == 0 {
			row.ask.Rows = row.ask.RowsOnce()
		}
		d, err := row.ask.Design()
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		if diff := cmp.Diff(row.want, d.Rows); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, diff)
		}
	}
}

var refusedLists = []struct {
	name string
	ask  Pattern
	want calc.Key
	args []any
}{
	{"an empty row", Pattern{Ends: 24, Listed: []Groups{{3}, {}}}, KeyListEmpty, []any{2}},
	{"a group of one", Pattern{Ends: 24, Listed: []Groups{{3, 1, 3}}}, KeyListGroup, []any{1, 2, 1, 2, 2000}},
	{"wider than the warp", Pattern{Ends: 25, Listed: []Groups{{3}, {6, 7}}}, KeyListWide, []any{2, 13, 12, 27, 25}},
	{"wider than what the edges leave", Pattern{Ends: 24, Listed: []Groups{{6, 5}}, Edge: 1}, KeyListWide, []any{1, 11, 10, 26, 24}},
	{"no warp", Pattern{Ends: 3, Listed: []Groups{{3}}}, KeyEndsRange, []any{3, MinEnds, MaxEnds}},
}

func TestListRefuses(t *testing.T) {
	for _, row := range refusedLists {
		row.ask.Passes, row.ask.Rows = 3, 2
		_, err := row.ask.Design()
		f, ok := errors.AsType[*calc.Fault](err)
		if !ok || f.Key != row.want {
			t.Errorf("%s: %v, want %s", row.name, err, row.want)
			continue
		}
		if diff := cmp.Diff(row.args, f.Args); diff != "" {
			t.Errorf("%s: arguments (-want +got):\n%s", row.name, diff)
		}
	}
}

func anyList(t *rapid.T) Pattern {
	l := Pattern{
		Ends: rapid.IntRange(MinEnds, 300).Draw(t, "ends"), Passes: 3 + 2*rapid.IntRange(0, 2).Draw(t, "passes"),
		Way: Way(rapid.IntRange(0, 1).Draw(t, "way")), From: Side(rapid.IntRange(0, 1).Draw(t, "from")),
		Rows: rapid.IntRange(1, 9).Draw(t, "rows"), Leftover: Leftover(rapid.IntRange(0, 1).Draw(t, "leftover")),
		Edge: rapid.IntRange(0, 3).Draw(t, "edge"),
	}
	for range rapid.IntRange(1, 4).Draw(t, "listed") {
		l.Listed = append(l.Listed, rapid.SliceOfN(rapid.IntRange(2, 9), 1, 8).Draw(t, "row"))
	}
	return l
}

// TestListIsProven: whatever is listed is a proven plan or a named reason.
func TestListIsProven(t *testing.T) {
	plans := 0
	rapid.Check(t, func(t *rapid.T) {
		l := anyList(t)
		d, err := l.Design()
		if err != nil {
			if !refused(err) {
				t.Fatalf("%v without a reason", err)
			}
			return
		}
		if _, err := Make(d); err != nil {
			t.Fatalf("%+v: %v", l, err)
		}
		plans++
	})
	if plans < 20 {
		t.Errorf("only %d plans", plans)
	}
}

// TestListOfOneGroupIsAPattern: listing one size asks for what raised asks for.
func TestListOfOneGroupIsAPattern(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyList(t)
		g := rapid.IntRange(2, 9).Draw(t, "raised")
		l.Listed = []Groups{{g}}
		p := l
		p.Raised, p.Listed = g, nil
		got, errList := l.Design()
		want, errPattern := p.Design()
		if errPattern != nil || errList != nil {
			if (errPattern == nil) != (errList == nil) {
				t.Fatalf("the list says %v, the pattern %v", errList, errPattern)
			}
			return
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
	})
}

func FuzzParseGroups(f *testing.F) {
	for _, s := range []string{"3 3 6 | 6 3 3", "4x3", "3\n3", "|", "½ 3", "9999999999999999999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		rows, err := ParseGroups(text)
		if err != nil {
			if _, ok := errors.AsType[*calc.Fault](err); !ok {
				t.Fatal(err)
			}
			return
		}
		if len(rows) > MaxListRows {
			t.Fatalf("%d rows", len(rows))
		}
		for _, r := range rows {
			if len(r) == 0 || len(r) > MaxListGroups {
				t.Fatalf("a row of %d groups", len(r))
			}
		}
	})
}
