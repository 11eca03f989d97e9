package lesson

import (
	"context"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// Sentences about changes that change nothing.
const (
	keySameWhen calc.Key = "session.same_when" // the number
	keySameLink calc.Key = "session.same_link" // the number
)

func sessionMove(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "move", Who: bot.Teacher, Changes: true,
		Params: []bot.Param{
			whichSession,
			{Name: "when", Kind: bot.Words, Required: true, Second: true, Max: "120"},
			{Name: "minutes", Kind: bot.Count, Min: minMinutes, Max: maxMinutes},
		},
		Examples: []string{`session move 2 when:"thu 19:00"`, `session move 2 when:"2026-12-08 18:30" minutes:60`},
		Run:      d.moveSession,
	}
}

// moveSession gives a session another time and shows both side by side.
func (d *Desk) moveSession(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	who, session, err := d.toChange(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	when, err := d.movedTo(c.Args.Text("when"), session, locationOf(who.Class.Zone))
	if err != nil {
		return bot.Reply{}, of(err, "when")
	}
	before := session
	session.Start, session.Wall, session.Zone = when.Time, when.Wall.String(), who.Class.Zone
	if c.Args.Has("minutes") {
		session.Minutes = c.Args.Count("minutes")
	}
	if session.Start.Equal(before.Start) && session.Minutes == before.Minutes {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keySameWhen, Field: "when", Args: []any{session.Number}, Example: `session move 2 when:"thu 19:00"`}
	}
	if err := d.noneAt(ctx, who.Class, []timetable.When{when}, session.ID); err != nil {
		return bot.Reply{}, err
	}
	session, err = d.keepSession(ctx, session, timetable.KindMoved, before.Start)
	if err != nil {
		return bot.Reply{}, err
	}
	now := echoOf(session, who.Zone())
	reply := bot.Reply{Data: sessionsData(c, who, []class.Session{session})}
	if session.Start.Equal(before.Start) {
		reply.Title, reply.Body = c.Say("session.longer", headline(c, who.Class, session)), []bot.Block{bot.Paragraph(whenSaid(c, now) + ".")}
	} else {
		reply.Title, reply.Body = c.Say("session.moved", headline(c, who.Class, session)), movedSaid(c, echoOf(before, who.Zone()), now)
	}
	reply.Body = append(reply.Body, bot.List{c.Say("session.length", lengthSaid(c, session.Minutes)), c.Say("session.told")})
	return withCalendar(c, reply, who, []class.Session{session})
}

// movedTo reads the new time of a session. A bare weekday is that of the
// session's own week, where that is still to come: "thu 19:00" moves a meeting
// of Tuesday in a fortnight by two days, not to tomorrow.
func (d *Desk) movedTo(text string, s class.Session, loc *time.Location) (timetable.When, error) {
	now := d.Now()
	when, err := timetable.ParseWhen(text, now, loc)
	if err != nil || !beginsWithWeekday(text) {
		return when, err
	}
	was := timetable.WallOf(s.Start, loc)
	monday := was.AddDays(-((int(was.Weekday()) + 6) % 7)).At(0)
	from, _ := timetable.Resolve(monday, loc)
	if from = from.Add(-time.Minute); !from.After(now) {
		return when, nil
	}
	if near, err := timetable.ParseWhen(text, from, loc); err == nil && near.Time.Sub(from) <= 7*24*time.Hour {
		return near, nil // a weekday with a date of its own is not meant
	}
	return when, nil
}

// beginsWithWeekday tells "thu 19:00" from a text that begins with a date.
func beginsWithWeekday(text string) bool {
	text = strings.ToLower(strings.TrimSpace(text))
	for _, day := range []string{"mon", "tue", "wed", "thu", "fri", "sat", "sun"} {
		if strings.HasPrefix(text, day) {
			return true
		}
	}
	return false
}

// movedSaid is movedTable, and below it what a clock change did.
func movedSaid(c *bot.Call, before, now timetable.Echoed) []bot.Block {
	said := []bot.Block{movedTable(c, before, now)}
	if note := clockChangeSaid(c, now); note != "" {
		said = append(said, bot.Paragraph(note+"."))
	}
	return said
}

// movedTable sets the old time and the new one side by side, with the reader's
// own clock below where it is another.
func movedTable(c *bot.Call, before, now timetable.Echoed) bot.Table {
	t := bot.Table{Head: []string{"", c.Say("session.head.before"), c.Say("session.head.now")}}
	add := func(name string, old, new string) { t.Rows = append(t.Rows, []string{name, old, new}) }
	day := func(m timetable.Moment) string { return c.Say("session.day", daySaid(c, m), m.Wall.Year) }
	clock := func(m timetable.Moment) string { return c.Say("times.clock", clockSaid(m), m.Abbreviation) }
	told := clock // what tells the two apart stands for each
	if clock(before.Class) == clock(now.Class) {
		told = day
	}
	if told(before.Class) != told(now.Class) {
		c.Tell(told(before.Class), before.Time)
	}
	c.Tell(told(now.Class), now.Time)
	add(c.Say("session.row.day"), day(before.Class), day(now.Class))
	add(c.Say("session.row.time"), clock(before.Class), clock(now.Class))
	add(c.Say("session.row.zone"), before.Class.Zone, now.Class.Zone)
	if !before.Same || !now.Same {
		add(c.Say("session.row.your_day"), day(before.Asker), day(now.Asker))
		add(c.Say("session.row.your_time"), clock(before.Asker), clock(now.Asker))
	}
	return t
}

// toChange is who asks, and the session that she wants to change.
func (d *Desk) toChange(ctx context.Context, c *bot.Call) (class.Standing, class.Session, error) {
	who, err := d.inClass(ctx, c)
	if err != nil {
		return who, class.Session{}, err
	}
	session, err := d.sessionMeant(ctx, who.Class, c.Args.Count("number"))
	if err != nil {
		return who, session, err
	}
	return who, session, d.changeable(session)
}

// keepSession keeps a changed session, so that calendars see it, announces it
// and plans its reminders anew.
func (d *Desk) keepSession(ctx context.Context, s class.Session, kind timetable.Kind, was time.Time) (class.Session, error) {
	s.Sequence++
	s.Changed = d.Now()
	if err := d.Store.PutSession(ctx, s); err != nil {
		return s, err
	}
	if err := d.announce(ctx, kind, s, was); err != nil {
		return s, err
	}
	return s, d.replan(ctx, s.Class)
}

func sessionCancel(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "cancel", Who: bot.Teacher, Changes: true,
		Params:   []bot.Param{whichSession},
		Examples: []string{"session cancel 3"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			who, session, err := d.toChange(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			session.Cancelled = true
			if session, err = d.keepSession(ctx, session, timetable.KindCancelled, time.Time{}); err != nil {
				return bot.Reply{}, err
			}
			reply := bot.Reply{
				Title: c.Say("session.off", headline(c, who.Class, session)),
				Body: []bot.Block{
					bot.Paragraph(c.Say("session.off_when", whenSaid(c, echoOf(session, who.Zone())))),
					bot.List{c.Say("session.off_reminders"), c.Say("session.told")},
				},
				Data: sessionsData(c, who, []class.Session{session}),
			}
			return withCalendar(c, reply, who, []class.Session{session})
		},
	}
}

func sessionLink(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "link", Who: bot.Teacher, Changes: true,
		Params:   []bot.Param{whichSession, {Name: "link", Kind: bot.Words, Required: true, Second: true, Max: maxLink}},
		Examples: []string{"session link 2 link:https://meet.example/lace", "session link 2 link:none"},
		Run:      d.linkSession,
	}
}

// linkSession keeps where a session meets: the rooms learn that it changed, the
// members alone what it is.
func (d *Desk) linkSession(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	who, session, err := d.toChange(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	link, err := linkSaid(c.Args)
	if err != nil {
		return bot.Reply{}, err
	}
	if link == session.Link {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keySameLink, Field: "link", Args: []any{session.Number}, Example: "session show " + strconv.Itoa(session.Number)}
	}
	session.Link = link
	if session, err = d.keepSession(ctx, session, timetable.KindLink, time.Time{}); err != nil {
		return bot.Reply{}, err
	}
	told := calc.Key("session.link_told")
	title := calc.Key("session.linked")
	switch {
	case link == "":
		told, title = "session.told", "session.unlinked"
	case !who.Class.Direct:
		told = "session.link_told_room"
	}
	reply := bot.Reply{
		Title: c.Say(title, headline(c, who.Class, session)),
		Body:  []bot.Block{bot.Paragraph(whenSaid(c, echoOf(session, who.Zone())) + "."), bot.List{linkNote(c, session), c.Say(told)}},
		Data:  sessionsData(c, who, []class.Session{session}),
	}
	return withCalendar(c, reply, who, []class.Session{session})
}
