package store

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/measure"
)

// Asker implements bot.People. The class that is meant is the one that meets in
// the room; in a direct message the one that she chose, else the only one that
// she is in.
func (db *DB) Asker(ctx context.Context, r bot.Request) (bot.Asker, error) {
	p, units, err := db.asking(ctx, r.From)
	if err != nil {
		return bot.Asker{}, err
	}
	c, role, err := db.meant(ctx, r, p)
	if err != nil {
		return bot.Asker{}, err
	}
	if units == measure.Unset {
		units = c.Units
	}
	return bot.Asker{Units: units, Role: role, Class: string(c.ID)}, nil
}

// asking is the person behind an account, zero for nobody, and the units that
// she has set or said of her loom.
func (db *DB) asking(ctx context.Context, a bot.Account) (p class.Person, units measure.Units, err error) {
	p, err = db.FindPerson(ctx, a)
	if err != nil || p.Units != measure.Unset {
		return p, p.Units, noneIsFine(err)
	}
	l, err := db.Loom(ctx, a)
	return p, l.Units, err
}

// meant is the class that a request is about, zero for none, and her role in it.
func (db *DB) meant(ctx context.Context, r bot.Request, p class.Person) (class.Class, bot.Role, error) {
	if !r.Direct {
		c, err := db.ClassIn(ctx, r.In)
		if err != nil || p.ID == "" {
			return c, bot.Anyone, noneIsFine(err)
		}
		m, err := db.Member(ctx, c.ID, p.ID)
		if err != nil {
			return c, bot.Anyone, noneIsFine(err)
		}
		role, err := class.RoleOf(ctx, db, r.From, m)
		return c, role, err
	}
	in, err := db.MemberOf(ctx, p.ID)
	if err != nil {
		return class.Class{}, bot.Anyone, err
	}
	for _, m := range in {
		if m.Class == p.Current || len(in) == 1 {
			c, err := db.Class(ctx, m.Class)
			if err != nil {
				return c, bot.Anyone, err
			}
			role, err := class.RoleOf(ctx, db, r.From, m)
			return c, role, err
		}
	}
	return class.Class{}, bot.Anyone, nil
}
