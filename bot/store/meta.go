package store

import (
	"context"
	"strconv"
	"time"
)

// What meta keeps: instants in milliseconds, as text.
const (
	metaHeld     = "held_since"  // deleted by Resume
	metaRestored = "restored_at" // of the last Restore
	metaBackup   = "backup_at"   // in a backup: when it was made
	metaFlushed  = "flushed_at"  // when the disk was last waited for on behalf of what had not
)

// HeldSince is since when a restored database waits for Resume; zero when it
// does not. While it is held nothing is posted, and serve joins no chat.
func (db *DB) HeldSince(ctx context.Context) (time.Time, error) { return db.metaTime(ctx, metaHeld) }

// RestoredAt is when the database was last restored from a backup; zero for
// never. Requests made before are not for this state of things.
func (db *DB) RestoredAt(ctx context.Context) (time.Time, error) {
	return db.metaTime(ctx, metaRestored)
}

// Resume ends being held. When nothing is held it does nothing.
func (db *DB) Resume(ctx context.Context) error {
	_, err := db.exec(ctx, `DELETE FROM meta WHERE name = $1`, metaHeld)
	return err
}

func (db *DB) metaTime(ctx context.Context, name string) (time.Time, error) {
	raw, err := one(ctx, db, readText, `SELECT value FROM meta WHERE name = $1`, name)
	if err != nil {
		return time.Time{}, noneIsFine(err)
	}
	ms, err := strconv.ParseInt(raw, 10, 64)
	if err != nil {
		return time.Time{}, err
	}
	return time.UnixMilli(ms).UTC(), nil
}

func (db *DB) setMetaTime(ctx context.Context, name string, at time.Time) error {
	_, err := db.exec(ctx, `INSERT INTO meta (name, value) VALUES ($1, $2)
		ON CONFLICT (name) DO UPDATE SET value = excluded.value`, name, strconv.FormatInt(millis(at), 10))
	return err
}
