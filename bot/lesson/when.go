package lesson

import (
	"context"
	"errors"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// upcomingShown is how many sessions when shows unless it is asked for all.
const upcomingShown = 3

const keyNoSessions calc.Key = "when.none" // the class's name

// whenData are the sessions to come for scripts.
type whenData struct {
	Class    string        `json:"class"`
	Sessions []meetingData `json:"sessions"`
}

// meetingData is one session with the asker's own answer.
type meetingData struct {
	sessionData
	Answer *string `json:"answer"` // coming or away; null while a member has not said
}

func whenCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name:     "when",
		Params:   []bot.Param{{Name: "all", Kind: bot.Choice, Choices: []string{"yes"}, First: true}},
		Examples: []string{"when", "when all:yes"},
		Run:      d.when,
	}
}

// when lists the sessions to come, on the asker's own clock. Everyone in the
// room may ask; where a session meets is for a member alone.
func (d *Desk) when(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.inClass(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	sessions, err := d.Store.SessionsOf(ctx, s.Class.ID, d.Now())
	if err != nil {
		return bot.Reply{}, err
	}
	if len(sessions) == 0 {
		return bot.Reply{Title: c.Say(keyNoSessions, s.Class.Name), Data: whenData{s.Class.Name, []meetingData{}}}, nil
	}
	file, _, err := calendarFile(c, s.Class, sessions, alone(c, s))
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: c.Say("when.title", s.Class.Name), Files: []bot.File{file}}
	data := whenData{Class: s.Class.Name, Sessions: []meetingData{}}
	detailed, left := 0, 0
	for _, meeting := range sessions {
		if detailed == upcomingShown && !c.Args.Has("all") {
			left++
			continue
		}
		m, err := d.meetingOf(ctx, c, s, meeting)
		if err != nil {
			return reply, err
		}
		data.Sessions = append(data.Sessions, m)
		if meeting.Cancelled || detailed == upcomingShown {
			reply.Body = append(reply.Body, bot.Paragraph(shortly(c, s, meeting)))
			continue
		}
		detailed++
		reply.Body = append(reply.Body, fully(c, s, meeting, m)...)
	}
	reply.Body = append(reply.Body, bot.Paragraph(whenNote(c, s)))
	if left > 0 {
		reply.Body = append(reply.Body, bot.Paragraph(c.Texts.Count(c.Units, "when.left", left)))
		reply.Buttons = append(reply.Buttons, bot.Button{Label: c.Say("when.all_button"), Line: "when all:yes"})
	}
	reply.Data = data
	return reply, nil
}

// meetingOf is a session with what the asker has said of it.
func (d *Desk) meetingOf(ctx context.Context, c *bot.Call, s class.Standing, meeting class.Session) (meetingData, error) {
	m := meetingData{sessionData: sessionsData(c, s, []class.Session{meeting})[0]}
	if s.Member.Person == "" {
		return m, nil
	}
	a, err := d.attendanceOf(ctx, meeting.ID, s.Person.ID)
	m.Answer = said(a.Answer)
	return m, err
}

// fully is a session with all that its reader may know of it.
func fully(c *bot.Call, s class.Standing, meeting class.Session, m meetingData) []bot.Block {
	list := bot.List{c.Say("when.length", lengthSaid(c, meeting.Minutes))}
	if work := workLine(c, s.Class, meeting); work != "" {
		list = append(list, c.Say("when.work", work))
	} else if yarn := workYarn(s.Class, meeting); yarn != "" {
		list = append(list, c.Say("when.yarn", yarn))
	}
	if m.Answer != nil {
		list = append(list, c.Say(map[string]calc.Key{"coming": "when.coming", "away": "when.away"}[*m.Answer]))
	}
	if m.Link != nil {
		list = append(list, c.Say("when.link", *m.Link))
	}
	return []bot.Block{bot.Heading(headline(c, s.Class, meeting)), bot.Paragraph(whenSaidToHer(c, echoOf(meeting, s.Zone())) + "."), list}
}

// shortly is a session on one line.
func shortly(c *bot.Call, s class.Standing, meeting class.Session) string {
	key := calc.Key("when.line")
	if meeting.Cancelled {
		key = "when.cancelled"
	}
	return c.Say(key, meeting.Number, whenSaidToHer(c, echoOf(meeting, s.Zone())))
}

// whenNote says what the calendar file holds and, where it is not the member's
// own, how to get that.
func whenNote(c *bot.Call, s class.Standing) string {
	switch {
	case alone(c, s):
		return c.Say("when.own")
	case s.Member.Person != "":
		return c.Say("when.public_member")
	}
	return c.Say("when.public")
}

// attendanceOf is what one person has said, and did, about a session.
func (d *Desk) attendanceOf(ctx context.Context, session, person class.ID) (class.Attendance, error) {
	a, err := d.Store.AttendanceBy(ctx, session, person)
	if errors.Is(err, class.ErrNone) {
		return class.Attendance{Session: session, Person: person}, nil
	}
	return a, err
}

// meetingMeant is the session that an answer is about: the one of that number,
// else the one that is on or comes next. One that is over or cancelled is
// refused.
func (d *Desk) meetingMeant(ctx context.Context, c *bot.Call, s class.Standing) (class.Session, error) {
	next, some, err := d.upcoming(ctx, s.Class.ID)
	if err != nil {
		return class.Session{}, err
	}
	if !c.Args.Has("session") {
		if !some {
			err = &calc.Fault{Code: calc.Conflict, Key: "answer.no_next", Args: []any{s.Class.Name}}
		}
		return next, err
	}
	number := c.Args.Count("session")
	f := &calc.Fault{Code: calc.Conflict, Field: "session", Args: []any{number}, Example: "when"}
	if some {
		f.Example = "when all:yes"
	}
	meant, err := d.Store.SessionNumber(ctx, s.Class.ID, number)
	switch {
	case errors.Is(err, class.ErrNone):
		f.Key, f.Args = "answer.no_session", []any{number, s.Class.Name}
	case err != nil:
		return meant, err
	case meant.Cancelled:
		f.Key = "answer.cancelled"
	case !meant.End().After(d.Now()):
		f.Key, f.Args = "answer.over", []any{number, whenSaidToHer(c, echoOf(meant, s.Zone()))}
	default:
		return meant, nil
	}
	return meant, f
}
