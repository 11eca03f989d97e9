package lesson

import (
	"context"
	"io"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// Desk is what the commands work with: what is kept, the posts that fall due,
// and the clock. The commands of someone who asks for a plan need only looms;
// see class.Bare.
type Desk struct {
	Store class.Store
	Posts timetable.Outbox   // nil where nothing is ever posted
	Plan  *timetable.Planner // of Store into Posts; nil with it
	Now   func() time.Time
	Texts bot.Texts // of what the clock posts; nil is English

	Random io.Reader // what codes are drawn from; nil is crypto/rand
}

// replan plans the reminders of a class anew. Call it in the transaction in
// which its settings, places or sessions changed.
func (d *Desk) replan(ctx context.Context, id class.ID) error {
	if d.Plan == nil {
		return nil
	}
	return d.Plan.Class(ctx, id)
}

// replanMember plans the reminders of one member of a class anew. Call it in the
// transaction in which she joined, or in which her zone, her quiet hours or her
// accounts changed.
func (d *Desk) replanMember(ctx context.Context, id, person class.ID) error {
	if d.Plan == nil {
		return nil
	}
	return d.Plan.Member(ctx, id, person)
}

// post adds posts, where anything is ever posted.
func (d *Desk) post(ctx context.Context, posts ...timetable.Post) error {
	if d.Posts == nil {
		return nil
	}
	_, err := d.Posts.Add(ctx, d.Now(), posts...)
	return err
}

// Sentences about who asks and where.
const (
	keyNeedClass  calc.Key = "desk.need_class"  // no arguments
	keyNeedMember calc.Key = "desk.need_member" // the class's name
	keyWhichClass calc.Key = "desk.which_class" // the classes' names
)

// standing is who asks, and in which class.
func (d *Desk) standing(ctx context.Context, c *bot.Call) (class.Standing, error) {
	if s, known := c.Known.(class.Standing); known {
		return s, nil
	}
	return class.StandingOf(ctx, d.Store, c.Request)
}

// inClass is standing where a class must be meant.
func (d *Desk) inClass(ctx context.Context, c *bot.Call) (class.Standing, error) {
	s, err := d.standing(ctx, c)
	switch {
	case err != nil:
		return s, err
	case len(s.Several) > 0:
		var names []string
		for _, k := range s.Several {
			names = append(names, k.Name)
		}
		return s, &calc.Fault{Code: bot.MissingArgument, Key: keyWhichClass, Field: "class", Args: []any{names}, Example: `settings class:"` + names[0] + `"`}
	case s.Class.ID == "":
		return s, &calc.Fault{Code: calc.Conflict, Key: keyNeedClass, Example: "join"}
	}
	return s, nil
}

// asMember is inClass where the asker must be one of its members.
func (d *Desk) asMember(ctx context.Context, c *bot.Call) (class.Standing, error) {
	s, err := d.inClass(ctx, c)
	if err == nil && s.Member.Person == "" {
		return s, &calc.Fault{Code: bot.NotAllowed, Key: keyNeedMember, Args: []any{s.Class.Name}, Example: "join"}
	}
	return s, err
}
