package lesson

import (
	"context"
	"errors"
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// undoLink parts what a link has joined, at the wish of either account: the link
// by which the asker's account came to be hers or, when it was hers all along,
// the last that was made.
func (d *Desk) undoLink(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	none := &calc.Fault{Code: calc.Conflict, Key: keyLinkNoUndo, Args: []any{int(class.UndoLasts.Hours() / 24)}}
	p, err := d.known(ctx, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	made, err := d.Store.SettledOf(ctx, p.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	made = slices.DeleteFunc(made, func(s class.Settled) bool { return !d.Now().Before(s.At.Add(class.UndoLasts)) })
	if len(made) == 0 {
		return bot.Reply{}, none
	}
	last := made[len(made)-1]
	if i := slices.IndexFunc(made, func(s class.Settled) bool { return s.Account == c.Request.From }); i >= 0 {
		last = made[i]
	}
	return d.part(ctx, c, p, last, made)
}

// part gives back what went by one link: all accounts that the other person had
// then, and with the first of them what was hers.
func (d *Desk) part(ctx context.Context, c *bot.Call, p class.Person, link class.Settled, made []class.Settled) (bot.Reply, error) {
	var given []bot.Account
	for _, s := range made {
		if s.Was != link.Was || !s.At.Equal(link.At) {
			continue
		}
		if err := errors.Join(d.Store.MoveAccount(ctx, s.Account, s.Was), d.Store.DeleteSettled(ctx, s.Account)); err != nil {
			return bot.Reply{}, err
		}
		given = append(given, s.Account)
	}
	was, err := d.Store.Person(ctx, link.Was)
	if err != nil {
		return bot.Reply{}, err
	}
	kept, err := d.Store.Accounts(ctx, p.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	empty(&p, was, link.Filled)
	err = errors.Join(
		d.Store.PutPerson(ctx, p), d.dropLimits(ctx, link.At, append(given, kept...)), d.replanHer(ctx, p.ID), d.replanHer(ctx, was.ID),
	)
	if err != nil {
		return bot.Reply{}, err
	}
	other := given[0]
	if slices.Contains(given, c.Request.From) {
		other = kept[0]
	}
	here, err := d.side(ctx, c, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	there, err := d.side(ctx, c, other)
	if err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{
		Title: c.Say("link.undone"),
		Body: []bot.Block{
			bot.List{c.Say("link.here", here), c.Say("link.there", there)},
			bot.Paragraph(c.Say("link.undone_what")),
		},
		Data: linkData{State: "undone", Here: &here, There: &there},
	}, nil
}

// fill gives a person the settings that she has not made from one who becomes
// her, and names them between blanks.
func fill(to *class.Person, from class.Person) string {
	var names []string
	takeOver(&names, "name", &to.Name, from.Name)
	takeOver(&names, "zone", &to.Zone, from.Zone)
	takeOver(&names, "units", &to.Units, from.Units)
	takeOver(&names, "hand", &to.Hand, from.Hand)
	takeOver(&names, "quiet", &to.Quiet, from.Quiet)
	takeOver(&names, "answers", &to.Answers, from.Answers)
	takeOver(&names, "place", &to.Hidden, from.Hidden)
	return strings.Join(names, " ")
}

func takeOver[T comparable](names *[]string, name string, to *T, from T) {
	var nothing T
	if *to == nothing && from != nothing {
		*to = from
		*names = append(*names, name)
	}
}

// empty takes those settings back that are still as they were taken over.
func empty(p *class.Person, from class.Person, filled string) {
	names := strings.Fields(filled)
	giveUp(names, "name", &p.Name, from.Name)
	giveUp(names, "zone", &p.Zone, from.Zone)
	giveUp(names, "units", &p.Units, from.Units)
	giveUp(names, "hand", &p.Hand, from.Hand)
	giveUp(names, "quiet", &p.Quiet, from.Quiet)
	giveUp(names, "answers", &p.Answers, from.Answers)
	giveUp(names, "place", &p.Hidden, from.Hidden)
}

func giveUp[T comparable](names []string, name string, p *T, from T) {
	if slices.Contains(names, name) && *p == from {
		var nothing T
		*p = nothing
	}
}
