package warp

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// scarf is the order that the command's description shows.
func scarf() Order {
	return Order{
		Wide: 12 * inch, Long: 72 * inch, Items: 1, Fringe: 6 * inch, Waste: 18 * inch,
		Heddle: 10 * perInch, TakeUp: 0.10, Shrink: 0.10, DrawIn: 0.05,
		PPI: 10 * perInch, Strands: 2, Warp: cotton(4), Weft: cotton(4),
	}
}

// Reckoned by hand in inches: 12/0.9 = 13⅓; /0.95 = 14.03509; 140 ends;
// 72/0.9 = 80; /0.9 = 88.8889; +12 +18 = 118.8889; × 140 = 16644.44;
// 800 picks × 14.03509 × 2 = 22456.14; 3360 yd/lb.
func TestPlanScarf(t *testing.T) {
	r, err := Plan(scarf())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "on-loom width, in", r.OnLoomWidth.In(inch), 40.0/3, 1e-9)
	near(t, "reed width, in", r.ReedWidth.In(inch), 14.035087719, 1e-8)
	near(t, "ends", float64(r.Ends), 140, 0)
	near(t, "on-loom length, in", r.OnLoomLength.In(inch), 80, 1e-9)
	near(t, "warp length, in", r.WarpLength.In(inch), 118.888888889, 1e-8)
	near(t, "warp yarn, in", r.WarpYarn.In(inch), 16644.444444, 1e-5)
	near(t, "picks", r.Picks, 800, 1e-9)
	near(t, "weft yarn, in", r.WeftYarn.In(inch), 22456.140351, 1e-5)
	near(t, "warp, lb", r.WarpMass.In(measure.Pound), 16644.444444/36/3360, 1e-8)
	near(t, "weft, lb", r.WeftMass.In(measure.Pound), 22456.140351/36/3360, 1e-8)
}

func TestPlanFormulas(t *testing.T) {
	for _, row := range []struct {
		name          string
		change        func(*Order)
		value         func(*Result) float64
		want, within  float64
		source, known string
	}{
		{"10 in at 20 % shrinkage is 12.5 in on the loom, not 12",
			func(o *Order) { o.Wide, o.Shrink = 10*inch, 0.20 },
			func(r *Result) float64 { return r.OnLoomWidth.In(inch) }, 12.5, 1e-9, "on-loom size = finished/(1−shrinkage)", derived},
		{"draw-in is a share of the reed width",
			func(o *Order) { o.Wide, o.Shrink, o.DrawIn = 9*inch, 0, 0.10 },
			func(r *Result) float64 { return r.ReedWidth.In(inch) }, 10, 1e-9, "definition", derived},
		{"a hem at each end is woven and shrinks",
			func(o *Order) { o.Hem = 2 * inch },
			func(r *Result) float64 { return r.OnLoomLength.In(inch) }, 76 / 0.9, 1e-9, "definition", derived},
		{"header, sample and waste count once for three items",
			func(o *Order) { o.Items, o.Header, o.Sample = 3, 2*inch, 10*inch },
			func(r *Result) float64 { return r.WarpLength.In(inch) }, 3*(80/0.9+12) + 2 + 10 + 18, 1e-9, "definition", derived},
		{"40/10 cm is 10.16 per inch: two ends more",
			func(o *Order) { o.Heddle = 40 * per10cm },
			func(r *Result) float64 { return float64(r.Ends) }, 143, 0, "14.035 × 10.16 = 142.6", derived},
		{"a sett of its own goes before the heddle's",
			func(o *Order) { o.Sett = 20 * perInch },
			func(r *Result) float64 { return float64(r.Ends) }, 281, 0, "14.035 × 20 = 280.7", derived},
		{"the geometry lengthens the warp by its own take-up",
			func(o *Order) { o.Auto, o.Heddle, o.PPI, o.Strands = true, 20*perInch, 20*perInch, 1 },
			func(r *Result) float64 { return r.WarpLength.In(inch) }, 80*1.067708 + 30, 1e-4, "Peirce, closed form solved apart", derived},
		{"with the geometry a pick takes the drawn-in width and its crimp",
			func(o *Order) { o.Auto, o.Heddle, o.PPI, o.Strands = true, 20*perInch, 20*perInch, 1 },
			func(r *Result) float64 { return r.WeftYarn.In(inch) }, 1600 * 40.0 / 3 * 1.067708, 0.05, "Peirce, closed form solved apart", derived},
		{"two strands of 16/2 wound together bend the warp like one of 8/2",
			func(o *Order) {
				o.Auto, o.Heddle, o.PPI, o.Strands, o.Weft = true, 20*perInch, 20*perInch, 2, cotton(8)
			},
			func(r *Result) float64 { return float64(r.WarpCrimp) }, 0.067708, 1e-6, "strands add in tex", derived},
		{"an unknown weft bends the warp like the warp's own yarn",
			func(o *Order) { o.Auto, o.Heddle, o.PPI, o.Strands, o.Weft = true, 20*perInch, 16*perInch, 1, 0 },
			func(r *Result) float64 { return float64(r.WarpCrimp) }, 0.042336, 1e-6, "Peirce, closed form solved apart", derived},
		{"and still has no mass",
			func(o *Order) { o.Auto, o.Weft = true, 0 },
			func(r *Result) float64 { return float64(r.WeftMass) }, 0, 0, "nothing is guessed", derived},
		{"5/2 warp and 8/2 weft", func(o *Order) {
			o.Auto, o.Heddle, o.PPI, o.Strands, o.Warp = true, 16*perInch, 18*perInch, 1, cotton(2.5)
		}, func(r *Result) float64 { return float64(r.WeftCrimp) }, 0.054916, 1e-6, "Peirce, closed form solved apart", derived},
	} {
		t.Run(row.name, func(t *testing.T) {
			o := scarf()
			row.change(&o)
			r, err := Plan(o)
			if err != nil {
				t.Fatal(err)
			}
			near(t, row.source+" ("+row.known+")", row.value(r), row.want, row.within)
		})
	}
}

func TestPlanKeepsEveryLine(t *testing.T) {
	o := scarf()
	o.Auto = true
	r, err := Plan(o)
	if err != nil {
		t.Fatal(err)
	}
	var got []calc.Key
	for _, l := range r.Lines {
		got = append(got, l.Label)
		switch l.Value.(type) {
		case measure.Length, measure.Mass, measure.Sett, measure.Ratio, int:
		default:
			t.Errorf("%s is a %T", l.Label, l.Value)
		}
	}
	want := []calc.Key{
		KeyLineOnLoomWidth, KeyLineReedWidth, KeyLineEnds, KeyLineEndsWidth,
		KeyLineOnLoomLength, KeyLineWarpCrimp, KeyLineTakeUp, KeyLineItemWarp, KeyLineItemFringe,
		KeyLineItems, KeyLineAllItems, KeyLineHeader, KeyLineSample, KeyLineWaste,
		KeyLineWarpLength, KeyLineWarpYarn,
		KeyLineWeftCrimp, KeyLinePicks, KeyLineStrands, KeyLineWeftYarn,
		KeyLineWarpMass, KeyLineWeftMass,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestPlanSaysWhereItsValuesComeFrom(t *testing.T) {
	how := func(o Order, label calc.Key) calc.Key {
		t.Helper()
		r, err := Plan(o)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(r.Lines, func(l Line) bool { return l.Label == label })
		if i < 0 {
			t.Fatalf("no line %s", label)
		}
		return r.Lines[i].How
	}
	given, auto := scarf(), scarf()
	auto.Auto = true
	for _, row := range []struct {
		name  string
		order Order
		label calc.Key
		want  calc.Key
	}{
		{"take-up as given", given, KeyLineTakeUp, KeyHowGiven},
		{"take-up by geometry", auto, KeyLineTakeUp, KeyHowGeometry},
		{"weft by the mill rule", given, KeyLineWeftYarn, KeyHowMillRule},
		{"weft by geometry", auto, KeyLineWeftYarn, KeyHowGeometry},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := how(row.order, row.label); got != row.want {
				t.Errorf("got %s, want %s", got, row.want)
			}
		})
	}
}

func TestPlanWithoutYarnOrPicks(t *testing.T) {
	o := scarf()
	o.Warp, o.Weft, o.PPI, o.Strands = 0, 0, 0, 0
	r, err := Plan(o)
	if err != nil {
		t.Fatal(err)
	}
	if r.WarpMass != 0 || r.WeftMass != 0 || r.WeftYarn != 0 || r.Picks != 0 {
		t.Errorf("values from nothing: %+v", r)
	}
	for _, l := range r.Lines {
		switch l.Label {
		case KeyLinePicks, KeyLineStrands, KeyLineWeftYarn, KeyLineWarpMass, KeyLineWeftMass:
			t.Errorf("a line for what is not known: %s", l.Label)
		}
	}
}

func TestPlanNotes(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(*Order)
		want   []Note
	}{
		{"fringes on an unknown loom are simply counted", func(o *Order) {},
			[]Note{{KeyNoteFringeCounted, []any{12 * inch}}}},
		{"on a rigid heddle the outer two may come out of the waste",
			func(o *Order) { o.Loom, o.Items = RigidHeddle, 2 },
			[]Note{{KeyNoteFringeCounted, []any{24 * inch}}, {KeyNoteFringeInWaste, []any{12 * inch}}}},
		{"no more than the waste can give",
			func(o *Order) { o.Loom, o.Fringe, o.Waste = RigidHeddle, 10*inch, 14*inch },
			[]Note{{KeyNoteFringeCounted, []any{20 * inch}}, {KeyNoteFringeInWaste, []any{14 * inch}}}},
		{"no fringe counted", func(o *Order) { o.Loom, o.Fringe = RigidHeddle, 0 },
			[]Note{{KeyNoteNoFringe, nil}}},
		{"little waste for a floor loom", func(o *Order) { o.Loom, o.Fringe = FloorLoom, 0 },
			[]Note{{KeyNoteWasteLow, []any{18 * inch, 27 * inch, 36 * inch}}}},
		{"just enough waste for a table loom", func(o *Order) { o.Loom, o.Fringe = TableLoom, 0 }, nil},
		{"the weft of header and sample is not counted",
			func(o *Order) { o.Fringe, o.Header, o.Sample = 0, 2*inch, 10*inch },
			[]Note{{KeyNoteWeftItemsOnly, []any{2 * inch, 10 * inch}}}},
		{"no weft, no word about it",
			func(o *Order) { o.Fringe, o.Header, o.PPI = 0, 2*inch, 0 }, nil},
	} {
		t.Run(row.name, func(t *testing.T) {
			o := scarf()
			row.change(&o)
			r, err := Plan(o)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(row.want, r.Notes); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestPlanRefuses(t *testing.T) {
	nan := math.NaN()
	inf := math.Inf(1)
	const out, con = calc.OutOfRange, calc.Conflict
	for _, row := range []struct {
		name  string
		spoil func(*Order)
		code  calc.Code
		key   calc.Key
		field string
	}{
		{"no width", func(o *Order) { o.Wide = 0 }, out, KeyLengthRange, "wide"},
		{"negative width", func(o *Order) { o.Wide = -inch }, out, KeyLengthRange, "wide"},
		{"width not a number", func(o *Order) { o.Wide = measure.Length(nan) }, out, KeyLengthRange, "wide"},
		{"endless length", func(o *Order) { o.Long = measure.Length(inf) }, out, KeyLengthRange, "long"},
		{"length over 200 m", func(o *Order) { o.Long = 201 }, out, KeyLengthRange, "long"},
		{"no items", func(o *Order) { o.Items = 0 }, out, KeyCountRange, "items"},
		{"too many items", func(o *Order) { o.Items = 1001 }, out, KeyCountRange, "items"},
		{"neither heddle nor sett", func(o *Order) { o.Heddle = 0 }, calc.MissingArgument, KeyNeedSett, "heddle"},
		{"negative heddle", func(o *Order) { o.Heddle = -10 * perInch }, out, KeySettRange, "heddle"},
		{"sett not a number", func(o *Order) { o.Sett = measure.Sett(nan) }, out, KeySettRange, "sett"},
		{"negative fringe", func(o *Order) { o.Fringe = -inch }, out, KeyLengthRange, "fringe"},
		{"hem over 1 m", func(o *Order) { o.Hem = 1.1 }, out, KeyLengthRange, "hem"},
		{"negative header", func(o *Order) { o.Header = -inch }, out, KeyLengthRange, "header"},
		{"endless sample", func(o *Order) { o.Sample = measure.Length(inf) }, out, KeyLengthRange, "sample"},
		{"waste over 5 m", func(o *Order) { o.Waste = 6 }, out, KeyLengthRange, "waste"},
		{"take-up over 60 %", func(o *Order) { o.TakeUp = 0.61 }, out, KeyRatioRange, "takeup"},
		{"negative take-up", func(o *Order) { o.TakeUp = -0.1 }, out, KeyRatioRange, "takeup"},
		{"shrinkage of all", func(o *Order) { o.Shrink = 1 }, out, KeyRatioRange, "shrink"},
		{"draw-in of 40 %", func(o *Order) { o.DrawIn = 0.4 }, out, KeyRatioBelow, "drawin"},
		{"draw-in not a number", func(o *Order) { o.DrawIn = measure.Ratio(nan) }, out, KeyRatioBelow, "drawin"},
		{"picks over 200", func(o *Order) { o.PPI = 201 * perInch }, out, KeySettRange, "ppi"},
		{"no strands", func(o *Order) { o.Strands = 0 }, out, KeyCountRange, "strands"},
		{"13 strands", func(o *Order) { o.Strands = 13 }, out, KeyCountRange, "strands"},
		{"negative yarn", func(o *Order) { o.Warp = -1 }, out, KeyTexRange, "yarn"},
		{"endless weft yarn", func(o *Order) { o.Weft = measure.Tex(inf) }, out, KeyTexRange, "yarn"},
		{"twelve strands as thick as an arm", func(o *Order) { o.Auto, o.Weft, o.Strands = true, 1e6, 12 }, out, KeyDiameterRange, "yarn"},
		{"geometry without yarn", func(o *Order) { o.Auto, o.Warp = true, 0 }, calc.MissingArgument, KeyNeedYarn, "yarn"},
		{"geometry without picks", func(o *Order) { o.Auto, o.PPI = true, 0 }, calc.MissingArgument, KeyNeedPicks, "ppi"},
		{"jammed heddle", func(o *Order) { o.Auto, o.Heddle = true, 60*perInch }, con, KeyJammed, "heddle"},
		{"jammed sett", func(o *Order) { o.Auto, o.Sett = true, 60*perInch }, con, KeyJammed, "sett"},
		{"jammed picks", func(o *Order) { o.Auto, o.PPI = true, 60*perInch }, con, KeyJammed, "ppi"},
		{"one end", func(o *Order) { o.Wide, o.Heddle = inch, 0.5*perInch }, out, KeyTooFewEnds, "wide"},
		{"no loom has so many ends", func(o *Order) { o.Wide, o.Sett = 5, 200*perInch }, out, KeyTooManyEnds, "wide"},
		{"no loom is so wide", func(o *Order) { o.Wide, o.Shrink = 5, 0.6 }, out, KeyReedTooWide, "wide"},
		{"no beam takes so much warp", func(o *Order) { o.Long, o.Items = 10, 100 }, out, KeyWarpTooLong, "long"},
	} {
		t.Run(row.name, func(t *testing.T) {
			o := scarf()
			row.spoil(&o)
			r, err := Plan(o)
			f := wantFault(t, err, row.code, row.key, row.field)
			if r != nil {
				t.Errorf("a plan beside the fault: %+v", r)
			}
			if n := len(row.field); f.Example[:n] != row.field || f.Example[n] != ':' {
				t.Errorf("example %q is for another argument than %s", f.Example, row.field)
			}
		})
	}
}

// A take-up given beside auto is not looked at, as Order promises.
func TestAutoTakesNoGivenTakeUp(t *testing.T) {
	o := scarf()
	o.Auto = true
	a, err := Plan(o)
	if err != nil {
		t.Fatal(err)
	}
	o.TakeUp = 0.5
	b, err := Plan(o)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(a, b); diff != "" {
		t.Error(diff)
	}
}
