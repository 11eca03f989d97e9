package lesson

import (
	"context"
	"errors"
	"strconv"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

const keyReadyLoom calc.Key = "ready.no_loom" // no arguments

// answerData is what a member has said of a session, for scripts.
type answerData struct {
	Session int      `json:"session"`
	Start   timeData `json:"start"`
	Answer  string   `json:"answer"` // coming or away
	Before  *string  `json:"before"` // what she had said before
}

func comingCommand(d *Desk) *bot.Command { return answerCommand(d, "coming", "away") }

func awayCommand(d *Desk) *bot.Command { return answerCommand(d, "away", "coming") }

// answerCommand says one of the two answers; the other is its way back.
func answerCommand(d *Desk, answer, other string) *bot.Command {
	return &bot.Command{
		Name: answer, Changes: true,
		Params: []bot.Param{
			{Name: "session", Kind: bot.Count, First: true, Min: "1", Max: "9999"},
			{Name: "class", Kind: bot.Words, Max: "60"},
		},
		Examples: []string{answer, answer + " session:3", answer + ` session:3 class:"Tarnholm lace"`},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			return d.answer(ctx, c, answer, other)
		},
	}
}

// answer keeps what a member says of a session, whatever she said before.
func (d *Desk) answer(ctx context.Context, c *bot.Call, answer, other string) (bot.Reply, error) {
	s, err := d.asMemberOf(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	session, err := d.meetingMeant(ctx, c, s)
	if err != nil {
		return bot.Reply{}, err
	}
	a, err := d.attendanceOf(ctx, session.ID, s.Person.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	start, before := echoOf(session, s.Zone()), a.Answer
	if a.Answer != answer {
		a.Answer, a.At = answer, d.Now()
		if err := errors.Join(d.Store.PutAttendance(ctx, a), d.recount(ctx, session.ID)); err != nil {
			return bot.Reply{}, err
		}
	}
	titles := map[string]calc.Key{"coming": "answer.coming", "away": "answer.away"}
	reply := bot.Reply{
		Title: c.Say(titles[answer], session.Number),
		Body:  []bot.Block{bot.Paragraph(whenSaidToHer(c, start) + ".")},
		Data:  answerData{Session: session.Number, Start: timeDataOf(start), Answer: answer, Before: said(before)},
	}
	switch before {
	case answer:
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("answer.same")))
	case other:
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("answer.changed")))
	}
	labels := map[string]calc.Key{"coming": "answer.coming_button", "away": "answer.away_button"}
	which, err := d.whichClass(ctx, c, s)
	if err != nil {
		return bot.Reply{}, err
	}
	line := other + " " + bot.Written("session", strconv.Itoa(session.Number)) + which
	reply.Body = append(reply.Body, bot.Paragraph(c.Say("answer.who", line)))
	reply.Buttons = []bot.Button{{Label: c.Say(labels[other]), Line: line}}
	return reply, nil
}

// recount has the rooms see how many are coming now.
func (d *Desk) recount(ctx context.Context, session class.ID) error {
	if d.Posts == nil {
		return nil
	}
	posts, err := timetable.Counts(ctx, d.Posts, session, d.Now())
	if err != nil {
		return err
	}
	return d.post(ctx, posts...)
}

// readyData tells whether a member's loom is dressed, for scripts.
type readyData struct {
	Ready bool       `json:"ready"`
	Since *time.Time `json:"since"`
}

func readyCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "ready", Changes: true,
		Params:   []bot.Param{{Name: "answer", Kind: bot.Choice, First: true, Default: "yes", Choices: []string{"yes", "no"}}},
		Examples: []string{"ready", "ready answer:no"},
		Run:      d.ready,
	}
}

// ready keeps that a member's loom is dressed, which can be only a loom that
// she has told of.
func (d *Desk) ready(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.asMember(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	loom, err := d.Store.Loom(ctx, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	yes := c.Args.Text("answer") == "yes"
	if yes && loom.Ends == 0 && loom.Width == 0 {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyReadyLoom, Example: "loom width:15in heddle:10"}
	}
	was := !s.Member.Ready.IsZero()
	if yes != was {
		s.Member.Ready = time.Time{}
		if yes {
			s.Member.Ready = d.Now()
		}
		if err := d.Store.PutMember(ctx, s.Member); err != nil {
			return bot.Reply{}, err
		}
	}
	title, body := calc.Key("ready.yes"), calc.Key("ready.yes_what")
	switch {
	case yes && was:
		title = "ready.already"
	case !yes && was:
		title, body = "ready.no", "ready.no_what"
	case !yes:
		title, body = "ready.not_yet", "ready.no_what"
	}
	return bot.Reply{
		Title: c.Say(title, s.Class.Name), Body: []bot.Block{bot.Paragraph(c.Say(body))},
		Data: readyData{Ready: yes, Since: instantOrNull(s.Member.Ready)},
	}, nil
}
