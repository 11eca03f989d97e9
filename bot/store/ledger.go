package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// LedgerKeeps is how long a request is remembered. No chat repeats one that is
// older.
const LedgerKeeps = 30 * 24 * time.Hour

// Once implements bot.Ledger. Of the same request at the same time, in this
// process or another, one runs and the others wait for its Reply. In a Reply
// that comes back, Data is json.RawMessage and a Picture has no Draw. A request
// without an ID cannot be known again and runs each time.
func (db *DB) Once(ctx context.Context, r bot.Request, do func(ctx context.Context) (bot.Reply, error)) (bot.Reply, error) {
	return db.once(ctx, r, onDisk, do)
}

// OnceSoon implements bot.Ledger.
func (db *DB) OnceSoon(ctx context.Context, r bot.Request, do func(ctx context.Context) (bot.Reply, error)) (bot.Reply, error) {
	return db.once(ctx, r, onDiskSoon, do)
}

func (db *DB) once(ctx context.Context, r bot.Request, when durable, do func(ctx context.Context) (bot.Reply, error)) (bot.Reply, error) {
	var reply bot.Reply
	err := db.atomic(ctx, sql.LevelSerializable, when, func(ctx context.Context) (err error) {
		if r.ID == "" {
			reply, err = do(ctx)
			return err
		}
		// The row comes first and empty: whoever brings the same request waits
		// at it until this transaction is over.
		n, err := db.exec(ctx, `INSERT INTO ledger (chat, request, asker, at, reply) VALUES ($1, $2, $3, $4, '')
			ON CONFLICT (chat, request) DO NOTHING`, r.From.Chat, r.ID, digest(r.From), db.now())
		if err != nil {
			return err
		}
		if n == 0 {
			reply, err = db.replyTo(ctx, r)
			return err
		}
		if reply, err = do(ctx); err != nil {
			return err
		}
		return db.keepReply(ctx, r, reply)
	})
	if err != nil {
		return bot.Reply{}, err
	}
	return reply, nil
}

func (db *DB) replyTo(ctx context.Context, r bot.Request) (bot.Reply, error) {
	raw, err := one(ctx, db, readText, `SELECT reply FROM ledger WHERE chat = $1 AND request = $2`, r.From.Chat, r.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if raw == "" {
		return bot.Reply{}, fmt.Errorf("store: request %s is answered within itself", r.ID)
	}
	return decodeReply(raw)
}

func (db *DB) keepReply(ctx context.Context, r bot.Request, reply bot.Reply) error {
	raw, err := encodeReply(reply)
	if err != nil {
		return err
	}
	n, err := db.exec(ctx, `UPDATE ledger SET reply = $3 WHERE chat = $1 AND request = $2`, r.From.Chat, r.ID, raw)
	if err != nil || n > 0 {
		return err
	}
	// The request had its asker forgotten, and its row has gone with her. Without
	// it a replay would make her anew; it no longer says whose it was.
	_, err = db.exec(ctx, `INSERT INTO ledger (chat, request, asker, at, reply) VALUES ($1, $2, '', $3, $4)`,
		r.From.Chat, r.ID, db.now(), raw)
	return err
}

// Prune deletes what is kept for a time only: requests after LedgerKeeps, and
// offers to link and wrong codes after a day, and how to undo a link after
// class.UndoLasts, and notes when their time is over. It tells how many rows went.
func (db *DB) Prune(ctx context.Context) (int, error) {
	var pruned int64
	err := db.Tx(ctx, func(ctx context.Context) error {
		pruned = 0
		for _, old := range []struct {
			statement string
			after     time.Duration
		}{
			{`DELETE FROM ledger WHERE at < $1`, LedgerKeeps},
			{`DELETE FROM links WHERE expires < $1`, 24 * time.Hour},
			{`DELETE FROM guesses WHERE at < $1`, 24 * time.Hour},
			{`DELETE FROM settled WHERE at < $1`, class.UndoLasts},
			{`DELETE FROM notes WHERE until > 0 AND until < $1`, 0},
		} {
			n, err := db.exec(ctx, old.statement, db.now().Add(-old.after))
			if err != nil {
				return err
			}
			pruned += n
		}
		return nil
	})
	return int(pruned), err
}
