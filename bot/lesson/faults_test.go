package lesson

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
	"weftroom/calc/yarn"
)

// faulty makes a package return the fault of a key.
type faulty struct {
	key   calc.Key
	cause func() error
}

func length(s string) func() error {
	return func() error { _, err := measure.ParseLength(s, measure.Unset); return err }
}

func yarnOf(s string) func() error {
	return func() error { _, err := measure.ParseYarn(s); return err }
}

var measureFaults = []faulty{
	{measure.KeyEmpty, length(" ")},
	{measure.KeyTooLong, length(strings.Repeat("1", measure.MaxText+1))},
	{measure.KeyEncoding, length("15\xff in")},
	{measure.KeyHidden, length("15\u200fin")},
	{measure.KeyNumber, length("in")},
	{measure.KeyNegative, length("-15in")},
	{measure.KeyExponent, length("1e309in")},
	{measure.KeyFraction, length("15 9/8 in")},
	{measure.KeyComma, length("1,000 mm")},
	{measure.KeyNoUnit, length("15")},
	{measure.KeyUnknownUnit, length("15 furlong")},
	{measure.KeyUnitOrder, length("3in 4yd")},
	{measure.KeyUnexpected, length("15in!")},
	{measure.KeyTooLarge, length("9999999999m")},
	{measure.KeyTooSmall, func() error { _, err := measure.ParseSett("0"); return err }},
	{measure.KeyPercent, func() error { _, err := measure.ParseRatio("10"); return err }},
	{measure.KeyYarnSystem, yarnOf("8/2")},
	{measure.KeyYarnSilk, yarnOf("20/2 silk")},
	{measure.KeyYarnSystems, yarnOf("8/2 cotton linen")},
	{measure.KeyYarnNumber, yarnOf("cotton")},
	{measure.KeyYarnRange, yarnOf("0.0000001 tex")},
	{measure.KeyYarnPlies, yarnOf("8/0 cotton")},
	{measure.KeyYarnDirect, yarnOf("70/34 denier")},
	{measure.KeyYarnPerMass, yarnOf("230 m")},
}

func advice(y measure.Yarn, w yarn.Weave) func() error {
	return func() error { _, err := yarn.Advise(y, w, nil); return err }
}

func sley(epi, dpi measure.Sett) func() error {
	return func() error { _, err := yarn.SleyOrder(epi, dpi); return err }
}

var yarnFaults = []faulty{
	{yarn.KeyWraps, func() error {
		_, err := yarn.Tex(measure.Yarn{System: measure.WrapsPerInch, Number: 20, Plies: 1})
		return err
	}},
	{yarn.KeyNumber, func() error { _, err := yarn.Tex(measure.Yarn{System: measure.CottonCount}); return err }},
	{yarn.KeyNoReed, advice(measure.Yarn{System: measure.TexNumber, Number: 0.001, Plies: 1, Finished: true}, yarn.Plain)},
	{yarn.KeySley, sley(10.01*measure.PerInch, 10*measure.PerInch)},
	{yarn.KeyNoSett, sley(0, 10*measure.PerInch)},
	{yarn.KeyNoWeave, advice(measure.Yarn{System: measure.CottonCount, Number: 8, Plies: 2}, yarn.Weave(9))},
}

// order is a warp plan that comes out, changed by one thing.
func order(change func(*warp.Order)) func() error {
	o := warp.Order{
		Wide: 12 * measure.Inch, Long: 72 * measure.Inch, Items: 1, Waste: 18 * measure.Inch, Heddle: 10 * measure.PerInch,
		TakeUp: 0.1, Shrink: 0.1, DrawIn: 0.05, Strands: 1,
	}
	change(&o)
	return func() error { _, err := warp.Plan(o); return err }
}

func yards(y warp.Yards) func() error {
	return func() error { _, err := y.Reckon(); return err }
}

func skeins(yarn, skein measure.Length) func() error {
	return func() error { _, err := warp.Skeins(yarn, skein, 0); return err }
}

func cost(n int, minor int64) func() error {
	return func() error { _, err := warp.CostOfSkeins(n, warp.Price{Minor: minor}); return err }
}

const cotton8 = 147.635 // tex of 8/2 cotton

var warpFaults = []faulty{
	{warp.KeyLengthRange, order(func(o *warp.Order) { o.Wide = 0 })},
	{warp.KeyCountRange, order(func(o *warp.Order) { o.Items = 0 })},
	{warp.KeyRatioRange, order(func(o *warp.Order) { o.Shrink = 0.7 })},
	{warp.KeyRatioBelow, order(func(o *warp.Order) { o.DrawIn = 0.4 })},
	{warp.KeySettRange, order(func(o *warp.Order) { o.Heddle = 1 })},
	{warp.KeyDiameterRange, func() error { _, _, err := warp.Geometry{}.Crimp(); return err }},
	{warp.KeyTexRange, order(func(o *warp.Order) { o.Warp = 1e7 })},
	{warp.KeyPriceRange, cost(1, -1)},
	{warp.KeyEndsDisagree, func() error { return warp.Agree(97, 15*measure.Inch, 10*measure.PerInch) }},
	{warp.KeyJammed, order(func(o *warp.Order) {
		o.Auto, o.Warp, o.PPI, o.Sett = true, cotton8, 10*measure.PerInch, 60*measure.PerInch
	})},
	{warp.KeyNeedSett, order(func(o *warp.Order) { o.Heddle = 0 })},
	{warp.KeyNeedEnds, yards(warp.Yards{Warp: 1})},
	{warp.KeyNeedWidth, yards(warp.Yards{Ends: 97, Warp: 1, PPI: 400, Cloth: 1, Strands: 1})},
	{warp.KeyNeedPicks, yards(warp.Yards{Ends: 97, Warp: 1, Cloth: 1})},
	{warp.KeyNeedCloth, yards(warp.Yards{Ends: 97, Warp: 1, PPI: 400})},
	{warp.KeyNeedYarn, order(func(o *warp.Order) { o.Auto, o.PPI = true, 400 })},
	{warp.KeyTooFewEnds, order(func(o *warp.Order) { o.Wide, o.Heddle = measure.Centimetre, 20 })},
	{warp.KeyTooManyEnds, order(func(o *warp.Order) { o.Wide, o.Heddle = 5*measure.Metre, 200*measure.PerInch })},
	{warp.KeyReedTooWide, order(func(o *warp.Order) { o.Wide, o.Shrink = 5*measure.Metre, 0.6 })},
	{warp.KeyWarpTooLong, order(func(o *warp.Order) { o.Items = 1000 })},
	{warp.KeyCostTooLarge, cost(1_000_000, 1_000_000)},
	{warp.KeySkeinsTooMany, skeins(1e9, 1)},
}

func pattern(change func(*lace.Pattern)) func() error {
	p := lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 1}
	change(&p)
	return p.Check
}

var laceFaults = []faulty{
	{lace.KeyEndsRange, pattern(func(p *lace.Pattern) { p.Ends = 7 })},
	{lace.KeyPassesRange, pattern(func(p *lace.Pattern) { p.Passes = 101 })},
	{lace.KeyEvenPasses, pattern(func(p *lace.Pattern) { p.Passes = 4 })},
	{lace.KeyRaisedRange, pattern(func(p *lace.Pattern) { p.Raised = 49 })},
	{lace.KeyEdgeRange, pattern(func(p *lace.Pattern) { p.Edge = 23 })},
	{lace.KeyRowsRange, pattern(func(p *lace.Pattern) { p.Rows = 1001 })},
	{lace.KeyRowsWork, pattern(func(p *lace.Pattern) { p.Ends, p.Rows, p.Passes = 4000, 1000, 99 })},
	{lace.KeyHalfDropRaised, pattern(func(p *lace.Pattern) { p.Repeat, p.Raised = lace.HalfDrop, 40 })},
	{lace.KeyHalfDropEdge, pattern(func(p *lace.Pattern) { p.Repeat, p.Raised, p.Edge = lace.HalfDrop, 2, 23 })},
	{lace.KeyProblemRow, problem(lace.Observation{Row: 3, HasLeft: true, Left: 5})},
	{lace.KeyProblemGroup, problem(lace.Observation{Row: 1, Group: 17, Sees: lace.Open})},
	{lace.KeyProblemLeft, problem(lace.Observation{Row: 1, HasLeft: true, Left: 60})},
	{lace.KeyProblemWhat, problem(lace.Observation{Row: 1})},
	{lace.KeyProblemMove, problem(lace.Observation{Row: 1, Move: 35, Short: 1})},
	{lace.KeyProblemCount, problem(lace.Observation{Row: 1, Move: 7, Group: 3, Sees: lace.Open})},
	{lace.KeyProblemSees, problem(lace.Observation{Row: 1, Group: 3})},
	{lace.KeyListSign, listed("3 three")},
	{lace.KeyListEmpty, listed("3 | | 3")},
	{lace.KeyListLong, listed("2001x3")},
	{lace.KeyListGroup, pattern(func(p *lace.Pattern) { p.Listed = []lace.Groups{{3, 1}} })},
	{lace.KeyListWide, pattern(func(p *lace.Pattern) { p.Listed = []lace.Groups{{40, 40}} })},
	{lace.KeyChartEmpty, charted("")},
	{lace.KeyChartSign, charted("..x")},
	{lace.KeyChartRagged, charted("..o/o")},
	{lace.KeyChartLong, charted(strings.Repeat("o/", lace.MaxChartRows+1))},
	{lace.KeyChartTall, motif(func(m *lace.Motif) { m.Ends, m.Passes, m.Asked = 4000, 99, make([][]float64, 60) })},
	{lace.KeyChartWide, motif(func(m *lace.Motif) { m.Ends = 8 })},
	{lace.KeyCellWide, motif(func(m *lace.Motif) { m.Cell = 30 })},
	{lace.KeyCellRange, motif(func(m *lace.Motif) { m.Cell = 49 })},
	{lace.KeyAcrossRange, motif(func(m *lace.Motif) { m.Across = 99 })},
	{lace.KeyMarginRange, motif(func(m *lace.Motif) { m.Margin = 40 })},
	{lace.KeyPanelRange, motif(func(m *lace.Motif) { m.Panel = 2 })},
}

func charted(text string) func() error {
	return func() error { _, err := lace.ParseChart(text); return err }
}

func motif(change func(*lace.Motif)) func() error {
	m := lace.Motif{Ends: 97, Passes: 3, Asked: [][]float64{{1, 0, 1}}, Margin: -1}
	change(&m)
	for i := range m.Asked {
		m.Asked[i] = []float64{1, 0, 1}
	}
	return func() error { _, err := m.Fit(); return err }
}

func listed(text string) func() error {
	return func() error { _, err := lace.ParseGroups(text); return err }
}

func problem(o lace.Observation) func() error {
	return func() error {
		plan, err := planned(lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 2})
		if err != nil {
			return err
		}
		_, err = lace.Diagnose(plan, o)
		return err
	}
}

// labels are keys of calc/warp that are no faults: they name lines, say where a
// value comes from or stand in tables. See TestWarpSaysItsLabels.
const labels = "warp.line. warp.how. warp.note. warp.source. warp.remark."

// TestFaultsBecomeSentences makes each package return each of its faults and
// puts it into words, in both systems of units.
func TestFaultsBecomeSentences(t *testing.T) {
	texts := English()
	inLace := slices.Clone(laceFaults)
	for _, row := range designFaults {
		inLace = append(inLace, row.faulty)
	}
	for _, pack := range []struct {
		keys   []calc.Key
		faults []faulty
	}{{measure.Keys, measureFaults}, {yarn.Keys, yarnFaults}, {warp.Keys, warpFaults}, {lace.Keys, inLace}} {
		caused := map[calc.Key]bool{}
		for _, row := range pack.faults {
			var f *calc.Fault
			if err := row.cause(); !errors.As(err, &f) || f.Key != row.key {
				t.Errorf("%s: got %v", row.key, err)
				continue
			}
			caused[row.key] = true
			if f.Example == "" {
				t.Errorf("%s: no example", row.key)
			}
			for _, u := range []measure.Units{measure.Imperial, measure.Metric} {
				wellSaid(t, string(row.key), texts.Say(u, f.Key, f.Args...))
			}
		}
		for _, key := range pack.keys {
			dot := strings.LastIndexByte(string(key), '.')
			if !caused[key] && !strings.Contains(labels, string(key[:dot+1])+" ") && !strings.HasSuffix(labels, string(key[:dot+1])) {
				t.Errorf("%s is not caused", key)
			}
		}
	}
}

// TestWarpSaysItsLabels renders what stands in plans and tables of calc/warp.
func TestWarpSaysItsLabels(t *testing.T) {
	texts := English()
	said := map[calc.Key]bool{warp.KeyHowMillRule: false}
	say := func(key calc.Key, args ...any) {
		if key == "" {
			return
		}
		said[key] = true
		wellSaid(t, string(key), texts.Say(measure.Imperial, key, args...))
	}
	all := warp.Order{
		Wide: 12 * measure.Inch, Long: 72 * measure.Inch, Items: 2, Fringe: 1, Hem: 0.01, Header: 0.1, Sample: 0.2, Waste: 0.1,
		Loom: warp.RigidHeddle, Heddle: 10 * measure.PerInch, Sett: 20 * measure.PerInch, PPI: 400, Strands: 2, Warp: cotton8, Weft: cotton8,
		TakeUp: 0.1, Shrink: 0.1, DrawIn: 0.05,
	}
	auto, bare, odd := all, all, all
	auto.Auto = true
	bare.Fringe = 0
	odd.Sett = 10.01 * measure.PerInch
	for _, o := range []warp.Order{all, auto, bare, odd} {
		r, err := warp.Plan(o)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range r.Lines {
			say(l.Label)
			say(l.How)
			wellSaid(t, string(l.Label), texts.Say(measure.Metric, "lines.format", l.Value))
		}
		for _, n := range r.Notes {
			say(n.Key, n.Args...)
		}
	}
	for _, row := range warp.LoomWaste {
		say(row.Source)
	}
	for _, row := range warp.Shrinkage {
		say(row.Source)
		say(row.Remark)
	}
	for _, key := range warp.Keys {
		dot := strings.LastIndexByte(string(key), '.')
		if strings.Contains(labels, string(key[:dot+1])) && strings.Count(string(key), ".") == 2 && !said[key] {
			t.Errorf("%s is not said by any plan or table", key)
		}
	}
}

// wellSaid holds one sentence to the form of all: said, and nothing of the
// machinery shows in it.
func wellSaid(t *testing.T, what, sentence string) {
	t.Helper()
	for _, bad := range []string{"%!", "%s", "%d", "%v", "%[", "BADINDEX", "EXTRA", "MISSING", "<nil>", "{", "e+0", "NaN", "Inf"} {
		if strings.Contains(sentence, bad) {
			t.Errorf("%s: %q in %q", what, bad, sentence)
		}
	}
	if sentence == "" || sentence == what || strings.TrimSpace(sentence) != sentence {
		t.Errorf("%s: %q", what, sentence)
	}
}

func TestBadlySaidIsFound(t *testing.T) {
	texts := English()
	texts["lace.ends_range"] = "ends: %d of %s, %d and %d and %d"
	f := pattern(func(p *lace.Pattern) { p.Ends = 7 })().(*calc.Fault)
	if said := texts.Say(0, f.Key, f.Args...); !strings.Contains(said, "%!") {
		t.Errorf("a sentence with the wrong verbs shows nothing of it: %q", said)
	}
}
