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

type attendanceData struct {
	Session int              `json:"session"`
	Start   string           `json:"start"` // UTC
	Lines   []attendanceLine `json:"lines"`
	Coming  int              `json:"coming"`
	Away    int              `json:"away"`
	Came    int              `json:"came"`
}

type attendanceLine struct {
	Name   string `json:"name"` // "" for people who were forgotten
	Answer string `json:"answer"`
	Came   string `json:"came"`
}

func attendanceCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "attendance", Who: bot.Helper, Private: true, Changes: true,
		Params: []bot.Param{
			{Name: "session", Kind: bot.Count, First: true, Min: "1", Max: "100000"},
			{Name: "came", Kind: bot.Words, Max: "80"},
			{Name: "missed", Kind: bot.Words, Max: "80"},
		},
		Examples: []string{"attendance", "attendance session:3 came:Maren", "attendance session:3 missed:Teodor"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			session, err := d.attendedSession(ctx, c, s.Class.ID)
			if err != nil {
				return bot.Reply{}, err
			}
			for arg, note := range map[string]string{"came": "yes", "missed": "no"} {
				if c.Args.Has(arg) {
					if err := d.note(ctx, c, s.Class, session, arg, note); err != nil {
						return bot.Reply{}, err
					}
				}
			}
			return d.attendanceReply(ctx, c, s, session)
		},
	}
}

// attendedSession is the session with a number, or the one that runs or was last,
// or else the next: what a teacher means who says nothing.
func (d *Desk) attendedSession(ctx context.Context, c *bot.Call, id class.ID) (class.Session, error) {
	if c.Args.Has("session") {
		n := c.Args.Count("session")
		s, err := d.Store.SessionNumber(ctx, id, n)
		if isNone(err) {
			return s, &calc.Fault{Code: calc.OutOfRange, Key: "attendance.none_such", Field: "session", Args: []any{n}, Example: "session list"}
		}
		return s, err
	}
	sessions, err := d.Store.SessionsOf(ctx, id, time.Time{})
	if err != nil {
		return class.Session{}, err
	}
	var meant class.Session
	for _, s := range sessions {
		if s.Cancelled || (meant.ID != "" && s.Start.After(d.Now())) {
			continue
		}
		meant = s
	}
	if meant.ID == "" {
		return meant, &calc.Fault{Code: calc.Conflict, Key: "attendance.no_session", Example: `session add "2026-12-01 19:00"`}
	}
	return meant, nil
}

// note keeps whether someone came.
func (d *Desk) note(ctx context.Context, c *bot.Call, k class.Class, s class.Session, arg, came string) error {
	m, _, err := d.memberNamed(ctx, c, k, arg, c.Args.Text(arg))
	if err != nil {
		return err
	}
	if s.Start.After(d.Now()) {
		return &calc.Fault{Code: calc.Conflict, Key: "attendance.not_begun", Field: "session", Args: []any{s.Number}, Example: "attendance"}
	}
	answers, err := d.answersTo(ctx, s.ID)
	if err != nil {
		return err
	}
	a := answers[m.Person]
	a.Session, a.Person, a.Came = s.ID, m.Person, came
	if a.At.IsZero() {
		a.At = d.Now()
	}
	return d.Store.PutAttendance(ctx, a)
}

func (d *Desk) attendanceReply(ctx context.Context, c *bot.Call, s class.Standing, session class.Session) (bot.Reply, error) {
	g, err := d.group(ctx, c, s.Class)
	if err != nil {
		return bot.Reply{}, err
	}
	answers, err := d.answersTo(ctx, session.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	data := attendanceData{Session: session.Number, Start: session.Start.UTC().Format(time.RFC3339), Lines: []attendanceLine{}}
	t := bot.Table{Head: []string{c.Say("roster.name"), c.Say("attendance.said"), c.Say("attendance.came")}}
	for _, f := range g {
		a := answers[f.member.Person]
		if f.member.Role == bot.Teacher && a.Answer == "" && a.Came == "" {
			continue
		}
		data.Lines = append(data.Lines, attendanceLine{f.name, a.Answer, a.Came})
		t.Rows = append(t.Rows, []string{f.name, answerSaid(c, a.Answer), cameSaid(c, a.Came)})
	}
	if data.Coming, data.Away, data.Came, err = d.counts(ctx, session.ID); err != nil {
		return bot.Reply{}, err
	}
	r := bot.Reply{Title: c.Say("attendance.title", session.Number, dayOf(c, session.Start, s.Zone())), Data: data}
	if len(t.Rows) > 0 {
		r.Body = append(r.Body, t)
	}
	r.Body = append(r.Body, bot.Paragraph(c.Say("attendance.sum", data.Coming, data.Away, data.Came)))
	if !session.Start.After(d.Now()) {
		r.Body = append(r.Body, bot.Paragraph(c.Say("attendance.how", session.Number)))
	}
	return r, nil
}

// counts are the answers to a session in numbers, those of forgotten people among them.
func (d *Desk) counts(ctx context.Context, id class.ID) (coming, away, came int, err error) {
	if coming, away, came, err = d.Store.Nameless(ctx, id); err != nil {
		return 0, 0, 0, err
	}
	list, err := d.Store.AttendanceOf(ctx, id)
	for _, a := range list {
		switch a.Answer {
		case "coming":
			coming++
		case "away":
			away++
		}
		if a.Came == "yes" {
			came++
		}
	}
	return coming, away, came, err
}

func cameSaid(c *bot.Call, came string) string {
	if came == "" {
		return c.Say("attendance.not_noted")
	}
	return yesNo(c, came == "yes")
}

// dayOf is the day of an instant in a zone.
func dayOf(c *bot.Call, t time.Time, zone string) string {
	loc := locationOf(zone)
	return daySaid(c, timetable.Echo(t, loc, loc).Class)
}

// isNone tells that what was asked for is not kept.
func isNone(err error) bool { return errors.Is(err, class.ErrNone) }

type reportData struct {
	Class    string       `json:"class"`
	Credit   string       `json:"credit"`
	Members  int          `json:"members"`
	Sessions []reportLine `json:"sessions"`
	Held     int          `json:"held"`
	Hours    float64      `json:"hours"` // of the sessions held
	Came     int          `json:"came"`  // in all
}

type reportLine struct {
	Number  int    `json:"number"`
	Start   string `json:"start"` // in the class's zone: "2026-12-01 19:00"
	Topic   string `json:"topic"`
	Minutes int    `json:"minutes"`
	State   string `json:"state"` // held, planned or cancelled
	Coming  int    `json:"coming"`
	Away    int    `json:"away"`
	Came    int    `json:"came"`
}

func reportCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "report", Who: bot.Teacher, Private: true,
		Examples: []string{"report"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			return d.report(ctx, c, s.Class)
		},
	}
}

func (d *Desk) report(ctx context.Context, c *bot.Call, k class.Class) (bot.Reply, error) {
	sessions, err := d.Store.SessionsOf(ctx, k.ID, time.Time{})
	if err != nil {
		return bot.Reply{}, err
	}
	members, err := d.Store.Members(ctx, k.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	data := reportData{Class: k.Name, Credit: k.Credit, Members: len(members), Sessions: []reportLine{}}
	for _, s := range sessions {
		l := reportLine{
			Number: s.Number, Start: timetable.WallOf(s.Start, locationOf(k.Zone)).String(), Topic: topicOf(k, s),
			Minutes: s.Minutes, State: d.stateOf(s),
		}
		if l.Coming, l.Away, l.Came, err = d.counts(ctx, s.ID); err != nil {
			return bot.Reply{}, err
		}
		if l.State == "held" {
			data.Held++
			data.Hours += float64(s.Minutes) / 60
			data.Came += l.Came
		}
		data.Sessions = append(data.Sessions, l)
	}
	return reportReply(c, k, data), nil
}

func (d *Desk) stateOf(s class.Session) string {
	switch {
	case s.Cancelled:
		return "cancelled"
	case s.End().After(d.Now()):
		return "planned"
	}
	return "held"
}

func reportReply(c *bot.Call, k class.Class, data reportData) bot.Reply {
	t := bot.Table{
		Head: []string{
			c.Say("report.number"), c.Say("report.start"), c.Say("report.topic"), c.Say("report.minutes"), c.Say("report.state"),
			c.Say("report.coming"), c.Say("report.away"), c.Say("report.came"),
		},
		Numbers: []bool{true, false, false, true, false, true, true, true},
	}
	for _, l := range data.Sessions {
		t.Rows = append(t.Rows, []string{
			strconv.Itoa(l.Number), l.Start, l.Topic, strconv.Itoa(l.Minutes), c.Say(calc.Key("report.state." + l.State)),
			strconv.Itoa(l.Coming), strconv.Itoa(l.Away), strconv.Itoa(l.Came),
		})
	}
	r := bot.Reply{Title: c.Say("report.title", k.Name), Data: data}
	if len(t.Rows) > 0 {
		r.Body = append(r.Body, t)
	}
	hours := strconv.FormatFloat(data.Hours, 'f', -1, 64)
	r.Body = append(r.Body, bot.Paragraph(c.Texts.Count(c.Units, "report.sum", data.Held, hours, data.Members, data.Came)))
	if data.Credit != "" {
		r.Body = append(r.Body, bot.Paragraph(data.Credit))
	}
	r.Files = []bot.File{{
		Name: fileName(k.Name, "class") + "-report.csv", MediaType: "text/csv", Alt: c.Say("report.csv"), Bytes: reportCSV(t, data.Credit),
	}}
	return r
}
