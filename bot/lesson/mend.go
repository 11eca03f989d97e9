package lesson

import (
	"context"
	"slices"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// faults are what goes wrong at the loom, beside a count: what the weaver sees,
// why, and what to do. They are common practice of the trade (no one source); the
// words are in the catalogue, under "mend." and the name.
var faults = []string{"edges", "loops", "skipped", "undone", "row", "holes", "fell", "slack", "broken", "join"}

// withCaution are the faults whose remedy needs a blade or hot water.
var withCaution = map[string]calc.Key{"holes": "mend.care_wash", "broken": "mend.care_blade", "join": "mend.care_blade"}

// atTurns are the faults that come of how the weft turns, which the diagram of a row
// shows.
var atTurns = []string{"edges", "loops", "holes"}

// mendData is one fault for scripts.
type mendData struct {
	Fault  string   `json:"fault"` // "" for the list of all
	Sees   string   `json:"sees"`
	Why    string   `json:"why"`
	Do     []string `json:"do"`
	Faults []string `json:"faults"` // all there are
}

func mendCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "mend", Aliases: []string{"fix"},
		Params:   []bot.Param{{Name: "what", Kind: bot.Choice, First: true, Choices: faults}},
		Examples: []string{"mend", "mend edges", "mend holes"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			what := c.Args.Text("what")
			if what == "" {
				return mendList(c), nil
			}
			who, err := d.standing(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			r := mendReply(c, what, who.Member.Person != "")
			if slices.Contains(atTurns, what) {
				shown, err := d.turnsShown(ctx, c)
				if err != nil {
					return bot.Reply{}, err
				}
				r.Body = append(r.Body, shown...)
			}
			return r, nil
		},
	}
}

func mendList(c *bot.Call) bot.Reply {
	r := bot.Reply{Title: c.Say("mend.title"), Data: mendData{Do: []string{}, Faults: faults}}
	var list bot.List
	for _, f := range faults {
		list = append(list, c.Say("mend.line", f, mendKey(f, "sees")))
	}
	r.Body = []bot.Block{list, bot.Paragraph(c.Say("mend.how"))}
	return r
}

func mendKey(fault, part string) calc.Key { return calc.Key("mend." + fault + "_" + part) }

func mendReply(c *bot.Call, fault string, member bool) bot.Reply {
	data := mendData{Fault: fault, Sees: c.Say(mendKey(fault, "sees")), Why: c.Say(mendKey(fault, "why")), Faults: faults}
	data.Do = []string{c.Say(mendKey(fault, "now")), c.Say(mendKey(fault, "next"))}
	r := bot.Reply{
		Title: data.Sees,
		Body: []bot.Block{
			bot.Paragraph(c.Say("mend.why", data.Why)), bot.Heading(c.Say("mend.do")), bot.List(slices.Clone(data.Do)),
		},
		Data: data,
	}
	if care, ok := withCaution[fault]; ok {
		r.Body = append(r.Body, bot.Paragraph(c.Say(care)))
	}
	if member {
		r.Body = append(r.Body, bot.Paragraph(c.Say("mend.teacher")))
		r.Buttons = []bot.Button{{Label: c.Say("mend.ask"), Line: "question " + bot.Written("text", c.Say("mend.question", data.Sees))}}
	}
	return r
}

// turnsShown is the diagram of the row that she is in, or else of the first that she
// would weave on her own loom; nil where that is not known, or has no hole.
func (d *Desk) turnsShown(ctx context.Context, c *bot.Call) ([]bot.Block, error) {
	s, ok, err := d.walking(ctx, c)
	if err != nil {
		return nil, err
	}
	if ok {
		return s.t.turnsOf(s.row(s.walk.Row), "mend.shows"), nil
	}
	own := *c
	if own.Args, err = startReader.ArgsOf("", c.Units); err != nil {
		return nil, err
	}
	t, _, asks, err := d.ownRow(ctx, &own, startReader)
	if _, hers := asFault(err); hers || asks != nil {
		return nil, nil // nothing is known of her loom
	}
	if err != nil {
		return nil, err
	}
	return t.turnsOf(t.plan.Rows[0], "mend.shows_first"), nil
}

// turnsOf says and shows where the weft turns in a row.
func (t rowText) turnsOf(row lace.Row, said calc.Key) []bot.Block {
	if len(row.Groups) == 1 {
		return nil
	}
	f := t.rowFigure([]int{row.Number})
	f.alt += " " + t.say("mend.shows_alt")
	return []bot.Block{bot.Paragraph(t.say(said, row.Number)), f.block()}
}
