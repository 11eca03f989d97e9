package store

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"weftroom/bot/timetable"
)

// arguments are those of a statement that is put together from left to right,
// in the order in which SQLite counts them.
type arguments []any

// next adds an argument and gives its placeholder.
func (a *arguments) next(v any) string {
	*a = append(*a, v)
	return "$" + strconv.Itoa(len(*a))
}

// Conditions on a post o. Pairs are compared as such, and +o.id has SQLite use
// both columns of the index for it.
const (
	isFree = ` AND o.state = 'queued' AND NOT EXISTS (
		SELECT 1 FROM outbox s WHERE s.state = 'sending' AND s.chat = o.chat AND s.room = o.room)`
	isHead = ` AND NOT EXISTS (SELECT 1 FROM outbox p WHERE p.state = 'queued' AND p.chat = o.chat AND p.room = o.room
		AND (p.due_at, p.id) < (o.due_at, +o.id))`
)

// isOurs is the condition that this process holds the chat of o. It is not put
// as one on o.chat, by which SQLite would search and then sort all that waits.
func (x turn) isOurs(a *arguments) string {
	return ` AND EXISTS (SELECT 1 FROM chat_lease l WHERE l.chat = o.chat AND l.owner = ` + a.next(x.me.owner) + `)`
}

// claim takes posts in hand: first from the rooms that something was just sent
// to, then, when it is to look further, from all. In a room with a long queue
// the second has to pass over all of it.
func (x turn) claim(ctx context.Context) error {
	if x.Free > 0 && len(x.Done) > 0 {
		if err := x.claimAfter(ctx); err != nil {
			return err
		}
	}
	if left := x.Free - len(x.c.Posts); left > 0 && x.Look {
		var a arguments
		return x.take(ctx, x.claiming(&a, isHead, left), a)
	}
	return nil
}

// claimAfter claims what comes next in the rooms of Done.
func (x turn) claimAfter(ctx context.Context) error {
	var a arguments
	var rooms []string
	for _, m := range x.Done {
		to := m.Post.To
		rooms = append(rooms, "(CAST("+a.next(to.Chat)+" AS TEXT), CAST("+a.next(to.Room)+" AS TEXT))")
	}
	query := `WITH rooms (chat, room) AS (VALUES ` + strings.Join(rooms, ", ") + `) ` + x.claiming(&a, ` AND o.id IN (
		SELECT (SELECT q.id FROM outbox q WHERE q.state = 'queued' AND q.chat = r.chat AND q.room = r.room
			ORDER BY q.due_at, q.id LIMIT 1) FROM rooms r)`, x.Free)
	return x.take(ctx, query, a)
}

// claiming is the statement that claims at most so many posts that meet a
// condition.
func (x turn) claiming(a *arguments, condition string, most int) string {
	lock := ""
	if x.db.dialect == PostgreSQL {
		lock = " FOR UPDATE OF o SKIP LOCKED"
	}
	return `UPDATE outbox SET state = 'sending', attempts = attempts + 1,
			lease_owner = ` + a.next(x.me.owner) + `, lease_until = ` + a.next(x.Now.Add(x.Lease)) + `
		WHERE id IN (SELECT o.id FROM outbox o
			WHERE o.next_at <= ` + a.next(x.Now) + ` AND o.expires_at > ` + a.next(x.Now) + isFree + condition + x.isOurs(a) + `
			ORDER BY o.next_at, o.id LIMIT ` + a.next(most) + lock + `)
		RETURNING ` + postColumns
}

func (x turn) take(ctx context.Context, query string, a arguments) error {
	posts, err := all(ctx, x.db, readPost, query, a...)
	slices.SortFunc(posts, func(a, b timetable.Post) int {
		return cmp.Or(a.Next.Compare(b.Next), cmp.Compare(a.ID, b.ID))
	})
	x.c.Posts = append(x.c.Posts, posts...)
	return err
}

// next looks when there is something to claim again. What is due by now has been
// claimed, or waits for what is in hand.
func (x turn) next(ctx context.Context) error {
	full := len(x.c.Posts) == x.Free && (x.Look || x.Free > 0)
	if full || len(x.c.Expired) == maxExpired {
		x.c.Next = x.Now
		return nil
	}
	read := func(r row) (t time.Time, err error) { return t, r.Scan(when(&t)) }
	var a arguments
	query := `SELECT o.next_at FROM outbox o WHERE o.next_at > ` + a.next(x.Now) + isFree + isHead + x.isOurs(&a) + `
		ORDER BY o.next_at, o.id LIMIT 1`
	found, err := all(ctx, x.db, read, query, a...)
	if len(found) > 0 {
		x.c.Next = found[0]
	}
	return err
}
