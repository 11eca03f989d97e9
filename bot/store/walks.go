package store

import (
	"context"
	"encoding/json"
	"errors"
	"slices"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Walk implements class.Walks.
func (db *DB) Walk(ctx context.Context, a bot.Account) (class.Walk, error) {
	return one(ctx, db, readWalk, `SELECT w.walk FROM accounts a JOIN walks w ON w.person = a.person
		WHERE a.chat = $1 AND a.userid = $2`, a.Chat, a.User)
}

// KeepWalk implements class.Walks.
func (db *DB) KeepWalk(ctx context.Context, a bot.Account, w class.Walk) error {
	w.Begun, w.Moved = kept(w.Begun), kept(w.Moved)
	if n := len(w.Rows) - class.MostRowTimes; n > 0 {
		w.Rows = w.Rows[n:]
	}
	w.Rows = slices.Clone(w.Rows)
	for i := range w.Rows {
		w.Rows[i].Begun, w.Rows[i].Ended = kept(w.Rows[i].Begun), kept(w.Rows[i].Ended)
	}
	raw, err := json.Marshal(w)
	if err != nil {
		return err
	}
	return db.Tx(ctx, func(ctx context.Context) error {
		n, err := db.exec(ctx, `UPDATE walks SET walk = $3
			WHERE person = (SELECT person FROM accounts WHERE chat = $1 AND userid = $2)`, a.Chat, a.User, string(raw))
		if err != nil || n > 0 { // as at every step but the first
			return err
		}
		p, err := db.PersonOf(ctx, a, "")
		if err != nil {
			return err
		}
		return db.keepWalkOf(ctx, p.ID, w)
	})
}

// WalksOf implements class.Walks.
func (db *DB) WalksOf(ctx context.Context, id class.ID) (map[class.ID]class.Walk, error) {
	type hers struct {
		person class.ID
		walk   class.Walk
	}
	list, err := all(ctx, db, func(r row) (h hers, err error) {
		var raw string
		if err := r.Scan(&h.person, &raw); err != nil {
			return h, err
		}
		return h, json.Unmarshal([]byte(raw), &h.walk)
	}, `SELECT w.person, w.walk FROM members m JOIN walks w ON w.person = m.person WHERE m.class = $1`, id)
	walks := make(map[class.ID]class.Walk, len(list))
	for _, h := range list {
		walks[h.person] = h.walk
	}
	return walks, err
}

func (db *DB) keepWalkOf(ctx context.Context, person class.ID, w class.Walk) error {
	raw, err := json.Marshal(w)
	if err != nil {
		return err
	}
	_, err = db.exec(ctx, `INSERT INTO walks (person, walk) VALUES ($1, $2)
		ON CONFLICT (person) DO UPDATE SET walk = excluded.walk`, person, string(raw))
	return err
}

// walkOf is the walk of a person, nil when she has none.
func (db *DB) walkOf(ctx context.Context, person class.ID) (*class.Walk, error) {
	w, err := one(ctx, db, readWalk, `SELECT walk FROM walks WHERE person = $1`, person)
	if errors.Is(err, class.ErrNone) {
		return nil, nil
	}
	return &w, err
}

func readWalk(r row) (w class.Walk, err error) {
	var raw string
	if err := r.Scan(&raw); err != nil {
		return w, err
	}
	err = json.Unmarshal([]byte(raw), &w)
	return w, err
}

// mergeWalk gives the other person the walk that was moved on last: it is the
// piece now on the loom.
func (db *DB) mergeWalk(ctx context.Context, had *before, from, to class.ID) error {
	w, err := db.walkOf(ctx, from)
	if err != nil || w == nil {
		return err
	}
	had.Walk = w
	if had.OtherWalk, err = db.walkOf(ctx, to); err != nil {
		return err
	}
	if had.OtherWalk == nil || had.OtherWalk.Moved.Before(w.Moved) {
		had.WalkMoved = true
		if err := db.keepWalkOf(ctx, to, *w); err != nil {
			return err
		}
	}
	_, err = db.exec(ctx, `DELETE FROM walks WHERE person = $1`, from)
	return err
}

// giveBackWalk gives a walk back that was merged; if the other has gone on with
// it since, she keeps it as well.
func (db *DB) giveBackWalk(ctx context.Context, had before, from, to class.ID) error {
	if had.Walk == nil {
		return nil
	}
	if err := db.keepWalkOf(ctx, to, *had.Walk); err != nil || !had.WalkMoved {
		return err
	}
	now, err := db.walkOf(ctx, from)
	if err != nil || now == nil || !now.Moved.Equal(had.Walk.Moved) || !now.Begun.Equal(had.Walk.Begun) {
		return err
	}
	if had.OtherWalk != nil {
		return db.keepWalkOf(ctx, from, *had.OtherWalk)
	}
	_, err = db.exec(ctx, `DELETE FROM walks WHERE person = $1`, from)
	return err
}
