package lesson

import (
	"context"
	"math"
	"path"
	"strconv"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// shownChanges is how many lines an answer has about changes of a design; a script
// gets all (our own bound: half a phone's screen).
const shownChanges = 10

// designText is the plan of a design on a warp.
func designText(c *bot.Call, warp theWarp, f fitted) (rowText, error) {
	t, err := rowTextOf(c, warp, f.Pattern)
	t.design = &f
	t.chart = &designData{
		chart: f.Chart, cell: f.Cell, repeats: f.Repeats, left: f.MarginLeft, right: f.MarginRight,
		changes: f.Changes, doubts: f.Doubts, agreement: f.Agreement,
	}
	return t, err
}

// designTitle says what the plan of a design is.
func (t rowText) designTitle() string {
	return t.say("design.title", t.designSaid(), t.warp.ends, t.pattern.Passes, t.way(), t.count("row.rows", len(t.plan.Rows)))
}

// designSaid is what is woven: the design by its name, or what it is made from.
func (t rowText) designSaid() string { return wishSaid(t.c, t.design.wish.kept, t.design.wish.args) }

// wishSaid is a design in a few words.
func wishSaid(c *bot.Call, kept class.Design, args bot.Args) string {
	switch {
	case kept.Name != "":
		return c.Say("design.named", cleanLine(kept.Name, maxName))
	case args.Has("text"):
		return c.Say("design.text", cleanLine(args.Text("text"), maxName))
	case args.Has("ground"):
		return c.Say("design.ground", args.Text("ground"))
	case args.Has("chart"):
		return c.Say("design.chart")
	}
	return c.Say("design.picture")
}

// designHead is ahead of the plan: how the design is laid out and why, and what
// was changed; nil where the rows are none of a design.
func (t rowText) designHead() []bot.Block {
	if t.design == nil {
		return nil
	}
	f := t.design
	body := []bot.Block{t.laidOut()}
	if len(f.Changes) > 0 {
		body = append(body, bot.Heading(t.count("design.changes", len(f.Changes))), t.alterations(f.Changes, t.changed))
	}
	if len(f.Doubts) > 0 {
		body = append(body, bot.Heading(t.count("design.doubts", len(f.Doubts))), t.alterations(f.Doubts, t.doubted))
	}
	return body
}

// laidOut says how the design lies on the warp, each choice with its reason.
func (t rowText) laidOut() bot.List {
	f := t.design
	columns, high := len(f.asked.Asked[0]), len(f.asked.Asked)
	list := bot.List{t.say("design.size", columns, high), t.cellSaid()}
	switch {
	case f.Repeats == 1:
	case f.asked.Mirror:
		list = append(list, t.say("design.across_mirrored", f.Repeats))
	case f.asked.Apart > 0:
		list = append(list, t.count("design.across_apart", f.asked.Apart, f.Repeats))
	default:
		list = append(list, t.say("design.across", f.Repeats))
	}
	if f.Panels > 1 {
		list = append(list, t.say("design.panel", f.asked.Panel, f.Panels, f.First, f.Last))
	}
	margins := t.say("design.margins", f.MarginLeft, f.MarginRight)
	if t.warp.ends%2 == 1 {
		margins += " " + t.say("design.margin_odd", sideKey(t.pattern.From.Other()))
	}
	list = append(list, margins)
	if ends := (f.Chart.Columns() - 1) * f.Cell * 2; t.warp.sett > 0 && ends > 0 {
		list = append(list, t.say("design.wide", measure.Length(float64(ends)/float64(t.warp.sett))))
	}
	switch {
	case !f.wish.isPicture():
	case high == f.shape:
		list = append(list, t.count("design.rows_picture", high))
	default:
		list = append(list, t.say("design.rows_squashed", bot.Written("rows", strconv.Itoa(f.shape*journeysOf(t.pattern.Way)))))
	}
	// Rounded down: what is not all of it must not look as if it were.
	agreement := measure.Ratio(math.Floor(f.Agreement*1000+1e-6) / 1000)
	key := calc.Key("design.agrees")
	if f.wish.isPicture() {
		key = "design.agrees_picture"
	}
	return append(list, t.say(key, agreement))
}

// cellSaid says how far apart the places lie, and who chose it.
func (t rowText) cellSaid() string {
	f := t.design
	switch {
	case f.wish.args.Has("cell"):
		return t.say("design.cell_asked", f.Cell)
	case f.wish.isPicture():
		return t.say("design.cell_picture", f.Cell)
	case f.Cell == 1:
		return t.say("design.cell_one")
	}
	return t.say("design.cell", f.Cell)
}

// alterations are the first of a list of places, those together that lie in one
// row and have one reason.
func (t rowText) alterations(all []lace.Alteration, said func(a lace.Alteration, places string) string) bot.List {
	var list bot.List
	for len(all) > 0 && len(list) < shownChanges {
		n := 1
		for n < len(all) && t.alike(all[n], all[0]) {
			n++
		}
		var places []int
		for _, a := range all[:n] {
			places = append(places, a.Column)
		}
		list = append(list, said(all[0], t.count("design.place", n, rowNumbers(places))))
		all = all[n:]
	}
	if len(all) > 0 {
		list = append(list, t.say("design.more", len(all)))
	}
	return list
}

func (t rowText) alike(a, b lace.Alteration) bool {
	return a.Row == b.Row && a.Why == b.Why && t.hole(a) == t.hole(b)
}

func (t rowText) hole(a lace.Alteration) bool { return t.design.Chart[a.Row-1][a.Column-1] }

var whyKeys = [...]calc.Key{
	lace.Slit: "design.why.slit", lace.Wide: "design.why.wide", lace.AtEdge: "design.why.edge",
	lace.OnePair: "design.why.one_pair", lace.Slope: "design.why.slope",
}

func (t rowText) changed(a lace.Alteration, places string) string {
	if t.hole(a) {
		return t.say("design.put_in", a.Row, places)
	}
	return t.say("design.left_out", a.Row, places, whyKeys[a.Why])
}

var doubtKeys = [...]calc.Key{
	lace.Slit: "design.doubt.slit", lace.Wide: "design.doubt.wide", lace.Slope: "design.doubt.slope",
}

func (t rowText) doubted(a lace.Alteration, places string) string {
	return t.say("design.doubt", a.Row, places, doubtKeys[a.Why])
}

// designButtons offer to keep a design that has no name yet, and to begin it.
func (d *Desk) designButtons(ctx context.Context, c *bot.Call, f fitted) ([]bot.Button, error) {
	var buttons []bot.Button
	if kept := f.wish.kept; kept.Name == "" {
		name, err := d.freeName(ctx, c, f.wish)
		if err != nil {
			return nil, err
		}
		buttons = append(buttons, bot.Button{Label: c.Say("design.button.keep", name), Line: "designs " + bot.Written("keep", name)})
	}
	if f.Panels > f.asked.Panel && f.asked.Panel > 0 {
		next := f.asked.Panel + 1
		line := "motif " + bot.Written("design", string(f.wish.kept.ID)) + " panel:" + strconv.Itoa(next)
		buttons = append(buttons, bot.Button{Label: c.Say("design.button.panel", next), Line: line + warpWritten(c)})
	}
	return append(buttons, bot.Button{
		Label: c.Say("design.button.start"), Line: "start " + bot.Written("design", string(f.wish.kept.ID)) + warpWritten(c),
	}), nil
}

// warpWritten is what she says of her warp with a design, so that a button says it
// again.
func warpWritten(c *bot.Call) (line string) {
	for _, p := range append(warpParams[:len(warpParams):len(warpParams)], bot.Param{Name: "ppi", Kind: bot.Density}) {
		if c.Args.Has(p.Name) {
			line += " " + written(c.Args, p)
		}
	}
	return line
}

// freeName is a name to keep a design under: what it is made from, with a number
// where she has another of that name.
func (d *Desk) freeName(ctx context.Context, c *bot.Call, w wish) (string, error) {
	name := c.Say("design.file")
	switch {
	case w.args.Has("text"):
		name = w.args.Text("text")
	case w.args.Has("ground"):
		name = w.args.Text("ground")
	}
	if f, ok := c.Args.File("picture"); ok {
		name = strings.TrimSuffix(path.Base(f.Name), path.Ext(f.Name))
	}
	if name, err := designName("keep", name); err == nil {
		return d.numbered(ctx, c, name)
	}
	return d.numbered(ctx, c, c.Say("design.file"))
}

func (d *Desk) numbered(ctx context.Context, c *bot.Call, name string) (string, error) {
	name = cleanLine(name, maxName-4) // room for a number
	free := name
	for n := 2; ; n++ {
		_, err := d.Store.Design(ctx, c.Request.From, "", free)
		if isNone(err) {
			return free, nil
		}
		if err != nil {
			return "", err
		}
		free = name + " " + strconv.Itoa(n)
	}
}
