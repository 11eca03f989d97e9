package lesson

import (
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// shownOfMany is how many of a long list the words of me show; the file has all.
const shownOfMany = 10

// meSaid says in words what is kept.
func (d *Desk) meSaid(c *bot.Call, data meData) []bot.Block {
	zone := ""
	if data.Person != nil {
		zone = data.Person.Zone
	}
	m := meWriter{c: c, zone: zone}
	if data.Person != nil {
		m.person(*data.Person, data.Accounts)
	}
	m.loom(data.Loom)
	m.walk(data.Walk)
	m.classes(data.Classes)
	m.answers(data.Answers)
	m.questions(data.Questions)
	m.designs(data.Designs)
	m.links(data)
	m.machinery(data)
	m.body = append(m.body, bot.Paragraph(c.Say("me.rest")))
	return m.body
}

// meWriter writes the blocks of me.
type meWriter struct {
	c    *bot.Call
	zone string // hers, "" for UTC
	body []bot.Block
}

func (m *meWriter) say(key calc.Key, args ...any) string { return m.c.Say(key, args...) }

// when is an instant on her own clock.
func (m *meWriter) when(t time.Time) string {
	loc := locationOf(m.zone)
	return momentSaid(m.c, timetable.Echo(t, loc, loc).Class)
}

// section adds a heading and a list, of which the words show the last.
func (m *meWriter) section(heading calc.Key, list bot.List) {
	if len(list) == 0 {
		return
	}
	if over := len(list) - shownOfMany; over > 0 {
		list = append(bot.List{m.c.Texts.Count(m.c.Units, "me.more", over)}, list[over:]...)
	}
	m.body = append(m.body, bot.Heading(m.say(heading)), list)
}

func (m *meWriter) person(p mePerson, accounts []meAccount) {
	var list bot.List
	for _, line := range []struct {
		key   calc.Key
		value string
	}{
		{"me.name", cleanLine(p.Name, maxName)}, {"me.zone", zoneWords(p.Zone)}, {"me.units", p.Units}, {"me.hand", p.Hand},
		{"me.quiet", p.Quiet}, {"me.personal", p.Answers}, {"me.current", p.Current},
	} {
		if line.value != "" {
			list = append(list, m.say(line.key, line.value))
		}
	}
	if p.Place == placeNames[true] {
		list = append(list, m.say("me.place_hidden"))
	}
	for _, a := range accounts {
		list = append(list, m.say("me.account", a.Chat, cleanLine(a.User, 80)))
	}
	m.section("me.head_person", append(list, m.say("me.since", m.when(p.Since))))
}

func (m *meWriter) loom(l *class.Loom) {
	if l == nil {
		return
	}
	m.body = append(m.body, bot.Heading(m.say("loom.title")), known(m.c, *l))
}

func (m *meWriter) walk(w *class.Walk) {
	if w != nil {
		m.section("me.head_walk", bot.List{m.say("me.walk", w.Row, w.Move, m.when(w.Moved))})
	}
}

func (m *meWriter) classes(classes []meClass) {
	var list bot.List
	roles := map[string]calc.Key{"student": "me.student", "helper": "class.a_helper", "teacher": "class.a_teacher"}
	for _, k := range classes {
		line := m.say("me.class", k.Class, roles[k.Role], m.when(k.Joined))
		if k.Ready != nil {
			line = m.say("me.class_ready", line, m.when(*k.Ready))
		}
		if k.Closed {
			line = m.say("me.class_closed", line)
		}
		list = append(list, line)
	}
	m.section("me.head_classes", list)
}

func (m *meWriter) answers(answers []meAnswer) {
	var list bot.List
	said := map[string]calc.Key{"coming": "me.coming", "away": "me.away", "": "me.no_answer"}
	came := map[string]calc.Key{"yes": "me.came", "no": "me.stayed", "": "me.not_noted"}
	for _, a := range answers {
		list = append(list, m.say("me.answer", a.Class, a.Session, m.when(a.Start), said[a.Answer], came[a.Came]))
	}
	m.section("me.head_answers", list)
}

func (m *meWriter) questions(questions []meQuestion) {
	var list bot.List
	for _, q := range questions {
		key := calc.Key("me.question")
		if q.Done != nil {
			key = "me.question_done"
		}
		list = append(list, m.say(key, q.Class, q.Number, m.when(q.Asked), cleanLine(q.Text, 200)))
	}
	m.section("me.head_questions", list)
}

func (m *meWriter) designs(designs []meDesign) {
	var list bot.List
	for _, d := range designs {
		line := m.say("me.design_last", m.when(d.Made))
		if d.Name != "" {
			line = m.say("me.design", cleanLine(d.Name, maxName), m.when(d.Made))
		}
		if d.Class != "" {
			line = m.say("me.design_shared", line, d.Class)
		}
		list = append(list, line)
	}
	m.section("me.head_designs", list)
}

func (m *meWriter) links(data meData) {
	var list bot.List
	for _, l := range data.Links {
		key := calc.Key("me.offer")
		if l.Made {
			key = "me.link"
		}
		list = append(list, m.say(key, l.Account.Chat, cleanLine(l.Account.User, 80), m.when(l.At)))
	}
	for _, l := range data.Limits {
		list = append(list, m.say("me.limit", l.Account.Chat, cleanLine(l.Account.User, 80), l.Class))
	}
	for _, b := range data.Before {
		name := cleanLine(b.Person.Name, maxName)
		if name == "" {
			name = m.say("members.nameless")
		}
		list = append(list, m.say("me.before", name))
	}
	m.section("me.head_links", list)
}

// machinery says how much is kept for a time so that nothing happens twice.
func (m *meWriter) machinery(data meData) {
	var list bot.List
	add := func(n int, key calc.Key, args ...any) {
		if n > 0 {
			list = append(list, m.c.Texts.Count(m.c.Units, key, n, args...))
		}
	}
	waiting := 0
	for _, p := range data.Posts {
		if p.State == "queued" || p.State == "sending" {
			waiting++
		}
	}
	add(waiting, "me.waiting")
	add(len(data.Posts)-waiting, "me.posts")
	add(len(data.Schedules), "me.schedules")
	add(len(data.Requests), "me.requests")
	add(len(data.Guesses), "me.guesses")
	add(len(data.Notes), "me.notes")
	m.section("me.head_rest", list)
}
