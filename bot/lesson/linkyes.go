package lesson

import (
	"context"
	"errors"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// showBoth shows both names to one of the two sides and asks for her yes.
func (d *Desk) showBoth(ctx context.Context, c *bot.Call, l class.Link) (bot.Reply, error) {
	if l.From == c.Request.From && !l.FromSaw {
		l.FromSaw = true
		if err := d.Store.PutLink(ctx, l); err != nil {
			return bot.Reply{}, err
		}
	}
	return d.linkReply(ctx, c, l, "asked")
}

// linkReply names both sides and says what comes next.
func (d *Desk) linkReply(ctx context.Context, c *bot.Call, l class.Link, state string) (bot.Reply, error) {
	other := l.From
	if other == c.Request.From {
		other = l.To
	}
	here, err := d.side(ctx, c, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	there, err := d.side(ctx, c, other)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{
		Title: c.Say("link.ask"),
		Body: []bot.Block{
			bot.List{c.Say("link.here", here), c.Say("link.there", there)},
			bot.Paragraph(c.Say("link.ask_what", int(class.UndoLasts.Hours()/24))),
		},
		Buttons: []bot.Button{{Label: c.Say("link.yes_button"), Line: "link yes"}, {Label: c.Say("link.no_button"), Line: "link no"}},
		Data:    linkData{State: state, Expires: instantOrNull(l.Expires), Here: &here, There: &there},
	}
	if state == "waiting" {
		reply.Title, reply.Buttons = c.Say("link.waiting"), reply.Buttons[1:]
		reply.Body = []bot.Block{reply.Body[0], bot.Paragraph(c.Say("link.waiting_what", other.Chat))}
	}
	return reply, nil
}

// side names an account and the person behind it: “Maren” in matrix (@maren:…).
func (d *Desk) side(ctx context.Context, c *bot.Call, a bot.Account) (string, error) {
	p, err := d.known(ctx, a)
	name := cleanLine(p.Name, maxName)
	if name == "" {
		name = c.Say("members.nameless")
	}
	return c.Say("link.side", name, a.Chat, cleanLine(a.User, 80)), err
}

// linkYes takes one side's yes; the first that comes before both names were
// seen only shows them.
func (d *Desk) linkYes(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	l, err := d.offerOf(ctx, c.Request.From)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case l.Code == "":
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyLinkNothing, Example: "link"}
	case !bothKnown(l):
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyLinkAlone, Example: "link code:" + shownCode(l.Code)}
	case l.From == c.Request.From && !l.FromSaw:
		return d.showBoth(ctx, c, l)
	}
	if l.From == c.Request.From {
		l.FromYes = true
	} else {
		l.ToYes = true
	}
	if l.FromYes && l.ToYes {
		return d.settle(ctx, c, l)
	}
	if err := d.Store.PutLink(ctx, l); err != nil {
		return bot.Reply{}, err
	}
	return d.linkReply(ctx, c, l, "waiting")
}

// linkNo ends an offer, whoever of the two says so.
func (d *Desk) linkNo(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	l, err := d.offerOf(ctx, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	if l.Code == "" {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyLinkNothing, Example: "link"}
	}
	return bot.Reply{Title: c.Say("link.ended"), Body: []bot.Block{bot.Paragraph(c.Say("link.ended_what"))}, Data: linkData{State: "ended"}},
		d.Store.DeleteLink(ctx, l.Code)
}

// settle makes the two one person. The one with more accounts stays, or else
// the one who made the code: then an earlier link of hers can still be undone.
func (d *Desk) settle(ctx context.Context, c *bot.Call, l class.Link) (bot.Reply, error) {
	stays, err := d.Store.FindPerson(ctx, l.From)
	if err != nil {
		return bot.Reply{}, err
	}
	goes, err := d.Store.FindPerson(ctx, l.To)
	if err != nil {
		return bot.Reply{}, err
	}
	hers, err := d.Store.Accounts(ctx, stays.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	moved, err := d.Store.Accounts(ctx, goes.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if len(moved) > len(hers) {
		stays, goes, hers, moved = goes, stays, moved, hers
	}
	here, err := d.side(ctx, c, c.Request.From) // as they were told
	if err != nil {
		return bot.Reply{}, err
	}
	stayed, err := d.side(ctx, c, hers[0])
	if err != nil {
		return bot.Reply{}, err
	}
	at := d.Now()
	limited, err := d.limitRights(ctx, at, party{stays.ID, hers}, party{goes.ID, moved})
	if err != nil {
		return bot.Reply{}, err
	}
	filled := fill(&stays, goes)
	if err := d.Store.PutPerson(ctx, stays); err != nil {
		return bot.Reply{}, err
	}
	for _, a := range moved {
		err := errors.Join(
			d.Store.PutSettled(ctx, class.Settled{Person: stays.ID, Account: a, Was: goes.ID, At: at, Filled: filled}),
			d.Store.MoveAccount(ctx, a, stays.ID),
		)
		if err != nil {
			return bot.Reply{}, err
		}
	}
	if err := errors.Join(d.Store.DeleteLink(ctx, l.Code), d.replanHer(ctx, stays.ID)); err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{
		Title: c.Say("link.linked"),
		Body: []bot.Block{
			bot.Paragraph(c.Say("link.linked_what", cleanLine(stays.Name, maxName), stayed)),
			bot.Paragraph(c.Say("link.linked_undo", int(class.UndoLasts.Hours()/24))),
		},
		Data: linkData{State: "linked", Here: &here},
	}
	if limited {
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("link.rights")))
	}
	return reply, nil
}
