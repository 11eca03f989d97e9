package lesson

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// Render is what a post says, read when it is sent. It implements
// timetable.Render and blocks on storage.
//
// What goes to a room is told by the clock of the class, and holds neither a
// meeting link nor anything about a member; what goes to a member alone is told
// by her own clock.
func (d *Desk) Render(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
	truth, verdict, err := timetable.ReadTruth(ctx, d.Store, p)
	if err != nil || verdict != timetable.Send {
		return bot.Reply{}, verdict, err
	}
	if p.Kind == timetable.KindReminder && p.Person == "" && truth.Class.WritesDirect() {
		return bot.Reply{}, timetable.NotWanted, nil // each member is reminded by now
	}
	r := rendering{desk: d, ctx: ctx, post: p, Truth: truth, c: d.speaker(truth)}
	reply, err := r.reply()
	if errors.Is(err, errNothingLeft) {
		return bot.Reply{}, timetable.SessionCancelled, nil
	}
	reply.Moments = r.c.Told(reply)
	if r.direct() {
		reply.Events = nil // a list of events is a room's
	}
	return reply, timetable.Send, err
}

// Refused is what is posted when a member takes no direct messages. It
// implements timetable.Options.Refused and blocks on storage.
func (d *Desk) Refused(ctx context.Context, p timetable.Post) ([]timetable.Post, error) {
	return timetable.RefusedNote(ctx, d.Store, p, d.Now())
}

// speaker is a call for nobody's question: it has words, and the units of the
// one who reads.
func (d *Desk) speaker(t timetable.Truth) *bot.Call {
	texts := d.Texts
	if texts == nil {
		texts = English()
	}
	return &bot.Call{Texts: texts, Units: cmp.Or(t.Person.Units, t.Class.Units, measure.Imperial)}
}

// rendering is one post on its way into words.
type rendering struct {
	timetable.Truth
	desk *Desk
	ctx  context.Context // of this one call
	post timetable.Post
	c    *bot.Call
}

func (r rendering) reply() (bot.Reply, error) {
	switch r.post.Kind {
	case timetable.KindReminder:
		return r.reminder()
	case timetable.KindAdded:
		return r.added()
	case timetable.KindMoved:
		return r.moved()
	case timetable.KindCancelled:
		return r.cancelled()
	case timetable.KindLink:
		return r.link()
	case timetable.KindClosed:
		return r.closed()
	case timetable.KindSay:
		return r.say(), nil
	case timetable.KindNote:
		return r.note(), nil
	}
	return bot.Reply{}, fmt.Errorf("no words for a post of kind %q", r.post.Kind)
}

// direct tells that a member of the class reads it alone: a link may stand in it
// only then.
func (r rendering) direct() bool {
	return r.post.Person != "" && strings.HasPrefix(r.post.To.Room, "@")
}

// zone is by whose clock the reader is told.
func (r rendering) zone() string {
	if r.direct() {
		return cmp.Or(r.Person.Zone, r.Class.Zone)
	}
	return cmp.Or(r.Session.Zone, r.Class.Zone)
}

func (r rendering) when(s class.Session) string { return whenSaidToHer(r.c, echoOf(s, r.zone())) }

// errNothingLeft says that nothing is left of what a post was to tell.
var errNothingLeft = errors.New("nothing left to tell")

// new is a reply to the post's reader; a direct message says first which class
// it is about.
func (r rendering) new(title string) bot.Reply {
	if r.direct() {
		return bot.Reply{Title: r.c.Say("post.direct", r.Class.Name, title)}
	}
	return bot.Reply{Title: title, Audience: bot.Room}
}

// reminder says what and when, where to a member alone, and what to have ready;
// the one after the session, what comes next.
func (r rendering) reminder() (bot.Reply, error) {
	if r.Details.Reminder == (timetable.Reminder{After: true}).String() {
		return r.followUp()
	}
	reply := r.new(headline(r.c, r.Class, r.Session))
	reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.starts", r.when(r.Session), lengthSaid(r.c, r.Session.Minutes))))
	list := r.about(r.Session)
	if !r.direct() {
		if r.Session.Link != "" {
			list = append(list, r.c.Say("post.link_ask"))
		}
		reply = with(reply, list)
		reply.Body = append(reply.Body, r.card())
		return r.counted(reply)
	}
	if r.Session.Link != "" {
		list = append(list, r.c.Say("session.link_is", r.Session.Link))
	}
	m, err := r.desk.Store.Member(r.ctx, r.Class.ID, r.Person.ID)
	if err != nil {
		return reply, err
	}
	if m.Role != bot.Student { // whoever teaches is there, and knows
		return with(reply, list), nil
	}
	if m.Ready.IsZero() && !r.desk.Now().After(r.Session.Start) {
		list = append(list, r.c.Say("post.ready"))
	}
	return r.askedForAnswer(reply, list)
}

// askedForAnswer repeats what the reader said about the session, or asks. To
// someone in several classes a word to me alone could mean another class's
// session, so she is sent to the room.
func (r rendering) askedForAnswer(reply bot.Reply, list bot.List) (bot.Reply, error) {
	answer, err := r.answer()
	if err != nil {
		return reply, err
	}
	in, err := r.desk.Store.MemberOf(r.ctx, r.Person.ID)
	switch {
	case answer == "coming":
		list = append(list, r.c.Say("post.coming"))
	case answer == "away":
		list = append(list, r.c.Say("post.away"))
	case len(in) > 1:
		list = append(list, r.c.Say("post.unanswered_in", r.Class.Name, r.Session.Number))
	default:
		list = append(list, r.c.Say("post.unanswered"))
		reply.Buttons = r.answers()
	}
	return with(reply, list), err
}

// with adds a list, if there is anything in it.
func with(reply bot.Reply, list bot.List) bot.Reply {
	if len(list) > 0 {
		reply.Body = append(reply.Body, list)
	}
	return reply
}

// about is what a session is about, and what to have ready for it.
func (r rendering) about(s class.Session) bot.List {
	list := bot.List{}
	if topic := topicOf(r.Class, s); topic != "" {
		list = append(list, r.c.Say("session.topic", topic))
	}
	if line := workLine(r.c, r.Class, s); line != "" {
		list = append(list, r.c.Say("post.have_ready", line))
	}
	return list
}

// answer is what the reader said about the session.
func (r rendering) answer() (string, error) {
	all, err := r.desk.Store.AttendanceOf(r.ctx, r.Session.ID)
	i := slices.IndexFunc(all, func(a class.Attendance) bool { return a.Person == r.Person.ID })
	if i < 0 {
		return "", err
	}
	return all[i].Answer, err
}

func (r rendering) followUp() (bot.Reply, error) {
	reply := r.new(r.c.Say("post.over", headline(r.c, r.Class, r.Session)))
	next, ok, err := r.after()
	if err != nil {
		return reply, err
	}
	if !ok {
		reply.Body = []bot.Block{bot.Paragraph(r.c.Say("post.nothing_next"))}
	} else {
		reply.Body = []bot.Block{bot.Paragraph(r.c.Say("post.next", headline(r.c, r.Class, next), r.when(next)))}
		reply = with(reply, r.about(next))
	}
	reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.ask")))
	return reply, nil
}

// after is the session that comes after the one of the post.
func (r rendering) after() (class.Session, bool, error) {
	sessions, err := r.desk.Store.SessionsOf(r.ctx, r.Class.ID, r.desk.Now())
	i := slices.IndexFunc(sessions, func(s class.Session) bool { return !s.Cancelled && s.Start.After(r.Session.Start) })
	if err != nil || i < 0 {
		return class.Session{}, false, err
	}
	return sessions[i], true, nil
}

// added announces a session, or a series as it stands now.
func (r rendering) added() (bot.Reply, error) {
	if r.Details.Series != "" {
		return r.addedSeries()
	}
	reply := r.new(r.c.Say("post.added", headline(r.c, r.Class, r.Session)))
	reply.Body = []bot.Block{bot.Paragraph(r.when(r.Session) + "."), r.facts(r.Session), r.card()}
	return r.toCome(reply)
}

// facts are what an announcement says of a session beside its time.
func (r rendering) facts(s class.Session) bot.List {
	list := bot.List{r.c.Say("session.length", lengthSaid(r.c, s.Minutes))}
	if topic := topicOf(r.Class, s); topic != "" {
		list = append(list, r.c.Say("session.topic", topic))
	}
	return append(list, r.c.Say("post.own_clock"))
}

func (r rendering) addedSeries() (bot.Reply, error) {
	series, err := r.desk.Store.SessionsOf(r.ctx, r.Class.ID, r.desk.Now())
	if err != nil {
		return bot.Reply{}, err
	}
	series = slices.DeleteFunc(series, func(s class.Session) bool { return s.Series != r.Details.Series || s.Cancelled })
	if len(series) == 0 {
		return bot.Reply{}, errNothingLeft
	}
	first := series[0]
	inClass := class.Standing{Class: r.Class, Person: class.Person{Zone: first.Zone}}
	reply := r.new(r.c.Texts.Count(r.c.Units, "post.added_series", len(series), cleanLine(cmp.Or(topicOf(r.Class, first), r.Class.Name), 80)))
	reply.Body = []bot.Block{seriesTable(r.c, inClass, series), r.facts(first)}
	for _, s := range series {
		reply.Events = append(reply.Events, r.event(s))
	}
	return r.withCalendar(reply)
}

func (r rendering) moved() (bot.Reply, error) {
	if r.Details.Was.Equal(r.Session.Start) {
		reply := r.new(r.c.Say("session.longer", headline(r.c, r.Class, r.Session)))
		reply.Body = []bot.Block{bot.Paragraph(r.when(r.Session) + "."), r.facts(r.Session)}
		return r.toCome(reply)
	}
	reply := r.new(r.c.Say("session.moved", headline(r.c, r.Class, r.Session)))
	loc := locationOf(r.zone())
	reply.Body = movedSaid(r.c, timetable.Echo(r.Details.Was, loc, loc), echoOf(r.Session, r.zone()))
	reply.Body = append(reply.Body, bot.List{r.c.Say("session.length", lengthSaid(r.c, r.Session.Minutes)), r.c.Say("post.own_clock")}, r.card())
	return r.toCome(reply)
}

func (r rendering) cancelled() (bot.Reply, error) {
	reply := r.new(r.c.Say("session.off", headline(r.c, r.Class, r.Session)))
	reply.Body = []bot.Block{bot.Paragraph(r.c.Say("session.off_when", r.when(r.Session)))}
	reply.Events = []bot.Event{r.event(r.Session)}
	next, ok, err := r.desk.upcoming(r.ctx, r.Class.ID)
	if err != nil {
		return reply, err
	}
	if ok {
		reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.next", headline(r.c, r.Class, next), r.when(next))))
	}
	return r.withCalendar(reply)
}

// closed tells a room that its class is over.
func (r rendering) closed() (bot.Reply, error) {
	reply := r.new(r.c.Say("class.closed", r.Class.Name))
	reply.Body = []bot.Block{bot.Paragraph(r.c.Say("class.closed_what"))}
	sessions, err := r.desk.Store.SessionsOf(r.ctx, r.Class.ID, r.Class.Closed)
	for _, s := range sessions {
		s.Cancelled = true
		reply.Events = append(reply.Events, r.event(s))
	}
	return reply, err
}

// link tells a room that a link changed, and a member what it is now.
func (r rendering) link() (bot.Reply, error) {
	title, says := calc.Key("session.linked"), r.c.Say("post.link_ask")
	switch {
	case r.Session.Link == "":
		title, says = "session.unlinked", r.c.Say("post.link_gone")
	case r.direct():
		says = r.c.Say("session.link_is", r.Session.Link)
	}
	reply := r.new(r.c.Say(title, headline(r.c, r.Class, r.Session)))
	reply.Body = []bot.Block{bot.Paragraph(r.when(r.Session) + "."), bot.Paragraph(says)}
	return r.withCalendar(reply)
}

// withCalendar adds the calendar of all sessions that are not over, and of the
// post's own; with links only to a member alone.
func (r rendering) withCalendar(reply bot.Reply) (bot.Reply, error) {
	sessions, err := r.desk.Store.SessionsOf(r.ctx, r.Class.ID, r.desk.Now())
	if err != nil {
		return reply, err
	}
	if about := r.Session.ID; about != "" && !slices.ContainsFunc(sessions, func(s class.Session) bool { return s.ID == about }) {
		sessions = append([]class.Session{r.Session}, sessions...)
	}
	file, ok, err := calendarFile(r.c, r.Class, sessions, r.direct())
	if ok {
		reply.Files = []bot.File{file}
	}
	return reply, err
}

// say is the teacher's own words.
func (r rendering) say() bot.Reply {
	reply := r.new(r.Class.Name)
	text := cmp.Or(r.Schedule.Text, r.Details.Text)
	for line := range strings.SplitSeq(strings.ReplaceAll(text, "\r\n", "\n"), "\n") {
		if line = cleanLine(line, 4000); line != "" {
			reply.Body = append(reply.Body, bot.Paragraph(line))
		}
	}
	return reply
}

// note stands in the room for direct messages that somebody did not take; it
// does not say who, nor how many.
func (r rendering) note() bot.Reply {
	reply := r.new(r.c.Say("post.note"))
	if r.Session.ID != "" {
		reply.Title = headline(r.c, r.Class, r.Session)
		reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.note_when", r.when(r.Session))))
	}
	reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.note_why")))
	return reply
}
