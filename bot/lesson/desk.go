package lesson

import (
	"context"
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
	Posts timetable.Outbox // nil where nothing is ever posted
	Now   func() time.Time
}

// Sentences about who asks and where.
const (
	keyNeedClass  calc.Key = "desk.need_class"  // no arguments
	keyNeedMember calc.Key = "desk.need_member" // the class's name
	keyWhichClass calc.Key = "desk.which_class" // the classes' names
)

// standing is who asks, and in which class.
func (d *Desk) standing(ctx context.Context, c *bot.Call) (class.Standing, error) {
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
		return s, &calc.Fault{Code: calc.Conflict, Key: keyNeedClass, Example: "help"}
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
