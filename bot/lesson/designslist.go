package lesson

import (
	"cmp"
	"context"
	"slices"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// designsData are designs for scripts.
type designsData struct {
	Designs []designLine `json:"designs"`
	Done    *string      `json:"done"`    // kept, shared, unshared or dropped; null for a list or a question
	Session *int         `json:"session"` // whose work it is now; null for none
}

type designLine struct {
	Name    string  `json:"name"` // empty for the last one
	Own     bool    `json:"own"`
	By      *string `json:"by"` // who made another's; null for one's own, and for someone forgotten
	Shared  bool    `json:"shared"`
	Made    string  `json:"made"`    // UTC
	From    string  `json:"from"`    // text, chart, ground or picture
	Columns *int    `json:"columns"` // places of one repeat; null for a picture, which fits any warp
	Rows    *int    `json:"rows"`
	Asked   string  `json:"asked"` // the arguments of motif
}

// listDesigns lists the designs that the asker may use.
func (d *Desk) listDesigns(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	who, err := d.standing(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	list, err := d.Store.Designs(ctx, c.Request.From, who.Joined())
	if err != nil {
		return bot.Reply{}, err
	}
	if len(list) == 0 {
		return bot.Reply{Title: c.Say("designs.none"), Body: []bot.Block{bot.Paragraph(c.Say("designs.how"))}, Data: designsData{Designs: []designLine{}}}, nil
	}
	names, err := d.makers(ctx, c, who)
	if err != nil {
		return bot.Reply{}, err
	}
	r := bot.Reply{Title: c.Texts.Count(c.Units, "designs.title", len(list))}
	data := designsData{Designs: []designLine{}}
	table := bot.Table{Head: []string{c.Say("designs.head.name"), c.Say("designs.head.what"), c.Say("designs.head.size"), c.Say("designs.head.whose")}}
	for _, kept := range list {
		line, err := designLineOf(kept, who, names)
		if err != nil {
			return r, err
		}
		data.Designs = append(data.Designs, line)
		table.Rows = append(table.Rows, line.cells(c))
		if kept.Name != "" && !hidden(kept, list, who.Person.ID) && len(r.Buttons) < maxQuestionButtons {
			r.Buttons = append(r.Buttons, bot.Button{Label: c.Say("designs.button.show", cleanLine(kept.Name, 40)), Line: "motif " + bot.Written("design", kept.Name)})
		}
	}
	r.Body, r.Data = []bot.Block{table, bot.Paragraph(c.Say("designs.how"))}, data
	return r, nil
}

// hidden tells of a design of somebody else's that the asker cannot call by its
// name, since she has one of that name herself.
func hidden(kept class.Design, list []class.Design, asker class.ID) bool {
	return kept.Owner != asker && slices.ContainsFunc(list, func(d class.Design) bool {
		return d.Owner == asker && class.FoldedName(d.Name) == class.FoldedName(kept.Name)
	})
}

// makers are the names of the members of the class that is meant.
func (d *Desk) makers(ctx context.Context, c *bot.Call, who class.Standing) (map[class.ID]string, error) {
	names := map[class.ID]string{}
	if who.Member.Person == "" {
		return names, nil
	}
	persons, err := d.Store.PersonsOf(ctx, who.Class.ID)
	for id, p := range persons {
		names[id] = nameOf(c, who.Class, p)
	}
	return names, err
}

// makerSaid names the one of them who made a design, or else the class.
func makerSaid(c *bot.Call, names map[class.ID]string, kept class.Design) string {
	return cmp.Or(names[kept.Owner], c.Say("designs.the_class"))
}

func designLineOf(kept class.Design, who class.Standing, names map[class.ID]string) (designLine, error) {
	args, err := wishReader.ArgsOf(kept.Asked, measure.Imperial)
	if err != nil {
		return designLine{}, err
	}
	l := designLine{
		Name: kept.Name, Own: kept.Owner == who.Person.ID, Shared: kept.Class != "", Made: kept.Made.UTC().Format("2006-01-02T15:04:05Z"),
		From: "picture", Asked: kept.Asked,
	}
	if !l.Own {
		l.By = said(names[kept.Owner])
	}
	for _, source := range []string{"text", "chart", "ground"} {
		if args.Has(source) {
			l.From = source
		}
	}
	if l.From == "picture" { // the list comes without it
		return l, nil
	}
	w, err := wishOf(kept)
	if err == nil {
		l.Columns, l.Rows = said(len(w.tones[0])), said(len(w.tones))
	}
	return l, err
}

var fromKeys = map[string]calc.Key{
	"text": "designs.from.text", "chart": "designs.from.chart", "ground": "designs.from.ground", "picture": "designs.from.picture",
}

// cells are a line of the table.
func (l designLine) cells(c *bot.Call) []string {
	name, size, whose := c.Say("designs.last"), c.Say("designs.any_size"), c.Say("designs.the_class")
	if l.Name != "" {
		name = cleanLine(l.Name, maxName)
	}
	if l.Columns != nil {
		size = c.Say("designs.size", *l.Columns, *l.Rows)
	}
	switch {
	case l.Own && l.Shared:
		whose = c.Say("designs.yours_shared")
	case l.Own:
		whose = c.Say("designs.yours")
	case l.By != nil:
		whose = *l.By
	}
	return []string{name, c.Say(fromKeys[l.From]), size, whose}
}

// designsFor are the names of the designs that the asker may use.
func (d *Desk) designsFor(ctx context.Context, r bot.Request) ([]string, error) {
	s, err := class.StandingOf(ctx, d.Store, r)
	if err != nil {
		return nil, err
	}
	list, err := d.Store.Designs(ctx, r.From, s.Joined())
	names := designNames(list)
	if len(names) < len(list) {
		names = append(names, lastDesign)
	}
	return names, err
}
