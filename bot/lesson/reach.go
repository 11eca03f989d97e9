package lesson

import (
	"context"
	"slices"
	"strconv"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// reachData says, for scripts, how far a length of weft goes.
type reachData struct {
	HaveM float64 `json:"have_m"`
	NeedM float64 `json:"need_m"` // for the rest of the plan
	All   bool    `json:"all"`
	Rows  int     `json:"rows"` // whole rows that it does for
	Row   *int    `json:"row"`  // where it runs out; null when it does for all
	Move  *int    `json:"move"`
	Group *int    `json:"group"` // null on the pick home as well
}

func reachCommand(d *Desk) *bot.Command {
	reach := &bot.Command{
		Name: "reach",
		Params: slices.Concat([]bot.Param{{Name: "have", Kind: bot.Length, Required: true, First: true, Min: "1cm", Max: "20000m"}}, withoutFirst(rowCommand(d).Params), []bot.Param{
			{Name: "row", Kind: bot.Count, Default: "1", Min: "1", Max: "1000"},
			{Name: "move", Kind: bot.Count, Default: "1", Min: "1", Max: "200000"},
		}),
		Examples: []string{"reach have:12yd ends:97 heddle:10 rows:20", "reach have:15m ends:97 heddle:40/10cm rows:8 row:3"},
	}
	reach.Run = func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
		row, move := c.Args.Count("row"), c.Args.Count("move")
		t, asks, err := d.wholePlan(ctx, c, reach, &row, &move)
		switch {
		case err != nil:
			return bot.Reply{}, err
		case asks != nil:
			return *asks, nil
		case t.warp.sett == 0:
			return bot.Reply{}, missing("reach.need_heddle", "heddle", heddleExample(c.Units))
		}
		if err := hasMove(t.plan, row, move); err != nil {
			return bot.Reply{}, err
		}
		strands := max(c.Args.Count("strands"), 1)
		have := c.Args.Length("have")
		got, err := lace.Reach(t.plan, row, move, have, t.warp.sett, c.Args.Density("ppi"), strands)
		if err != nil {
			return bot.Reply{}, err
		}
		return reachReply(c, got, have, row, move, strands), nil
	}
	return reach
}

// withoutFirst has each argument said by its name.
func withoutFirst(params []bot.Param) []bot.Param {
	named := slices.Clone(params)
	for i := range named {
		named[i].First = false
	}
	return named
}

// wholePlan is the plan that she walks, from where she is, or else the one that
// she describes.
func (d *Desk) wholePlan(ctx context.Context, c *bot.Call, command *bot.Command, row, move *int) (t rowText, asks *bot.Reply, err error) {
	s, ok, err := d.walking(ctx, c)
	if err != nil {
		return t, nil, err
	}
	if !ok {
		t, _, asks, err = d.ownRow(ctx, c, command)
		return t, asks, err
	}
	if t = s.t; !c.Args.Has("row") {
		*row = s.walk.Row
		if !c.Args.Has("move") {
			*move = s.walk.Move
		}
	}
	if t.laid { // all of it is planned
		return t, nil, nil
	}
	t.pattern.Rows = s.all
	t.plan, err = planned(t.pattern)
	return t, nil, err
}

func hasMove(p *lace.Plan, row, move int) error {
	if row > len(p.Rows) {
		return &calc.Fault{Code: calc.OutOfRange, Key: keyGotoRow, Field: "row", Args: []any{row, len(p.Rows)}, Example: "row:" + strconv.Itoa(len(p.Rows))}
	}
	if most := len(p.Rows[row-1].Moves); move > most {
		return &calc.Fault{Code: calc.OutOfRange, Key: keyGotoMove, Field: "move", Args: []any{move, most, row}, Example: "move:" + strconv.Itoa(most)}
	}
	return nil
}

func reachReply(c *bot.Call, got lace.Reached, have measure.Length, row, move, strands int) bot.Reply {
	r := bot.Reply{
		Title: c.Say("reach.title", have),
		Data: reachData{
			HaveM: float64(have), NeedM: float64(got.Need), All: got.All, Rows: got.Rows,
			Row: said(got.Row), Move: said(got.Move), Group: said(got.Group),
		},
	}
	list := bot.List{c.Say("reach.need", row, move, measure.Need(got.Need), c.Texts.Count(c.Units, "row.strands", strands))}
	if !got.All && got.Rows > 0 {
		list = append(list, c.Texts.Count(c.Units, "reach.rows", got.Rows))
	}
	switch {
	case got.All:
		list = append(list, c.Say("reach.all"))
	case got.Group == 0:
		list = append(list, c.Say("reach.home", got.Row))
	default:
		list = append(list, c.Say("reach.runs_out", got.Row, got.Move, got.Group))
	}
	list = append(list, c.Say("reach.join"))
	if c.Args.Density("ppi") == 0 {
		list = append(list, c.Say("reach.drops", ppiExample(c.Units)))
	}
	r.Body = []bot.Block{list}
	return r
}
