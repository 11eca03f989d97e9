package lesson

import (
	"context"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// sessionData is a session for scripts.
type sessionData struct {
	Number    int       `json:"number"`
	Topic     *string   `json:"topic"`
	Starts    timeData  `json:"starts"`
	Minutes   int       `json:"minutes"`
	Cancelled bool      `json:"cancelled"`
	Series    bool      `json:"series"` // one of a weekly series
	Work      *workData `json:"work"`
	Linked    bool      `json:"linked"`
	Link      *string   `json:"link"` // to members alone
}

// sessionsData are sessions for scripts, as someone may see them.
func sessionsData(c *bot.Call, s class.Standing, sessions []class.Session) []sessionData {
	out := []sessionData{}
	for _, session := range sessions {
		data := sessionData{
			Number: session.Number, Topic: said(topicOf(s.Class, session)), Starts: timeDataOf(echoOf(session, s.Zone())), Minutes: session.Minutes,
			Cancelled: session.Cancelled, Series: session.Series != "", Work: workDataOf(s.Class, session), Linked: session.Link != "",
		}
		if alone(c, s) {
			data.Link = said(session.Link)
		}
		out = append(out, data)
	}
	return out
}

// headline names a session on one short line.
func headline(c *bot.Call, k class.Class, s class.Session) string {
	name := c.Say("sessions.untitled", s.Number)
	if topic := topicOf(k, s); topic != "" {
		return c.Say("sessions.titled", name, cleanLine(topic, 80))
	}
	return name
}

func sessionList(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "list", Who: bot.Helper,
		Params:   []bot.Param{{Name: "which", Kind: bot.Choice, Choices: []string{"next", "all"}, First: true, Default: "next"}},
		Examples: []string{"session list", "session list all"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			from := d.Now()
			if c.Args.Text("which") == "all" {
				from = time.Time{}
			}
			sessions, err := d.Store.SessionsOf(ctx, s.Class.ID, from)
			if err != nil {
				return bot.Reply{}, err
			}
			return listReply(c, s, sessions), nil
		},
	}
}

func listReply(c *bot.Call, s class.Standing, sessions []class.Session) bot.Reply {
	reply := bot.Reply{Title: c.Say("session.list", s.Class.Name), Data: sessionsData(c, s, sessions)}
	if len(sessions) == 0 {
		key := calc.Key("session.list_none_next")
		if c.Args.Text("which") == "all" {
			key = "session.list_none"
		}
		reply.Body = []bot.Block{bot.Paragraph(c.Say(key))}
		return reply
	}
	t := seriesTable(c, s, sessions)
	t.Head = append(t.Head, c.Say("session.head.about"))
	if t.Numbers != nil {
		t.Numbers = append(t.Numbers, false)
	}
	for i, session := range sessions {
		about := cleanLine(topicOf(s.Class, session), 60)
		switch {
		case session.Cancelled && about == "":
			about = c.Say("session.cell_off_bare")
		case session.Cancelled:
			about = c.Say("session.cell_off", about)
		case session.Work.None() && about == "":
			about = c.Say("session.cell_bare")
		case session.Work.None():
			about = c.Say("session.cell_no_work", about)
		}
		t.Rows[i] = append(t.Rows[i], cleanLine(about, 100))
	}
	reply.Body = []bot.Block{t, bot.Paragraph(c.Say("session.list_more", sessions[0].Number))}
	return reply
}

func sessionShow(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "show", Who: bot.Helper,
		Params:   []bot.Param{{Name: "number", Kind: bot.Count, First: true, Min: "1", Max: "10000"}},
		Examples: []string{"session show", "session show 2"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			session, err := d.sessionOrNext(ctx, s.Class, c.Args.Count("number"))
			if err != nil {
				return bot.Reply{}, err
			}
			return showReply(c, s, session, d.changeable(session) == nil)
		},
	}
}

// sessionOrNext is the session of a number, or with 0 the one that is going on
// or comes next.
func (d *Desk) sessionOrNext(ctx context.Context, k class.Class, number int) (class.Session, error) {
	if number > 0 {
		return d.sessionMeant(ctx, k, number)
	}
	next, ok, err := d.upcoming(ctx, k.ID)
	if err == nil && !ok {
		return next, &calc.Fault{Code: calc.Conflict, Key: keyNothingNext, Example: `session add "tue 19:00"`}
	}
	return next, err
}

// showReply is one session in full; of one that is still to come also what is
// not set yet.
func showReply(c *bot.Call, s class.Standing, session class.Session, toCome bool) (bot.Reply, error) {
	reply := bot.Reply{
		Title: headline(c, s.Class, session),
		Body:  []bot.Block{bot.Paragraph(whenSaid(c, echoOf(session, s.Zone())) + ".")},
		Data:  sessionsData(c, s, []class.Session{session}),
	}
	list := bot.List{c.Say("session.length", lengthSaid(c, session.Minutes))}
	if session.Cancelled {
		list = bot.List{c.Say("session.is_off")}
	}
	if topic := topicOf(s.Class, session); topic != "" {
		list = append(list, c.Say("session.topic", topic))
	}
	line := workLine(c, s.Class, session)
	switch {
	case line != "":
		list = append(list, c.Say("session.work", line))
	case toCome:
		list = append(list, c.Say("session.no_work", session.Number))
	}
	switch {
	case session.Link == "" && !toCome:
	case session.Link == "":
		list = append(list, c.Say("session.no_link", session.Number))
	case alone(c, s):
		list = append(list, c.Say("session.link_is", session.Link))
	default:
		list = append(list, c.Say("session.link_alone"))
	}
	reply.Body = append(reply.Body, list)
	return withCalendar(c, reply, s, []class.Session{session})
}
