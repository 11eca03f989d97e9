package lesson

import (
	"context"
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
)

type rosterData struct {
	Class      string       `json:"class"`
	Members    []rosterLine `json:"members"`
	Ready      int          `json:"ready"`
	NotReady   []string     `json:"not_ready"`
	Unanswered []string     `json:"unanswered"` // have not said whether they come to the next session
}

type rosterLine struct {
	Name   string  `json:"name"`
	Role   string  `json:"role"`
	Kind   string  `json:"kind"`    // of loom, "" when she has not said
	Ends   int     `json:"ends"`    // 0 when neither counted nor to be worked out
	WidthM float64 `json:"width_m"` // of the warp, 0 when not known
	EPI    float64 `json:"epi"`
	Ready  bool    `json:"ready"`
	Answer string  `json:"answer"` // to the next session: coming, away or ""
}

func rosterCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "roster", Who: bot.Helper, Private: true,
		Examples: []string{"roster"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			g, err := d.group(ctx, c, s.Class)
			if err != nil {
				return bot.Reply{}, err
			}
			next, answers, err := d.nextAnswers(ctx, s.Class.ID)
			if err != nil {
				return bot.Reply{}, err
			}
			return rosterReply(c, s.Class, g, next, answers), nil
		},
	}
}

// fellow is one member with what the teacher may know of her.
type fellow struct {
	member class.Member
	person class.Person
	name   string
	loom   class.Loom
}

// warp is her warp as far as her loom tells; ok is false where it does not.
func (f fellow) warp() (w theWarp, ok bool) {
	if f.loom.Ends == 0 && f.loom.Width == 0 {
		return w, false
	}
	w, err := measured(f.loom)
	return w, err == nil
}

// group is everyone in a class, with looms.
func (d *Desk) group(ctx context.Context, c *bot.Call, k class.Class) ([]fellow, error) {
	members, err := d.Store.Members(ctx, k.ID)
	if err != nil {
		return nil, err
	}
	persons, err := d.Store.PersonsOf(ctx, k.ID)
	if err != nil {
		return nil, err
	}
	looms, err := d.Store.LoomsOf(ctx, k.ID)
	if err != nil {
		return nil, err
	}
	var all []fellow
	for _, m := range members {
		p := persons[m.Person]
		all = append(all, fellow{m, p, nameOf(c, k, p), looms[m.Person]})
	}
	return all, nil
}

// nextAnswers are the answers to the next session, which is zero when there is none.
func (d *Desk) nextAnswers(ctx context.Context, id class.ID) (next class.Session, answers map[class.ID]class.Attendance, err error) {
	sessions, err := d.Store.SessionsOf(ctx, id, d.Now())
	if err != nil {
		return next, nil, err
	}
	i := slices.IndexFunc(sessions, func(s class.Session) bool { return !s.Cancelled })
	if i < 0 {
		return next, nil, nil
	}
	answers, err = d.answersTo(ctx, sessions[i].ID)
	return sessions[i], answers, err
}

// answersTo are the answers to a session by person.
func (d *Desk) answersTo(ctx context.Context, id class.ID) (map[class.ID]class.Attendance, error) {
	list, err := d.Store.AttendanceOf(ctx, id)
	by := map[class.ID]class.Attendance{}
	for _, a := range list {
		by[a.Person] = a
	}
	return by, err
}

func rosterReply(c *bot.Call, k class.Class, g []fellow, next class.Session, answers map[class.ID]class.Attendance) bot.Reply {
	data := rosterData{Class: k.Name, Members: []rosterLine{}, NotReady: []string{}, Unanswered: []string{}}
	t := bot.Table{Head: []string{c.Say("roster.name"), c.Say("roster.loom"), c.Say("roster.warp"), c.Say("roster.ready"), c.Say("roster.next")}}
	for _, f := range g {
		l := rosterLine{
			Name: f.name, Role: roleNames[f.member.Role], Kind: string(f.loom.Kind),
			Ready: !f.member.Ready.IsZero(), Answer: answers[f.member.Person].Answer,
		}
		if w, ok := f.warp(); ok {
			l.Ends, l.WidthM, l.EPI = w.ends, float64(w.width), w.sett.In(measure.PerInch)
		}
		data.Members = append(data.Members, l)
		student := f.member.Role == bot.Student
		switch {
		case l.Ready:
			data.Ready++
		case student:
			data.NotReady = append(data.NotReady, f.name)
		}
		if student && next.ID != "" && l.Answer == "" {
			data.Unanswered = append(data.Unanswered, f.name)
		}
		t.Rows = append(t.Rows, []string{f.name, loomSaid(c, f.loom), herWarpSaid(c, l), yesNo(c, l.Ready), answerSaid(c, l.Answer)})
	}
	r := bot.Reply{Title: c.Texts.Count(c.Units, "roster.title", len(g), k.Name), Body: []bot.Block{t}, Data: data}
	if len(data.NotReady) > 0 {
		r.Body = append(r.Body, bot.Paragraph(c.Say("roster.not_ready", data.NotReady)))
	}
	if len(data.Unanswered) > 0 {
		r.Body = append(r.Body, bot.Paragraph(c.Say("roster.unanswered", next.Number, data.Unanswered)))
	}
	return r
}

var roleNames = map[bot.Role]string{bot.Student: "student", bot.Helper: "helper", bot.Teacher: "teacher"}

func loomSaid(c *bot.Call, l class.Loom) string {
	if l.Kind == "" {
		return c.Say("roster.no_loom")
	}
	return c.Say(calc.Key("loom.kind." + strings.ReplaceAll(string(l.Kind), " ", "_")))
}

func herWarpSaid(c *bot.Call, l rosterLine) string {
	switch {
	case l.Ends == 0:
		return c.Say("roster.no_loom")
	case l.WidthM == 0:
		return c.Say("roster.ends", l.Ends)
	}
	return c.Say("roster.ends_width", l.Ends, measure.Length(l.WidthM))
}

func yesNo(c *bot.Call, yes bool) string {
	if yes {
		return c.Say("roster.yes")
	}
	return c.Say("roster.no")
}

func answerSaid(c *bot.Call, answer string) string {
	if answer == "" {
		return c.Say("roster.not_said")
	}
	return c.Say(calc.Key("roster." + answer))
}

// finishedWidth is the finished width that a warp of so many ends gives, the
// other way round from warp.Plan.
func finishedWidth(ends int, sett measure.Sett, shrink, drawin measure.Ratio) measure.Length {
	return warp.Width(ends, sett) * measure.Length((1-shrink)*(1-drawin))
}
