package lesson

import (
	"context"
	"slices"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// usualStrands of weft are wound together: they fill better and show the holes
// better than one (common practice, no source).
const usualStrands = 2

// warpParams describe a warp and how it sits on the loom, patternParams what is
// woven on it.
var (
	warpParams = []bot.Param{
		{Name: "ends", Kind: bot.Count, First: true, Min: minEnds, Max: maxEnds},
		{Name: "width", Kind: bot.Length, Min: "1cm", Max: "5m"},
		{Name: "heddle", Kind: bot.Density, Min: minSett, Max: maxSett},
		{Name: "sett", Kind: bot.Density, Min: minSett, Max: maxSett},
		{Name: "from", Kind: bot.Choice, Default: "right", Choices: []string{"right", "left"}},
		{Name: "rightmost", Kind: bot.Choice, Choices: class.Rightmosts},
	}
	patternParams = []bot.Param{
		{Name: "raised", Kind: bot.Count, Default: "3", Min: "2", Max: "2000"},
		{Name: "groups", Kind: bot.Words, Max: "4000"},
		{Name: "design", Kind: bot.Words, Max: strconv.Itoa(maxName)},
		{Name: "passes", Kind: bot.Count, Default: "3", Min: "3", Max: "99"},
		{Name: "way", Kind: bot.Choice, Default: "one", Choices: []string{"one", "two"}},
		{Name: "rows", Kind: bot.Count, Default: "1", Min: "1", Max: "1000"},
		{Name: "leftover", Kind: bot.Choice, Default: "far", Choices: []string{"far", "both"}},
		{Name: "edge", Kind: bot.Count, Default: "0", Min: "0", Max: "2000"},
		{Name: "repeat", Kind: bot.Choice, Default: "straight", Choices: []string{"straight", "halfdrop"}},
		{Name: "strands", Kind: bot.Count, Default: strconv.Itoa(usualStrands), Min: "1", Max: "12"},
		{Name: "ppi", Kind: bot.Density, Min: minSett, Max: maxSett},
	}
)

// keptParams are patternParams as a plan is kept: a design has more groups than
// anyone writes on a line, but of a piece that can be planned fewer letters than
// MaxWork.
func keptParams() []bot.Param {
	kept := slices.Clone(patternParams)
	for i := range kept {
		if kept[i].Name == "groups" {
			kept[i].Max = strconv.Itoa(lace.MaxWork)
		}
	}
	return kept
}

func rowCommand(d *Desk) *bot.Command {
	row := &bot.Command{
		Name: "row", Aliases: []string{"rows"},
		Params: slices.Concat(warpParams[:4], patternParams[:5], warpParams[4:5], patternParams[5:], warpParams[5:],
			[]bot.Param{{Name: "work", Kind: bot.Choice, Choices: []string{"tonight", "none"}}}),
		Examples: []string{
			"row ends:97 raised:3 rows:2 rightmost:hole",
			"row width:15in heddle:10 passes:5 way:two from:left",
			"row width:38cm heddle:40/10cm raised:4 repeat:halfdrop rows:4",
			`row ends:48 groups:"3 3 6 | 6 3 3" leftover:both`,
			"row design:leaf",
		},
	}
	row.Run = func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
		asked := askedOf(c.Args, row) // before the work of an evening is laid under it
		t, head, asks, err := d.ownRow(ctx, c, row)
		switch {
		case err != nil:
			return bot.Reply{}, err
		case asks != nil:
			return *asks, nil
		}
		r := t.reply(head)
		r.Buttons = t.startButton(asked)
		return r, nil
	}
	return row
}

// patternOf reads a pattern from the arguments of row, for a warp. Rows that are
// listed are woven once each where no number of rows is given.
func patternOf(a bot.Args, w theWarp) (p lace.Pattern, err error) {
	p = lace.Pattern{
		Ends: w.ends, Raised: a.Count("raised"), Passes: a.Count("passes"),
		From: sideOf(w.loom.From), Rows: a.Count("rows"), Edge: a.Count("edge"),
	}
	if a.Text("way") == "two" {
		p.Way = lace.TwoWay
	}
	if a.Text("leftover") == "both" {
		p.Leftover = lace.Both
	}
	if a.Text("repeat") == "halfdrop" {
		p.Repeat = lace.HalfDrop
	}
	if !a.Has("groups") {
		return p, nil
	}
	p.Raised, p.Repeat = 0, lace.Straight
	if p.Listed, err = listedIn(a); err == nil && !a.Has("rows") {
		p.Rows = p.RowsOnce()
	}
	return p, err
}

// reply is the plan in words, after what head says.
func (t rowText) reply(head []bot.Block) bot.Reply {
	return bot.Reply{Title: t.title(), Body: slices.Concat(head, t.body(), t.pictures()), Data: t.data()}
}

// mostStartLine is the longest line that stands under a plan as a button: a chat
// without buttons writes it out, and a list of rows could be ten times as long (our
// own bound, about five lines on a phone).
const mostStartLine = 240

// startButton begins the plan that was asked for so, none where that is too long to
// say again. Where nothing was said it is the evening's, or one with the usual
// groups, and is named so: start alone would go on with another that she is in.
func (t rowText) startButton(asked string) []bot.Button {
	if asked == "" {
		asked = "raised:" + strconv.Itoa(t.pattern.Raised)
		if describes(t.c.Args) { // the evening does, for she did not
			asked = "work:tonight"
		}
	}
	line := "start " + asked
	if len(line) > mostStartLine {
		return nil
	}
	return []bot.Button{{Label: t.say("row.button.start"), Line: line}}
}

// rowAsked is the row plan that the arguments of c ask for on a warp: of the
// design that they name, where there is one.
func rowAsked(c *bot.Call, w theWarp, design *wish) (rowText, error) {
	if design != nil {
		f, err := design.on(w, c.Args)
		if err != nil {
			return rowText{}, err
		}
		return designText(c, w, f)
	}
	p, err := patternOf(c.Args, w)
	if err != nil {
		return rowText{}, err
	}
	return rowTextOf(c, w, p)
}

// rowTextOf plans, and so proves, a pattern and puts it into words.
func rowTextOf(c *bot.Call, w theWarp, p lace.Pattern) (rowText, error) {
	plan, err := planned(p)
	if err != nil {
		return rowText{}, err
	}
	strands := usualStrands
	if n := c.Args.Count("strands"); n > 0 {
		strands = n
	}
	var weft measure.Length
	if w.sett > 0 {
		if weft, err = lace.Weft(plan, w.sett, c.Args.Density("ppi"), strands); err != nil {
			return rowText{}, err
		}
	}
	t := rowText{c: c, warp: w, pattern: p, plan: plan, sheds: shedsOf(w.loom.Rightmost), strands: strands, weft: weft}
	if t.listed() {
		t.chart = listedDesign(p, plan.Design)
	}
	return t, nil
}

// data is the plan for scripts.
func (t rowText) data() rowData { return rowData{t.plan, t.weft, t.chart} }
