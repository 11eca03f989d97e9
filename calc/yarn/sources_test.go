package yarn

import (
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"weftroom/calc/measure"
)

// Where outside values come from. "seen" was read in the source itself,
// "cited" at second hand, "memory" was not looked up, "common practice" has no
// source, and "derived" was worked out for this project by a separate program.
const (
	astm       = "ASTM D2260, table 1 (seen)"
	gnu        = "GNU units 2.22 (seen)"
	taylor     = "Taylor, Cotton Weaving and Designing, 6th ed. (seen)"
	brooks     = "Brooks, Cotton Manufacturing (seen)"
	hoogt      = "van der Hoogt, Handwoven Q&A (seen)"
	chart      = "a weaving magazine's sett chart (seen)"
	peirce     = "Peirce, J. Textile Inst. 28, 1937, T45 (cited)"
	ashenhurst = "Ashenhurst's rule, k 0.9 (cited; product derived)"
	iso        = "ISO 1144 (memory)"
	practice   = "common practice, no source"
	derived    = "derived"
)

func mustYarn(t testing.TB, text string) measure.Yarn {
	t.Helper()
	y, err := measure.ParseYarn(text)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

func mustTex(t testing.TB, text string) measure.Tex {
	t.Helper()
	tex, err := Tex(mustYarn(t, text))
	if err != nil {
		t.Fatal(err)
	}
	return tex
}

// value is one number from outside, as its source prints it, and how far ours
// may be from it: half of its last figure unless the row says why not.
type value struct {
	name   string
	got    float64
	want   float64
	within float64
	source string
}

func (v value) check(t *testing.T) {
	if v.source == "" {
		t.Error("an outside value without a source")
	}
	if math.Abs(v.got-v.want) > v.within {
		t.Errorf("got %v, want %v within %v: %s", v.got, v.want, v.within, v.source)
	}
}

func TestYarnNumbersAsPublished(t *testing.T) {
	tex := func(text string) float64 { return float64(mustTex(t, text)) }
	in := func(text string, s measure.YarnSystem) float64 { return Number(mustTex(t, text), s) }
	cotton := func(counts ...float64) float64 {
		var singles []measure.Tex
		for _, n := range counts {
			singles = append(singles, mustTex(t, "Ne "+measure.Decimal(n)))
		}
		return Number(Plied(singles...), measure.CottonCount)
	}
	for _, v := range []value{
		{"cotton count 1", tex("Ne 1"), 590.541, 0.0005, astm},
		{"worsted count 1", tex("worsted 1"), 885.812, 0.0005, astm},
		{"linen lea 1", tex("lea 1"), 1653.52, 0.005, astm},
		{"woollen run 1", tex("run 1"), 310.034, 0.0005, astm},
		{"1000 yd/lb", tex("1000 yd/lb"), 496.055, 0.0005, astm},
		{"30 tex on the cotton count", in("30 tex", measure.CottonCount), 19.7, 0.05, astm},
		{"cotton 10 is worsted 15", in("Ne 10", measure.WorstedCount), 15, 1e-9, astm},
		{"metric count 1 is 1000 tex", tex("Nm 1"), 1000, 1e-9, iso},
		{"9 denier are 1 tex", tex("9 denier"), 1, 1e-12, iso},
		{"10 dtex are 1 tex", tex("10 dtex"), 1, 1e-12, iso},

		{"8/2 cotton is cotton 4", in("8/2 cotton", measure.CottonCount), 4, 1e-9, derived},
		{"8/2 cotton in yards to the pound", in("8/2 cotton", measure.YardsPerPound), 3360, 1e-6, derived},
		{"spun silk 40/2 is 40, not 20", in("40/2 spun silk", measure.CottonCount), 40, 1e-9, taylor},
		{"cotton 40/2 is 20", in("40/2 cotton", measure.CottonCount), 20, 1e-9, taylor},
		{"40 and 20 twisted together", cotton(40, 20), 13 + 1.0/3, 1e-9, brooks},
		{"60 and 40 twisted together", cotton(60, 40), 24, 1e-9, taylor},

		// Two values for one thing. Brooks prints 21.81, which is 21.818… cut
		// off; the harmonic sum is exact, so ours is the rounded one.
		{"40, 80 and 120, as printed", cotton(40, 80, 120), 21.81, 0.01, brooks},
		{"40, 80 and 120, worked out", cotton(40, 80, 120), 240.0 / 11, 1e-9, derived},
	} {
		t.Run(v.name, v.check)
	}
}

func TestDiametersAndSettsAsPublished(t *testing.T) {
	perInch := func(s measure.Sett) float64 { return s.In(measure.PerInch) }
	ash := func(text string) float64 {
		return perInch(Ashenhurst(mustTex(t, text), measure.Cotton))
	}
	table := func(text string) float64 { return perInch(Diameters(mustTex(t, text), 0.95)) }
	one := mustTex(t, "Ne 1")
	plain, _ := Plain.share()
	twill, _ := Twill.share()
	lace, _ := Lace.share()
	for _, v := range []value{
		{"8/2 cotton, diameters to the inch", ash("8/2 cotton"), 52.17, 0.005, ashenhurst},
		{"10/2 cotton, diameters to the inch", ash("10/2 cotton"), 58.33, 0.005, ashenhurst},
		{"5/2 cotton, diameters to the inch", ash("5/2 cotton"), 41.24, 0.005, ashenhurst},
		{"3/2 cotton, diameters to the inch", ash("3/2 cotton"), 31.95, 0.005, ashenhurst},

		// Taylor's table takes 5 % from √(yards to the pound) where Ashenhurst
		// takes 10 %. We advise by the more open 0.9, because handweaving yarn is
		// plied and softer than a mill's singles; the table checks the formula. Its
		// rows are rounded to a half, the last one twice: 409.9 to 410, less 20 is 390.
		{"15s by Taylor's table", table("Ne 15"), 106.5, 0.3, taylor},
		{"26s by Taylor's table", table("Ne 26"), 140.5, 0.3, taylor},
		{"32s by Taylor's table", table("Ne 32"), 156, 0.3, taylor},
		{"60s by Taylor's table", table("Ne 60"), 213, 0.3, taylor},
		{"78s by Taylor's table", table("Ne 78"), 243, 0.3, taylor},
		{"200s by Taylor's table", table("Ne 200"), 390, 0.65, taylor},

		{"cotton 1, Peirce's diameter in inches", Diameter(one).In(measure.Inch), 1.0 / 28, 1e-12, peirce},
		{"1 tex, Peirce's diameter in centimetres", PeirceMetric(1).In(measure.Centimetre), 0.00374, 1e-12, peirce},
		// The two printed forms do not agree: 1/28 is 0.25 % below a round yarn of
		// exactly 1.1 cm³/g, and 0.00374, already rounded, 0.19 % above 1/28. We take
		// 1/28 everywhere; the picture of the yarn as a cylinder is rougher than that.
		{"a cylinder of 1.1 cm³/g over 1/28", cylinder(1) / float64(Diameter(1)), 1.0025, 0.0001, derived},
		{"0.00374 over 1/28", float64(PeirceMetric(1) / Diameter(1)), 1.0019, 0.0001, derived},
		{"8/2 cotton jams in plain weave", perInch(Ceiling(Diameter(mustTex(t, "8/2 cotton")))), 32.3, 0.05, derived},
		{"the jam as a share of diameters", squareJam, 0.577, 0.0005, derived},

		{"as firm as plain 103, in 2/2 twill", 103 * twill / plain, 137 + 1.0/3, 1e-9, taylor},
		{"10/2 cotton: lace 20 where plain is 24", 24 * lace / plain, 20, 1e-9, hoogt},
	} {
		t.Run(v.name, v.check)
	}
}

// cylinder is the diameter in metres of a round yarn of 1.1 cm³/g.
func cylinder(tex float64) float64 {
	volume := tex * 1.1e-6 // m³ in 1000 m
	return math.Sqrt(4 * volume / 1000 / math.Pi)
}

// The usual setts of the trade must all lie within the range that we give; which
// of them is chosen, and in which reed, is tested at TestChoiceOfReed.
func TestUsualSettsAreWithinTheRange(t *testing.T) {
	tests := []struct {
		name      string
		yarn      string
		weave     Weave
		low, high float64 // ends per inch
		source    string
	}{
		{"10/2 cotton, plain", "10/2 cotton", Plain, 24, 24, hoogt},
		{"8/2 cotton, plain", "8/2 cotton", Plain, 20, 20, hoogt},
		{"5/2 cotton, plain", "5/2 cotton", Plain, 16, 16, hoogt},
		{"10/2 cotton, lace", "10/2 cotton", Lace, 20, 20, hoogt},
		{"8/2 cotton, lace", "8/2 cotton", Lace, 16, 20, chart},
		{"20/2 cotton, plain", "20/2 cotton", Plain, 30, 32, practice},
		{"8/4 cotton, plain", "8/4 cotton", Plain, 12, 15, practice},
		{"3/2 cotton, plain", "3/2 cotton", Plain, 12, 12, practice},
		{"16/2 linen, plain", "16/2 linen", Plain, 18, 20, practice},
		// Knitting yarn goes by wraps; how many wraps such yarn has is practice too.
		{"DK wool, plain", "15 wpi wool", Plain, 8, 8, practice},
		{"fingering wool, plain", "22 wpi wool", Plain, 10, 12, practice},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, err := Advise(mustYarn(t, tt.yarn), tt.weave, nil)
			if err != nil {
				t.Fatal(err)
			}
			low, high := a.Low.In(measure.PerInch), a.High.In(measure.PerInch)
			if tt.low < low || tt.high > high {
				t.Errorf("usual %v to %v, range %.2f to %.2f: %s", tt.low, tt.high, low, high, tt.source)
			}
		})
	}
}

// DK wool by its length to 100 g comes out closer than anyone sets it: the
// formula knows nothing of elastic yarn, and the advice by wraps is the one to
// follow.
func TestTheFormulaOvershootsForKnittingYarn(t *testing.T) {
	const usual = 8 * measure.PerInch // common practice, no source
	number, err := Advise(mustYarn(t, "230 m/100g wool"), Plain, nil)
	if err != nil {
		t.Fatal(err)
	}
	wraps, err := Advise(mustYarn(t, "15 wpi wool"), Plain, nil)
	if err != nil {
		t.Fatal(err)
	}
	if number.Low <= usual {
		t.Errorf("by number DK wool may be set from %v", number.Low.In(measure.PerInch))
	}
	if wraps.Low > usual || wraps.High < usual {
		t.Errorf("by wraps DK wool may be set from %v to %v", wraps.Low.In(measure.PerInch), wraps.High.In(measure.PerInch))
	}
}

// gnuRow is a conversion that GNU units knows too: what to ask it, and what it
// printed.
type gnuRow struct {
	name    string
	have    string
	want    string
	printed string // units -t -o %.8g have want
	ours    float64
}

func gnuRows(t *testing.T) []gnuRow {
	tex := func(text string) float64 { return float64(mustTex(t, text)) }
	in := func(text string, s measure.YarnSystem) float64 { return Number(mustTex(t, text), s) }
	return []gnuRow{
		{"cotton count", "1/cottonyarncount", "tex", "590.54125", tex("Ne 1")},
		{"worsted count", "1/worstedyarncount", "tex", "885.81187", tex("worsted 1")},
		{"linen lea", "1/linenyarncount", "tex", "1653.5155", tex("lea 1")},
		{"woollen run", "1/woolyarnrun", "tex", "310.03415", tex("run 1")},
		{"metric count", "1/metricyarncount", "tex", "1000", tex("Nm 1")},
		{"yards to the pound", "1/(1000 yard/pound)", "tex", "496.05465", tex("1000 yd/lb")},
		{"denier", "denier", "tex", "0.11111111", tex("1 denier")},
		{"dtex", "100 dtex", "tex", "10", tex("100 dtex")},
		{"8/2 cotton", "2/(8 cottonyarncount)", "tex", "147.63531", tex("8/2 cotton")},
		{"16 linen lea two-ply", "2/(16 linenyarncount)", "tex", "206.68944", tex("16/2 linen")},
		{"metres to 100 g", "1/(230 m/(100 g))", "tex", "434.78261", tex("230 m/100g")},
		{"3360 yd/lb in metres to 100 g", "3360 yard/pound", "m/(100 g)", "677.34473", in("3360 yd/lb", measure.MetresPer100Grams)},
		{"230 m to 100 g in yards to the pound", "230 m/(100 g)", "yard/pound", "1140.9257", in("230 m/100g", measure.YardsPerPound)},
		{"30 tex on the cotton count", "1/(30 tex)", "cottonyarncount", "19.684708", in("30 tex", measure.CottonCount)},
		{"cotton 8 on the metric count", "8 cottonyarncount", "metricyarncount", "13.546895", in("Ne 8", measure.MetricCount)},
		{"cotton 10 in leas", "10 cottonyarncount", "linenyarncount", "28", in("Ne 10", measure.LinenLea)},
		{"worsted 10 in runs", "10 worstedyarncount", "woolyarnrun", "3.5", in("worsted 10", measure.WoollenRun)},
		{"70 denier in yards to the pound", "1/(70 denier)", "yard/pound", "63778.455", in("70 denier", measure.YardsPerPound)},
	}
}

func TestGNUUnitsAsPrinted(t *testing.T) {
	for _, row := range gnuRows(t) {
		t.Run(row.name, func(t *testing.T) {
			want, err := strconv.ParseFloat(row.printed, 64)
			if err != nil {
				t.Fatal(err)
			}
			value{row.name, row.ours, want, 5e-8 * want, gnu}.check(t)
			if got := strconv.FormatFloat(row.ours, 'g', 8, 64); got != row.printed {
				t.Errorf("ours prints as %s, theirs as %s", got, row.printed)
			}
		})
	}
}

func TestGNUUnitsItself(t *testing.T) {
	path, err := exec.LookPath("units")
	if err != nil {
		t.Skip("SKIPPED: GNU units is not installed; its values were checked only as printed in this file")
	}
	version, err := exec.Command(path, "--version").Output()
	if err != nil || !strings.Contains(string(version), "GNU Units") {
		t.Skip("SKIPPED: the units that is installed is not GNU units; its values were checked only as printed in this file")
	}
	for _, row := range gnuRows(t) {
		t.Run(row.name, func(t *testing.T) {
			out, err := exec.Command(path, "-t", "-o", "%.8g", row.have, row.want).Output()
			if err != nil {
				t.Fatalf("units %q %q: %v", row.have, row.want, err)
			}
			if got := strings.TrimSpace(string(out)); got != row.printed {
				t.Errorf("units %q %q prints %s, the row has %s", row.have, row.want, got, row.printed)
			}
		})
	}
}
