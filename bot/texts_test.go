package bot

import (
	"strings"
	"testing"

	"weftroom/calc"
	"weftroom/calc/measure"
)

func TestSaySpeaksOfWhatItIsTold(t *testing.T) {
	texts := Texts{
		"plain": "nothing to tell", "percent": "100%", "one": "%s", "any": "%v", "two": "%s and %s", "turned": "%[2]s before %[1]s",
		"some": "only %[2]s", "rows.one": "%d row of %s", "rows.many": "%d rows of %s", "side": "the left",
		"outer": "width: %s", "inner": "“%s” has no unit",
	}
	rows := []struct {
		shows string
		units measure.Units
		key   calc.Key
		args  []any
		want  string
	}{
		{"no arguments", 0, "plain", nil, "nothing to tell"},
		{"no arguments and a per cent sign", 0, "percent", nil, "100%"},
		{"arguments that are left out", 0, "plain", []any{1, 2}, "nothing to tell"},
		{"in turn", 0, "two", []any{"a", "b"}, "a and b"},
		{"by number", 0, "turned", []any{"a", "b"}, "b before a"},
		{"by number, one left out", 0, "some", []any{"a", "b"}, "only b"},
		{"a per cent sign in what is told", 0, "one", []any{"50%d"}, "50%d"},
		{"a length, inches first", measure.Imperial, "one", []any{15.5 * measure.Inch}, "15 1/2 in (39.5 cm)"},
		{"a length, centimetres first", measure.Metric, "one", []any{15.5 * measure.Inch}, "39.5 cm (15 1/2 in)"},
		{"a length, units unknown", measure.Unset, "one", []any{15.5 * measure.Inch}, "39.5 cm (15 1/2 in)"},
		{"a mass", measure.Imperial, "one", []any{57 * measure.Gram}, "2 oz (57 g)"},
		{"a density", measure.Metric, "one", []any{10 * measure.PerInch}, "39 per 10 cm (10 per inch)"},
		{"a share", measure.Imperial, "one", []any{measure.Ratio(0.125)}, "12.5 %"},
		{"a yarn number, without exponent", 0, "any", []any{measure.Tex(1e6)}, "1000000"},
		{"a key is said", 0, "two", []any{calc.Key("side"), "x"}, "the left and x"},
		{"a mistake inside a sentence", 0, "outer", []any{&calc.Fault{Key: "inner", Args: []any{"15"}}}, "width: “15” has no unit"},
		{"a list", 0, "one", []any{[]string{"hole", "slot"}}, "hole, slot"},
		{"a missing sentence", 0, "absent", []any{1}, "absent"},
	}
	for _, row := range rows {
		if got := texts.Say(row.units, row.key, row.args...); got != row.want || strings.Contains(got, "%!") {
			t.Errorf("%s: %q, want %q", row.shows, got, row.want)
		}
	}
	for n, want := range map[int]string{0: "0 rows of x", 1: "1 row of x", 2: "2 rows of x"} {
		if got := texts.Count(0, "rows", n, "x"); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}

func TestCallSaysInTheAskersUnits(t *testing.T) {
	c := &Call{Units: measure.Imperial, Texts: Texts{"one": "%s"}}
	if got := c.Say("one", measure.Yard); got != "36 in (91.5 cm)" {
		t.Errorf("%q", got)
	}
}
