package lesson

import (
	"context"
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// evening is the session whose work someone asks for.
type evening struct {
	who     class.Standing
	session class.Session
}

func (e evening) none() bool { return e.session.ID == "" }

// tonight is the session that is going on or comes next, when work is set for
// it; otherwise nothing. row work:none asks for nothing.
func (d *Desk) tonight(ctx context.Context, c *bot.Call) (evening, error) {
	if c.Args.Text("work") == "none" {
		return evening{}, nil
	}
	who, err := d.standing(ctx, c)
	if err != nil {
		return evening{}, err
	}
	e := evening{who: who}
	if who.Class.ID != "" {
		next, ok, err := d.upcoming(ctx, who.Class.ID)
		if err != nil {
			return e, err
		}
		if ok && next.Work.Row != "" {
			e.session = next
		}
	}
	if e.none() && c.Args.Has("work") {
		return e, &calc.Fault{Code: calc.Conflict, Key: keyNoWork, Field: "work", Example: "row raised:3 rows:2"}
	}
	return e, nil
}

// rowAsks is the data of row where it has to ask for the loom first.
type rowAsks struct {
	Session int    `json:"session"` // its number
	Asks    string `json:"asks"`    // the next question about the loom
}

// ownRow is the row plan that someone asks for on her own loom: that of the
// session whose work is set, with head to say so, or else the one that she
// describes. asks is the reply instead, where her loom must be known first. row
// is the command whose arguments they are.
func (d *Desk) ownRow(ctx context.Context, c *bot.Call, row *bot.Command) (t rowText, head []bot.Block, asks *bot.Reply, err error) {
	e, err := d.tonight(ctx, c)
	if err != nil {
		return t, nil, nil, err
	}
	return d.ownRowOf(ctx, c, row, e)
}

// ownRowOf is ownRow where the evening is known.
func (d *Desk) ownRowOf(ctx context.Context, c *bot.Call, row *bot.Command, e evening) (t rowText, head []bot.Block, asks *bot.Reply, err error) {
	if !e.none() {
		return d.rowOfWork(ctx, c, row, e)
	}
	design, err := d.designAsked(ctx, c)
	if err != nil {
		return t, nil, nil, err
	}
	w, err := warpOf(ctx, c, d.Store)
	if err != nil {
		return t, nil, nil, err
	}
	t, err = rowAsked(c, w, design)
	return t, t.designHead(), nil, err
}

// rowOfWork gives the work of a session on the asker's own loom. What she says
// herself takes the place of what the session says; what she leaves out is the
// session's.
func (d *Desk) rowOfWork(ctx context.Context, c *bot.Call, row *bot.Command, e evening) (t rowText, head []bot.Block, asks *bot.Reply, err error) {
	loom, err := loomOf(ctx, d.Store, c)
	if err != nil {
		return t, nil, nil, err
	}
	about := bot.Paragraph(c.Say("work.of", headline(c, e.who.Class, e.session), whenSaidToHer(c, echoOf(e.session, e.who.Zone())), workLine(c, e.who.Class, e.session)))
	if loom.Ends == 0 && loom.Width == 0 && !c.Args.Has("ends") && !c.Args.Has("width") {
		first := askLoomFirst(c, loom, e, about)
		return t, nil, &first, nil
	}
	design, hers, err := d.mergedDesign(ctx, c, row, e)
	if err != nil {
		return t, nil, nil, err
	}
	w, err := warpOf(ctx, c, d.Store)
	if err != nil {
		return t, nil, nil, err
	}
	head = []bot.Block{about}
	if len(hers) > 0 {
		head = append(head, bot.Paragraph(c.Say("work.yours", strings.Join(hers, " "))))
	}
	t, err = rowAsked(c, w, design)
	return t, append(head, t.designHead()...), nil, err
}

// merged makes the call's arguments those of the work with her own laid over,
// and gives those of her own that replace something of the pattern.
func merged(c *bot.Call, row *bot.Command, work class.Work) (hers []string, err error) {
	its, err := patternReader.ArgsOf(work.Row, measure.Imperial) // kept apart from anyone's units
	if err != nil {
		return nil, err
	}
	var line []string
	for _, p := range row.Params {
		switch {
		case c.Args.Has(p.Name):
			line = append(line, written(c.Args, p))
			if slices.ContainsFunc(patternParams, func(q bot.Param) bool { return q.Name == p.Name }) {
				hers = append(hers, written(c.Args, p))
			}
		case slices.ContainsFunc(otherwise(p.Name), c.Args.Has): // hers says it already
		case its.Has(p.Name):
			line = append(line, written(its, p))
		}
	}
	c.Args, err = row.ArgsOf(strings.Join(line, " "), c.Units)
	return hers, err
}

// askLoomFirst begins the questions of loom for someone who wants the work and
// has not said what she weaves on.
func askLoomFirst(c *bot.Call, loom class.Loom, e evening, about bot.Paragraph) bot.Reply {
	reply := bot.Reply{
		Title: c.Say("work.loom_first"),
		Body:  []bot.Block{about, bot.Paragraph(c.Say("work.loom_why"))},
		Data:  rowAsks{Session: e.session.Number, Asks: nextQuestion(loom)},
	}
	ask(c, &reply, loom)
	return reply
}
