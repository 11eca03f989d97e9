package lesson

import (
	"context"
	"slices"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/calc/measure"
)

// pdfType is the media type of a page to print.
const pdfType = "application/pdf"

var (
	pageSizes = map[string]paper.PageSize{"a4": paper.A4, "letter": paper.Letter}

	// printParams are the arguments of whatever prints.
	printParams = []bot.Param{
		{Name: "long", Kind: bot.Length, Min: "1cm", Max: "200m"},
		{Name: "page", Kind: bot.Choice, Choices: []string{"a4", "letter"}},
		{Name: "name", Kind: bot.Choice, Default: "yes", Choices: []string{"yes", "no"}},
	}
)

// handoutData tells scripts what was printed.
type handoutData struct {
	Page    string  `json:"page"` // a4 or letter
	Pages   int     `json:"pages"`
	Name    *string `json:"name"`     // as printed; null where there is a line to write on
	LeftOut bool    `json:"left_out"` // there is more in the plain text
}

func handoutCommand(d *Desk) *bot.Command {
	handout := &bot.Command{
		Name:   "handout",
		Params: slices.Concat(rowCommand(d).Params, printParams),
		Examples: []string{
			"handout ends:97 raised:3 rows:2 rightmost:hole page:a4",
			"handout width:15in heddle:10 raised:4 repeat:halfdrop rows:4 long:72in page:letter name:no",
		},
	}
	handout.Run = func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
		who, err := d.standing(ctx, c)
		if err != nil {
			return bot.Reply{}, err
		}
		e, err := d.tonight(ctx, c)
		if err != nil {
			return bot.Reply{}, err
		}
		said := c.Args
		t, _, asks, err := d.ownRow(ctx, c, handout)
		switch {
		case err != nil:
			return bot.Reply{}, err
		case asks != nil:
			return *asks, nil
		}
		return handoutReply(c, leaflet{c: c, row: t, head: workHead(c, e, said), class: who.Class, name: printedName(c, who.Class, who.Person), long: c.Args.Length("long")})
	}
	return handout
}

// workHead says of which session's work a handout is, and what is other than its
// teacher set; nothing where it is of none.
func workHead(c *bot.Call, e evening, said bot.Args) []bot.Block {
	if e.none() {
		return nil
	}
	head := []bot.Block{bot.Paragraph(c.Say("handout.work",
		headline(c, e.who.Class, e.session), whenSaid(c, echoOf(e.session, e.who.Class.Zone)), workLine(c, e.who.Class, e.session)))}
	if row := rowSaid(said); row != "" {
		head = append(head, bot.Paragraph(c.Say("handout.instead", row)))
	}
	return head
}

// printedName is the name for a handout, "" where none is wanted or known.
func printedName(c *bot.Call, k class.Class, p class.Person) string {
	if c.Args.Text("name") == "no" || cleanLine(p.Name, maxName) == "" {
		return ""
	}
	return nameOf(c, k, p)
}

// pageOf is the paper that the asker prints on: as she says, or as is usual
// where people measure as she does.
func pageOf(c *bot.Call) string {
	switch {
	case c.Args.Has("page"):
		return c.Args.Text("page")
	case c.Units == measure.Imperial:
		return "letter"
	}
	return "a4"
}

func handoutReply(c *bot.Call, l leaflet) (bot.Reply, error) {
	page := pageOf(c)
	files, printed, err := l.files(page, c.Say("handout.file"))
	if err != nil {
		return bot.Reply{}, err
	}
	data := handoutData{Page: page, Pages: printed.Pages, LeftOut: printed.LeftOut}
	list := bot.List{c.Texts.Count(c.Units, "handout.is", printed.Pages, paperName(page))}
	switch {
	case l.name == "":
		list = append(list, c.Say("handout.line"))
	case !paper.Covered(l.name):
		list = append(list, c.Say("handout.unset"))
	default:
		data.Name = &l.name
	}
	if printed.LeftOut {
		list = append(list, l.leftOut())
	}
	list = append(list, c.Say("handout.same"))
	return bot.Reply{
		Title: c.Say("handout.title"), Body: []bot.Block{bot.Paragraph(l.row.title() + "."), list}, Files: files, Data: data,
	}, nil
}
