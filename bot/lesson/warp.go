package lesson

import (
	"context"
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
	"weftroom/calc/yarn"
)

type warpData struct {
	Ends        int        `json:"ends"`
	ReedWidthM  float64    `json:"reed_width_m"`
	WarpLengthM float64    `json:"warp_length_m"`
	WarpYarnM   float64    `json:"warp_yarn_m"`
	WeftYarnM   *float64   `json:"weft_yarn_m"`
	WarpMassG   *float64   `json:"warp_mass_g"`
	WeftMassG   *float64   `json:"weft_mass_g"`
	Lines       []lineData `json:"lines"`
}

type lineData struct {
	Label string  `json:"label"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"` // m, g, per m, fraction or count
}

func warpCommand(looms class.Looms) *bot.Command {
	return &bot.Command{
		Name: "warp",
		Params: []bot.Param{
			{Name: "wide", Kind: bot.Length, Required: true, Min: "1cm", Max: "5m"},
			{Name: "long", Kind: bot.Length, Required: true, Min: "1cm", Max: "200m"},
			{Name: "items", Kind: bot.Count, Default: "1", Min: "1", Max: "1000"},
			{Name: "heddle", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "sett", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "fringe", Kind: bot.Length, Default: "0", Max: "2m"},
			{Name: "hem", Kind: bot.Length, Default: "0", Max: "1m"},
			{Name: "header", Kind: bot.Length, Default: "0", Max: "5m"},
			{Name: "sample", Kind: bot.Length, Default: "0", Max: "50m"},
			{Name: "waste", Kind: bot.Length, Default: "18in", Max: "5m"},
			{Name: "takeup", Kind: bot.Words, Default: "10%", Max: "20"},
			{Name: "shrink", Kind: bot.Share, Default: "10%", Max: "60%"},
			{Name: "drawin", Kind: bot.Share, Default: "5%", Max: "39%"},
			{Name: "ppi", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "yarn", Kind: bot.Yarn},
			{Name: "weftyarn", Kind: bot.Yarn},
			{Name: "strands", Kind: bot.Count, Default: "2", Min: "1", Max: "12"},
			{Name: "skein", Kind: bot.Words, Max: "30"},
			{Name: "price", Kind: bot.Money},
		},
		Examples: []string{
			`warp wide:12in long:72in heddle:10 fringe:6in ppi:10 yarn:"8/2 cotton"`,
			`warp wide:30cm long:1.8m heddle:40/10cm ppi:40/10cm yarn:"16/2 linen" takeup:auto hem:3cm`,
			`warp wide:8in long:60in items:3 sett:20 waste:27in shrink:8% skein:100g price:9.50 yarn:"8/2 cotton"`,
		},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			loom, err := loomOf(ctx, looms, c)
			if err != nil {
				return bot.Reply{}, err
			}
			order, err := orderOf(c.Args, loom)
			if err != nil {
				return bot.Reply{}, err
			}
			r, err := warp.Plan(order)
			if err != nil {
				return bot.Reply{}, err
			}
			return warpReply(c, order, r)
		},
	}
}

func orderOf(a bot.Args, l class.Loom) (warp.Order, error) {
	o := warp.Order{
		Wide: a.Length("wide"), Long: a.Length("long"), Items: a.Count("items"), Fringe: a.Length("fringe"), Hem: a.Length("hem"),
		Header: a.Length("header"), Sample: a.Length("sample"), Waste: a.Length("waste"), Loom: loomKinds[l.Kind],
		Heddle: a.Density("heddle"), Sett: a.Density("sett"), Shrink: a.Share("shrink"), DrawIn: a.Share("drawin"),
		PPI: a.Density("ppi"), Strands: a.Count("strands"),
	}
	if o.Heddle == 0 {
		o.Heddle = l.Heddle // with another sett it is sleyed in the reed she has
	}
	if !a.Has("heddle") && !a.Has("sett") {
		o.Sett = l.Sett
	}
	if usual, ok := warp.UsualWaste(o.Loom); ok && !a.Has("waste") {
		o.Waste = usual.High
	}
	var err error
	if o.Warp, err = texOf(a, "yarn"); err != nil {
		return o, err
	}
	if o.Weft, err = texOf(a, "weftyarn"); err != nil {
		return o, err
	}
	if o.Weft == 0 {
		o.Weft = o.Warp
	}
	o.TakeUp, o.Auto, err = takeUp(a.Text("takeup"))
	return o, err
}

var loomKinds = map[class.Kind]warp.Loom{
	class.RigidHeddle: warp.RigidHeddle, class.TableLoom: warp.TableLoom, class.FloorLoom: warp.FloorLoom,
}

// texOf is the linear density of a yarn argument, 0 when it was not given.
func texOf(a bot.Args, name string) (measure.Tex, error) {
	y, ok := a.Yarn(name)
	if !ok {
		return 0, nil
	}
	t, err := yarn.Tex(y)
	if f, bad := asFault(err); bad {
		f.Field, f.Example = name, name+`:"8/2 cotton"`
		return 0, f
	}
	return t, err
}

// takeUp reads a percentage, or "auto" for the geometry.
func takeUp(text string) (share measure.Ratio, auto bool, err error) {
	if strings.EqualFold(strings.TrimSpace(text), "auto") {
		return 0, true, nil
	}
	share, err = measure.ParseRatio(text)
	if f, bad := asFault(err); bad {
		return 0, false, &calc.Fault{Code: f.Code, Key: "warp.takeup", Field: "takeup", Args: []any{"takeup", f}, Example: "takeup:10%"}
	}
	return share, false, err
}

func warpReply(c *bot.Call, o warp.Order, r *warp.Result) (bot.Reply, error) {
	data := warpData{
		Ends: r.Ends, ReedWidthM: float64(r.ReedWidth), WarpLengthM: float64(r.WarpLength), WarpYarnM: float64(r.WarpYarn),
		WeftYarnM: orNull(r.WeftYarn), WarpMassG: orNull(r.WarpMass), WeftMassG: orNull(r.WeftMass), Lines: linesData(c, r.Lines),
	}
	reply := bot.Reply{
		Title: c.Say("warp.title", r.Ends, measure.Need(r.WarpLength)),
		Body:  []bot.Block{bot.Paragraph(c.Say("warp.intro", r.ReedWidth, r.Sett)), linesTable(c, r.Lines)},
		Data:  data,
	}
	notes := bot.List{}
	if len(r.Sley) > 0 && o.Heddle > 0 && o.Sett > 0 {
		notes = append(notes, sleyOrder(c, r.Sley, o.Heddle))
	}
	for _, n := range r.Notes {
		notes = append(notes, c.Say(n.Key, n.Args...))
	}
	if y, ok := c.Args.Yarn("yarn"); ok {
		if s := laceWords(c, y, r.Sett); s != "" {
			notes = append(notes, s)
		}
	}
	if o.PPI == 0 {
		notes = append(notes, c.Say("warp.no_ppi", ppiExample(c.Units)))
	}
	bought, err := buying(c, o, r)
	if err != nil {
		return reply, err
	}
	notes = append(append(notes, bought...), guessed(c, o)...)
	notes = append(notes, c.Say("warp.care"))
	reply.Body = append(reply.Body, notes)
	if o.Heddle > 0 && o.Sett > 0 && len(r.Sley) > 0 && !slices.Equal(r.Sley, []int{1}) {
		reply.Body = append(reply.Body, reedPicture(c, r.Ends, r.Sley))
	}
	return reply, nil
}

// guessed names what was taken for granted, so that nobody takes a guess of
// ours for a measurement of hers.
func guessed(c *bot.Call, o warp.Order) bot.List {
	var guesses []string
	for _, g := range []struct {
		name  string
		key   calc.Key
		share measure.Ratio
	}{{"takeup", "warp.guess.takeup", o.TakeUp}, {"shrink", "warp.guess.shrink", o.Shrink}, {"drawin", "warp.guess.drawin", o.DrawIn}} {
		if !c.Args.Has(g.name) {
			guesses = append(guesses, c.Say(g.key, g.share))
		}
	}
	if len(guesses) == 0 {
		return nil
	}
	return bot.List{c.Say("warp.guesses", guesses)}
}

// linesTable shows every step of a reckoning but the lengths that are nothing:
// a fringe or a sample that nobody wants only makes it longer to read.
func linesTable(c *bot.Call, lines []warp.Line) bot.Table {
	t := bot.Table{Head: []string{c.Say("lines.what"), c.Say("lines.value"), c.Say("lines.how")}}
	for _, l := range lines {
		if l.Value == measure.Length(0) {
			continue
		}
		how := ""
		switch {
		case l.How == warp.KeyHowGiven && !c.Args.Has("takeup"):
			how = c.Say("warp.how.guess")
		case l.How != "":
			how = c.Say(l.How)
		}
		t.Rows = append(t.Rows, []string{c.Say(l.Label), c.Say("lines.format", needed(l)), how})
	}
	return t
}

// needed is the value of a line as it is shown: what has to be wound or bought is
// rounded up.
func needed(l warp.Line) any {
	switch v := l.Value.(type) {
	case measure.Length:
		if slices.Contains([]calc.Key{warp.KeyLineWarpLength, warp.KeyLineWarpYarn, warp.KeyLineWeftYarn}, l.Label) {
			return measure.Need(v)
		}
	case measure.Mass:
		return measure.NeedMass(v)
	}
	return l.Value
}

func linesData(c *bot.Call, lines []warp.Line) []lineData {
	out := []lineData{}
	for _, l := range lines {
		d := lineData{Label: c.Say(l.Label)}
		switch v := l.Value.(type) {
		case measure.Length:
			d.Value, d.Unit = float64(v), "m"
		case measure.Mass:
			d.Value, d.Unit = float64(v), "g"
		case measure.Sett:
			d.Value, d.Unit = float64(v), "per m"
		case measure.Ratio:
			d.Value, d.Unit = float64(v), "fraction"
		case int:
			d.Value, d.Unit = float64(v), "count"
		}
		out = append(out, d)
	}
	return out
}

// orNull is nil for what is not known.
func orNull[Q ~float64](q Q) *float64 {
	if q == 0 {
		return nil
	}
	f := float64(q)
	return &f
}
