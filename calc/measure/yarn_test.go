package measure

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/calc"
)

func TestParseYarn(t *testing.T) {
	single := func(s YarnSystem, n float64, f Fibre) Yarn { return Yarn{System: s, Number: n, Plies: 1, Fibre: f} }
	plied := func(s YarnSystem, n float64, plies int, f Fibre) Yarn {
		return Yarn{System: s, Number: n, Plies: plies, Fibre: f}
	}
	finished := func(s YarnSystem, n float64, plies int, f Fibre) Yarn {
		return Yarn{System: s, Number: n, Plies: plies, Finished: true, Fibre: f}
	}
	tests := []struct {
		name, text, print string
		want              Yarn
	}{
		{"cotton", "8/2 cotton", "8/2 cotton", plied(CottonCount, 8, 2, Cotton)},
		{"fibre first", "cotton 8/2", "8/2 cotton", plied(CottonCount, 8, 2, Cotton)},
		{"capitals and blanks", " 8 / 2  COTTON ", "8/2 cotton", plied(CottonCount, 8, 2, Cotton)},
		{"fraction slash", "8\u20442 cotton", "8/2 cotton", plied(CottonCount, 8, 2, Cotton)},
		{"how the cotton was finished", "10/2 mercerised cotton", "10/2 cotton", plied(CottonCount, 10, 2, Cotton)},
		{"singles", "20/1 cotton", "20/1 cotton", single(CottonCount, 20, Cotton)},
		{"singles without plies", "20 cotton", "20/1 cotton", single(CottonCount, 20, Cotton)},
		{"the mill's plural", "30s cotton", "30/1 cotton", single(CottonCount, 30, Cotton)},
		{"the mill's plural, plied", "2/40's worsted", "2/40 worsted", plied(WorstedCount, 40, 2, Worsted)},
		{"cotton, plies first", "2/8 cotton", "8/2 cotton", plied(CottonCount, 8, 2, Cotton)},
		{"rug warp", "8/4 cotton", "8/4 cotton", plied(CottonCount, 8, 4, Cotton)},
		{"seine twine keeps its plies", "12/15 cotton", "12/15 cotton", plied(CottonCount, 12, 15, Cotton)},
		{"thick count, few plies", "3/2 cotton", "3/2 cotton", plied(CottonCount, 3, 2, Cotton)},
		{"spun silk is finished", "40/2 spun silk", "40/2 spun silk", finished(CottonCount, 40, 2, SpunSilk)},
		{"metric silk is not", "Nm 20/2 silk", "Nm 20/2 silk", plied(MetricCount, 20, 2, Silk)},
		{"linen", "16/2 linen", "16/2 linen", plied(LinenLea, 16, 2, Linen)},
		{"linen, named twice", "16/2 linen lea", "16/2 linen", plied(LinenLea, 16, 2, Linen)},
		{"lea alone", "lea 16", "lea 16/1", single(LinenLea, 16, NoFibre)},
		{"worsted, plies first", "2/16 worsted", "2/16 worsted", plied(WorstedCount, 16, 2, Worsted)},
		{"worsted, count first", "16/2 worsted", "2/16 worsted", plied(WorstedCount, 16, 2, Worsted)},
		{"wool is counted as worsted", "2/8 wool", "2/8 wool", plied(WorstedCount, 8, 2, Wool)},
		{"wool and worsted are one fibre", "worsted wool 2/8", "2/8 worsted", plied(WorstedCount, 8, 2, Worsted)},
		{"woollen run", "2½ run woollen", "1/2.5 woollen", single(WoollenRun, 2.5, Woollen)},
		{"run alone", "5 run", "run 1/5", single(WoollenRun, 5, NoFibre)},
		{"metric count", "Nm 16/2", "Nm 16/2", plied(MetricCount, 16, 2, NoFibre)},
		{"metric count, plies first", "Nm 2/16", "Nm 16/2", plied(MetricCount, 16, 2, NoFibre)},
		{"cotton count", "Ne 20", "Ne 20/1", single(CottonCount, 20, NoFibre)},
		{"cotton count of another fibre", "Ne 8/2 linen", "Ne 8/2 linen", plied(CottonCount, 8, 2, Linen)},
		{"worsted count of another fibre", "NeK 2/20 cotton", "NeK 2/20 cotton", plied(WorstedCount, 20, 2, Cotton)},
		{"plies that a slash would swap", "Ne 2 x 8 cotton", "2 x 8 cotton", plied(CottonCount, 2, 8, Cotton)},
		{"plies said twice", "8/2 cotton 2 ply", "8/2 cotton", plied(CottonCount, 8, 2, Cotton)},
		{"plies beside the slash", "8/2-ply cotton", "8/2 cotton", plied(CottonCount, 8, 2, Cotton)},
		{"plies in words", "Ne 16 2-ply", "Ne 16/2", plied(CottonCount, 16, 2, NoFibre)},
		{"tex before", "tex 30", "30 tex", single(TexNumber, 30, NoFibre)},
		{"tex after", "30 tex", "30 tex", single(TexNumber, 30, NoFibre)},
		{"tex, decimal comma", "29,5tex", "29.5 tex", single(TexNumber, 29.5, NoFibre)},
		{"tex of each ply", "30 tex x 2", "30 tex x 2", plied(TexNumber, 30, 2, NoFibre)},
		{"tex of each ply, times sign", "30 tex×2 linen", "30 tex x 2 linen", plied(TexNumber, 30, 2, Linen)},
		{"resultant tex", "R60 tex/2", "R60 tex/2", finished(TexNumber, 60, 2, NoFibre)},
		{"dtex", "167 dtex", "167 dtex", single(DtexNumber, 167, NoFibre)},
		{"denier", "70 denier", "70 denier", single(DenierNumber, 70, NoFibre)},
		{"denier with a fibre", "70 den nylon", "70 denier nylon", single(DenierNumber, 70, Nylon)},
		{"yards to the pound", "3360 yd/lb", "3360 yd/lb", finished(YardsPerPound, 3360, 1, NoFibre)},
		{"yards to the pound in words", "3360 yards per pound", "3360 yd/lb", finished(YardsPerPound, 3360, 1, NoFibre)},
		{"yards to the ounce", "210 yd/oz", "3360 yd/lb", finished(YardsPerPound, 3360, 1, NoFibre)},
		{"metres to 100 g", "230 m/100g", "230 m/100 g", finished(MetresPer100Grams, 230, 1, NoFibre)},
		{"metres to 100 g in words", "230 metres per 100 grams wool", "230 m/100 g wool", finished(MetresPer100Grams, 230, 1, Wool)},
		{"metres to 50 g", "115m/50g", "230 m/100 g", finished(MetresPer100Grams, 230, 1, NoFibre)},
		{"metres to the kilogram", "2300 m/kg", "230 m/100 g", finished(MetresPer100Grams, 230, 1, NoFibre)},
		{"yards to 100 g", "200 yd/100 g", "182.88 m/100 g", finished(MetresPer100Grams, 182.88, 1, NoFibre)},
		{"plies of a known length", "230 m/100g 4-ply wool", "230 m/100 g 4-ply wool", finished(MetresPer100Grams, 230, 4, Wool)},
		{"wraps", "10 wpi", "10 wpi", finished(WrapsPerInch, 10, 1, NoFibre)},
		{"wraps in words", "10 wraps per inch", "10 wpi", finished(WrapsPerInch, 10, 1, NoFibre)},
		{"wraps with a fibre", "wpi 12.5 wool", "12.5 wpi wool", finished(WrapsPerInch, 12.5, 1, Wool)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseYarn(tt.text)
			if err != nil {
				t.Fatalf("ParseYarn(%q): %v", tt.text, err)
			}
			if !near(got.Number, tt.want.Number) {
				t.Errorf("ParseYarn(%q) has number %v, want %v", tt.text, got.Number, tt.want.Number)
			}
			got.Number = tt.want.Number
			if d := cmp.Diff(fields(tt.want), fields(got)); d != "" {
				t.Errorf("ParseYarn(%q): %s", tt.text, d)
			}
			if s := got.String(); s != tt.print {
				t.Errorf("printed %q, want %q", s, tt.print)
			}
		})
	}
}

// fields keeps cmp from comparing yarns by what they print.
func fields(y Yarn) any {
	type plain Yarn
	return plain(y)
}

func TestParseYarnFaults(t *testing.T) {
	tests := []faultRow{
		{"no fibre and no count", "8/2", KeyYarnSystem, calc.BadValue, 4},
		{"silk may be either", "20/2 silk", KeyYarnSilk, calc.BadValue, 10},
		{"a fibre without a habit", "20/2 acrylic", KeyYarnSystem, calc.BadValue, 13},
		{"no number", "cotton", KeyYarnNumber, calc.BadValue, 7},
		{"a word alone", "fluffy", KeyYarnNumber, calc.BadValue, 1},
		{"plies are no number", "4-ply wool", KeyYarnNumber, calc.BadValue, 11},
		{"unknown word", "8/2 plastic", KeyUnknownUnit, calc.BadValue, 5},
		{"two fibres", "8/2 cotton linen", KeyYarnSystems, calc.Conflict, 12},
		{"two systems", "Ne 30 tex", KeyYarnSystems, calc.Conflict, 7},
		{"two numbers", "8/2 cotton 3", KeyUnexpected, calc.BadValue, 12},
		{"three numbers", "8/2/2 cotton", KeyUnexpected, calc.BadValue, 4},
		{"filaments or plies", "70/34 denier", KeyYarnDirect, calc.BadValue, 1},
		{"a slash in tex", "30/2 tex", KeyYarnDirect, calc.BadValue, 1},
		{"neither number counts plies", "8.5/2.5 cotton", KeyYarnPlies, calc.OutOfRange, 1},
		{"no plies", "8/0 cotton", KeyYarnPlies, calc.OutOfRange, 1},
		{"half a ply", "30 tex x 1.5", KeyYarnPlies, calc.OutOfRange, 10},
		{"too many plies", "30 tex x 101", KeyYarnPlies, calc.OutOfRange, 10},
		{"plies of plies", "8/2 cotton x 3", KeyUnexpected, calc.BadValue, 14},
		{"plies that do not agree", "3-ply 8/2 cotton", KeyUnexpected, calc.BadValue, 7},
		{"plies twice", "30 tex x 2 x 3", KeyUnexpected, calc.BadValue, 14},
		{"a count of nothing", "0/2 cotton", KeyYarnRange, calc.OutOfRange, 1},
		{"too fine", "Ne 10000000", KeyYarnRange, calc.OutOfRange, 4},
		{"a length without a mass", "230 m", KeyYarnPerMass, calc.BadValue, 6},
		{"a length per nothing", "230 m/", KeyYarnPerMass, calc.BadValue, 7},
		{"a length in a length", "230 m/cm", KeyUnknownUnit, calc.BadValue, 7},
		{"a length in no mass at all", "230 m/0 g", KeyNumber, calc.BadValue, 7},
		{"wraps per mass", "10 wraps per lb", KeyUnexpected, calc.BadValue, 14},
		{"resultant of a count", "R60 cotton", KeyUnexpected, calc.BadValue, 1},
		{"thousands or decimal", "3,360 yd/lb", KeyComma, calc.BadValue, 2},
		{"negative", "-8/2 cotton", KeyNegative, calc.OutOfRange, 1},
		{"exponent", "1e309 tex", KeyExponent, calc.BadValue, 2},
		{"right-to-left mark", "8/2 \u200fcotton", KeyHidden, calc.BadValue, 5},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseYarn(tt.text)
			tt.check(t, err)
		})
	}
}

// anyYarn draws every kind of yarn that can be read.
func anyYarn(t *rapid.T) Yarn {
	y := Yarn{
		System: YarnSystem(rapid.IntRange(int(CottonCount), int(WrapsPerInch)).Draw(t, "system")),
		Number: rapid.OneOf(
			rapid.Float64Range(MinYarnNumber, MaxYarnNumber),
			rapid.Map(rapid.IntRange(1, 120), func(n int) float64 { return float64(n) }),
		).Draw(t, "number"),
		Plies: rapid.IntRange(1, MaxPlies).Draw(t, "plies"),
		Fibre: Fibre(rapid.IntRange(int(NoFibre), int(Polyester)).Draw(t, "fibre")),
	}
	switch y.System {
	case CottonCount:
		y.Finished = y.Fibre == SpunSilk
	case TexNumber, DtexNumber, DenierNumber:
		y.Finished = rapid.Bool().Draw(t, "finished")
	case YardsPerPound, MetresPer100Grams, WrapsPerInch:
		y.Finished = true
	}
	return y
}

func TestAYarnIsReadBackAsPrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := anyYarn(t)
		again, err := ParseYarn(y.String())
		if err != nil {
			t.Fatalf("%q: %v", y.String(), err)
		}
		if again != y {
			t.Fatalf("%q is read as %#v, was %#v", y.String(), again, y)
		}
	})
}
