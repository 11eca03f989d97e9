package store

import (
	"context"
	"errors"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Traces implements class.People.
func (db *DB) Traces(ctx context.Context, a bot.Account) (class.Traces, error) {
	var t class.Traces
	err := db.Tx(ctx, func(ctx context.Context) error {
		t = class.Traces{}
		p, err := db.FindPerson(ctx, a)
		if errors.Is(err, class.ErrNone) {
			return db.tracesOfAccount(ctx, &t, a)
		}
		if err != nil {
			return err
		}
		family, err := db.family(ctx, p.ID) // some rows stay with whom they were of
		if err != nil {
			return err
		}
		for _, id := range family {
			for _, find := range []func(context.Context, *class.Traces, class.ID) error{db.tracesInClasses, db.tracesOfPosts} {
				if err := find(ctx, &t, id); err != nil {
					return err
				}
			}
			if id == p.ID {
				continue
			}
			if err := db.tracesBefore(ctx, &t, id); err != nil {
				return err
			}
		}
		accounts, err := db.Accounts(ctx, p.ID)
		if err != nil {
			return err
		}
		for _, a := range accounts {
			if err := db.tracesOfAccount(ctx, &t, a); err != nil {
				return err
			}
		}
		return nil
	})
	return t, err
}

// tracesBefore are of a person whose last account came to her.
func (db *DB) tracesBefore(ctx context.Context, t *class.Traces, id class.ID) error {
	p, err := db.Person(ctx, id)
	if err != nil {
		return err
	}
	had, err := all(ctx, db, readText, `SELECT had FROM merged WHERE person = $1`, id)
	t.Before, t.Had = append(t.Before, p), append(t.Had, had...)
	return err
}

func (db *DB) tracesInClasses(ctx context.Context, t *class.Traces, id class.ID) error {
	members, err := db.membershipsOf(ctx, id)
	if err != nil {
		return err
	}
	attendance, err := all(ctx, db, readAttendance, `SELECT session, person, answer, came, at FROM attendance
		WHERE person = $1 ORDER BY at, session`, id)
	if err != nil {
		return err
	}
	schedules, err := all(ctx, db, readSchedule, `SELECT `+scheduleColumns+` FROM schedules s WHERE s.made_by = $1 ORDER BY s.made, s.id`, id)
	if err != nil {
		return err
	}
	designs, err := all(ctx, db, readDesign, `SELECT `+designColumns+` FROM designs d WHERE d.owner = $1 ORDER BY d.folded, d.id`, id)
	t.Members, t.Attendance, t.Schedules = append(t.Members, members...), append(t.Attendance, attendance...), append(t.Schedules, schedules...)
	t.Designs = append(t.Designs, designs...)
	return err
}

func (db *DB) tracesOfPosts(ctx context.Context, t *class.Traces, id class.ID) error {
	posts, err := all(ctx, db, func(r row) (p class.PostTrace, err error) {
		err = r.Scan(&p.To.Chat, &p.To.Room, &p.Kind, &p.Class, &p.Session, when(&p.Due), &p.State, when(&p.Sent))
		return p, err
	}, `SELECT chat, room, kind, class, session, due_at, state, sent_at FROM outbox WHERE person = $1 ORDER BY due_at, id`, id)
	t.Posts = append(t.Posts, posts...)
	return err
}

func (db *DB) tracesOfAccount(ctx context.Context, t *class.Traces, a bot.Account) error {
	offers, err := all(ctx, db, readLink, `SELECT `+linkColumns+` FROM links
		WHERE from_chat = $1 AND from_user = $2 OR to_chat = $1 AND to_user = $2 ORDER BY expires, code`, a.Chat, a.User)
	if err != nil {
		return err
	}
	limits, err := db.LimitsOf(ctx, a)
	if err != nil {
		return err
	}
	guesses, err := all(ctx, db, func(r row) (at time.Time, err error) {
		err = r.Scan(when(&at))
		return at, err
	}, `SELECT at FROM guesses WHERE chat = $1 AND userid = $2 ORDER BY at, id`, a.Chat, a.User)
	if err != nil {
		return err
	}
	requests, err := all(ctx, db, func(r row) (q class.RequestTrace, err error) {
		err = r.Scan(&q.Chat, &q.ID, when(&q.At), &q.Reply)
		return q, err
	}, `SELECT chat, request, at, reply FROM ledger WHERE asker = $1 ORDER BY at, chat, request`, digest(a))
	if err != nil {
		return err
	}
	notes, err := all(ctx, db, func(r row) (n class.NoteTrace, err error) {
		err = r.Scan(&n.Chat, &n.Name, &n.Value, when(&n.Until))
		return n, err
	}, `SELECT chat, name, value, until FROM notes WHERE chat = $1 AND userid = $2 ORDER BY name`, a.Chat, a.User)
	if err != nil {
		return err
	}
	t.Notes = append(t.Notes, notes...)
	t.Offers, t.Limits = append(t.Offers, offers...), append(t.Limits, limits...)
	t.Guesses, t.Requests = append(t.Guesses, guesses...), append(t.Requests, requests...)
	return err
}
