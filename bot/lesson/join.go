package lesson

import (
	"context"
	"errors"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// Sentences of join and leave, beside those of their answers.
const (
	keyJoinRoom  calc.Key = "join.room"     // no arguments: a class is joined in its room
	keyJoinAlone calc.Key = "join.alone"    // the class that meets where nobody else can be
	keyJoinNone  calc.Key = "join.no_class" // no arguments: no class meets in the room
	keyJoinName  calc.Key = "join.name"     // no arguments: she must say what to call her
	keyLeaveLast calc.Key = "leave.last"    // the class's name
)

// joinData is the membership for scripts.
type joinData struct {
	Class   string    `json:"class"`
	Name    string    `json:"name"`
	Already bool      `json:"already"` // she was in the class before
	Next    *timeData `json:"next"`    // when the next session starts
}

func joinCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "join", Changes: true,
		Params:   []bot.Param{{Name: "name", Kind: bot.Words, First: true, Max: "60"}},
		Examples: []string{"join", "join name:Maren"},
		Run:      d.join,
	}
}

// join makes the asker a student of the class that meets in the room.
func (d *Desk) join(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	if c.Request.Direct {
		k, err := d.Store.ClassIn(ctx, c.Request.In)
		if err == nil { // the chat is one room, and she the only one in it
			return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyJoinAlone, Args: []any{k.Name}, Example: "class code"}
		}
		if !isNone(err) {
			return bot.Reply{}, err
		}
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyJoinRoom, Example: "join"}
	}
	s, err := d.standing(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	if s.Class.ID == "" {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyJoinNone, Example: `class open "Tarnholm lace" zone:Berlin`}
	}
	if s.Person, err = d.joining(ctx, c, s.Class); err != nil {
		return bot.Reply{}, err
	}
	already := s.Member.Person != ""
	if !already {
		s.Member = class.Member{Person: s.Person.ID, Class: s.Class.ID, Role: bot.Student, Joined: d.Now()}
		if err := errors.Join(d.Store.PutMember(ctx, s.Member), d.replanMember(ctx, s.Class.ID, s.Person.ID)); err != nil {
			return bot.Reply{}, err
		}
	}
	return d.joined(ctx, c, s, already)
}

// joining is the asker under the name by which the class will know her: the one
// that she says now, or said before, or that the chat has for her. A chat's name
// is often a full one, of which a class of minors takes the first word.
func (d *Desk) joining(ctx context.Context, c *bot.Call, k class.Class) (class.Person, error) {
	p, err := d.herself(ctx, c)
	if err != nil {
		return p, err
	}
	before := p.Name
	switch {
	case c.Args.Has("name"):
		if p.Name, err = namedNow(c); err != nil {
			return p, err
		}
	case p.Name == "":
		p.Name = chosenName(c.Request.Name)
		if k.Minors {
			p.Name, _, _ = strings.Cut(p.Name, " ")
		}
	}
	if p.Name == "" {
		return p, missing(keyJoinName, "name", "join name:Maren")
	}
	if p.Name == before {
		return p, nil
	}
	return p, d.Store.PutPerson(ctx, p)
}

// joined welcomes her and says what comes next.
func (d *Desk) joined(ctx context.Context, c *bot.Call, s class.Standing, already bool) (bot.Reply, error) {
	name := nameOf(c, s.Class, s.Person)
	data := joinData{Class: s.Class.Name, Name: name, Already: already}
	reply := bot.Reply{Title: c.Say("join.title", s.Class.Name)}
	if already {
		reply.Title = c.Say("join.already", s.Class.Name)
	}
	add := func(key calc.Key, args ...any) { reply.Body = append(reply.Body, bot.Paragraph(c.Say(key, args...))) }
	add("join.called", name)
	if s.Class.Minors {
		add("join.minors")
		if chosen := cleanLine(s.Person.Name, maxName); chosen != name {
			add("join.first_word", chosen, name)
		}
	}
	next, some, err := d.upcoming(ctx, s.Class.ID)
	if err != nil {
		return reply, err
	}
	if !some {
		add("join.no_session")
	} else {
		start := echoOf(next, s.Zone())
		at := timeDataOf(start)
		data.Next = &at
		add("join.next", next.Number, whenSaidToHer(c, start))
	}
	if s.Person.Zone == "" {
		add("join.zone", zoneWords(s.Class.Zone))
	}
	if s.Class.Direct {
		add("join.reminders")
	} else {
		add("join.reminders_room")
	}
	if !s.Class.Minors {
		add(placeAtJoin[s.Person.Hidden])
	}
	loom, err := d.Store.Loom(ctx, c.Request.From)
	if err != nil {
		return reply, err
	}
	if nextQuestion(loom) != "" {
		add("join.loom")
		reply.Buttons = append(reply.Buttons, bot.Button{Label: c.Say("join.loom_button"), Line: "loom"})
	}
	reply.Buttons = append(reply.Buttons,
		bot.Button{Label: c.Say("join.when_button"), Line: "when"},
		bot.Button{Label: c.Say("join.settings_button"), Line: "settings"})
	reply.Data = data
	return reply, nil
}

func leaveCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "leave", Changes: true,
		Params:   []bot.Param{{Name: "class", Kind: bot.Words, First: true, Max: "60"}, sure},
		Examples: []string{"leave", `leave class:"Tarnholm lace" sure:yes`},
		Run:      d.leave,
	}
}

// leaveData says which class was left, for scripts.
type leaveData struct {
	Class string `json:"class"`
	Left  bool   `json:"left"` // false while she is asked whether she is sure
}

// notLast is another with a sentence of its own, which is told the class's name.
func (d *Desk) notLast(ctx context.Context, m class.Member, key calc.Key, name string) error {
	err := d.another(ctx, m)
	if f, last := asFault(err); last {
		f.Key, f.Args = key, []any{name}
		return f
	}
	return err
}

// leave ends a membership, once she has read what that means. Reminders that
// wait find nobody when their time comes.
func (d *Desk) leave(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.asMemberOf(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	if s.Limited {
		return bot.Reply{}, &calc.Fault{Code: bot.NotAllowed, Key: keyLimited, Args: []any{s.Class.Name}, Example: "link undo"}
	}
	if err := d.notLast(ctx, s.Member, keyLeaveLast, s.Class.Name); err != nil {
		return bot.Reply{}, err
	}
	what := []bot.Block{bot.Paragraph(c.Say("leave.what"))}
	if s.Member.Role > bot.Student {
		what = append(what, bot.Paragraph(c.Say("leave.role")))
	}
	if !c.Args.Has("sure") {
		which, err := d.whichClass(ctx, c, s)
		return bot.Reply{
			Title: c.Say("leave.ask", s.Class.Name), Body: what,
			Buttons: []bot.Button{{Label: c.Say("leave.button"), Line: "leave" + which + " sure:yes"}},
			Data:    leaveData{Class: s.Class.Name},
		}, err
	}
	if err := errors.Join(d.Store.RemoveMember(ctx, s.Class.ID, s.Person.ID), d.forgetLimits(ctx, s.Member)); err != nil {
		return bot.Reply{}, err
	}
	if s.Person.Current == s.Class.ID {
		s.Person.Current = ""
		if err := d.Store.PutPerson(ctx, s.Person); err != nil {
			return bot.Reply{}, err
		}
	}
	return bot.Reply{Title: c.Say("leave.title", s.Class.Name), Body: what, Data: leaveData{Class: s.Class.Name, Left: true}}, nil
}
