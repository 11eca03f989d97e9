package store

import (
	"context"
	"testing"
)

// WaitFor has SQLite wait for the lock of another program as long as this.
func WaitFor(t testing.TB, ms int) {
	was := busyTimeout
	busyTimeout = ms
	t.Cleanup(func() { busyTimeout = was })
}

// Do runs a statement that no code of ours has.
func Do(ctx context.Context, db *DB, statement string) error {
	_, err := db.write.ExecContext(ctx, statement)
	return err
}

// Ask reads a text by a statement that no code of ours has.
func Ask(ctx context.Context, db *DB, query string, args ...any) (string, error) {
	return one(ctx, db, readText, query, args...)
}

// Check is what a backup is checked by.
func Check(ctx context.Context, db *DB) error { return db.check(ctx) }

// FlushAfter is within what time the disk is waited for.
const FlushAfter = flushAfter

// MaxTries is how often a transaction is run.
const MaxTries = maxTries
