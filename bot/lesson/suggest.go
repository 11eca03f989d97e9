package lesson

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc/measure"
	"weftroom/calc/yarn"
)

// usualYarns are yarns that handweavers buy on cones, those for lace first
// (common practice, no source).
var usualYarns = []string{
	"8/2 cotton", "10/2 cotton", "5/2 cotton", "3/2 cotton", "8/4 cotton", "20/2 cotton",
	"16/2 linen", "16/1 linen", "20/2 linen", "40/2 linen", "2/16 worsted", "2/20 worsted", "Nm 8/2 wool", "Nm 28/2 wool",
}

// suggestion lists what may well be written for an argument.
type suggestion func(ctx context.Context, r bot.Request) ([]string, error)

// suggestions are by argument; "command argument" goes before "argument" alone.
func (d *Desk) suggestions() map[string]suggestion {
	return map[string]suggestion{
		"yarn": d.yarnsFor, "heddle": d.heddlesFor, "zone": d.zonesFor,
		"session": d.comingSessions, "number": d.comingSessions, "session show number": d.allSessions, "attendance session": d.heldSessions,
		"session work session": d.eveningsFor,
		"came":                 d.membersFor, "missed": d.membersFor, "add": d.membersFor, "remove": d.membersFor, "class handover member": d.membersFor,
		"word name": wordsFor,
		"design":    d.designsFor, "designs show": d.designsFor, "designs share": d.designsFor, "designs unshare": d.designsFor, "designs drop": d.designsFor,
	}
}

// suggesting gives the arguments of commands their suggestions.
func suggesting(path string, commands []*bot.Command, by map[string]suggestion) {
	for _, c := range commands {
		name := path + c.Name + " "
		suggesting(name, c.Subs, by)
		c.Params = slices.Clone(c.Params) // some are shared between commands
		for i := range c.Params {
			p := &c.Params[i]
			if s := by[name+p.Name]; s != nil {
				p.Suggest = s
			} else if s := by[p.Name]; s != nil {
				p.Suggest = s
			}
		}
	}
}

// yarnsFor are the yarn of the class, where one is meant, and usual ones.
func (d *Desk) yarnsFor(ctx context.Context, r bot.Request) ([]string, error) {
	s, err := class.StandingOf(ctx, d.Store, r)
	if err != nil || s.Class.Yarn == "" {
		return usualYarns, err
	}
	return append([]string{s.Class.Yarn}, usualYarns...), nil
}

// heddlesFor are those that are made, in the asker's units first, each as it
// may be written whatever those are.
func (d *Desk) heddlesFor(ctx context.Context, r bot.Request) ([]string, error) {
	u, err := d.unitsOf(ctx, r)
	if err != nil {
		return nil, err
	}
	var inches, centimetres []string
	for _, h := range yarn.ImperialReeds {
		inches = append(inches, settWritten(h, measure.Imperial)+"/in")
	}
	for _, h := range yarn.MetricReeds {
		centimetres = append(centimetres, settWritten(h, measure.Metric))
	}
	if u == measure.Metric {
		return append(centimetres, inches...), nil
	}
	return append(inches, centimetres...), nil
}

// unitsOf are the asker's, as far as anybody knows.
func (d *Desk) unitsOf(ctx context.Context, r bot.Request) (measure.Units, error) {
	s, err := class.StandingOf(ctx, d.Store, r)
	if err != nil {
		return measure.Unset, err
	}
	l, err := d.Store.Loom(ctx, r.From)
	return cmp.Or(s.Person.Units, l.Units, s.Class.Units), err
}

// zonesFor are the asker's own zone, her class's, and all places that are known.
func (d *Desk) zonesFor(ctx context.Context, r bot.Request) ([]string, error) {
	s, err := class.StandingOf(ctx, d.Store, r)
	if err != nil {
		return nil, err
	}
	var own []string
	for _, zone := range []string{s.Person.Zone, s.Class.Zone} {
		if zone != "" {
			own = append(own, zone)
		}
	}
	return append(own, timetable.Places()...), nil
}

// sessionsFor are the numbers of sessions that are not cancelled and for which
// right holds, by start.
func (d *Desk) sessionsFor(ctx context.Context, r bot.Request, right func(class.Session) bool) ([]string, error) {
	s, err := class.StandingOf(ctx, d.Store, r)
	if err != nil || s.Class.ID == "" {
		return nil, err
	}
	all, err := d.Store.SessionsOf(ctx, s.Class.ID, time.Time{})
	var out []string
	for _, m := range all {
		if !m.Cancelled && right(m) {
			out = append(out, strconv.Itoa(m.Number))
		}
	}
	return out, err
}

// comingSessions are those that go on or are to come.
func (d *Desk) comingSessions(ctx context.Context, r bot.Request) ([]string, error) {
	return d.sessionsFor(ctx, r, func(s class.Session) bool { return s.End().After(d.Now()) })
}

// heldSessions are those that have begun, the last first.
func (d *Desk) heldSessions(ctx context.Context, r bot.Request) ([]string, error) {
	out, err := d.sessionsFor(ctx, r, func(s class.Session) bool { return !s.Start.After(d.Now()) })
	slices.Reverse(out)
	return out, err
}

// allSessions are those to come and then those that have begun.
func (d *Desk) allSessions(ctx context.Context, r bot.Request) ([]string, error) {
	coming, err := d.comingSessions(ctx, r)
	if err != nil {
		return nil, err
	}
	held, err := d.heldSessions(ctx, r)
	return append(coming, held...), err
}

// eveningsFor are the sessions to which work may be set.
func (d *Desk) eveningsFor(ctx context.Context, r bot.Request) ([]string, error) {
	coming, err := d.comingSessions(ctx, r)
	return append([]string{"next"}, coming...), err
}

// membersFor are the names of the class's members, or the account of one who has
// none.
func (d *Desk) membersFor(ctx context.Context, r bot.Request) ([]string, error) {
	s, err := class.StandingOf(ctx, d.Store, r)
	if err != nil || s.Class.ID == "" {
		return nil, err
	}
	members, err := d.Store.Members(ctx, s.Class.ID)
	if err != nil {
		return nil, err
	}
	persons, err := d.Store.PersonsOf(ctx, s.Class.ID)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, m := range members {
		name := shownName(s.Class, persons[m.Person])
		if name == "" {
			accounts, err := d.Store.Accounts(ctx, m.Person)
			if err != nil {
				return nil, err
			}
			for _, a := range accounts[:min(len(accounts), 1)] {
				name = a.User
			}
		}
		if name != "" {
			out = append(out, name)
		}
	}
	return out, nil
}

// wordsFor are the words of the glossary, and then their other names.
func wordsFor(context.Context, bot.Request) ([]string, error) {
	var names, others []string
	for _, w := range glossary {
		names, others = append(names, w.Name), append(others, w.Also...)
	}
	return append(names, others...), nil
}
