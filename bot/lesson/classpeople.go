package lesson

import (
	"context"
	"errors"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// Sentences about who teaches.
const (
	keyLastTeacher  calc.Key = "class.last_teacher"  // no arguments
	keyTeacherStays calc.Key = "class.teacher_stays" // the name: a teacher is no helper
	keyYourself     calc.Key = "class.yourself"      // no arguments: a class cannot be handed to oneself
)

func classTeachers(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "teachers", Who: bot.Teacher, Changes: true,
		Params:   addRemove,
		Examples: []string{"class teachers", "class teachers add:Teodor", "class teachers remove:Teodor"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			return d.changeRoles(ctx, c, bot.Teacher)
		},
	}
}

func classHelpers(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "helpers", Who: bot.Teacher, Changes: true,
		Params:   addRemove,
		Examples: []string{"class helpers", "class helpers add:Yori", "class helpers remove:Yori"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			return d.changeRoles(ctx, c, bot.Helper)
		},
	}
}

var addRemove = []bot.Param{
	{Name: "add", Kind: bot.Words, Max: "80"},
	{Name: "remove", Kind: bot.Words, Max: "80"},
}

// changeRoles gives or takes a role, and lists who has one. What it changes is
// said to the whole room: whom to ask is everybody's business.
func (d *Desk) changeRoles(ctx context.Context, c *bot.Call, role bot.Role) (bot.Reply, error) {
	s, err := d.inClass(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	var done bot.List
	for _, step := range []struct {
		arg string
		do  func(context.Context, *bot.Call, class.Class, bot.Role) (string, error)
	}{{"add", d.addRole}, {"remove", d.removeRole}} {
		if !c.Args.Has(step.arg) {
			continue
		}
		said, err := step.do(ctx, c, s.Class, role)
		if err != nil {
			return bot.Reply{}, err
		}
		done = append(done, said)
	}
	data, err := d.classData(ctx, c, s.Class)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: c.Say("class.people", s.Class.Name), Data: data}
	if len(done) > 0 {
		reply.Body, reply.Audience = append(reply.Body, done), bot.Room
	}
	reply.Body = append(reply.Body, peopleSaid(c, data))
	return reply, nil
}

func (d *Desk) addRole(ctx context.Context, c *bot.Call, k class.Class, role bot.Role) (string, error) {
	m, p, err := d.memberNamed(ctx, c, k, "add", c.Args.Text("add"))
	if err != nil {
		return "", err
	}
	name := nameOf(c, k, p)
	switch {
	case m.Role == role:
		lifted, err := d.lift(ctx, c, m)
		if lifted {
			return c.Say("class.role_everywhere", name, roleKeys[role]), err
		}
		return c.Say("class.role_same", name, roleKeys[role]), err
	case m.Role == bot.Teacher:
		return "", &calc.Fault{Code: calc.Conflict, Key: keyTeacherStays, Args: []any{name}, Example: "class teachers " + bot.Written("remove", name)}
	}
	m.Role = role
	return c.Say("class.role_now", name, roleKeys[role]), errors.Join(d.Store.PutMember(ctx, m), d.forgetLimits(ctx, m))
}

func (d *Desk) removeRole(ctx context.Context, c *bot.Call, k class.Class, role bot.Role) (string, error) {
	m, p, err := d.memberNamed(ctx, c, k, "remove", c.Args.Text("remove"))
	if err != nil {
		return "", err
	}
	name := nameOf(c, k, p)
	if m.Role != role {
		return c.Say("class.role_never", name, roleKeys[role]), nil
	}
	if role == bot.Teacher {
		if err := d.another(ctx, m); err != nil {
			return "", err
		}
	}
	m.Role = bot.Student
	return c.Say("class.role_over", name, roleKeys[role]), d.Store.PutMember(ctx, m)
}

var roleKeys = map[bot.Role]calc.Key{bot.Teacher: "class.a_teacher", bot.Helper: "class.a_helper"}

// another refuses to let a class's last teacher go, in whatever way she would.
func (d *Desk) another(ctx context.Context, m class.Member) error {
	if m.Role != bot.Teacher {
		return nil
	}
	members, err := d.Store.Members(ctx, m.Class)
	if err != nil {
		return err
	}
	for _, other := range members {
		if other.Role == bot.Teacher && other.Person != m.Person {
			return nil
		}
	}
	return &calc.Fault{Code: calc.Conflict, Key: keyLastTeacher, Example: "class handover Teodor"}
}

func classHandover(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "handover", Who: bot.Teacher, Changes: true,
		Params: []bot.Param{
			{Name: "member", Kind: bot.Words, Required: true, First: true, Max: "80"},
			sure,
		},
		Examples: []string{"class handover Teodor", "class handover Teodor sure:yes"},
		Run:      d.handOver,
	}
}

// handOver makes a member the teacher in the asker's place, who becomes a helper.
func (d *Desk) handOver(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.inClass(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	m, p, err := d.memberNamed(ctx, c, s.Class, "member", c.Args.Text("member"))
	if err != nil {
		return bot.Reply{}, err
	}
	if m.Person == s.Person.ID {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyYourself, Field: "member", Example: "class handover Teodor"}
	}
	name := nameOf(c, s.Class, p)
	reply := bot.Reply{Title: c.Say("class.handover_ask", s.Class.Name, name), Body: []bot.Block{bot.Paragraph(c.Say("class.handover_what", name))}}
	if c.Args.Has("sure") {
		m.Role = bot.Teacher
		if err := errors.Join(d.Store.PutMember(ctx, m), d.forgetLimits(ctx, m)); err != nil {
			return bot.Reply{}, err
		}
		if s.Member.Role == bot.Teacher {
			s.Member.Role = bot.Helper
			if err := d.Store.PutMember(ctx, s.Member); err != nil {
				return bot.Reply{}, err
			}
		}
		reply = bot.Reply{Title: c.Say("class.handover_done", name, s.Class.Name), Audience: bot.Room}
	} else {
		reply.Buttons = []bot.Button{{Label: c.Say("class.handover_button"), Line: "class handover " + bot.Written("member", cleanLine(c.Args.Text("member"), 80)) + " sure:yes"}}
	}
	data, err := d.classData(ctx, c, s.Class)
	if err != nil {
		return bot.Reply{}, err
	}
	reply.Body = append(reply.Body, peopleSaid(c, data))
	reply.Data = data
	return reply, nil
}
