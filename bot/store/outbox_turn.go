package store

import (
	"context"
	"database/sql"
	"slices"
	"strings"
	"time"

	"weftroom/bot/timetable"
)

// maxExpired bounds how many posts one turn ends for their age.
const maxExpired = 500

// Turn implements timetable.Outbox. Leases are kept by the wall clock of the
// process that takes them: the clocks of machines that share a database may
// differ by seconds, not by a minute.
func (o *Outbox) Turn(ctx context.Context, t timetable.Turn) (timetable.Claim, error) {
	o.mu.Lock()
	me := o.me
	o.mu.Unlock()
	var c timetable.Claim
	// Every statement guards itself by what it expects to find, so each may see
	// what was committed before it: READ COMMITTED, for no turn is run twice.
	err := o.db.atomic(ctx, sql.LevelReadCommitted, onDisk, func(ctx context.Context) error {
		c = timetable.Claim{}
		x := turn{Outbox: o, Turn: t, me: me, c: &c}
		return x.run(ctx)
	})
	if err != nil {
		return timetable.Claim{}, err
	}
	return c, nil
}

// turn is one Turn on its way.
type turn struct {
	*Outbox
	timetable.Turn
	me identity
	c  *timetable.Claim
}

func (x turn) run(ctx context.Context) error {
	if err := x.marks(ctx); err != nil {
		return err
	}
	if x.Look {
		if err := inTurn(ctx, x.freeLeases, x.nearer, x.chats); err != nil {
			return err
		}
	}
	if x.Leave {
		return x.leave(ctx)
	}
	// A restored database posts nothing, and lets nothing grow stale, until
	// someone has looked at it.
	waits, err := x.db.HeldSince(ctx)
	if err != nil || !waits.IsZero() || !x.me.held {
		return err
	}
	if x.Look {
		if err := x.expire(ctx); err != nil {
			return err
		}
	}
	return inTurn(ctx, x.claim, x.next)
}

func inTurn(ctx context.Context, steps ...func(context.Context) error) error {
	for _, step := range steps {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// marks writes what became of posts claimed before: what was sent in one
// statement, the rest one by one.
func (x turn) marks(ctx context.Context) error {
	var sent []timetable.Mark
	for _, m := range x.Done {
		if m.State == timetable.Sent && len(m.Then) == 0 {
			sent = append(sent, m)
			continue
		}
		if err := x.mark(ctx, m); err != nil {
			return err
		}
	}
	if len(sent) == 0 {
		return nil
	}
	return x.markSent(ctx, sent)
}

func (x turn) mark(ctx context.Context, m timetable.Mark) error {
	attempts, next := m.Post.Attempts, m.Post.Next
	if m.Uncounted {
		attempts--
	}
	if m.State == timetable.Queued {
		next = earlier(m.Next, m.Post.Expires)
	}
	n, err := x.db.exec(ctx, `UPDATE outbox SET state = $1, attempts = $2, next_at = $3, sent_at = $4, message = $5, last_error = $6,
			lease_owner = '', lease_until = 0
		WHERE id = $7 AND state = 'sending' AND lease_owner = $8 AND attempts = $9`,
		string(m.State), attempts, next, m.Sent, m.Message, m.Reason, m.Post.ID, x.me.owner, m.Post.Attempts)
	if err != nil {
		return err
	}
	if n == 0 {
		x.c.Fenced = append(x.c.Fenced, m.Post.ID)
		return nil
	}
	for _, p := range m.Then {
		if _, err := x.add(ctx, x.Now, p); err != nil {
			return err
		}
	}
	return nil
}

func (x turn) markSent(ctx context.Context, sent []timetable.Mark) error {
	var a arguments
	var rows []string
	for _, m := range sent {
		rows = append(rows, "(CAST("+a.next(m.Post.ID)+" AS BIGINT), CAST("+a.next(m.Post.Attempts)+" AS BIGINT), CAST("+a.next(m.Sent)+" AS BIGINT), CAST("+a.next(m.Message)+" AS TEXT))")
	}
	read := func(r row) (id int64, err error) { return id, r.Scan(&id) }
	marked, err := all(ctx, x.db, read, `WITH done (id, attempts, at, message) AS (VALUES `+strings.Join(rows, ", ")+`)
		UPDATE outbox SET state = 'sent', sent_at = done.at, message = done.message, last_error = '', lease_owner = '', lease_until = 0
		FROM done WHERE outbox.id = done.id AND outbox.attempts = done.attempts
		AND outbox.state = 'sending' AND outbox.lease_owner = `+a.next(x.me.owner)+`
		RETURNING outbox.id`, a...)
	for _, m := range sent {
		if !slices.Contains(marked, m.Post.ID) {
			x.c.Fenced = append(x.c.Fenced, m.Post.ID)
		}
	}
	return err
}

// lease is one that is held, on a post or on a chat.
type lease struct {
	id    int64  // of the post
	chat  string // or the chat
	owner string
	until time.Time
}

// freeLeases gives back posts whose sender will not finish them.
func (x turn) freeLeases(ctx context.Context) error {
	read := func(r row) (l lease, err error) {
		err = r.Scan(&l.id, &l.owner, when(&l.until))
		return l, err
	}
	leases, err := all(ctx, x.db, read, `SELECT id, lease_owner, lease_until FROM outbox WHERE state = 'sending'`)
	if err != nil {
		return err
	}
	gone, err := x.orphans(ctx, leases)
	if err != nil {
		return err
	}
	for _, l := range leases {
		if !x.over(l) && !slices.Contains(gone, l.owner) {
			if err := x.shorten(ctx, l); err != nil {
				return err
			}
			continue
		}
		n, err := x.db.exec(ctx, `UPDATE outbox SET state = 'queued', lease_owner = '', lease_until = 0
			WHERE id = $1 AND state = 'sending' AND lease_owner = $2 AND lease_until = $3`, l.id, l.owner, l.until)
		if err != nil {
			return err
		}
		x.c.Freed += int(n)
	}
	return nil
}

// over tells whether a post's lease is void. What this process has in hand it
// keeps: nobody else took it so far, and its end will be written.
func (x turn) over(l lease) bool {
	if l.owner == x.me.owner {
		return (x.Lost || !l.until.After(x.Now)) && !slices.Contains(x.Keep, l.id)
	}
	return !l.until.After(x.Now)
}

// shorten cuts a lease that ends later than one taken just now would: the clock
// was set back since, and nobody shall wait for it to catch up.
func (x turn) shorten(ctx context.Context, l lease) error {
	most := x.Now.Add(x.Lease)
	if !l.until.After(most.Add(time.Millisecond)) {
		return nil
	}
	_, err := x.db.exec(ctx, `UPDATE outbox SET lease_until = $1
		WHERE id = $2 AND state = 'sending' AND lease_owner = $3 AND lease_until = $4`, most, l.id, l.owner, l.until)
	return err
}

// nearer brings retries within reach after the clock was set back. A post is
// never brought before its due time.
func (x turn) nearer(ctx context.Context) error {
	if x.MaxWait <= 0 {
		return nil
	}
	_, err := x.db.exec(ctx, `UPDATE outbox SET next_at = CASE WHEN due_at > $1 THEN due_at ELSE $2 END
		WHERE state = 'queued' AND next_at > $3 AND next_at > due_at`, x.Now, x.Now, x.Now.Add(x.MaxWait))
	return err
}

// expire ends what is past its expiry: never tried, it is stale; tried, it is
// dead, for it may be that someone wants to know. Nobody wants to of a change.
func (x turn) expire(ctx context.Context) (err error) {
	x.c.Expired, err = all(ctx, x.db, readPost, `UPDATE outbox SET
			state = CASE WHEN attempts = 0 AND last_error = '' OR kind = $1 THEN 'cancelled' ELSE 'dead' END,
			last_error = CASE WHEN attempts = 0 AND last_error = '' OR kind = $2 THEN $3 ELSE 'expired' END
		WHERE id IN (SELECT id FROM outbox WHERE state = 'queued' AND expires_at <= $4 LIMIT $5)
		AND state = 'queued' RETURNING `+postColumns, string(timetable.KindCount), string(timetable.KindCount), timetable.Stale, x.Now, maxExpired)
	return err
}

// chats takes and renews the leases of chats.
func (x turn) chats(ctx context.Context) error {
	if len(x.Chats) == 0 {
		return nil
	}
	read := func(r row) (l lease, err error) {
		err = r.Scan(&l.chat, &l.owner, when(&l.until))
		return l, err
	}
	leases, err := all(ctx, x.db, read, `SELECT chat, owner, lease_until FROM chat_lease`)
	if err != nil {
		return err
	}
	gone, err := x.orphans(ctx, leases)
	if err != nil {
		return err
	}
	for _, chat := range x.Chats {
		i := slices.IndexFunc(leases, func(l lease) bool { return l.chat == chat })
		l := lease{chat: chat}
		if i >= 0 {
			l = leases[i]
		}
		held, err := x.holdChat(ctx, l, slices.Contains(gone, l.owner))
		if err != nil {
			return err
		}
		if held {
			x.c.Held = append(x.c.Held, chat)
		}
	}
	return nil
}

func (x turn) leave(ctx context.Context) error {
	_, err := x.db.exec(ctx, `DELETE FROM chat_lease WHERE owner = $1`, x.me.owner)
	return err
}

// holdChat takes a chat that nobody holds, or renews the lease once half of it
// is over.
func (x turn) holdChat(ctx context.Context, l lease, gone bool) (bool, error) {
	most := x.Now.Add(x.Lease)
	left := l.until.Sub(x.Now)
	mine := l.owner == x.me.owner
	switch {
	case mine && left > x.Lease/2 && left <= x.Lease, !x.me.held:
		return mine && left > 0 && left <= x.Lease, nil
	case !mine && !gone && left > x.Lease: // the clock was set back
		_, err := x.db.exec(ctx, `UPDATE chat_lease SET lease_until = $1
			WHERE chat = $2 AND owner = $3 AND lease_until = $4`, most, l.chat, l.owner, l.until)
		return false, err
	case !mine && !gone && left > 0:
		return false, nil
	}
	n, err := x.db.exec(ctx, `INSERT INTO chat_lease (chat, owner, lease_until) VALUES ($1, $2, $3)
		ON CONFLICT (chat) DO UPDATE SET owner = excluded.owner, lease_until = excluded.lease_until
		WHERE chat_lease.owner = $4 AND chat_lease.lease_until = $5`,
		l.chat, x.me.owner, most, l.owner, l.until)
	return n > 0, err
}
