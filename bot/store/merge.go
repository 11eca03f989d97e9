package store

import (
	"context"
	"encoding/json"
	"errors"

	"weftroom/bot"
	"weftroom/bot/class"
)

// before is what a person had of her own when her last account went to another.
type before struct {
	Members    []class.Member     // hers
	Others     []class.Member     // of the other person, in the same classes
	Loom       *class.Loom        // nil for none
	LoomMoved  bool               // the other had none
	Walk       *class.Walk        // nil for none
	OtherWalk  *class.Walk        // of the other person
	WalkMoved  bool               // hers took the place of the other's
	Questions  []class.ID         // all moved
	Attendance []class.Attendance // hers
	Moved      []class.ID         // sessions of which the other had said nothing
	Designs    []movedDesign
}

// MoveAccount implements class.People.
func (db *DB) MoveAccount(ctx context.Context, a bot.Account, to class.ID) error {
	return db.whole(ctx, func(ctx context.Context) error {
		old, err := db.FindPerson(ctx, a)
		if err != nil {
			return err
		}
		if _, err := db.Person(ctx, to); err != nil || old.ID == to {
			return err
		}
		if _, err := db.exec(ctx, `UPDATE accounts SET person = $3 WHERE chat = $1 AND userid = $2`, a.Chat, a.User, to); err != nil {
			return err
		}
		if err := db.giveBack(ctx, old.ID, to); err != nil {
			return err
		}
		left, err := db.Accounts(ctx, old.ID)
		if err != nil || len(left) > 0 {
			return err
		}
		return db.merge(ctx, old.ID, to)
	})
}

// merge moves everything of from, who has no account left, to another person.
func (db *DB) merge(ctx context.Context, from, to class.ID) error {
	had := before{}
	for _, step := range []func(context.Context, *before, class.ID, class.ID) error{
		db.mergeMembers, db.mergeLoom, db.mergeWalk, db.mergeQuestions, db.mergeAttendance, db.mergeDesigns,
	} {
		if err := step(ctx, &had, from, to); err != nil {
			return err
		}
	}
	raw, err := json.Marshal(had)
	if err != nil {
		return err
	}
	if _, err := db.exec(ctx, `INSERT INTO merged (person, had) VALUES ($1, $2)
		ON CONFLICT (person) DO UPDATE SET had = excluded.had`, from, string(raw)); err != nil {
		return err
	}
	_, err = db.exec(ctx, `UPDATE persons SET merged_into = $2 WHERE id = $1`, from, to)
	return err
}

func (db *DB) mergeMembers(ctx context.Context, had *before, from, to class.ID) error {
	members, err := db.membershipsOf(ctx, from)
	if err != nil {
		return err
	}
	had.Members = members
	for _, m := range members {
		other, err := db.Member(ctx, m.Class, to)
		if err == nil {
			had.Others = append(had.Others, other)
			m = joinMembers(m, other)
		} else if !errors.Is(err, class.ErrNone) {
			return err
		}
		m.Person = to
		if err := db.PutMember(ctx, m); err != nil {
			return err
		}
		if err := db.RemoveMember(ctx, m.Class, from); err != nil {
			return err
		}
	}
	return nil
}

// joinMembers is one membership out of two: the higher role, since the first of
// the days, ready if either is.
func joinMembers(m, other class.Member) class.Member {
	m.Role = max(m.Role, other.Role)
	if other.Joined.Before(m.Joined) {
		m.Joined = other.Joined
	}
	if !other.Ready.IsZero() {
		m.Ready = other.Ready
	}
	return m
}

func (db *DB) mergeLoom(ctx context.Context, had *before, from, to class.ID) error {
	l, err := db.loomOf(ctx, from)
	if err != nil || l == nil {
		return err
	}
	had.Loom = l
	other, err := db.loomOf(ctx, to)
	if err != nil {
		return err
	}
	if other == nil {
		had.LoomMoved = true
		if err := db.keepLoomOf(ctx, to, *l); err != nil {
			return err
		}
	}
	_, err = db.exec(ctx, `DELETE FROM looms WHERE person = $1`, from)
	return err
}

func (db *DB) mergeQuestions(ctx context.Context, had *before, from, to class.ID) (err error) {
	had.Questions, err = all(ctx, db, readID, `SELECT id FROM questions WHERE person = $1`, from)
	if err != nil {
		return err
	}
	_, err = db.exec(ctx, `UPDATE questions SET person = $2 WHERE person = $1`, from, to)
	return err
}

func (db *DB) mergeAttendance(ctx context.Context, had *before, from, to class.ID) (err error) {
	had.Attendance, err = all(ctx, db, readAttendance, `SELECT session, person, answer, came, at FROM attendance WHERE person = $1`, from)
	if err != nil {
		return err
	}
	for _, a := range had.Attendance {
		n, err := db.exec(ctx, `UPDATE attendance SET person = $3 WHERE session = $1 AND person = $2
			AND NOT EXISTS (SELECT 1 FROM attendance b WHERE b.session = $1 AND b.person = $3)`, a.Session, from, to)
		if err != nil {
			return err
		}
		if n > 0 {
			had.Moved = append(had.Moved, a.Session)
		}
	}
	_, err = db.exec(ctx, `DELETE FROM attendance WHERE person = $1`, from)
	return err
}

// loomOf is the loom of a person, nil when she has none.
func (db *DB) loomOf(ctx context.Context, person class.ID) (*class.Loom, error) {
	l, err := one(ctx, db, readLoom, `SELECT loom FROM looms WHERE person = $1`, person)
	if errors.Is(err, class.ErrNone) {
		return nil, nil
	}
	return &l, err
}
