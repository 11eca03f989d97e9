package lesson

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// Sentences of forget, beside those of its answers.
const (
	keyForgetLast    calc.Key = "forget.last"    // her class, in which nobody else teaches
	keyForgetLimited calc.Key = "forget.limited" // no arguments: the account may do less than its person
)

// forgetData tells whether a person was forgotten, for scripts.
type forgetData struct {
	Forgotten bool `json:"forgotten"` // false while she is asked whether she is sure
}

func forgetCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "forget", Changes: true,
		Params:   []bot.Param{sure},
		Examples: []string{"forget", "forget sure:yes"},
		Run:      d.forget,
	}
}

// forget deletes all that is kept of the asker, once she has read what that is.
func (d *Desk) forget(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	if err := d.mayGo(ctx, c); err != nil {
		return bot.Reply{}, err
	}
	data, err := d.gather(ctx, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	switch {
	case !data.Kept:
		return bot.Reply{Title: c.Say("me.nothing"), Data: forgetData{}}, nil
	case !c.Args.Has("sure"):
		return forgetAsk(c, data), nil
	}
	// A stranger may have left requests behind her; they go with a person.
	p, err := d.herself(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{
		Title: c.Say("forget.done"),
		Body:  []bot.Block{bot.Paragraph(c.Say("forget.done_what")), forgetStays(c, data)},
		Data:  forgetData{Forgotten: true},
	}, d.Store.DeletePerson(ctx, p.ID)
}

// mayGo refuses the last teacher of a class, and an account whose person is more
// than it is itself: a link must not be the way to delete a teacher.
func (d *Desk) mayGo(ctx context.Context, c *bot.Call) error {
	p, err := d.known(ctx, c.Request.From)
	if err != nil || p.ID == "" {
		return err
	}
	in, err := d.Store.MemberOf(ctx, p.ID)
	if err != nil {
		return err
	}
	for _, m := range in {
		role, err := class.RoleOf(ctx, d.Store, c.Request.From, m)
		if err != nil {
			return err
		}
		if role < m.Role {
			return &calc.Fault{Code: bot.NotAllowed, Key: keyForgetLimited, Example: "link undo"}
		}
		k, err := d.Store.Class(ctx, m.Class)
		if err != nil {
			return err
		}
		if err := d.notLast(ctx, m, keyForgetLast, k.Name); err != nil {
			return err
		}
	}
	return nil
}

// forgetAsk says exactly what goes and what stays. How much there is of it is
// for her alone.
func forgetAsk(c *bot.Call, data meData) bot.Reply {
	reply := bot.Reply{
		Title:   c.Say("forget.ask"),
		Buttons: []bot.Button{{Label: c.Say("forget.button"), Line: "forget sure:yes"}},
		Data:    forgetData{},
	}
	goes := bot.List{c.Say("forget.goes_all")}
	if c.Request.Alone() {
		goes = bot.List{}
		add := func(n int, key calc.Key) {
			if n > 0 {
				goes = append(goes, c.Texts.Count(c.Units, key, n))
			}
		}
		if data.Person != nil {
			goes = append(goes, c.Say("forget.goes_person"))
		}
		if data.Loom != nil {
			goes = append(goes, c.Say("forget.goes_loom"))
		}
		if data.Walk != nil {
			goes = append(goes, c.Say("forget.goes_walk"))
		}
		add(len(data.Accounts), "forget.goes_accounts")
		add(len(data.Classes), "forget.goes_classes")
		add(len(data.Answers), "forget.goes_answers")
		add(len(data.Questions), "forget.goes_questions")
		add(len(data.Designs)-sharedOf(data.Designs), "forget.goes_designs")
		add(len(data.Posts), "forget.goes_posts")
		add(len(data.Requests), "forget.goes_requests")
		add(len(data.Notes), "forget.goes_notes")
	}
	reply.Body = []bot.Block{
		bot.Heading(c.Say("forget.goes")), goes,
		bot.Heading(c.Say("forget.stays")), forgetStays(c, data),
	}
	if c.Request.Alone() && sharedOf(data.Designs) > 0 {
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("forget.drop_first")))
	}
	reply.Body = append(reply.Body, bot.Paragraph(c.Say("forget.how")))
	return reply
}

func forgetStays(c *bot.Call, data meData) bot.List {
	stays := bot.List{c.Say("forget.stays_list"), c.Say("forget.stays_ledger"), c.Say("forget.stays_chat")}
	if !c.Request.Alone() {
		return append(bot.List{c.Say("forget.stays_some"), c.Say("forget.stays_shared")}, stays...)
	}
	if n := sharedOf(data.Designs); n > 0 {
		stays = append(bot.List{c.Texts.Count(c.Units, "forget.stays_designs", n)}, stays...)
	}
	if n := len(data.Answers); n > 0 {
		stays = append(bot.List{c.Texts.Count(c.Units, "forget.stays_answers", n)}, stays...)
	}
	return stays
}

// sharedOf is how many designs a class has.
func sharedOf(designs []meDesign) int {
	n := 0
	for _, d := range designs {
		if d.Class != "" {
			n++
		}
	}
	return n
}
