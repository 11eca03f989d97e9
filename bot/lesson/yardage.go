package lesson

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
)

type yardageData struct {
	WarpYarnM float64  `json:"warp_yarn_m"`
	WeftYarnM *float64 `json:"weft_yarn_m"`
	WarpMassG *float64 `json:"warp_mass_g"`
	WeftMassG *float64 `json:"weft_mass_g"`
}

func yardageCommand(looms class.Looms) *bot.Command {
	return &bot.Command{
		Name: "yardage",
		Params: []bot.Param{
			{Name: "ends", Kind: bot.Count, Min: "2", Max: "20000"},
			{Name: "width", Kind: bot.Length, Min: "1cm", Max: "10m"},
			{Name: "heddle", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "sett", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "warp", Kind: bot.Length, Required: true, Min: "1cm", Max: "1000m"},
			{Name: "ppi", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "cloth", Kind: bot.Length, Min: "1cm", Max: "1000m"},
			{Name: "strands", Kind: bot.Count, Default: "1", Min: "1", Max: "12"},
			{Name: "yarn", Kind: bot.Yarn},
			{Name: "weftyarn", Kind: bot.Yarn},
		},
		Examples: []string{
			`yardage ends:528 warp:4yd yarn:"8/2 cotton"`,
			`yardage width:38in sett:60 warp:38yd yarn:"30/1 cotton" ppi:64 cloth:36yd weftyarn:"36/1 cotton"`,
			`yardage ends:152 warp:3m yarn:"230 m/100g"`,
		},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			loom, err := loomOf(ctx, looms, c)
			if err != nil {
				return bot.Reply{}, err
			}
			y, err := yardsOf(c.Args, loom)
			if err != nil {
				return bot.Reply{}, err
			}
			a, err := y.Reckon()
			if err != nil {
				return bot.Reply{}, err
			}
			reply := bot.Reply{
				Title: c.Say("yardage.title", measure.Need(a.WarpYarn)),
				Body:  []bot.Block{linesTable(c, a.Lines)},
				Data:  yardageData{float64(a.WarpYarn), orNull(a.WeftYarn), orNull(a.WarpMass), orNull(a.WeftMass)},
			}
			if y.PPI == 0 {
				reply.Body = append(reply.Body, bot.Paragraph(c.Say("yardage.no_weft", ppiExample(c.Units), clothExample(c.Units))))
			}
			return reply, nil
		},
	}
}

// yardsOf takes the warp from the arguments, and what they leave out from the
// loom that she has reported.
func yardsOf(a bot.Args, l class.Loom) (warp.Yards, error) {
	l = warpSaid(a, l)
	y := warp.Yards{
		Ends: l.Ends, Width: l.Width, Sett: l.EndsPerLength(),
		Warp: a.Length("warp"), PPI: a.Density("ppi"), Cloth: a.Length("cloth"), Strands: a.Count("strands"),
	}
	var err error
	if y.WarpYarn, err = texOf(a, "yarn"); err != nil {
		return y, err
	}
	if y.WeftYarn, err = texOf(a, "weftyarn"); err != nil {
		return y, err
	}
	if y.WeftYarn == 0 {
		y.WeftYarn = y.WarpYarn
	}
	return y, nil
}
