package lesson

import (
	"context"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
	"weftroom/calc/yarn"
)

type kitData struct {
	Yarn    string    `json:"yarn"`
	Lines   []kitLine `json:"lines"`
	Missing []string  `json:"missing"` // whose loom does not tell enough
	YarnM   float64   `json:"yarn_m"`
	MassG   *float64  `json:"mass_g"`
	Skeins  *int      `json:"skeins"` // in all, each loom's rounded up
	Cost    *string   `json:"cost"`
}

type kitLine struct {
	Name      string  `json:"name"`
	Ends      int     `json:"ends"`
	WarpM     float64 `json:"warp_m"` // length of the warp
	WarpYarnM float64 `json:"warp_yarn_m"`
	WeftYarnM float64 `json:"weft_yarn_m"`
	Skeins    *int    `json:"skeins"`
}

func kitCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "kit", Who: bot.Helper,
		Params: []bot.Param{
			{Name: "long", Kind: bot.Length, Required: true, First: true, Min: "1cm", Max: "200m"},
			{Name: "fringe", Kind: bot.Length, Default: "0", Max: "2m"},
			{Name: "hem", Kind: bot.Length, Default: "0", Max: "1m"},
			{Name: "sample", Kind: bot.Length, Default: "0", Max: "50m"},
			{Name: "waste", Kind: bot.Length, Max: "5m"},
			{Name: "takeup", Kind: bot.Share, Default: "10%", Max: "60%"},
			{Name: "shrink", Kind: bot.Share, Default: "10%", Max: "60%"},
			{Name: "drawin", Kind: bot.Share, Default: "5%", Max: "39%"},
			{Name: "ppi", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "strands", Kind: bot.Count, Default: "2", Min: "1", Max: "12"},
			{Name: "yarn", Kind: bot.Yarn},
			{Name: "skein", Kind: bot.Words, Max: "30"},
			{Name: "margin", Kind: bot.Share, Default: "10%", Max: "100%"},
			{Name: "price", Kind: bot.Money},
		},
		Examples: []string{`kit long:60in fringe:6in yarn:"8/2 cotton" skein:100g price:9.50`, "kit long:1.5m ppi:40/10cm"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			g, err := d.group(ctx, c, s.Class)
			if err != nil {
				return bot.Reply{}, err
			}
			k, err := newKit(c, s.Class)
			if err != nil {
				return bot.Reply{}, err
			}
			return k.reply(c, g)
		},
	}
}

// kit is what a class's yarn is reckoned with.
type kit struct {
	yarn  measure.Yarn
	tex   measure.Tex
	skein measure.Length // 0: not asked
}

func newKit(c *bot.Call, k class.Class) (kit, error) {
	y, ok := c.Args.Yarn("yarn")
	if !ok {
		if k.Yarn == "" {
			return kit{}, missing("kit.need_yarn", "yarn", `yarn:"8/2 cotton"`)
		}
		var err error
		if y, err = measure.ParseYarn(k.Yarn); err != nil {
			return kit{}, err
		}
	}
	t, err := yarn.Tex(y)
	if f, bad := asFault(err); bad {
		f.Field = "yarn"
		return kit{}, f
	}
	out := kit{yarn: y, tex: t}
	text := c.Args.Text("skein")
	switch {
	case err != nil:
	case text != "":
		out.skein, err = skeinLength(text, t)
	case c.Args.Has("price"):
		err = missing("warp.price_needs_skein", "skein", "skein:100g")
	}
	return out, err
}

func (k kit) reply(c *bot.Call, g []fellow) (bot.Reply, error) {
	data := kitData{Yarn: k.yarn.String(), Lines: []kitLine{}, Missing: []string{}}
	t := bot.Table{
		Head:    []string{c.Say("roster.name"), c.Say("kit.ends"), c.Say("kit.warp"), c.Say("kit.warp_yarn"), c.Say("kit.weft_yarn")},
		Numbers: []bool{false, true, false, false, false},
	}
	if k.skein > 0 {
		t.Head, t.Numbers = append(t.Head, c.Say("kit.skeins")), append(t.Numbers, true)
	}
	total, skeins := measure.Length(0), 0
	var wastes []measure.Length
	var setts []settOf
	for _, f := range g {
		if f.member.Role == bot.Teacher && f.loom.Ends == 0 && f.loom.Width == 0 {
			continue // she who teaches need not weave along
		}
		r, ok, err := k.plan(c, f)
		if err != nil {
			return bot.Reply{}, err
		}
		if !ok {
			data.Missing = append(data.Missing, f.name)
			continue
		}
		line := kitLine{f.name, r.Ends, float64(r.WarpLength), float64(r.WarpYarn), float64(r.WeftYarn), nil}
		row := []string{f.name, strconv.Itoa(r.Ends), needText(c, r.WarpLength), needText(c, r.WarpYarn), needText(c, r.WeftYarn)}
		if k.skein > 0 {
			n, err := warp.Skeins(r.WarpYarn+r.WeftYarn, k.skein, c.Args.Share("margin"))
			if err != nil {
				return bot.Reply{}, err
			}
			skeins += n
			line.Skeins, row = &n, append(row, strconv.Itoa(n))
		}
		total += r.WarpYarn + r.WeftYarn
		wastes, setts = append(wastes, wasteOf(c, f)), append(setts, settOf{f.name, r.Sett})
		data.Lines, t.Rows = append(data.Lines, line), append(t.Rows, row)
	}
	mass := warp.Weight(total, k.tex)
	data.YarnM, data.MassG = float64(total), orNull(mass)
	reply := bot.Reply{Title: c.Texts.Count(c.Units, "kit.title", len(t.Rows), k.yarn.String())}
	var bought bot.List
	if len(t.Rows) == 0 {
		bought = append(bought, c.Say("kit.none"))
	} else {
		reply.Body = append(reply.Body, t, bot.Paragraph(c.Say("kit.total", measure.Need(total), measure.NeedMass(mass))))
		var err error
		if bought, err = k.bought(c, skeins, &data); err != nil {
			return bot.Reply{}, err
		}
	}
	bought = append(bought, k.laceNotes(c, setts)...)
	if len(data.Missing) > 0 {
		bought = append(bought, c.Say("kit.missing", data.Missing))
	}
	reply.Body = append(reply.Body, append(bought, c.Say("kit.reckoned"), taken(c, wastes), c.Say("kit.advice")))
	reply.Data = data
	return reply, nil
}

// plan reckons the yarn for one loom: its ends as they are, its loom waste as is
// usual for its kind, the picks as close as the ends unless the asker says.
func (k kit) plan(c *bot.Call, f fellow) (r *warp.Result, ok bool, err error) {
	w, ok := f.warp()
	if !ok || w.sett == 0 {
		return nil, false, nil
	}
	a := c.Args
	o := warp.Order{
		Wide: finishedWidth(w.ends, w.sett, a.Share("shrink"), a.Share("drawin")), Long: a.Length("long"), Items: 1,
		Fringe: a.Length("fringe"), Hem: a.Length("hem"), Sample: a.Length("sample"), Loom: loomKinds[f.loom.Kind],
		Sett: w.sett, TakeUp: a.Share("takeup"), Shrink: a.Share("shrink"), DrawIn: a.Share("drawin"),
		PPI: a.Density("ppi"), Strands: a.Count("strands"), Warp: k.tex, Weft: k.tex,
	}
	if o.PPI == 0 {
		o.PPI = w.sett
	}
	o.Waste = wasteOf(c, f)
	r, err = warp.Plan(o)
	return r, err == nil, err
}

// kitWaste is the loom waste of a loom of unknown kind: the most that any kind
// usually has (common practice, no source).
const kitWaste = 36 * measure.Inch

func (k kit) bought(c *bot.Call, skeins int, data *kitData) (bot.List, error) {
	if k.skein == 0 {
		return bot.List{c.Say("kit.say_skein")}, nil
	}
	data.Skeins = &skeins
	list := bot.List{c.Texts.Count(c.Units, "kit.buy", skeins, k.skein, c.Args.Share("margin"))}
	if !c.Args.Has("price") {
		return list, nil
	}
	cost, err := warp.CostOfSkeins(skeins, warp.Price{Minor: c.Args.Cents("price")})
	if err != nil {
		return nil, err
	}
	text := money(cost.Minor)
	data.Cost = &text
	return append(list, c.Say(calc.Key("kit.cost"), text)), nil
}
