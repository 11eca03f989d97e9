package store

import (
	"context"

	"weftroom/bot"
)

// Note implements bot.Notes.
func (db *DB) Note(ctx context.Context, chat, name string) (bot.Note, error) {
	n, err := one(ctx, db, func(r row) (bot.Note, error) {
		n := bot.Note{Name: name}
		err := r.Scan(&n.User, &n.Value, when(&n.Until))
		return n, err
	}, `SELECT userid, value, until FROM notes WHERE chat = $1 AND name = $2`, chat, name)
	if err != nil {
		return bot.Note{}, noneIsFine(err)
	}
	return n, nil
}

// PutNote implements bot.Notes.
func (db *DB) PutNote(ctx context.Context, chat string, n bot.Note) error {
	if n.Value == "" {
		_, err := db.exec(ctx, `DELETE FROM notes WHERE chat = $1 AND name = $2`, chat, n.Name)
		return err
	}
	_, err := db.exec(ctx, `INSERT INTO notes (chat, name, userid, value, until) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (chat, name) DO UPDATE SET userid = excluded.userid, value = excluded.value, until = excluded.until`,
		chat, n.Name, n.User, n.Value, n.Until)
	return err
}

var _ bot.Notes = (*DB)(nil)
