package store

import (
	"context"
	"encoding/json"
	"errors"
	"reflect"
	"slices"

	"weftroom/bot/class"
)

// giveBack gives to, who is about to have an account again, what she had before
// her last one went to from. What has changed since stays with from.
func (db *DB) giveBack(ctx context.Context, from, to class.ID) error {
	raw, err := one(ctx, db, readText,
		`SELECT m.had FROM merged m JOIN persons p ON p.id = m.person WHERE p.id = $1 AND p.merged_into = $2`, to, from)
	if err != nil {
		return noneIsFine(err) // she is another's, or was never merged
	}
	var had before
	if err := json.Unmarshal([]byte(raw), &had); err != nil {
		return err
	}
	for _, step := range []func(context.Context, before, class.ID, class.ID) error{
		db.giveBackMembers, db.giveBackLoom, db.giveBackWalk, db.giveBackQuestions, db.giveBackAttendance, db.giveBackDesigns,
	} {
		if err := step(ctx, had, from, to); err != nil {
			return err
		}
	}
	if _, err := db.exec(ctx, `DELETE FROM merged WHERE person = $1`, to); err != nil {
		return err
	}
	_, err = db.exec(ctx, `UPDATE persons SET merged_into = '' WHERE id = $1`, to)
	return err
}

func (db *DB) giveBackMembers(ctx context.Context, had before, from, to class.ID) error {
	for _, m := range had.Members {
		now, err := db.Member(ctx, m.Class, from)
		if errors.Is(err, class.ErrNone) {
			continue // they have left the class meanwhile
		}
		if err != nil {
			return err
		}
		i := slices.IndexFunc(had.Others, func(o class.Member) bool { return o.Class == m.Class })
		switch {
		case i >= 0:
			err = db.PutMember(ctx, parted(now, m, had.Others[i]))
		case now.Role <= m.Role:
			err = db.RemoveMember(ctx, m.Class, from)
		} // and who was given more meanwhile keeps it
		if err != nil {
			return err
		}
		m.Role = min(m.Role, now.Role) // who was given less meanwhile does not get it back so
		if err := db.PutMember(ctx, m); err != nil {
			return err
		}
	}
	return nil
}

// parted is what is left of a membership that was joined of m and other when m
// goes again: whatever has not changed since is the other's.
func parted(now, m, other class.Member) class.Member {
	joined := joinMembers(m, other)
	if now.Role == joined.Role {
		now.Role = other.Role
	}
	if now.Joined.Equal(joined.Joined) {
		now.Joined = other.Joined
	}
	if now.Ready.Equal(joined.Ready) {
		now.Ready = other.Ready
	}
	return now
}

func (db *DB) giveBackLoom(ctx context.Context, had before, from, to class.ID) error {
	if had.Loom == nil {
		return nil
	}
	if err := db.keepLoomOf(ctx, to, *had.Loom); err != nil {
		return err
	}
	now, err := db.loomOf(ctx, from)
	if err != nil || now == nil || !had.LoomMoved || !reflect.DeepEqual(*now, *had.Loom) {
		return err
	}
	_, err = db.exec(ctx, `DELETE FROM looms WHERE person = $1`, from)
	return err
}

func (db *DB) giveBackQuestions(ctx context.Context, had before, from, to class.ID) error {
	for _, q := range had.Questions {
		if _, err := db.exec(ctx, `UPDATE questions SET person = $3 WHERE id = $1 AND person = $2`, q, from, to); err != nil {
			return err
		}
	}
	return nil
}

func (db *DB) giveBackAttendance(ctx context.Context, had before, from, to class.ID) error {
	for _, a := range had.Attendance {
		if err := noneIsFine(db.PutAttendance(ctx, a)); err != nil {
			return err
		}
		if !slices.Contains(had.Moved, a.Session) {
			continue
		}
		if _, err := db.exec(ctx, `DELETE FROM attendance WHERE session = $1 AND person = $2 AND answer = $3 AND came = $4 AND at = $5`,
			a.Session, from, a.Answer, a.Came, a.At); err != nil {
			return err
		}
	}
	return nil
}
