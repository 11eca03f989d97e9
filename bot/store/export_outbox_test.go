package store

import (
	"context"
	"fmt"
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

// MayGrowTo lets a SQLite file have so many pages at most, or those that it has.
func MayGrowTo(t testing.TB, db *DB, pages int) {
	t.Helper()
	if _, err := db.write.ExecContext(t.Context(), fmt.Sprintf("PRAGMA max_page_count = %d", max(pages, 1))); err != nil {
		t.Fatal(err)
	}
}
