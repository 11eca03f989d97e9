package bot

import (
	"errors"
	"io"
	"log/slog"
	"strings"
	"testing"

	"weftroom/calc"
	"weftroom/calc/measure"
)

func TestValues(t *testing.T) {
	count := Param{Name: "n", Kind: Count, Min: "2", Max: "99"}
	length := Param{Name: "n", Kind: Length, Min: "1cm", Max: "5m"}
	rows := []struct {
		shows string
		param Param
		text  string
		want  any // a value, or the Key of a refusal
	}{
		{"count", count, "97", 97},
		{"count at its least", count, "2", 2},
		{"count at its most", count, "99", 99},
		{"count below", count, "1", KeyCountRange},
		{"count above", count, "100", KeyCountRange},
		{"count below nothing", count, "-3", KeyCountRange},
		{"count beyond any number", count, "99999999999999999999", KeyCountRange},
		{"count with leading noughts", count, "007", 7},
		{"count in words", count, "three", KeyNotCount},
		{"count with a fraction", count, "9.5", KeyNotCount},
		{"count with an exponent", count, "1e309", KeyNotCount},
		{"count with a plus", count, "+9", KeyNotCount},
		{"a lone minus", count, "-", KeyNotCount},
		{"other digits", count, "٩", KeyNotCount},
		{"count without bounds, below", Param{Name: "n", Kind: Count}, "-1", KeyCountRange},
		{"count without bounds, above", Param{Name: "n", Kind: Count}, "1000001", KeyCountRange},

		{"length", length, `15 1/2"`, 15.5 * measure.Inch},
		{"length at its least", length, "1cm", measure.Centimetre},
		{"length at its most", length, "5 m", 5 * measure.Metre},
		{"length below", length, "9mm", KeyValueRange},
		{"length above", length, "5.1m", KeyValueRange},
		{"length below nothing", length, "-3in", measure.KeyNegative},
		{"length without unit", length, "15", measure.KeyNoUnit},
		{"length with nothing but a most, at nothing", Param{Name: "n", Kind: Length, Max: "1m"}, "0", measure.Length(0)},
		{"length with nothing but a most, above", Param{Name: "n", Kind: Length, Max: "1m"}, "2m", KeyValueRange},
		{"length without bounds", Param{Name: "n", Kind: Length}, "900m", 900 * measure.Metre},

		{"density", Param{Name: "n", Kind: Density, Min: "1", Max: "200"}, "40/10cm", 40 * measure.PerDecimetre},
		{"density above", Param{Name: "n", Kind: Density, Min: "1", Max: "200"}, "201", KeyValueRange},
		{"density below", Param{Name: "n", Kind: Density, Min: "1", Max: "200"}, "1/2in", KeyValueRange},
		{"share", Param{Name: "n", Kind: Share, Max: "60%"}, "12,5%", measure.Ratio(0.125)},
		{"share at its most", Param{Name: "n", Kind: Share, Max: "60%"}, "60%", measure.Ratio(0.6)},
		{"share above", Param{Name: "n", Kind: Share, Max: "60%"}, "61%", KeyValueRange},
		{"share without its sign", Param{Name: "n", Kind: Share, Max: "60%"}, "10", measure.KeyPercent},
		{"yarn that is none", Param{Name: "n", Kind: Yarn}, "8/2", measure.KeyYarnSystem},

		{"whole money", Param{Name: "n", Kind: Money}, "6", int64(600)},
		{"money with a point", Param{Name: "n", Kind: Money}, "6.50", int64(650)},
		{"money with a comma", Param{Name: "n", Kind: Money}, "6,5", int64(650)},
		{"money with a stop behind it", Param{Name: "n", Kind: Money}, "6.", int64(600)},
		{"the most money", Param{Name: "n", Kind: Money}, "9999999.99", int64(999999999)},
		{"too much money", Param{Name: "n", Kind: Money}, "10000000", KeyNotMoney},
		{"three decimals", Param{Name: "n", Kind: Money}, "6.505", KeyNotMoney},
		{"a thousands comma", Param{Name: "n", Kind: Money}, "1,000", KeyNotMoney},
		{"two points", Param{Name: "n", Kind: Money}, "6.5.", KeyNotMoney},
		{"negative money", Param{Name: "n", Kind: Money}, "-6", KeyNotMoney},
		{"money without a whole part", Param{Name: "n", Kind: Money}, ".50", KeyNotMoney},
		{"a currency's sign", Param{Name: "n", Kind: Money}, "€9,50", int64(950)},
		{"a sign and a blank", Param{Name: "n", Kind: Money}, "$ 6", int64(600)},
		{"a sign behind it", Param{Name: "n", Kind: Money}, "6.50 €", int64(650)},
		{"a sign alone", Param{Name: "n", Kind: Money}, "€", KeyNotMoney},
		{"a currency", Param{Name: "n", Kind: Money}, "6 EUR", KeyNotMoney},

		{"text at its most", Param{Name: "n", Kind: Words, Max: "4"}, "löng", "löng"},
		{"text too long", Param{Name: "n", Kind: Words, Max: "4"}, "längs", KeyTextTooLong},
		{"text without bound", Param{Name: "n", Kind: LongText}, strings.Repeat("a", MaxLine), strings.Repeat("a", MaxLine)},
	}
	for _, row := range rows {
		got, err := row.param.value(row.text, measure.Unset)
		if key, refused := row.want.(calc.Key); refused {
			if !isKey(err, key) {
				t.Errorf("%s: %q is %v, %v; want a refusal by %s", row.shows, row.text, got, err, key)
			}
			continue
		}
		if err != nil || !sameValue(got, row.want) {
			t.Errorf("%s: %q is %v, %v; want %v", row.shows, row.text, got, err, row.want)
		}
	}
}

// sameValue lets quantities differ by what floating point makes of their units.
func sameValue(a, b any) bool {
	switch a := a.(type) {
	case measure.Length:
		b, ok := b.(measure.Length)
		return ok && near(float64(a), float64(b))
	case measure.Sett:
		b, ok := b.(measure.Sett)
		return ok && near(float64(a), float64(b))
	case measure.Ratio:
		b, ok := b.(measure.Ratio)
		return ok && near(float64(a), float64(b))
	}
	return a == b
}

func near(a, b float64) bool { return a-b <= 1e-12*max(1, b) && b-a <= 1e-12*max(1, b) }

func TestBareNumbersTakeTheAskersUnits(t *testing.T) {
	p := Param{Name: "n", Kind: Length}
	for units, want := range map[measure.Units]measure.Length{measure.Imperial: 15 * measure.Inch, measure.Metric: 15 * measure.Centimetre} {
		if got, err := p.value("15", units); err != nil || !sameValue(got, want) {
			t.Errorf("15 is %v, %v; want %v", got, err, want)
		}
	}
}

// TestBareDensity: her 40 may be per 10 cm, whoever reckons in centimetres.
func TestBareDensity(t *testing.T) {
	p := Param{Name: "heddle", Kind: Density, Min: "0.5", Max: "200"}
	rows := []struct {
		shows, text string
		units       measure.Units
		want        any
	}{
		{"bare, inches", "40", measure.Imperial, 40 * measure.PerInch},
		{"bare, nothing known", "40", measure.Unset, 40 * measure.PerInch},
		{"bare, centimetres", "40", measure.Metric, KeyBareDensity},
		{"bare with a fraction, centimetres", "12,5", measure.Metric, KeyBareDensity},
		{"with its length, centimetres", "40/10cm", measure.Metric, 40 * measure.PerDecimetre},
		{"per inch all the same", "40 epi", measure.Metric, 40 * measure.PerInch},
		{"out of bounds is said first", "400", measure.Metric, KeyValueRange},
	}
	for _, row := range rows {
		got, err := p.value(row.text, row.units)
		if key, refused := row.want.(calc.Key); refused {
			if !isKey(err, key) {
				t.Errorf("%s: %v, %v; want a refusal by %s", row.shows, got, err, key)
			}
		} else if err != nil || !sameValue(got, row.want) {
			t.Errorf("%s: %v, %v; want %v", row.shows, got, err, row.want)
		}
	}
	_, err := p.value("40", measure.Metric)
	if f, ok := errors.AsType[*calc.Fault](err); !ok || f.Code != calc.BadValue || f.Example != "heddle:40/10cm" {
		t.Errorf("%v", err)
	}
}

// TestUnitsOfTheSameLine: units named in a line are those of its bare numbers,
// whatever was known before.
func TestUnitsOfTheSameLine(t *testing.T) {
	c := &Command{Name: "loom", Params: []Param{
		{Name: "width", Kind: Length},
		{Name: "units", Kind: Choice, Choices: []string{"inches", "centimetres"}, Units: []measure.Units{measure.Imperial, measure.Metric}},
	}}
	rows := []struct {
		shows, units string
		known        measure.Units
		want         measure.Length
		choice       string
	}{
		{"centimetres over inches", "centimetres", measure.Imperial, 38 * measure.Centimetre, "centimetres"},
		{"centimetres over nothing", "cm", measure.Unset, 38 * measure.Centimetre, "centimetres"},
		{"inches over centimetres", "in", measure.Metric, 38 * measure.Inch, "inches"},
		{"the mark of inches", "″", measure.Metric, 38 * measure.Inch, "inches"},
	}
	for _, row := range rows {
		a, err := c.read(map[string]string{"width": "38", "units": row.units}, row.known)
		if err != nil || !sameValue(a.Length("width"), row.want) || a.Text("units") != row.choice {
			t.Errorf("%s: %v, %q, %v", row.shows, a.Length("width"), a.Text("units"), err)
		}
	}
	if _, err := c.read(map[string]string{"width": "38", "units": "ells"}, measure.Imperial); !isKey(err, KeyNotChoice) {
		t.Errorf("units of no system: %v", err)
	}
}

func TestDefaultsAndWhatWasSaid(t *testing.T) {
	c := testCommands()[0]
	args, err := c.read(map[string]string{"passes": "5"}, measure.Unset)
	if err != nil {
		t.Fatal(err)
	}
	if n := args.Count("raised"); n != 3 || args.Has("raised") || args.Raw("raised") != "" {
		t.Errorf("a default: raised is %d, said %v", n, args.Has("raised"))
	}
	if n := args.Count("passes"); n != 5 || !args.Has("passes") || args.Raw("passes") != "5" {
		t.Errorf("a given value: passes is %d, said %v", n, args.Has("passes"))
	}
	if args.Count("ends") != 0 || args.Has("ends") || args.Text("rightmost") != "" {
		t.Errorf("neither given nor defaulted: ends is %d, rightmost %q", args.Count("ends"), args.Text("rightmost"))
	}
	loom, err := testCommands()[1].read(map[string]string{"heddle": "10", "width": "15in"}, measure.Unset)
	if err != nil || loom.Density("heddle") != 10*measure.PerInch || loom.Length("width") != 15*measure.Inch {
		t.Errorf("heddle %v, width %v, %v", loom.Density("heddle"), loom.Length("width"), err)
	}
	warp, err := testCommands()[2].read(map[string]string{"wide": "1m", "long": "2m", "yarn": "8/2 cotton", "price": "9,5"}, measure.Unset)
	if y, ok := warp.Yarn("yarn"); err != nil || !ok || y.Number != 8 || warp.Share("shrink") != 0.1 || warp.Cents("price") != 950 {
		t.Errorf("yarn %v, shrink %v, price %v, %v", y, warp.Share("shrink"), warp.Cents("price"), err)
	}
	if _, ok := args.Yarn("yarn"); ok || args.Length("yarn") != 0 || args.Cents("passes") != 0 {
		t.Error("an argument of another kind, or of none, has a value")
	}
}

func TestBlameNamesTheArgument(t *testing.T) {
	rows := []struct {
		shows, line, message, hint string
		code                       calc.Code
	}{
		{"a parser's reason", "loom width:15 furlongs", "width: “15 furlongs” cannot be read (measure.unknown_unit)", "width:15in", calc.BadValue},
		{"an argument without an example of its own", "note hi ends:x", "ends: “x” is not a whole number in digits", "ends:20", calc.BadValue},
		{"bounds in both systems", "loom width:6m", "width: 6m is outside what is allowed, 1 cm (3/8 in) to 5 m (5 1/2 yd)", "width:15in", calc.OutOfRange},
		{"bounds in the units that were written", "loom width:600in", "width: 600in is outside what is allowed, 3/8 in (1 cm) to 5 1/2 yd (5 m)", "width:15in", calc.OutOfRange},
		{"the choices", "row from:above", "from: “above” is not one of right, left", "from:left", calc.BadValue},
		{"the choice that was meant", "row from:rihgt", "from: “rihgt” is not one of right, left", "from:right", calc.BadValue},
		{"the right name, bare, and no value", "warp wide 1m long 2m shrink ten", "shrink: “ten” cannot be read (measure.number)", "shrink:8%", calc.BadValue},
		{"the same behind a value that takes no more words", "loom ends 20 width ten", "width: “ten” cannot be read (measure.number)", "width:15in", calc.BadValue},
		{"the right name behind a value, and nothing", "loom ends 20 width", "“width” has no value; write it after the colon", "width:15in", calc.BadValue},
		{"a text too long", "word " + strings.Repeat("a", 61), "name is 61 letters long; up to 60 are allowed", "name:heddle", calc.OutOfRange},
	}
	for _, row := range rows {
		d := testDispatcher()
		r := ask(d, row.line)
		if r.Problem == nil || r.Problem.Message != row.message || r.Problem.Hint != row.hint || r.Problem.Code != row.code {
			t.Errorf("%s: %+v", row.shows, r.Problem)
			continue
		}
		wantOneSentence(t, d, row.line, r)
	}
}

func TestCalcFaultGetsItsArgumentsName(t *testing.T) {
	texts := testTexts()
	texts["calc.even"] = "%d is even"
	texts["calc.named"] = "passes cannot be %d"
	for key, want := range map[calc.Key]string{"calc.even": "passes: 4 is even", "calc.named": "passes cannot be 4"} {
		d := NewDispatcher(nil, everyone(0), texts, slog.New(slog.NewTextHandler(io.Discard, nil)))
		f := &calc.Fault{Code: calc.BadValue, Key: key, Field: "passes", Args: []any{4}, Example: "passes:3"}
		if got := d.problem(0, f).Problem.Message; got != want {
			t.Errorf("%s: %q, want %q", key, got, want)
		}
	}
}

func TestBlamePassesOtherErrorsOn(t *testing.T) {
	ours := errors.New("ours")
	if err := testCommands()[0].blame(&Param{Name: "ends"}, "97", 0, ours); err != ours {
		t.Errorf("%v", err)
	}
}

func TestStructuredArguments(t *testing.T) {
	d := testDispatcher()
	rows := []struct {
		shows, command string
		values         map[string]string
		code           calc.Code // "" for an answer
		ran            string
	}{
		{"values apart", "row", map[string]string{"ends": "97", "from": "left"}, "", "row"},
		{"no values", "row", nil, "", "row"},
		{"a value left blank is not given", "row", map[string]string{"ends": "97", "raised": " "}, "", "row"},
		{"a name that is none", "row", map[string]string{"rasied": "3"}, UnknownArgument, "row"},
		{"a value that is wrong", "row", map[string]string{"ends": "some"}, calc.BadValue, "row"},
		{"a needed value left blank", "class open", map[string]string{"name": ""}, calc.MissingArgument, "class open"},
		{"a subcommand", "class open", map[string]string{"name": "Lace"}, "", "class open"},
		{"half a path", "class", nil, calc.MissingArgument, "class"},
		{"a path too long", "row open", nil, UnknownCommand, "row"},
		{"an unknown path", "weave now", nil, UnknownCommand, ""},
		{"blanks for a path", " ", nil, UnknownCommand, ""},
		{"broken bytes in a value", "word", map[string]string{"name": "\xff"}, calc.BadValue, ""},
		{"a direction mark in a value", "word", map[string]string{"name": "a\u202eb"}, calc.BadValue, ""},
		{"too much in a value", "note", map[string]string{"text": strings.Repeat("a", MaxLine)}, calc.OutOfRange, ""},
		{"a nought byte in the path", "row\x00", nil, calc.BadValue, ""},
	}
	for _, row := range rows {
		r := d.Handle(t.Context(), Request{From: ana, In: hall, Role: Teacher, Command: row.command, Values: row.values})
		switch {
		case row.code == "" && r.Problem != nil:
			t.Errorf("%s: %s", row.shows, r.Problem.Sentence())
		case row.code != "" && (r.Problem == nil || r.Problem.Code != row.code):
			t.Errorf("%s: %+v, want %s", row.shows, r.Problem, row.code)
		case r.Command != row.ran:
			t.Errorf("%s: the reply is of %q, want %q", row.shows, r.Command, row.ran)
		}
	}
}
