package lesson

import (
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

// What a post to a room asks about its session, and what was answered: numbers,
// and nobody's name. A post of timetable.KindCount has it said anew.

// answers are the buttons by which anyone in the class says whether she comes.
func (r rendering) answers() []bot.Button {
	which := " " + bot.Written("session", strconv.Itoa(r.Session.Number))
	return []bot.Button{{Label: r.c.Say("post.button_coming"), Line: "coming" + which}, {Label: r.c.Say("post.button_away"), Line: "away" + which}}
}

// counted adds the buttons, while the session is not over, and how many have
// answered, once somebody has.
func (r rendering) counted(reply bot.Reply) (bot.Reply, error) {
	if !timetable.Counting(r.post) {
		return reply, nil
	}
	if r.Session.End().After(r.desk.Now()) {
		reply.Buttons = r.answers()
	}
	coming, away, _, err := r.desk.counts(r.ctx, r.Session.ID)
	if err != nil {
		return reply, err
	}
	are, others := r.c.Texts.Count(r.c.Units, "post.coming_count", coming), r.c.Texts.Count(r.c.Units, "post.away_count", away)
	switch {
	case coming > 0 && away > 0:
		reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.count", are, others)))
	case coming > 0:
		reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.count_one", are)))
	case away > 0:
		reply.Body = append(reply.Body, bot.Paragraph(r.c.Say("post.count_one", others)))
	}
	return reply, nil
}

// toCome makes a reply the announcement of a session that is to come: with its
// event, the two answers, and the calendar.
func (r rendering) toCome(reply bot.Reply) (bot.Reply, error) {
	reply.Events = []bot.Event{r.event(r.Session)}
	reply, err := r.counted(reply)
	if err != nil {
		return reply, err
	}
	return r.withCalendar(reply)
}

// event is a session for a chat that lists events by itself, where everyone in
// the room can read it: what it is about, and no more.
func (r rendering) event(s class.Session) bot.Event {
	about := r.Class.Name
	if topic := topicOf(r.Class, s); topic != "" {
		about += "\n" + topic
	}
	return bot.Event{
		Key: "session-" + string(s.ID), Title: headline(r.c, r.Class, s), About: about + "\n" + r.c.Say("post.event"),
		Start: s.Start, End: s.End(), Cancelled: s.Cancelled,
	}
}
