package store

import (
	"context"
	"testing"
	"time"
)

// ForceSending does by SQL what no code may do.
func ForceSending(ctx context.Context, db *DB, key string) error {
	_, err := db.exec(ctx, `UPDATE outbox SET state = 'sending', lease_owner = 'x' WHERE dedupe_key = $1`, key)
	return err
}

// Hold leaves a database as a restore does.
func Hold(t testing.TB, db *DB, at time.Time) {
	t.Helper()
	if err := db.setMetaTime(t.Context(), metaHeld, at); err != nil {
		t.Fatal(err)
	}
}
