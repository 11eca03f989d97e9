package store

import "context"

// resetAll takes back whatever is being sent and held. Only SQLite may ask for
// it: by the file lock nobody else can be at it.
func (o *Outbox) resetAll(ctx context.Context) error {
	return o.db.Tx(ctx, func(ctx context.Context) error {
		_, err := o.db.exec(ctx, `UPDATE outbox SET state = 'queued', lease_owner = '', lease_until = 0 WHERE state = 'sending'`)
		if err != nil {
			return err
		}
		_, err = o.db.exec(ctx, `DELETE FROM chat_lease`)
		return err
	})
}
