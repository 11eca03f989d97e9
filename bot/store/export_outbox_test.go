package store

import "context"

// ForceSending does by SQL what no code may do.
func ForceSending(ctx context.Context, db *DB, key string) error {
	_, err := db.exec(ctx, `UPDATE outbox SET state = 'sending', lease_owner = 'x' WHERE dedupe_key = $1`, key)
	return err
}
