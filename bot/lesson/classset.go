package lesson

import (
	"context"
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/yarn"
)

// Sentences about settings that do not go together.
const (
	keyDirectAlways calc.Key = "class.direct_always" // no arguments
	keyAnswersRoom  calc.Key = "class.answers_room"  // no arguments
)

// classData is a class for scripts; what has not been said is null.
type classData struct {
	Name      string   `json:"name"`
	Open      bool     `json:"open"`
	Zone      string   `json:"zone"`
	Units     *string  `json:"units"`
	Credit    *string  `json:"credit"`
	Technique *string  `json:"technique"`
	Yarn      *string  `json:"yarn"`
	Reminders []string `json:"reminders"`
	Answers   string   `json:"answers"`
	Minors    bool     `json:"minors"`
	Direct    bool     `json:"direct"`
	Teachers  []string `json:"teachers"`
	Helpers   []string `json:"helpers"`
	Students  int      `json:"students"`
	Places    int      `json:"places"`
}

func (d *Desk) classData(ctx context.Context, c *bot.Call, k class.Class) (classData, error) {
	data := classData{
		Name: k.Name, Open: k.Closed.IsZero(), Zone: k.Zone, Units: said(unitNames[k.Units]), Credit: said(k.Credit), Technique: said(k.Technique),
		Yarn: said(k.Yarn), Reminders: []string{}, Answers: answersOf(k), Minors: k.Minors, Direct: k.Direct, Teachers: []string{}, Helpers: []string{},
	}
	for _, r := range remindersOf(k) {
		data.Reminders = append(data.Reminders, r.String())
	}
	members, err := d.Store.Members(ctx, k.ID)
	if err != nil {
		return data, err
	}
	persons, err := d.Store.PersonsOf(ctx, k.ID)
	if err != nil {
		return data, err
	}
	for _, m := range members {
		switch name := nameOf(c, k, persons[m.Person]); m.Role {
		case bot.Teacher:
			data.Teachers = append(data.Teachers, name)
		case bot.Helper:
			data.Helpers = append(data.Helpers, name)
		default:
			data.Students++
		}
	}
	places, err := d.Store.Places(ctx, k.ID)
	data.Places = len(places)
	return data, err
}

// answersOf is where personal answers go unless a member says otherwise.
func answersOf(k class.Class) string {
	if k.Answers == "direct" {
		return "direct"
	}
	return "room"
}

// remindersOf are those that a class sends.
func remindersOf(k class.Class) []timetable.Reminder {
	rs, err := timetable.ParseReminders(k.Reminders)
	if err != nil { // of a class that was never told
		return timetable.DefaultReminders()
	}
	return rs
}

func classShow(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "show", Who: bot.Helper,
		Examples: []string{"class show"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			data, err := d.classData(ctx, c, s.Class)
			if err != nil {
				return bot.Reply{}, err
			}
			places, err := d.Store.Places(ctx, s.Class.ID)
			if err != nil {
				return bot.Reply{}, err
			}
			list := bot.List{}
			for _, line := range settingsSaid(c, s.Class) {
				list = append(list, c.Say("class.setting", line.name, line.value))
			}
			list = append(list, peopleSaid(c, data)...)
			for i, p := range places {
				list = append(list, c.Say("class.place", i+1, p.Chat, cleanLine(p.Room, 80)))
			}
			return bot.Reply{
				Title: s.Class.Name,
				Body:  []bot.Block{list, bot.Paragraph(c.Say("class.show_more"))},
				Data:  data,
			}, nil
		},
	}
}

// setting is one setting in words.
type setting struct {
	name  string // the argument of class set, which is what people must write to change it
	value string
}

func settingsSaid(c *bot.Call, k class.Class) []setting {
	or := func(value string) string {
		if value == "" {
			return c.Say("class.unset")
		}
		return value
	}
	units := c.Say("class.units_own")
	if k.Units != measure.Unset {
		units = unitNames[k.Units]
	}
	return []setting{
		{"name", k.Name}, {"zone", k.Zone}, {"units", units}, {"credit", or(k.Credit)}, {"technique", or(k.Technique)},
		{"yarn", or(k.Yarn)}, {"reminders", remindersSaid(c, remindersOf(k))}, {"answers", c.Say(answerKeys[answersOf(k)])},
		{"minors", c.Say(yesKeys[k.Minors])}, {"direct", c.Say(yesKeys[k.Direct])},
	}
}

var (
	answerKeys = map[string]calc.Key{"room": "class.answers.room", "direct": "class.answers.direct"}
	yesKeys    = map[bool]calc.Key{true: "class.yes", false: "class.no"}
)

// remindersSaid is "a week before, a day before, at the start".
func remindersSaid(c *bot.Call, rs []timetable.Reminder) string {
	var out []string
	for _, r := range rs {
		out = append(out, reminderSaid(c, r))
	}
	if len(out) == 0 {
		return c.Say("reminder.none")
	}
	return strings.Join(out, ", ")
}

func reminderSaid(c *bot.Call, r timetable.Reminder) string {
	minutes := int(r.Before.Minutes())
	switch {
	case r.After:
		return c.Say("reminder.after")
	case r.Days > 0 && r.Days%7 == 0:
		return c.Texts.Count(c.Units, "reminder.weeks", r.Days/7)
	case r.Days > 0:
		return c.Texts.Count(c.Units, "reminder.days", r.Days)
	case minutes > 0 && minutes%60 == 0:
		return c.Texts.Count(c.Units, "reminder.hours", minutes/60)
	case minutes > 0:
		return c.Texts.Count(c.Units, "reminder.minutes", minutes)
	}
	return c.Say("reminder.start")
}

func peopleSaid(c *bot.Call, data classData) bot.List {
	list := bot.List{c.Say("class.teachers", data.Teachers)}
	if len(data.Helpers) > 0 {
		list = append(list, c.Say("class.helpers", data.Helpers))
	}
	return append(list, c.Texts.Count(c.Units, "class.students", data.Students))
}

func classSet(d *Desk) *bot.Command {
	yesNo := []string{"yes", "no"}
	return &bot.Command{
		Name: "set", Who: bot.Teacher, Changes: true,
		Params: []bot.Param{
			{Name: "name", Kind: bot.Words, Max: "60"},
			{Name: "zone", Kind: bot.Words, Max: "60"},
			{
				Name: "units", Kind: bot.Choice, Choices: []string{unitNames[measure.Imperial], unitNames[measure.Metric], "own"},
				Units: []measure.Units{measure.Imperial, measure.Metric, measure.Unset},
			},
			{Name: "credit", Kind: bot.Words, Max: "300"},
			{Name: "technique", Kind: bot.Words, Max: "60"},
			{Name: "yarn", Kind: bot.Words, Max: "60"},
			{Name: "reminders", Kind: bot.Words, Max: "120"},
			{Name: "answers", Kind: bot.Choice, Choices: []string{"room", "direct"}},
			{Name: "minors", Kind: bot.Choice, Choices: yesNo},
			{Name: "direct", Kind: bot.Choice, Choices: yesNo},
		},
		Examples: []string{
			`class set yarn:"8/2 cotton" credit:"Funded by the village of Tarnholm"`,
			`class set reminders:"1w 1d 1h start after" units:inches answers:direct`,
			"class set minors:yes direct:no",
		},
		Run: d.setClass,
	}
}

// setClass changes settings and shows each that changed, before and now.
func (d *Desk) setClass(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.inClass(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	before, k := s.Class, s.Class
	if err := laidOverClass(c, &k); err != nil {
		return bot.Reply{}, err
	}
	changed := bot.Table{Head: []string{c.Say("class.head.setting"), c.Say("class.head.before"), c.Say("class.head.now")}}
	old := settingsSaid(c, before)
	for i, now := range settingsSaid(c, k) {
		if now.value != old[i].value {
			changed.Rows = append(changed.Rows, []string{now.name, old[i].value, now.value})
		}
	}
	if k != before {
		if err := d.keepClass(ctx, before, k); err != nil {
			return bot.Reply{}, err
		}
	}
	data, err := d.classData(ctx, c, k)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: c.Say("class.set", k.Name), Data: data}
	if len(changed.Rows) == 0 {
		reply.Body = []bot.Block{bot.Paragraph(c.Say("class.same"))}
		return reply, nil
	}
	reply.Body = []bot.Block{changed}
	if notes := notesOn(c, before, k); len(notes) > 0 {
		reply.Body = append(reply.Body, notes)
	}
	return reply, nil
}

// laidOverClass lays the arguments over a class.
func laidOverClass(c *bot.Call, k *class.Class) error {
	a := c.Args
	given := slices.ContainsFunc([]string{"name", "zone", "units", "credit", "technique", "yarn", "reminders", "answers", "minors", "direct"}, a.Has)
	if !given {
		return missing(keyNothingSet, "yarn", `class set yarn:"8/2 cotton"`)
	}
	if a.Has("name") {
		if k.Name = cleanLine(a.Text("name"), maxName); k.Name == "" {
			return &calc.Fault{Code: calc.BadValue, Key: keyNoName, Field: "name", Example: `name:"Tarnholm lace"`}
		}
	}
	if a.Has("zone") {
		loc, err := timetable.Zone(a.Text("zone"))
		if err != nil {
			return of(err, "zone")
		}
		k.Zone = loc.String()
	}
	switch a.Text("units") {
	case unitNames[measure.Imperial]:
		k.Units = measure.Imperial
	case unitNames[measure.Metric]:
		k.Units = measure.Metric
	case "own":
		k.Units = measure.Unset
	}
	for name, field := range map[string]*string{"credit": &k.Credit, "technique": &k.Technique, "yarn": &k.Yarn} {
		if a.Has(name) {
			*field = orNothing(cleanLine(a.Text(name), 300))
		}
	}
	if err := knownYarn(k.Yarn); a.Has("yarn") && err != nil {
		return err
	}
	if a.Has("reminders") {
		rs, err := timetable.ParseReminders(a.Text("reminders"))
		if err != nil {
			return of(err, "reminders")
		}
		k.Reminders = timetable.FormatReminders(rs)
	}
	if a.Has("answers") {
		k.Answers = a.Text("answers")
	}
	return direct(a, k)
}

// orNothing reads "none".
func orNothing(text string) string {
	if strings.EqualFold(text, "none") {
		return ""
	}
	return text
}

// knownYarn refuses a yarn whose number cannot be read: the kit needs it.
func knownYarn(text string) error {
	if text == "" {
		return nil
	}
	y, err := measure.ParseYarn(text)
	if err == nil {
		_, err = yarn.Tex(y)
	}
	if f, bad := asFault(err); bad {
		return &calc.Fault{Code: f.Code, Key: bot.KeyUnreadable, Field: "yarn", Args: []any{"yarn", f}, Example: `yarn:"8/2 cotton"`}
	}
	return err
}

// direct reads whether members are minors and may be written to alone. Minors
// are not, unless the teacher says so; everyone else always may be, for she can
// set quiet hours or refuse in her chat.
func direct(a bot.Args, k *class.Class) error {
	if a.Has("minors") {
		k.Minors = a.Text("minors") == "yes"
		k.Direct = !k.Minors
	}
	if a.Has("direct") {
		k.Direct = a.Text("direct") == "yes"
	}
	switch {
	case !k.Minors && !k.Direct:
		return &calc.Fault{Code: calc.Conflict, Key: keyDirectAlways, Field: "direct", Example: "class set minors:yes direct:no"}
	case !k.Direct && a.Text("answers") == "direct":
		return &calc.Fault{Code: calc.Conflict, Key: keyAnswersRoom, Field: "answers", Example: "class set direct:yes answers:direct"}
	case !k.Direct:
		k.Answers = "room"
	}
	return nil
}

// keepClass keeps new settings, and all that follows from them. Sessions keep
// their instants when the zone changes.
func (d *Desk) keepClass(ctx context.Context, before, k class.Class) error {
	if err := d.Store.PutClass(ctx, k); err != nil {
		return err
	}
	if k.Zone != before.Zone {
		sessions, err := d.Store.SessionsOf(ctx, k.ID, d.Now())
		if err != nil {
			return err
		}
		for _, s := range sessions {
			s.Wall, s.Zone = timetable.WallOf(s.Start, locationOf(k.Zone)).String(), k.Zone
			if err := d.Store.PutSession(ctx, s); err != nil {
				return err
			}
		}
	}
	return d.replan(ctx, k.ID)
}

// notesOn say what a change of settings brings with it.
func notesOn(c *bot.Call, before, k class.Class) bot.List {
	var notes bot.List
	if k.Zone != before.Zone {
		notes = append(notes, c.Say("class.zone_note"))
	}
	if k.Minors && !before.Minors {
		notes = append(notes, c.Say("class.minors_note"), c.Say("class.guardians"))
	}
	if k.Minors && k.Direct != before.Direct {
		notes = append(notes, c.Say(map[bool]calc.Key{true: "class.direct_note", false: "class.no_direct_note"}[k.Direct]))
	}
	if k.Units != before.Units && k.Units != measure.Unset {
		notes = append(notes, c.Say("class.units_note"))
	}
	return notes
}
