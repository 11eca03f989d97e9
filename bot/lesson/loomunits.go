package lesson

import (
	"weftroom/bot"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
	"weftroom/calc/yarn"
)

// widestLoom is more than any hand loom weaves in one width, and less than 15.5'
// typed for 15.5".
const widestLoom = "2.5m"

// unitsParam is the argument that says whose inches or centimetres the bare
// numbers of its line are.
func unitsParam(name string) bot.Param {
	systems := []measure.Units{measure.Imperial, measure.Metric}
	p := bot.Param{Name: name, Kind: bot.Choice, Units: systems}
	for _, u := range systems {
		p.Choices = append(p.Choices, unitNames[u])
	}
	return p
}

// bareBesideMetric refuses 40 for a heddle beside 38cm for a width, from someone
// whose units are not known yet.
func bareBesideMetric(a bot.Args) error {
	if measure.UnitsOf(a.Raw("width")) != measure.Metric {
		return nil
	}
	for _, name := range []string{"heddle", "sett"} {
		bare := a.Has(name) && measure.UnitsOf(a.Raw(name)) == measure.Unset
		if bare && a.Density(name) >= bot.LikelyMetric {
			return bot.BareDensity(name, a.Raw(name))
		}
	}
	return nil
}

// heddleFor is the heddle, as an argument, in which ends fill a width, where one
// does: the likeliest mistake behind ends that disagree is a wrong heddle.
func heddleFor(ends int, width measure.Length, u measure.Units) (argument string, ok bool) {
	if width == 0 {
		return "", false
	}
	reeds := yarn.ImperialReeds
	if u == measure.Metric {
		reeds = yarn.MetricReeds
	}
	h, _, ok := warp.NearestHeddle(measure.Sett(float64(ends)/float64(width)), reeds)
	if !ok || warp.Agree(ends, width, h) != nil {
		return "", false
	}
	return "heddle:" + settWritten(h, u), true
}

// settWritten writes a sett as she would write it.
func settWritten(s measure.Sett, u measure.Units) string {
	if u == measure.Metric {
		return measure.Decimal(rounded(s.In(measure.PerDecimetre))) + "/10cm"
	}
	return measure.Decimal(rounded(s.In(measure.PerInch)))
}

// rounded drops what floating point adds behind the third decimal.
func rounded(n float64) float64 { return float64(int64(n*1000+0.5)) / 1000 }

// Examples in the units of who reads them.

func ppiExample(u measure.Units) string { return byUnits(u, "ppi:10", "ppi:40/10cm") }

func clothExample(u measure.Units) string { return byUnits(u, "cloth:3yd", "cloth:3m") }

func heddleExample(u measure.Units) string { return byUnits(u, "heddle:10", "heddle:40/10cm") }

func widthExample(u measure.Units) string {
	return byUnits(u, "width:15in heddle:10", "width:38cm heddle:40/10cm")
}

func byUnits(u measure.Units, inches, centimetres string) string {
	if u == measure.Metric {
		return centimetres
	}
	return inches
}
