package lesson

import (
	"context"
	"math"
	"strconv"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
	"weftroom/calc/yarn"
)

type settData struct {
	DiametersPerInch float64 `json:"diameters_per_inch"`
	MaxEPI           float64 `json:"max_epi"`
	EPI              float64 `json:"epi"`
	EPILow           float64 `json:"epi_low"`
	EPIHigh          float64 `json:"epi_high"`
	CeilingEPI       float64 `json:"ceiling_epi"`
	HeddleDPI        float64 `json:"heddle_dpi"`
	Sley             []int   `json:"sley"`
	Method           string  `json:"method"`
}

var weaves = map[string]yarn.Weave{"plain": yarn.Plain, "twill": yarn.Twill, "lace": yarn.Lace}

func settCommand(looms class.Looms) *bot.Command {
	return &bot.Command{
		Name: "sett",
		Params: []bot.Param{
			{Name: "yarn", Kind: bot.Yarn, First: true},
			{Name: "wpi", Kind: bot.Count, Min: "1", Max: "300"},
			{Name: "weave", Kind: bot.Choice, Default: "plain", Choices: []string{"plain", "twill", "lace"}},
			{Name: "heddle", Kind: bot.Density, Min: minSett, Max: maxSett},
		},
		Examples: []string{`sett yarn:"8/2 cotton" weave:plain`, "sett wpi:20 weave:lace", `sett yarn:"16/2 linen" weave:lace heddle:40/10cm`},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			loom, err := loomOf(ctx, looms, c)
			if err != nil {
				return bot.Reply{}, err
			}
			y, err := settYarn(c.Args)
			if err != nil {
				return bot.Reply{}, err
			}
			a, err := yarn.Advise(y, weaves[c.Args.Text("weave")], reedsFor(c))
			if f, bad := asFault(err); bad {
				if f.Field, f.Example = "yarn", `yarn:"8/2 cotton"`; c.Args.Has("wpi") {
					f.Field, f.Example = "wpi", "wpi:20"
				}
				return bot.Reply{}, f
			}
			if err != nil {
				return bot.Reply{}, err
			}
			return settReply(c, loom, y, a), nil
		},
	}
}

// settYarn takes the yarn, or the wraps per inch of one without a number.
func settYarn(a bot.Args) (measure.Yarn, error) {
	y, ok := a.Yarn("yarn")
	switch {
	case ok && a.Has("wpi"):
		return y, &calc.Fault{Code: calc.Conflict, Key: "sett.both", Field: "wpi", Example: "sett wpi:20"}
	case ok:
		return y, nil
	case a.Has("wpi"):
		return measure.Yarn{System: measure.WrapsPerInch, Number: float64(a.Count("wpi")), Plies: 1, Finished: true}, nil
	}
	return y, missing("sett.need_yarn", "yarn", `sett yarn:"8/2 cotton"`)
}

// reedsFor are the heddles and reeds to choose from, those of her units.
func reedsFor(c *bot.Call) []measure.Sett {
	if c.Units == measure.Metric {
		return yarn.MetricReeds
	}
	return yarn.ImperialReeds
}

func settReply(c *bot.Call, l class.Loom, y measure.Yarn, a yarn.Advice) bot.Reply {
	inch := func(s measure.Sett) float64 { return s.In(measure.PerInch) }
	reply := bot.Reply{
		Title: c.Say("sett.title", y.String(), calc.Key("sett.weave."+a.Weave.String()), a.Choice),
		Data: settData{
			inch(a.Diameters), inch(a.Max), inch(a.Choice), inch(a.Low), inch(a.High), inch(a.Ceiling), inch(a.Reed), a.Sley, a.Method.String(),
		},
	}
	row := func(key calc.Key, value measure.Sett) []string {
		return []string{c.Say(key), c.Say("lines.format", value)}
	}
	table := bot.Table{Head: []string{c.Say("lines.what"), c.Say("lines.value")}, Rows: [][]string{
		row("sett.choice", a.Choice), row("sett.low", a.Low), row("sett.high", a.High),
		row(fullLabel(a), a.Max), row("sett.diameters", a.Diameters),
	}}
	if a.Weave != yarn.Twill { // it is plain weave that jams there
		table.Rows = append(table.Rows, row("sett.ceiling", a.Ceiling))
	}
	reply.Body = []bot.Block{bot.Paragraph(c.Say("sett.use", a.Choice) + " " + sleyOrder(c, a.Sley, a.Reed))}
	heddle := l.EndsPerLength()
	if c.Args.Has("heddle") {
		heddle = c.Args.Density("heddle")
	}
	if heddle > 0 {
		reply.Body = append(reply.Body, bot.Paragraph(heddleWords(c, heddle, a)))
	} else {
		reply.Body = append(reply.Body, bot.Paragraph(rigidWords(c, a)))
	}
	reply.Body = append(reply.Body, table, bot.Paragraph(methodWords(c, a)))
	if a.Weave == yarn.Plain {
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("sett.lace_hint")))
	}
	return reply
}

// sleyOrder says how many ends go into the dents of a reed.
func sleyOrder(c *bot.Call, sley []int, reed measure.Sett) string {
	switch {
	case len(sley) == 1 && sley[0] == 1:
		return c.Say("sett.sley_one", reed)
	case len(sley) == 1:
		return c.Say("sett.sley_even", sley[0], reed)
	}
	return c.Say("sett.sley", sleyed(sley), reed)
}

// sleyed writes ends in each dent as weavers do: 2-3.
func sleyed(sley []int) string {
	var order []string
	for _, n := range sley {
		order = append(order, strconv.Itoa(n))
	}
	return strings.Join(order, "-")
}

func methodWords(c *bot.Call, a yarn.Advice) string {
	switch {
	case a.Method == yarn.ByWraps:
		return c.Say("sett.method.wraps")
	case a.Weave == yarn.Twill:
		return c.Say("sett.method.number")
	}
	return c.Say("sett.method.jam")
}

// heddleWords says whether one end to each dent of her own heddle will do.
func heddleWords(c *bot.Call, heddle measure.Sett, a yarn.Advice) string {
	n := strandsFor(heddle, a)
	switch {
	case n == 1:
		return c.Say("sett.heddle_good", heddle)
	case n > 1:
		return c.Say("sett.heddle_strands", heddle, a.Low, n)
	case heddle < a.Low:
		return c.Say("sett.heddle_open", heddle, a.Low)
	}
	return c.Say("sett.heddle_close", heddle, a.High)
}

// strandsFor is the fewest strands of the yarn, wound together as one end, that
// suit a sett, up to four; 0 when none do. Diameters go as the root of the
// mass, so n strands want a sett √n times as open. One strand may lie a
// little outside the range, as metric heddles do; several may not.
func strandsFor(sett measure.Sett, a yarn.Advice) int {
	if sett >= a.Low*(1-tolerance) && sett <= a.High*(1+tolerance) {
		return 1
	}
	for n := 2; n <= 4; n++ {
		opener := measure.Sett(math.Sqrt(float64(n)))
		if sett >= a.Low/opener && sett <= a.High/opener {
			return n
		}
	}
	return 0
}

// tolerance lets a metric heddle pass for the inch heddle that it stands for.
const tolerance = 0.02

// rigidWords say which rigid heddle comes nearest, and whether it will do.
func rigidWords(c *bot.Call, a yarn.Advice) string {
	heddle, _, _ := warp.NearestHeddle(a.Target, reedsFor(c))
	n := strandsFor(heddle, a)
	switch {
	case n == 1:
		return c.Say("sett.rigid", heddle)
	case n > 1:
		return c.Say("sett.rigid_strands", heddle, n)
	case heddle < a.Low:
		return c.Say("sett.rigid_open", heddle)
	}
	return c.Say("sett.rigid_close", heddle)
}

// fullLabel names Advice.Max: by wraps it is the rule's own sett, which is no
// upper bound.
func fullLabel(a yarn.Advice) calc.Key {
	if a.Method == yarn.ByWraps {
		return "sett.rule"
	}
	return "sett.max"
}
