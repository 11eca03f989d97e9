package lesson

import (
	"context"
	"errors"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// Sentences of class, beside those of its answers.
const (
	keyNotHere    calc.Key = "class.not_here"    // no arguments: a class meets in a room
	keyNoPower    calc.Key = "class.no_power"    // no arguments: who may open one
	keyTaken      calc.Key = "class.taken"       // the name of the class that meets there
	keyNoName     calc.Key = "class.no_name"     // no arguments: nothing is left of the name
	keyNothingSet calc.Key = "class.nothing_set" // no arguments
)

func classCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "class",
		Subs: []*bot.Command{
			classOpen(d), classSet(d), classShow(d), classTeachers(d), classHelpers(d), classHandover(d),
			classCode(d), classHere(d), classLeave(d), classClose(d),
		},
	}
}

// sure is the argument that confirms what cannot be undone.
var sure = bot.Param{Name: "sure", Kind: bot.Choice, Choices: []string{"yes"}}

func classOpen(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "open", Changes: true,
		Params: []bot.Param{
			{Name: "name", Kind: bot.Words, Required: true, First: true, Max: "60"},
			{Name: "zone", Kind: bot.Words, Required: true, Max: "60"},
		},
		Examples: []string{`class open "Tarnholm lace" zone:Berlin`},
		Run:      d.openClass,
	}
}

// openClass makes the asker the teacher of a new class.
func (d *Desk) openClass(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	if err := mayRun(c); err != nil {
		return bot.Reply{}, err
	}
	if err := d.free(ctx, c.Request.In); err != nil {
		return bot.Reply{}, err
	}
	name := cleanLine(c.Args.Text("name"), maxName)
	if name == "" {
		return bot.Reply{}, &calc.Fault{Code: calc.BadValue, Key: keyNoName, Field: "name", Example: `name:"Tarnholm lace"`}
	}
	zone, err := timetable.Zone(c.Args.Text("zone"))
	if err != nil {
		return bot.Reply{}, of(err, "zone")
	}
	teacher, err := d.asker(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	k, err := d.Store.OpenClass(ctx, class.Class{
		Name: name, Zone: zone.String(), Reminders: timetable.FormatReminders(timetable.DefaultReminders()),
		Answers: "room", Direct: true, Opened: d.Now(),
	}, c.Request.In, teacher.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	here := timetable.Echo(d.Now(), zone, zone)
	data, err := d.classData(ctx, c, k)
	return bot.Reply{
		Title: c.Say("class.opened", k.Name),
		Body: []bot.Block{
			bot.Paragraph(c.Say("class.opened_zone", momentSaid(c, here.Class))),
			bot.Paragraph(c.Say("class.opened_teacher", nameOf(c, k, teacher))),
			bot.List{c.Say("class.opened_join"), c.Say("class.opened_session"), c.Say("class.opened_set")},
		},
		Audience: bot.Room, Data: data,
	}, err
}

// asker is the person who asks, made if there is none yet; who never said what
// to call her is called as her chat does.
func (d *Desk) asker(ctx context.Context, c *bot.Call) (class.Person, error) {
	p, err := d.herself(ctx, c)
	if err != nil || p.Name != "" {
		return p, err
	}
	if p.Name = chosenName(c.Request.Name); p.Name == "" {
		return p, nil
	}
	return p, d.Store.PutPerson(ctx, p)
}

// mayRun refuses someone whom the chat does not let run the room, and a place
// that is no room. In the console's only room the two go together.
func mayRun(c *bot.Call) error {
	switch r := c.Request; {
	case r.Direct && !r.Power:
		return &calc.Fault{Code: calc.Conflict, Key: keyNotHere}
	case !r.Power && r.Role < bot.Teacher:
		return &calc.Fault{Code: bot.NotAllowed, Key: keyNoPower}
	}
	return nil
}

// free refuses a place in which a class meets already.
func (d *Desk) free(ctx context.Context, p bot.Place) error {
	k, err := d.Store.ClassIn(ctx, p)
	switch {
	case errors.Is(err, class.ErrNone):
		return nil
	case err == nil:
		return &calc.Fault{Code: calc.Conflict, Key: keyTaken, Args: []any{k.Name}, Example: "class close"}
	}
	return err
}

// of tells which argument a mistake is in, and how to write it right.
func of(err error, field string) error {
	f, bad := asFault(err)
	if !bad {
		return err
	}
	f.Field = field
	if f.Example != "" {
		f.Example = bot.Written(field, f.Example)
	}
	return f
}

func classClose(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "close", Who: bot.Teacher, Changes: true,
		Params:   []bot.Param{sure},
		Examples: []string{"class close", "class close sure:yes"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			data, err := d.classData(ctx, c, s.Class)
			if err != nil {
				return bot.Reply{}, err
			}
			if !c.Args.Has("sure") {
				return bot.Reply{
					Title:   c.Say("class.close_ask", s.Class.Name),
					Body:    []bot.Block{bot.Paragraph(c.Say("class.close_what"))},
					Buttons: []bot.Button{{Label: c.Say("class.close_button"), Line: "class close sure:yes"}},
					Data:    data,
				}, nil
			}
			s.Class.Closed, data.Open = d.Now(), false
			return bot.Reply{
				Title: c.Say("class.closed", s.Class.Name),
				Body:  []bot.Block{bot.Paragraph(c.Say("class.closed_told"))},
				Data:  data,
			}, errors.Join(d.Store.PutClass(ctx, s.Class), d.announceClosed(ctx, s.Class.ID))
		},
	}
}
