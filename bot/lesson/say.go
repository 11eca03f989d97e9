package lesson

import (
	"context"
	"strconv"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

type sayData struct {
	Text      string     `json:"text"`
	Spec      string     `json:"spec"` // "" for a post of now
	Next      *timeData  `json:"next"` // of a schedule; null for a post of now
	Sent      bool       `json:"sent"` // false while it is only shown
	Schedules []saidLine `json:"schedules"`
}

type saidLine struct {
	Number int    `json:"number"`
	Spec   string `json:"spec"`
	Text   string `json:"text"`
}

func sayCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "say", Who: bot.Teacher, Changes: true,
		Params: []bot.Param{
			{Name: "text", Kind: bot.LongText, First: true, Max: "1500"},
			{Name: "every", Kind: bot.Words, Max: "60"},
			{Name: "stop", Kind: bot.Count, Min: "1", Max: "100000"},
			{Name: "sure", Kind: bot.Choice, Choices: []string{"yes"}},
		},
		Examples: []string{
			`say text:"Bring a comb and a narrow shuttle."`, `say every:"mon 9:00" text:"Questions for Tuesday? Write: question"`,
			"say", "say stop:2",
		},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			switch a := c.Args; {
			case a.Has("stop"):
				return d.stopSaying(ctx, c, s, a.Count("stop"))
			case a.Text("text") == "" && a.Has("every"):
				return bot.Reply{}, missing("say.need_text", "text", `say every:"mon 9:00" text:"Questions for Tuesday?"`)
			case a.Text("text") == "":
				return d.saidReply(ctx, c, s)
			case a.Has("every"):
				return d.sayEvery(ctx, c, s)
			}
			return d.sayNow(ctx, c, s)
		},
	}
}

// sayNow shows a post, and on confirmation posts it to every place of the class.
func (d *Desk) sayNow(ctx context.Context, c *bot.Call, s class.Standing) (bot.Reply, error) {
	text := c.Args.Text("text")
	r := bot.Reply{Data: sayData{Text: text, Sent: c.Args.Has("sure"), Schedules: []saidLine{}}}
	if !c.Args.Has("sure") {
		r.Title = c.Say("say.shown", s.Class.Name)
		r.Body = []bot.Block{bot.Paragraph(text), bot.Paragraph(c.Say("say.confirm"))}
		r.Buttons = []bot.Button{{Label: c.Say("say.send"), Line: "say sure:yes " + bot.Written("text", text)}}
		return r, nil
	}
	places, err := d.Store.Places(ctx, s.Class.ID)
	if err != nil {
		return r, err
	}
	now := d.Now()
	for _, p := range places {
		post := timetable.Said(s.Class.ID, c.Request.ID, text, now, p)
		if err := d.post(ctx, post); err != nil {
			return r, err
		}
	}
	r.Title = c.Texts.Count(c.Units, "say.sent", len(places))
	return r, nil
}

// sayEvery shows a schedule with the time of its first post, and on confirmation keeps it.
func (d *Desk) sayEvery(ctx context.Context, c *bot.Call, s class.Standing) (bot.Reply, error) {
	text, spec := c.Args.Text("text"), c.Args.Text("every")
	fires, err := timetable.ParseSchedule(spec)
	if f, bad := asFault(err); bad {
		f.Field, f.Example = "every", `every:"mon 9:00"`
		return bot.Reply{}, f
	}
	if err != nil {
		return bot.Reply{}, err
	}
	loc := locationOf(s.Class.Zone)
	next, ok := fires.Next(d.Now(), loc)
	if !ok {
		return bot.Reply{}, &calc.Fault{Code: calc.BadValue, Key: "say.never", Field: "every", Example: `every:"mon 9:00"`}
	}
	echo := timetable.Echo(next, loc, locationOf(s.Zone()))
	when := timeDataOf(echo)
	r := bot.Reply{Data: sayData{Text: text, Spec: spec, Next: &when, Sent: c.Args.Has("sure"), Schedules: []saidLine{}}}
	if !c.Args.Has("sure") {
		r.Title = c.Say("say.shown_every", s.Class.Name)
		r.Body = []bot.Block{bot.Paragraph(text), bot.Paragraph(c.Say("say.first", whenSaid(c, echo))), bot.Paragraph(c.Say("say.policy")), bot.Paragraph(c.Say("say.confirm"))}
		r.Buttons = []bot.Button{{Label: c.Say("say.keep"), Line: "say sure:yes " + bot.Written("every", spec) + " " + bot.Written("text", text)}}
		return r, nil
	}
	places, err := d.Store.Places(ctx, s.Class.ID)
	if err != nil {
		return r, err
	}
	for _, p := range places {
		kept, err := d.Store.AddSchedule(ctx, class.Schedule{
			Class: s.Class.ID, Spec: spec, Zone: s.Class.Zone, Text: text, To: p, By: s.Person.ID, Made: d.Now(),
		})
		if err != nil {
			return r, err
		}
		if d.Plan != nil {
			if err := d.Plan.Schedule(ctx, kept); err != nil {
				return r, err
			}
		}
	}
	r.Title = c.Say("say.kept")
	r.Body = []bot.Block{bot.Paragraph(c.Say("say.first", whenSaid(c, echo)))}
	return r, nil
}

// saidReply lists the schedules that run.
func (d *Desk) saidReply(ctx context.Context, c *bot.Call, s class.Standing) (bot.Reply, error) {
	list, err := d.Store.SchedulesOf(ctx, s.Class.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	data := sayData{Schedules: []saidLine{}}
	r := bot.Reply{Title: c.Texts.Count(c.Units, "say.list", len(list), s.Class.Name)}
	for _, k := range list {
		data.Schedules = append(data.Schedules, saidLine{k.Number, k.Spec, k.Text})
		r.Body = append(r.Body, bot.Heading(c.Say("say.line", k.Number, k.Spec)), bot.Paragraph(k.Text))
		if len(r.Buttons) < maxQuestionButtons {
			r.Buttons = append(r.Buttons, bot.Button{Label: c.Say("say.stop", k.Number), Line: "say stop:" + strconv.Itoa(k.Number)})
		}
	}
	if len(list) == 0 {
		r.Title = c.Say("say.list_none", s.Class.Name)
		r.Body = append(r.Body, bot.Paragraph(c.Say("say.how")))
	}
	r.Data = data
	return r, nil
}

// stopSaying ends a schedule; what is planned of it is cancelled when its time comes.
func (d *Desk) stopSaying(ctx context.Context, c *bot.Call, s class.Standing, number int) (bot.Reply, error) {
	list, err := d.Store.SchedulesOf(ctx, s.Class.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	for _, k := range list {
		if k.Number != number {
			continue
		}
		k.Ended = d.Now().Truncate(time.Millisecond)
		if err := d.Store.PutSchedule(ctx, k); err != nil {
			return bot.Reply{}, err
		}
		return bot.Reply{Title: c.Say("say.stopped", number), Data: sayData{Text: k.Text, Spec: k.Spec, Schedules: []saidLine{}}}, nil
	}
	return bot.Reply{}, &calc.Fault{Code: calc.OutOfRange, Key: "say.none_such", Field: "stop", Args: []any{number}, Example: "say"}
}
