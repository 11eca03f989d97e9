package class

import (
	"cmp"
	"context"
	"errors"

	"weftroom/bot"
	"weftroom/calc/measure"
)

// Standing is who someone is in the place where she asks.
type Standing struct {
	Person  Person  // zero ID when nothing is kept of her yet
	Class   Class   // zero ID when no class is meant
	Member  Member  // zero Person when she is in no class here
	Several []Class // in a direct message: the classes that she must choose from first
	Limited bool    // this account may do less in the class than her role says
	Loom    Loom    // hers, with nothing in it when she has told nothing
	limit   bot.Role
}

// Role is the asker's in the class that is meant.
func (s Standing) Role() bot.Role {
	switch {
	case s.Member.Person == "":
		return bot.Anyone
	case s.Limited:
		return s.limit
	}
	return s.Member.Role
}

// Joined is the class that is meant, "" when she is no member of it.
func (s Standing) Joined() ID {
	if s.Member.Person == "" {
		return ""
	}
	return s.Class.ID
}

// Zone is where she reads the clock: her own zone, or the class's until she
// has said, or UTC.
func (s Standing) Zone() string {
	switch {
	case s.Person.Zone != "":
		return s.Person.Zone
	case s.Class.Zone != "":
		return s.Class.Zone
	}
	return "UTC"
}

// Units are hers, or the class's until she has said.
func (s Standing) Units() measure.Units {
	if s.Person.Units != measure.Unset {
		return s.Person.Units
	}
	return s.Class.Units
}

// Direct tells whether what she asks in a room is answered by direct message: by
// her own wish or, until she has said, by that of the class that she is in. A
// class in which nobody may be written to alone goes before either.
func (s Standing) Direct() bool {
	wish := s.Person.Answers
	if wish == "" && s.Member.Person != "" {
		wish = s.Class.Answers
	}
	return wish == "direct" && (s.Class.ID == "" || s.Class.WritesDirect())
}

// StandingOf finds who asks and which class is meant: in a room the one that
// meets there, in a direct message the only one she is in, or the one that she
// chose. It makes nobody a person who is not one yet.
func StandingOf(ctx context.Context, st Store, r bot.Request) (Standing, error) {
	var s Standing
	var err error
	if s.Person, s.Loom, err = st.Weaver(ctx, r.From); err != nil && !errors.Is(err, ErrNone) {
		return s, err
	}
	if r.Direct {
		err = s.chosen(ctx, st)
	} else if s.Class, err = st.ClassIn(ctx, r.In); errors.Is(err, ErrNone) {
		return s, nil
	} else if err == nil {
		err = s.member(ctx, st)
	}
	if err != nil {
		return s, err
	}
	s.limit, err = RoleOf(ctx, st, r.From, s.Member)
	s.Limited = s.limit < s.Member.Role
	return s, err
}

// RoleOf is what an account may do as a member of a class: its person's role,
// or less. See Limit.
func RoleOf(ctx context.Context, st Links, a bot.Account, m Member) (bot.Role, error) {
	if m.Role <= bot.Student {
		return m.Role, nil
	}
	limits, err := st.LimitsOf(ctx, a)
	if err != nil {
		return bot.Anyone, err
	}
	for _, l := range limits {
		if l.Class == m.Class {
			return min(l.Role, m.Role), nil
		}
	}
	return m.Role, nil
}

func (s *Standing) member(ctx context.Context, st Store) error {
	if s.Person.ID == "" {
		return nil
	}
	m, err := st.Member(ctx, s.Class.ID, s.Person.ID)
	if errors.Is(err, ErrNone) {
		return nil
	}
	s.Member = m
	return err
}

// chosen finds the class meant in a direct message.
func (s *Standing) chosen(ctx context.Context, st Store) error {
	if s.Person.ID == "" {
		return nil
	}
	in, err := st.MemberOf(ctx, s.Person.ID)
	if err != nil {
		return err
	}
	for _, m := range in {
		if len(in) == 1 || m.Class == s.Person.Current {
			s.Member = m
			s.Class, err = st.Class(ctx, m.Class)
			return err
		}
	}
	for _, m := range in {
		c, err := st.Class(ctx, m.Class)
		if err != nil {
			return err
		}
		s.Several = append(s.Several, c)
	}
	return nil
}

// Roll tells the core who asks.
type Roll struct{ Store Store }

// Asker implements bot.People. What is known of her is her Standing.
func (r Roll) Asker(ctx context.Context, q bot.Request) (bot.Asker, error) {
	s, err := StandingOf(ctx, r.Store, q)
	if err != nil {
		return bot.Asker{}, err
	}
	a := bot.Asker{Units: s.Person.Units, Role: s.Role(), Class: string(s.Class.ID), Direct: s.Direct()}
	if a.Units == measure.Unset {
		a.Units = cmp.Or(s.Loom.Units, s.Class.Units)
	}
	a.Known = s
	return a, nil
}
