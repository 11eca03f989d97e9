package warp

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// The published worked examples, in the units that they print.
func TestPublishedYardage(t *testing.T) {
	warpMass := func(y *Yardage) float64 { return y.WarpMass.In(measure.Pound) }
	weftMass := func(y *Yardage) float64 { return y.WeftMass.In(measure.Pound) }
	ounces := func(lb, oz float64) float64 { return lb + oz/16 }
	for _, row := range []struct {
		name          string
		ask           Yards
		value         func(*Yardage) float64
		want, within  float64
		source, known string
	}{
		{"2280 ends × 38 yd of 30s: 3 lb 7 oz",
			Yards{Ends: 2280, Width: 38 * inch, Sett: 60 * perInch, Warp: 38 * yard, WarpYarn: cotton(30)},
			warpMass, ounces(3, 7), 0.5 / 16, "Brooks, Cotton Manufacturing, Weight of a piece", seen},
		{"64 picks × 37½ in × 36 yd of 36s: 2 lb 13¾ oz",
			Yards{Width: 37.5 * inch, Sett: 60 * perInch, Warp: 38 * yard, PPI: 64 * perInch, Cloth: 36 * yard, Strands: 1, WeftYarn: cotton(36)},
			weftMass, ounces(2, 13.75), 0.125 / 16, "Brooks, Cotton Manufacturing, Weight of a piece", seen},
		{"30 in at 70, 95 yd of 30s: 7.917 lb",
			Yards{Width: 30 * inch, Sett: 70 * perInch, Warp: 95 * yard, WarpYarn: cotton(30)},
			warpMass, 7.917, 5e-4, "Taylor, Cotton Weaving and Designing, 6th ed. (data seen, product derived)", derived},
		{"80 picks × 30 in × 90 yd of 40s: 6.429 lb",
			Yards{Width: 30 * inch, Sett: 70 * perInch, Warp: 95 * yard, PPI: 80 * perInch, Cloth: 90 * yard, Strands: 1, WeftYarn: cotton(40)},
			weftMass, 6.429, 5e-4, "Taylor, Cotton Weaving and Designing, 6th ed. (data seen, product derived)", derived},
		{"22 in at 24 are 528 ends",
			Yards{Width: 22 * inch, Sett: 24 * perInch, Warp: 4 * yard},
			func(y *Yardage) float64 { return float64(y.Ends) }, 528, 0, "worked example", seen},
		{"528 ends × 4 yd are 2112 yd",
			Yards{Ends: 528, Warp: 4 * yard},
			func(y *Yardage) float64 { return y.WarpYarn.In(yard) }, 2112, 1e-9, "worked example", seen},
		{"of 8/2 cotton 0.6286 lb",
			Yards{Ends: 528, Warp: 4 * yard, WarpYarn: cotton(4)},
			warpMass, 0.6286, 5e-5, "worked example", derived},
		{"two strands take twice the weft",
			Yards{Ends: 100, Sett: 10 * perInch, Warp: 4 * yard, PPI: 10 * perInch, Cloth: 36 * inch, Strands: 2},
			func(y *Yardage) float64 { return y.WeftYarn.In(inch) }, 7200, 1e-8, "360 picks × 10 in × 2", derived},
	} {
		t.Run(row.name, func(t *testing.T) {
			a, err := row.ask.Reckon()
			if err != nil {
				t.Fatal(err)
			}
			near(t, row.source+" ("+row.known+")", row.value(a), row.want, row.within)
		})
	}
}

func TestYardageWithoutWeft(t *testing.T) {
	a, err := Yards{Ends: 528, Warp: 4 * yard, WarpYarn: cotton(4), WeftYarn: cotton(4)}.Reckon()
	if err != nil {
		t.Fatal(err)
	}
	if a.WeftYarn != 0 || a.WeftMass != 0 || a.Picks != 0 {
		t.Errorf("weft that nobody asked for: %+v", a)
	}
	if n := len(a.Lines); n != 4 {
		t.Errorf("%d lines, want ends, length, yarn, mass", n)
	}
}

func TestYardageRefuses(t *testing.T) {
	const out, con = calc.OutOfRange, calc.Conflict
	weft := Yards{Ends: 100, Sett: 10 * perInch, Warp: 4 * yard, PPI: 10 * perInch, Cloth: yard, Strands: 1}
	for _, row := range []struct {
		name  string
		spoil func(*Yards)
		code  calc.Code
		key   calc.Key
		field string
	}{
		{"neither ends nor width", func(y *Yards) { y.Ends = 0 }, calc.MissingArgument, KeyNeedEnds, "ends"},
		{"width without a sett", func(y *Yards) { y.Ends, y.Sett, y.Width = 0, 0, 10*inch }, calc.MissingArgument, KeyNeedEnds, "ends"},
		{"negative ends", func(y *Yards) { y.Ends = -5 }, out, KeyCountRange, "ends"},
		{"a million ends", func(y *Yards) { y.Ends = 1_000_000 }, out, KeyCountRange, "ends"},
		{"ends and width disagree", func(y *Yards) { y.Width = 12 * inch }, con, KeyEndsDisagree, "ends"},
		{"negative width", func(y *Yards) { y.Width = -inch }, out, KeyLengthRange, "width"},
		{"sett not a number", func(y *Yards) { y.Sett = measure.Sett(math.NaN()) }, out, KeySettRange, "sett"},
		{"width holds too many ends", func(y *Yards) { y.Ends, y.Width, y.Sett = 0, 10, 200*perInch }, out, KeyTooManyEnds, "width"},
		{"width holds no end", func(y *Yards) { y.Ends, y.Width, y.Sett = 0, 0.02, 0.5*perInch }, out, KeyTooFewEnds, "width"},
		{"ends too wide for any loom", func(y *Yards) { y.Ends, y.Sett = 20_000, perInch }, out, KeyReedTooWide, "ends"},
		{"no warp", func(y *Yards) { y.Warp = 0 }, out, KeyLengthRange, "warp"},
		{"warp over 1 km", func(y *Yards) { y.Warp = 1001 }, out, KeyLengthRange, "warp"},
		{"cloth without picks", func(y *Yards) { y.PPI = 0 }, calc.MissingArgument, KeyNeedPicks, "ppi"},
		{"picks without cloth", func(y *Yards) { y.Cloth = 0 }, calc.MissingArgument, KeyNeedCloth, "cloth"},
		{"weft without a width", func(y *Yards) { y.Sett = 0 }, calc.MissingArgument, KeyNeedWidth, "width"},
		{"negative picks", func(y *Yards) { y.PPI = -perInch }, out, KeySettRange, "ppi"},
		{"endless cloth", func(y *Yards) { y.Cloth = measure.Length(math.Inf(1)) }, out, KeyLengthRange, "cloth"},
		{"no strands", func(y *Yards) { y.Strands = 0 }, out, KeyCountRange, "strands"},
		{"negative yarn", func(y *Yards) { y.WarpYarn = -1 }, out, KeyTexRange, "yarn"},
	} {
		t.Run(row.name, func(t *testing.T) {
			y := weft
			row.spoil(&y)
			a, err := y.Reckon()
			wantFault(t, err, row.code, row.key, row.field)
			if a != nil {
				t.Errorf("an answer beside the fault: %+v", a)
			}
		})
	}
}

// A plan and a yardage of the plan's own numbers are the same yarn.
func TestYardageAgreesWithPlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := drawOrder(t)
		r := mustPlan(t, o)
		a, err := Yards{
			Ends: r.Ends, Warp: r.WarpLength, Width: r.ReedWidth, Sett: r.Sett,
			PPI: o.PPI, Cloth: r.OnLoomLength * measure.Length(o.Items), Strands: o.Strands,
			WarpYarn: o.Warp, WeftYarn: o.Weft,
		}.Reckon()
		if err != nil {
			t.Fatal(err)
		}
		for _, pair := range [][2]float64{
			{float64(a.WarpYarn), float64(r.WarpYarn)}, {float64(a.WeftYarn), float64(r.WeftYarn)},
			{float64(a.WarpMass), float64(r.WarpMass)}, {float64(a.WeftMass), float64(r.WeftMass)},
		} {
			if !close12(pair[0], pair[1]) {
				t.Errorf("yardage %v, plan %v", pair[0], pair[1])
			}
		}
	})
}
