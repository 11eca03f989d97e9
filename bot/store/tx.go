package store

import (
	"context"
	"database/sql"
	"errors"
	"math/rand/v2"
	"time"

	"weftroom/bot/class"
)

// maxTries bounds how often a transaction is run that PostgreSQL asks to be run
// again; the pauses between them add up to about two seconds.
const maxTries = 12

// txn is a transaction on its way, carried by a context.
type txn struct {
	tx     *sql.Tx
	asks   queryer  // of tx
	broken error    // why it cannot be committed any more, nil while it can
	after  []func() // to run once it is committed
}

func (t *txn) breaks(err error) {
	if t.broken == nil {
		t.broken = err
	}
}

// txnKey is the context key of a DB's own transaction: what two databases are
// told in one context must not mix.
type txnKey struct{ db *DB }

// txn is the transaction that ctx carries, nil when none.
func (db *DB) txn(ctx context.Context) *txn {
	t, _ := ctx.Value(txnKey{db}).(*txn)
	return t
}

// Tx implements class.Store. An error of a Tx within a Tx undoes the outer one
// as well, even when the outer's do goes on as if nothing had happened.
func (db *DB) Tx(ctx context.Context, do func(ctx context.Context) error) error {
	return db.atomic(ctx, sql.LevelSerializable, onDisk, do)
}

// whole is Tx for the store's own methods: within a transaction, an answer of
// theirs (none, taken) does not undo it. They must answer before they change
// anything.
func (db *DB) whole(ctx context.Context, do func(ctx context.Context) error) error {
	if db.txn(ctx) == nil {
		return db.Tx(ctx, do)
	}
	var answer error
	err := db.Tx(ctx, func(ctx context.Context) error {
		err := do(ctx)
		if errors.Is(err, class.ErrNone) || errors.Is(err, class.ErrTaken) {
			answer = err
			return nil
		}
		return err
	})
	if err != nil {
		return err
	}
	return answer
}

// atomic is Tx at a level of isolation of PostgreSQL; within a transaction it is
// part of that one, at that one's level and on the disk when that one is.
func (db *DB) atomic(ctx context.Context, level sql.IsolationLevel, when durable, do func(ctx context.Context) error) error {
	if t := db.txn(ctx); t != nil {
		return t.inner(ctx, do)
	}
	for try := 1; ; try++ {
		err := db.attempt(ctx, level, when, do)
		if err == nil || !runAgain(err) || try == maxTries {
			return kind(err)
		}
		if err := pause(ctx, try); err != nil {
			return err
		}
	}
}

func (t *txn) inner(ctx context.Context, do func(ctx context.Context) error) error {
	done := false
	defer func() {
		if !done { // do panicked, and somebody may recover on the way out
			t.breaks(errors.New("store: a panic within the transaction"))
		}
	}()
	err := do(ctx)
	done = true
	if err != nil {
		t.breaks(err)
	}
	return err
}

func (db *DB) attempt(ctx context.Context, level sql.IsolationLevel, when durable, do func(ctx context.Context) error) error {
	tx, release, err := db.begin(ctx, level, when)
	if err != nil {
		return err
	}
	end := func() {
		_ = tx.Rollback() // does nothing once committed
		release()
	}
	defer end()
	t := &txn{tx: tx, asks: tx}
	if db.written != nil {
		parsed := &parsedTx{Tx: tx, known: db.written}
		t.asks = parsed
		defer parsed.learn(ctx, end)
	}
	err = do(context.WithValue(ctx, txnKey{db}, t))
	if t.broken != nil && (err == nil || runAgain(t.broken)) {
		return t.broken
	}
	if err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	if when == onDiskSoon {
		db.flushSoon()
	}
	for _, f := range t.after {
		f()
	}
	return nil
}

// afterCommit runs f once the transaction that ctx carries is committed, at once
// when it carries none. f must not wait for the database.
func (db *DB) afterCommit(ctx context.Context, f func()) {
	if t := db.txn(ctx); t != nil {
		t.after = append(t.after, f)
		return
	}
	f()
}

// pause waits before another try: twice as long each time, and by chance, so
// that those who collided do not do so again.
func pause(ctx context.Context, try int) error {
	most := min(time.Millisecond<<try, 400*time.Millisecond)
	select {
	case <-time.After(most/2 + rand.N(most)/2):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// queryer is what a transaction and a pool have in common.
type queryer interface {
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// conn is where to ask: the transaction that ctx carries, else the pool for
// reading. Whatever writes outside of a transaction makes one by Tx first.
// Errors from it are for failed to judge.
func (db *DB) conn(ctx context.Context) queryer {
	if t := db.txn(ctx); t != nil {
		return t.asks
	}
	if db.parsed != nil {
		return db.parsed
	}
	return db.read
}

// failed marks the transaction that ctx carries as broken by a statement's
// error, as PostgreSQL does by itself, and says what kind of error it is.
func (db *DB) failed(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	if ctx.Err() != nil {
		err = errors.Join(ctx.Err(), err)
	}
	if t := db.txn(ctx); t != nil {
		t.breaks(err)
		return err // kind is asked once the transaction is over
	}
	return kind(err)
}

// exec runs a statement that writes, in a transaction of its own when ctx
// carries none, and tells how many rows it changed.
func (db *DB) exec(ctx context.Context, query string, args ...any) (changed int64, err error) {
	if db.txn(ctx) == nil {
		err = db.Tx(ctx, func(ctx context.Context) error {
			changed, err = db.exec(ctx, query, args...)
			return err
		})
		return changed, err
	}
	res, err := db.conn(ctx).ExecContext(ctx, query, bind(args)...)
	if err != nil {
		return 0, db.failed(ctx, err)
	}
	return res.RowsAffected()
}

// row is one row of an answer.
type row interface{ Scan(dest ...any) error }

func readText(r row) (s string, err error) {
	err = r.Scan(&s)
	return s, err
}

// one reads the first row of an answer, class.ErrNone when there is none.
func one[T any](ctx context.Context, db *DB, read func(row) (T, error), query string, args ...any) (T, error) {
	v, err := read(db.conn(ctx).QueryRowContext(ctx, query, bind(args)...))
	if errors.Is(err, sql.ErrNoRows) {
		var zero T
		return zero, class.ErrNone
	}
	return v, db.failed(ctx, err)
}

// all reads every row of an answer.
func all[T any](ctx context.Context, db *DB, read func(row) (T, error), query string, args ...any) ([]T, error) {
	rows, err := db.conn(ctx).QueryContext(ctx, query, bind(args)...)
	if err != nil {
		return nil, db.failed(ctx, err)
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		v, err := read(rows)
		if err != nil {
			return nil, db.failed(ctx, err)
		}
		out = append(out, v)
	}
	return out, db.failed(ctx, rows.Err())
}
