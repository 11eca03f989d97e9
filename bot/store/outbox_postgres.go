package store

import (
	"context"
	"crypto/rand"
	"database/sql/driver"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
)

// On PostgreSQL each process has a slot, the lowest number whose advisory lock
// it could take, and names itself in leases by slot and a random word. The lock
// is held by the session that listens: when the process dies, PostgreSQL ends
// the session and frees the lock, by which the others see that its leases are
// void without waiting for them to run out. A process that is started again
// usually gets its old slot and clears it at once.

const (
	// lockSpace is the first half of our advisory locks' key; the second is the
	// slot.
	lockSpace = 0x77656674 // "weft"
	maxSlots  = 64
	channel   = "weftroom_outbox"
	// listenPause is between tries to get a lost session back.
	listenPause = time.Second
	// keepalive is how often a session that hears nothing is tried.
	keepalive = 30 * time.Second
)

func newWord() string { return rand.Text()[:12] }

// ownerName is slot and word; see slotOf.
func ownerName(slot int, word string) string { return strconv.Itoa(slot) + ":" + word }

func slotOf(owner string) (int, bool) {
	slot, _, ok := strings.Cut(owner, ":")
	n, err := strconv.Atoi(slot)
	return n, ok && err == nil
}

// notify tells other processes, once the transaction of ctx is committed.
func (o *Outbox) notify(ctx context.Context) error {
	if o.db.dialect != PostgreSQL {
		return nil
	}
	o.mu.Lock()
	owner := o.me.owner
	o.mu.Unlock()
	_, err := o.db.exec(ctx, `SELECT pg_notify($1, $2)`, channel, owner)
	return err
}

// orphans are the owners among leases whose process is no more.
func (x turn) orphans(ctx context.Context, leases []lease) ([]string, error) {
	if x.db.dialect != PostgreSQL || len(leases) == 0 {
		return nil, nil
	}
	var gone, seen []string
	for _, l := range leases {
		slot, ok := slotOf(l.owner)
		if l.owner == x.me.owner || !ok || slices.Contains(seen, l.owner) {
			continue
		}
		seen = append(seen, l.owner)
		dead, err := x.dead(ctx, slot)
		if err != nil {
			return nil, err
		}
		if dead {
			gone = append(gone, l.owner)
		}
	}
	return gone, nil
}

// dead tells whether nobody holds the lock of a slot. Our own slot is not held
// by another: a lease under it with another word is from before us.
func (x turn) dead(ctx context.Context, slot int) (bool, error) {
	if x.me.held && slot == x.me.slot {
		return true, nil
	}
	read := func(r row) (free bool, err error) { return free, r.Scan(&free) }
	return one(ctx, x.db, read, `SELECT pg_try_advisory_xact_lock($1, $2)`, lockSpace, slot)
}

// listenPostgres holds a slot and hears of commits, again and again until ctx ends.
func (o *Outbox) listenPostgres(ctx context.Context) error {
	for {
		err := o.session(ctx)
		o.unsettle()
		if ctx.Err() != nil {
			return nil
		}
		o.log.Warn("outbox: the session that listens was lost", "err", err)
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(listenPause):
		}
	}
}

func (o *Outbox) unsettle() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.me.held = false
}

// session listens on a connection of its own until that is lost or ctx ends.
func (o *Outbox) session(ctx context.Context) error {
	c, err := o.db.write.Conn(ctx)
	if err != nil {
		return err
	}
	defer c.Close()
	err = nil
	_ = c.Raw(func(conn any) error {
		err = o.attend(ctx, conn.(*stdlib.Conn).Conn())
		// The lock and the LISTEN go with the connection, so it must not be used
		// for anything else afterwards.
		return driver.ErrBadConn
	})
	return err
}

func (o *Outbox) attend(ctx context.Context, pg *pgx.Conn) error {
	slot, err := o.takeSlot(ctx, pg)
	if err != nil {
		return err
	}
	if _, err := pg.Exec(ctx, "LISTEN "+channel); err != nil {
		return err
	}
	owner := o.settle(slot)
	for {
		o.wakeAll()
		if err := await(ctx, pg, owner); err != nil {
			return err
		}
	}
}

// takeSlot locks the slot that this process had before, or the lowest free one.
func (o *Outbox) takeSlot(ctx context.Context, pg *pgx.Conn) (int, error) {
	o.mu.Lock()
	before := o.me.slot
	o.mu.Unlock()
	var slots []int
	if before > 0 {
		slots = append(slots, before)
	}
	for slot := range maxSlots {
		slots = append(slots, slot+1)
	}
	for _, slot := range slots {
		var got bool
		if err := pg.QueryRow(ctx, `SELECT pg_try_advisory_lock($1, $2)`, lockSpace, slot).Scan(&got); err != nil {
			return 0, err
		}
		if got {
			return slot, nil
		}
	}
	return 0, fmt.Errorf("outbox: all %d slots for processes are taken", maxSlots)
}

// settle names this process after its slot and lets it claim. What an earlier
// process left under the slot its next turn finds to be orphaned.
func (o *Outbox) settle(slot int) (owner string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.me = identity{owner: ownerName(slot, o.word), slot: slot, held: true}
	return o.me.owner
}

// await returns when another process than owner has committed posts.
func await(ctx context.Context, pg *pgx.Conn, owner string) error {
	for {
		n, err := hear(ctx, pg)
		if err != nil || n != nil && n.Payload != owner {
			return err
		}
	}
}

// hear waits for a notification. None, and no error, means that all was quiet
// for a while and the connection answers.
func hear(ctx context.Context, pg *pgx.Conn) (*pgconn.Notification, error) {
	wait, cancel := context.WithTimeout(ctx, keepalive)
	defer cancel()
	n, err := pg.WaitForNotification(wait)
	if err == nil || wait.Err() == nil || ctx.Err() != nil {
		return n, err
	}
	return nil, pg.Ping(ctx)
}
