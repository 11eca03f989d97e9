package lesson

import (
	"context"
	"errors"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// usualMinutes is how long a session lasts unless the teacher says.
const usualMinutes = 90

// Bounds of sessions. The topic is long enough for a paragraph, which goes into
// posts whole and into titles cut.
const (
	minMinutes, maxMinutes = "10", "600"
	maxTopic               = "500"
	maxLink                = "500"
)

// Sentences about sessions that cannot be.
const (
	keySameTime    calc.Key = "session.same_time"    // the number of the session that starts then
	keyNoSession   calc.Key = "session.none"         // no arguments: there is none at all
	keyNoSuch      calc.Key = "session.no_such"      // the number, the numbers that there are
	keyOver        calc.Key = "session.over"         // the number
	keyWasOff      calc.Key = "session.cancelled"    // the number
	keyNotALink    calc.Key = "session.not_a_link"   // no arguments
	keyNothingNext calc.Key = "session.nothing_next" // no arguments: none is to come
)

func sessionCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "session", Aliases: []string{"sessions"}, Who: bot.Helper,
		Subs: []*bot.Command{
			sessionAdd(d), sessionMove(d), sessionCancel(d), sessionLink(d), sessionTopic(d), sessionWork(d), sessionList(d), sessionShow(d),
		},
	}
}

// whichSession is the argument that names a session by its number.
var whichSession = bot.Param{Name: "number", Kind: bot.Count, Required: true, First: true, Min: "1", Max: "10000"}

func sessionAdd(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "add", Who: bot.Teacher, Changes: true,
		Params: []bot.Param{
			{Name: "when", Kind: bot.Words, Required: true, First: true, Max: "120"},
			{Name: "topic", Kind: bot.Words, Max: maxTopic},
			{Name: "minutes", Kind: bot.Count, Default: strconv.Itoa(usualMinutes), Min: minMinutes, Max: maxMinutes},
			{Name: "link", Kind: bot.Words, Max: maxLink},
			{Name: "weekly", Kind: bot.Words, Max: "40"},
		},
		Examples: []string{
			`session add "2026-12-01 19:00" topic:"First eyelet rows" minutes:60`,
			`session add "tue 19:00" weekly:6`,
		},
		Run: d.addSessions,
	}
}

// addSessions sets one session or a weekly series, announces it in every room
// of the class and plans its reminders.
func (d *Desk) addSessions(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.inClass(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	times, err := timesSaid(c.Args, d.Now(), locationOf(s.Class.Zone))
	if err != nil {
		return bot.Reply{}, err
	}
	link, err := linkSaid(c.Args)
	if err != nil {
		return bot.Reply{}, err
	}
	if err := d.noneAt(ctx, s.Class, times); err != nil {
		return bot.Reply{}, err
	}
	draft := class.Session{
		Class: s.Class.ID, Topic: cleanLine(c.Args.Text("topic"), 500), Zone: s.Class.Zone, Minutes: c.Args.Count("minutes"), Link: link, Changed: d.Now(),
	}
	added, err := d.addEach(ctx, draft, times)
	if err != nil {
		return bot.Reply{}, err
	}
	if err := d.announceNew(ctx, added); err != nil {
		return bot.Reply{}, err
	}
	if err := d.replan(ctx, s.Class.ID); err != nil {
		return bot.Reply{}, err
	}
	return addedReply(c, s, added)
}

// addEach keeps sessions that differ in their times alone.
func (d *Desk) addEach(ctx context.Context, draft class.Session, times []timetable.When) ([]class.Session, error) {
	var added []class.Session
	for i, t := range times {
		next := draft
		next.Start, next.Wall = t.Time, t.Wall.String()
		if i > 0 {
			next.Series = added[0].ID
		}
		kept, err := d.Store.AddSession(ctx, next)
		if err != nil {
			return nil, err
		}
		added = append(added, kept)
	}
	if len(added) > 1 { // the first gives the series its name
		added[0].Series = added[0].ID
		return added, d.Store.PutSession(ctx, added[0])
	}
	return added, nil
}

// seriesWithin is how many times a session is repeated, said behind its time.
var seriesWithin = regexp.MustCompile(`(?i)[ ,]+((?:weekly|every week|each week)\b.*)$`)

// timesSaid are the times of a session, or of each of a series.
func timesSaid(a bot.Args, now time.Time, loc *time.Location) ([]timetable.When, error) {
	text, series := a.Text("when"), a.Text("weekly")
	if m := seriesWithin.FindStringSubmatchIndex(text); m != nil && series == "" {
		text, series = text[:m[0]], text[m[2]:m[3]]
	}
	first, err := timetable.ParseWhen(text, now, loc)
	if err != nil {
		return nil, of(err, "when")
	}
	if series == "" {
		return []timetable.When{first}, nil
	}
	if r := strings.TrimLeft(strings.TrimSpace(series), "xX× "); r != "" && r[0] >= '0' && r[0] <= '9' {
		series = "weekly x" + strings.TrimRight(r, "xX× ")
	}
	n, err := timetable.ParseSeries(series)
	if err != nil {
		return nil, of(err, "weekly")
	}
	return timetable.Weekly(first.Wall, n, loc), nil
}

// linkSaid is a meeting link, which must be one that people can follow. The
// refusal does not repeat it: it may be right but for one letter.
func linkSaid(a bot.Args) (string, error) {
	text := strings.Trim(strings.TrimSpace(a.Text("link")), "<>")
	if text == "" || strings.EqualFold(text, "none") {
		return "", nil
	}
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || strings.ContainsAny(text, " \t\r\n\"<>`") || text != cleanLine(text, 500) {
		return "", &calc.Fault{Code: calc.BadValue, Key: keyNotALink, Field: "link", Example: "link:https://meet.example/lace"}
	}
	return text, nil
}

// noneAt refuses a time at which another session of the class starts.
func (d *Desk) noneAt(ctx context.Context, k class.Class, times []timetable.When, but ...class.ID) error {
	sessions, err := d.Store.SessionsOf(ctx, k.ID, d.Now())
	if err != nil {
		return err
	}
	for _, s := range sessions {
		same := slices.ContainsFunc(times, func(t timetable.When) bool { return t.Time.Equal(s.Start) })
		if same && !s.Cancelled && !slices.Contains(but, s.ID) {
			return &calc.Fault{Code: calc.Conflict, Key: keySameTime, Field: "when", Args: []any{s.Number}, Example: "session show " + strconv.Itoa(s.Number)}
		}
	}
	return nil
}

// addedReply repeats what was set, in full.
func addedReply(c *bot.Call, s class.Standing, added []class.Session) (bot.Reply, error) {
	first := added[0]
	reply := bot.Reply{Title: c.Say("session.added", first.Number), Data: sessionsData(c, s, added)}
	if len(added) > 1 {
		reply.Title = c.Say("session.added_series", len(added), first.Number, added[len(added)-1].Number)
		reply.Body = append(reply.Body, seriesTable(c, s, added), bot.Paragraph(c.Say("session.wall_note", echoOf(first, s.Zone()).Asked.Clock().String(), first.Zone)))
	} else {
		reply.Body = append(reply.Body, bot.Paragraph(whenSaid(c, echoOf(first, s.Zone()))+"."))
	}
	length := c.Say("session.length", lengthSaid(c, first.Minutes))
	if !c.Args.Has("minutes") {
		length = c.Say("session.usual_length", lengthSaid(c, first.Minutes))
	}
	notes := bot.List{length}
	if first.Topic != "" {
		notes = append(notes, c.Say("session.topic", first.Topic))
	}
	notes = append(notes, linkNote(c, first), c.Say("session.told"))
	reply.Body = append(reply.Body, notes)
	return withCalendar(c, reply, s, added)
}

// linkNote says whether there is a link, and warns one who wrote it where
// everyone reads.
func linkNote(c *bot.Call, s class.Session) string {
	switch {
	case s.Link == "":
		return c.Say("session.no_link", s.Number)
	case !c.Request.Alone() && c.Args.Has("link"):
		return c.Say("session.link_open")
	}
	return c.Say("session.link_kept")
}

// withCalendar puts sessions into a file beside a reply, with links only where
// a member is alone.
func withCalendar(c *bot.Call, r bot.Reply, s class.Standing, sessions []class.Session) (bot.Reply, error) {
	file, ok, err := calendarFile(c, s.Class, sessions, alone(c, s))
	if ok {
		r.Files = append(r.Files, file)
	}
	return r, err
}

// alone tells whether an answer goes to a member of the class and nobody else:
// then a meeting link may stand in it.
func alone(c *bot.Call, s class.Standing) bool { return c.Request.Alone() && s.Member.Person != "" }

// seriesTable lists sessions with their times, on the asker's own clock too
// where that is another.
func seriesTable(c *bot.Call, s class.Standing, sessions []class.Session) bot.Table {
	echoes := make([]timetable.Echoed, len(sessions))
	own := false
	for i, session := range sessions {
		echoes[i] = echoOf(session, s.Zone())
		own = own || !echoes[i].Same
	}
	t := bot.Table{Head: []string{c.Say("session.head.number"), c.Say("session.head.when", spaced(echoes[0].Class.Zone))}, Numbers: []bool{true, false}}
	if own {
		t.Head, t.Numbers = append(t.Head, c.Say("session.head.yours", spaced(echoes[0].Asker.Zone))), append(t.Numbers, false)
	}
	for i, e := range echoes {
		row := []string{strconv.Itoa(sessions[i].Number), c.Tell(c.Say("session.cell", daySaid(c, e.Class), e.Class.Wall.Year, clockSaid(e.Class), e.Class.Abbreviation), e.Time)}
		row[1] = withNote(row[1], clockChangeSaid(c, e))
		if own {
			row = append(row, c.Say("session.cell_short", daySaid(c, e.Asker), clockSaid(e.Asker), e.Asker.Abbreviation))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// sessionMeant is the session of a number.
func (d *Desk) sessionMeant(ctx context.Context, k class.Class, number int) (class.Session, error) {
	s, err := d.Store.SessionNumber(ctx, k.ID, number)
	if !errors.Is(err, class.ErrNone) {
		return s, err
	}
	all, err := d.Store.SessionsOf(ctx, k.ID, time.Time{})
	if err != nil {
		return s, err
	}
	if len(all) == 0 {
		return s, &calc.Fault{Code: calc.Conflict, Key: keyNoSession, Example: `session add "tue 19:00"`}
	}
	least, most := all[0].Number, all[0].Number
	for _, other := range all {
		least, most = min(least, other.Number), max(most, other.Number)
	}
	return s, &calc.Fault{Code: calc.OutOfRange, Key: keyNoSuch, Field: "number", Args: []any{number, least, most}, Example: "session list"}
}

// changeable refuses a session that is over or does not take place.
func (d *Desk) changeable(s class.Session) error {
	switch {
	case s.Cancelled:
		return &calc.Fault{Code: calc.Conflict, Key: keyWasOff, Args: []any{s.Number}, Example: `session add "tue 19:00"`}
	case !s.End().After(d.Now()):
		return &calc.Fault{Code: calc.Conflict, Key: keyOver, Args: []any{s.Number}, Example: "session list"}
	}
	return nil
}

// upcoming is the session that is going on or comes next; ok is false when none is
// to come.
func (d *Desk) upcoming(ctx context.Context, id class.ID) (s class.Session, ok bool, err error) {
	sessions, err := d.Store.SessionsOf(ctx, id, d.Now())
	if err != nil {
		return s, false, err
	}
	i := slices.IndexFunc(sessions, func(s class.Session) bool { return !s.Cancelled })
	if i < 0 {
		return s, false, nil
	}
	return sessions[i], true, nil
}
