package store

import (
	"context"
	"database/sql"
	"sync"
	"time"
)

// durable is when a transaction is safe from a machine that loses its power. A
// process that is killed loses nothing of what was committed, either way.
type durable int

const (
	onDisk     durable = iota // before its commit returns
	onDiskSoon                // within flushAfter
)

// flushAfter is within what time a transaction is on the disk that did not wait for
// it (our own bound; PostgreSQL's is three times wal_writer_delay, which is 0.6 s
// unless its operator says otherwise).
const flushAfter = time.Second

// begin begins a transaction. release gives its connection back, once it has ended;
// to do so again does nothing.
func (db *DB) begin(ctx context.Context, level sql.IsolationLevel, when durable) (tx *sql.Tx, release func(), err error) {
	if db.dialect == PostgreSQL {
		tx, err = db.write.BeginTx(ctx, &sql.TxOptions{Isolation: level})
		if err == nil && when == onDiskSoon {
			if _, err = tx.ExecContext(ctx, `SET LOCAL synchronous_commit = off`); err != nil {
				_ = tx.Rollback()
			}
		}
		return tx, func() {}, err
	}
	conn, err := db.write.Conn(ctx)
	if err != nil {
		return nil, nil, err
	}
	if err = db.waits.set(ctx, conn, when); err == nil {
		tx, err = conn.BeginTx(ctx, nil) // SQLite has but one level, and it is serializable
	}
	if err != nil {
		_ = conn.Close()
		return nil, nil, err
	}
	return tx, func() { _ = conn.Close() }, nil
}

// waits is whether the one connection that writes waits for the disk. Who has the
// connection has this.
type waits struct{ not bool }

// set has a transaction on conn that is yet to begin wait or not. A new connection
// waits, whatever is believed of it here.
func (w *waits) set(ctx context.Context, conn *sql.Conn, when durable) error {
	switch {
	case when == onDiskSoon && !w.not:
		w.not = true // before it is: never is one believed to wait that does not
		_, err := conn.ExecContext(ctx, `PRAGMA synchronous = NORMAL`)
		return err
	case when == onDisk && w.not:
		if _, err := conn.ExecContext(ctx, `PRAGMA synchronous = FULL`); err != nil {
			return err
		}
		w.not = false
	}
	return nil
}

// flush brings to the disk what did not wait for it. PostgreSQL does so by itself.
type flush struct {
	mu      sync.Mutex
	timer   *time.Timer // nil when nothing is to be flushed
	closed  bool
	running sync.WaitGroup
}

// flushSoon has everything on the disk within flushAfter.
func (db *DB) flushSoon() {
	f := &db.flush
	f.mu.Lock()
	defer f.mu.Unlock()
	if db.dialect == SQLite && f.timer == nil && !f.closed {
		f.timer = time.AfterFunc(flushAfter, db.flushNow)
	}
}

// flushNow does so: a commit that waits for the disk has all before it there as
// well, if it changes anything (https://www.sqlite.org/pragma.html#pragma_synchronous).
func (db *DB) flushNow() {
	f := &db.flush
	f.mu.Lock()
	f.timer = nil
	if f.closed {
		f.mu.Unlock()
		return
	}
	f.running.Add(1)
	f.mu.Unlock() // who waits for the connection may be waited for by who has it
	defer f.running.Done()
	if err := db.setMetaTime(context.Background(), metaFlushed, db.now()); err != nil {
		db.log.Warn("what was changed last may not be on the disk yet", "err", err)
	}
}

// endFlush waits for a flush that is under way, and lets no other begin. SQLite does
// the last by itself when it is closed.
func (db *DB) endFlush() {
	f := &db.flush
	f.mu.Lock()
	f.closed = true
	if f.timer != nil {
		f.timer.Stop()
	}
	f.mu.Unlock()
	f.running.Wait()
}
