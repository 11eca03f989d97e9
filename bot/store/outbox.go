package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"log/slog"
	"math/rand/v2"
	"sync"
	"time"

	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

// Outbox is the timetable.Outbox in a DB. Of each database there is one in a
// process.
type Outbox struct {
	db   *DB
	log  *slog.Logger
	word string // this process's part of its name in leases

	mu     sync.Mutex
	wakes  map[*func()]bool // of those who Listen
	lastID int64
	me     identity
}

// identity is who this process is in leases.
type identity struct {
	owner string
	slot  int  // PostgreSQL: which advisory lock guards it
	held  bool // it may claim posts and take chats
}

// NewOutbox is the outbox of a database. On SQLite, which is this process's
// alone, it takes back what an earlier process left unfinished.
func NewOutbox(ctx context.Context, db *DB, log *slog.Logger) (*Outbox, error) {
	o := &Outbox{db: db, log: log, word: newWord(), wakes: map[*func()]bool{}}
	if db.dialect == PostgreSQL || db.beside {
		return o, nil // Listen will find out who it is; beside another process nobody listens
	}
	o.me = identity{owner: o.word, held: true}
	return o, o.resetAll(ctx)
}

// Poll implements timetable.Outbox. On SQLite only this process adds posts, so
// nothing is missed by sleeping as long as the Sender likes.
func (o *Outbox) Poll() time.Duration {
	if o.db.dialect == PostgreSQL {
		return time.Second
	}
	return 24 * time.Hour
}

// postColumns are those of a Post, in the order of readPost.
const postColumns = `id, dedupe_key, chat, room, class, session, person, kind, payload,
	due_at, next_at, expires_at, state, attempts, sent_at, message, last_error`

func readPost(r row) (p timetable.Post, err error) {
	var payload string
	err = r.Scan(&p.ID, &p.Key, &p.To.Chat, &p.To.Room, &p.Class, &p.Session, &p.Person, &p.Kind, &payload,
		when(&p.Due), when(&p.Next), when(&p.Expires), &p.State, &p.Attempts, when(&p.Sent), &p.Message, &p.Reason)
	if payload != "" {
		p.Payload = json.RawMessage(payload)
	}
	return p, err
}

// Add implements timetable.Outbox.
func (o *Outbox) Add(ctx context.Context, now time.Time, posts ...timetable.Post) (added int, err error) {
	if len(posts) == 0 {
		return 0, nil
	}
	err = o.db.atomic(ctx, sql.LevelSerializable, onDisk, func(ctx context.Context) error {
		added = 0 // for the transaction may run again
		for _, p := range posts {
			isNew, err := o.add(ctx, now, p)
			if err != nil {
				return err
			}
			if isNew {
				added++
			}
		}
		return o.tell(ctx)
	})
	return added, err
}

func (o *Outbox) add(ctx context.Context, now time.Time, p timetable.Post) (isNew bool, err error) {
	next := earlier(p.Due, p.Expires)
	n, err := o.db.exec(ctx, `INSERT INTO outbox (id, dedupe_key, chat, room, class, session, person, kind, payload,
			due_at, next_at, expires_at, state, attempts, lease_owner, lease_until, sent_at, last_error)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, 'queued', 0, '', 0, 0, '')
		ON CONFLICT (dedupe_key) DO NOTHING`,
		o.newID(now), p.Key, p.To.Chat, p.To.Room, p.Class, p.Session, p.Person, string(p.Kind), string(p.Payload),
		p.Due, next, p.Expires)
	if err != nil || n > 0 {
		return n > 0, err
	}
	_, err = o.db.exec(ctx, `UPDATE outbox SET chat = $1, room = $2, due_at = $3, next_at = $4, expires_at = $5, state = 'queued', last_error = ''
		WHERE dedupe_key = $6 AND (chat <> $7 OR room <> $8 OR due_at <> $9 OR expires_at <> $10 OR state = 'cancelled')
		AND (state = 'queued' AND attempts = 0 AND last_error = ''
			OR state = 'cancelled' AND last_error = $11 AND $12 = 1)`,
		p.To.Chat, p.To.Room, p.Due, next, p.Expires, p.Key, p.To.Chat, p.To.Room, p.Due, p.Expires, timetable.Stale, p.Due.After(now))
	return false, err
}

// newID rises within a process, whatever the clock does, and is the process's
// own: milliseconds and twenty random bits.
func (o *Outbox) newID(now time.Time) int64 {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.lastID = max(o.lastID+1, now.UnixMilli()<<20|rand.Int64N(1<<20))
	return o.lastID
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// tell wakes the senders once the transaction of ctx is committed: those of
// this process and, on PostgreSQL, of the others.
func (o *Outbox) tell(ctx context.Context) error {
	o.db.afterCommit(ctx, o.wakeAll)
	return o.notify(ctx)
}

func (o *Outbox) wakeAll() {
	o.mu.Lock()
	defer o.mu.Unlock()
	for wake := range o.wakes {
		(*wake)()
	}
}

// Listen implements timetable.Outbox.
func (o *Outbox) Listen(ctx context.Context, wake func()) error {
	o.mu.Lock()
	o.wakes[&wake] = true
	o.mu.Unlock()
	defer func() {
		o.mu.Lock()
		delete(o.wakes, &wake)
		o.mu.Unlock()
	}()
	if o.db.dialect == PostgreSQL {
		return o.listenPostgres(ctx)
	}
	<-ctx.Done()
	return nil
}

// ByKey implements timetable.Outbox.
func (o *Outbox) ByKey(ctx context.Context, key string) (timetable.Post, error) {
	return one(ctx, o.db, readPost, `SELECT `+postColumns+` FROM outbox WHERE dedupe_key = $1`, key)
}

// Shown implements timetable.Outbox. The ids of messages are kept for posts to
// rooms alone, so these are few.
func (o *Outbox) Shown(ctx context.Context, session class.ID, now time.Time) ([]timetable.Post, error) {
	if session == "" {
		return nil, nil
	}
	var out []timetable.Post
	for _, q := range []struct { // each by an index of its own
		condition string
		args      []any
	}{
		{`state = 'queued' AND next_at <= $1 AND session = $2 AND substr(room, 1, 1) <> '@' ORDER BY due_at DESC, id DESC`, []any{now, session}},
		{`state = 'sending' AND session = $1 AND substr(room, 1, 1) <> '@' ORDER BY due_at DESC, id DESC`, []any{session}},
		{`session = $1 AND message <> '' ORDER BY sent_at DESC, id DESC`, []any{session}},
	} {
		found, err := all(ctx, o.db, readPost, `SELECT `+postColumns+` FROM outbox WHERE `+q.condition, q.args...)
		if err != nil {
			return nil, err
		}
		out = append(out, found...)
	}
	return out, nil
}

// DeadOf implements timetable.Outbox.
func (o *Outbox) DeadOf(ctx context.Context, c class.ID) ([]timetable.Post, error) {
	return all(ctx, o.db, readPost, `SELECT `+postColumns+` FROM outbox WHERE state = 'dead'
		AND (class = $1 OR $2 = '') ORDER BY due_at DESC, id DESC LIMIT 500`, c, c)
}

// Requeue implements timetable.Outbox. One attempt stays counted, so that a
// chat that can look does so before the post is sent again.
func (o *Outbox) Requeue(ctx context.Context, id int64, now, expires time.Time) error {
	return o.db.Tx(ctx, func(ctx context.Context) error {
		n, err := o.db.exec(ctx, `UPDATE outbox SET state = 'queued', attempts = 1, next_at = $1, expires_at = $2
			WHERE id = $3 AND state = 'dead'`, earlier(now, expires), expires, id)
		if err != nil {
			return err
		}
		if n == 0 {
			return class.ErrNone
		}
		return o.tell(ctx)
	})
}

// Skipped implements timetable.Outbox.
func (o *Outbox) Skipped(ctx context.Context, since time.Time) ([]timetable.Skip, error) {
	read := func(r row) (k timetable.Skip, err error) {
		err = r.Scan(&k.Kind, &k.Reason, &k.Posts)
		return k, err
	}
	// The first condition on state is the index's.
	return all(ctx, o.db, read, `SELECT kind, last_error, COUNT(*) FROM outbox
		WHERE state IN ('sent', 'cancelled') AND state = 'cancelled' AND due_at >= $1
		GROUP BY kind, last_error ORDER BY kind, last_error`, since)
}

// Waiting implements timetable.Outbox.
func (o *Outbox) Waiting(ctx context.Context) (int, error) {
	read := func(r row) (n int, err error) { return n, r.Scan(&n) }
	return one(ctx, o.db, read, `SELECT (SELECT COUNT(*) FROM outbox WHERE state = 'queued')
		+ (SELECT COUNT(*) FROM outbox WHERE state = 'sending')`)
}

// Prune implements timetable.Outbox.
func (o *Outbox) Prune(ctx context.Context, before time.Time) (int, error) {
	n, err := o.db.exec(ctx, `DELETE FROM outbox WHERE state IN ('sent', 'cancelled') AND due_at < $1`, before)
	return int(n), err
}
