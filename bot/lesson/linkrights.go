package lesson

import (
	"context"
	"errors"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// Rights do not follow a link. A person has one role in a class, and of two who
// become one the higher stays; but an account whose person had a lower one may
// do no more than before (and no less than a student), until another teacher or
// the operator has said yes with class teachers or class helpers. So nobody
// gains anything by a link, and no class loses its teacher by one.

// party is one of the two who become one.
type party struct {
	person   class.ID
	accounts []bot.Account
}

// limitRights holds the accounts of either side to what they may do so far, and
// tells whether there was anything to hold.
func (d *Desk) limitRights(ctx context.Context, at time.Time, one, two party) (limited bool, err error) {
	mine, err := d.rolesOf(ctx, one.person)
	if err != nil {
		return false, err
	}
	others, err := d.rolesOf(ctx, two.person)
	if err != nil {
		return false, err
	}
	held, err := d.hold(ctx, at, one.accounts, mine, others)
	if err != nil {
		return false, err
	}
	heldToo, err := d.hold(ctx, at, two.accounts, others, mine)
	return held || heldToo, err
}

// hold limits accounts where the other side has the higher role. A limit that
// there is already stays: it is no higher.
func (d *Desk) hold(ctx context.Context, at time.Time, accounts []bot.Account, mine, others map[class.ID]bot.Role) (held bool, err error) {
	for id, role := range others {
		if role <= max(mine[id], bot.Student) {
			continue
		}
		for _, a := range accounts {
			limits, err := d.Store.LimitsOf(ctx, a)
			if err != nil {
				return held, err
			}
			if limitIn(limits, id) != nil {
				continue
			}
			held = true
			if err := d.Store.PutLimit(ctx, class.Limit{Account: a, Class: id, Role: max(mine[id], bot.Student), At: at}); err != nil {
				return held, err
			}
		}
	}
	return held, nil
}

// rolesOf are a person's roles in open classes.
func (d *Desk) rolesOf(ctx context.Context, id class.ID) (map[class.ID]bot.Role, error) {
	in, err := d.Store.MemberOf(ctx, id)
	roles := map[class.ID]bot.Role{}
	for _, m := range in {
		roles[m.Class] = m.Role
	}
	return roles, err
}

func limitIn(limits []class.Limit, id class.ID) *class.Limit {
	for i := range limits {
		if limits[i].Class == id {
			return &limits[i]
		}
	}
	return nil
}

// keyOwnYes refuses a yes to one's own link, without arguments.
const keyOwnYes calc.Key = "people.own_yes"

// lift ends all limits of a member in her class, if there are any, at the yes of
// another teacher or of the operator.
func (d *Desk) lift(ctx context.Context, c *bot.Call, m class.Member) (lifted bool, err error) {
	held, err := d.isHeld(ctx, m)
	if err != nil || !held {
		return false, err
	}
	asker, err := d.known(ctx, c.Request.From)
	if err != nil {
		return false, err
	}
	if asker.ID == m.Person && c.Request.Role < bot.Teacher {
		return false, &calc.Fault{Code: bot.NotAllowed, Key: keyOwnYes}
	}
	return true, d.forgetLimits(ctx, m)
}

// isHeld tells whether an account of a member may do less than her role says.
func (d *Desk) isHeld(ctx context.Context, m class.Member) (bool, error) {
	accounts, err := d.Store.Accounts(ctx, m.Person)
	if err != nil {
		return false, err
	}
	for _, a := range accounts {
		role, err := class.RoleOf(ctx, d.Store, a, m)
		if err != nil || role < m.Role {
			return true, err
		}
	}
	return false, nil
}

// forgetLimits ends all limits of a member in her class: someone whose yes
// counts has given her a role, or she is no member any more.
func (d *Desk) forgetLimits(ctx context.Context, m class.Member) error {
	accounts, err := d.Store.Accounts(ctx, m.Person)
	for _, a := range accounts {
		err = errors.Join(err, d.Store.DeleteLimit(ctx, a, m.Class))
	}
	return err
}

// dropLimits ends the limits that a link has brought, since it is undone.
func (d *Desk) dropLimits(ctx context.Context, at time.Time, accounts []bot.Account) error {
	for _, a := range accounts {
		limits, err := d.Store.LimitsOf(ctx, a)
		if err != nil {
			return err
		}
		for _, l := range limits {
			if !l.At.Equal(at) {
				continue
			}
			if err := d.Store.DeleteLimit(ctx, a, l.Class); err != nil {
				return err
			}
		}
	}
	return nil
}
