package lesson

import (
	"context"
	"slices"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/lace"
)

type fitData struct {
	Options []fitOption `json:"options"`
}

type fitOption struct {
	Raised     int    `json:"raised"`
	Groups     int    `json:"groups"`
	Leftover   int    `json:"leftover"`
	Placement  string `json:"placement"`
	Sizes      []int  `json:"sizes"`
	Symmetric  bool   `json:"symmetric"`
	ExactBelow int    `json:"exact_below"`
	ExactAbove int    `json:"exact_above"`
}

var placementNames = [...]string{lace.Far: "far", lace.Both: "both", lace.None: "none"}

func fitCommand(looms class.Looms) *bot.Command {
	return &bot.Command{
		Name: "fit",
		Params: []bot.Param{
			{Name: "ends", Kind: bot.Count, First: true, Min: minEnds, Max: maxEnds},
			{Name: "width", Kind: bot.Length, Min: "1cm", Max: "5m"},
			{Name: "heddle", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "sett", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "raised", Kind: bot.Count, Min: "2", Max: "2000"},
		},
		Examples: []string{"fit ends:100", "fit width:38cm heddle:40/10cm", "fit ends:100 raised:3"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			w, err := warpOf(ctx, c, looms)
			if err != nil {
				return bot.Reply{}, err
			}
			options, err := lace.Fit(w.ends, c.Args.Count("raised"))
			if err != nil {
				return bot.Reply{}, err
			}
			return fitReply(c, w, options), nil
		},
	}
}

func fitReply(c *bot.Call, w theWarp, options []lace.Option) bot.Reply {
	data := fitData{Options: []fitOption{}}
	table := bot.Table{
		Head:    []string{c.Say("fit.head.raised"), c.Say("fit.head.groups"), c.Say("fit.head.leftover"), c.Say("fit.head.exact")},
		Numbers: []bool{true, true, false, false},
	}
	for _, o := range options {
		data.Options = append(data.Options, fitOption{
			o.Raised, o.Groups, o.Leftover, placementNames[o.Placement], o.Sizes, o.Symmetric, o.ExactBelow, o.ExactAbove,
		})
		table.Rows = append(table.Rows, []string{strconv.Itoa(o.Raised), strconv.Itoa(o.Groups), leftoverWords(c, w.ends, o), exactWords(c, w.ends, o)})
	}
	r := bot.Reply{Title: c.Say("fit.title", w.ends), Data: data}
	if len(options) == 0 {
		r.Body = []bot.Block{bot.Paragraph(c.Say("fit.none"))}
		return r
	}
	r.Body = []bot.Block{bot.Paragraph(c.Say("fit.intro")), table}
	if slices.ContainsFunc(options, func(o lace.Option) bool { return o.Placement == lace.Both && o.Groups > 1 }) {
		r.Body = append(r.Body, bot.Paragraph(c.Say("fit.share")))
	}
	if w.ends%2 == 1 {
		r.Body = append(r.Body, bot.Paragraph(c.Say("fit.odd")))
	}
	best := options[0]
	switch {
	case best.Groups == 1:
		r.Body = append(r.Body, bot.Paragraph(c.Say("fit.single")))
	case len(options) > 1:
		r.Body = append(r.Body, bot.Paragraph(c.Say("fit.best", best.Raised)))
	}
	r.Buttons = []bot.Button{{Label: c.Say("fit.button", best.Raised), Line: planLine(c, w, best)}}
	return r
}

// planLine asks for the plan of an option on the warp as she described it.
func planLine(c *bot.Call, w theWarp, o lace.Option) string {
	line := "row ends:" + strconv.Itoa(w.ends)
	for _, name := range []string{"heddle", "sett"} {
		if c.Args.Has(name) {
			line += " " + name + ":" + quoted(c.Args.Raw(name))
		}
	}
	line += " raised:" + strconv.Itoa(o.Raised)
	if o.Placement == lace.Both && o.Groups > 1 {
		line += " leftover:both"
	}
	return line
}

func leftoverWords(c *bot.Call, ends int, o lace.Option) string {
	first, last := o.Sizes[0], o.Sizes[len(o.Sizes)-1]
	switch {
	case o.Leftover == 0 && ends%2 == 1:
		return c.Say("fit.left.end")
	case o.Leftover == 0:
		return c.Say("fit.left.none")
	case o.Placement == lace.Both && o.Groups > 1:
		return c.Say("fit.left.both", o.Leftover, first, last) // one pair goes to the far group
	}
	return c.Texts.Count(c.Units, "fit.left.far", o.Leftover, last)
}

func exactWords(c *bot.Call, ends int, o lace.Option) string {
	if o.ExactBelow == ends {
		return c.Say("fit.exact")
	}
	return c.Say("fit.near", o.ExactBelow, o.ExactAbove)
}
