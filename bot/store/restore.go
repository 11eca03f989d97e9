package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Restored tells what Restore did.
type Restored struct {
	Backup    time.Time // when the backup was made
	At        time.Time // when it was restored
	Forgotten int       // deletions since the backup that were done again
	Cancelled int       // posts that were due in the past
}

// ErrNoBackup says that a file was not written by Backup.
var ErrNoBackup = errors.New("this is no backup of weftroom")

// Restore replaces all that db holds by a backup, in one transaction, so that it
// is done wholly or not at all. What was forgotten since the backup is forgotten
// again: db's own list, the one apart from it, and any further lists say who.
// Posts that were due before now are cancelled, and db is held until Resume. No
// other process may use the database meanwhile.
func (db *DB) Restore(ctx context.Context, backup string, lists ...string) (Restored, error) {
	dir, err := os.MkdirTemp("", "weftroom-restore-") // mode 0700
	if err != nil {
		return Restored{}, err
	}
	defer os.RemoveAll(dir)
	// A copy, for an old backup is brought to the present schema first.
	own := filepath.Join(dir, "backup.db")
	if err := copyFile(backup, own); err != nil {
		return Restored{}, err
	}
	b, err := openBackup(ctx, own, db.now)
	if err != nil {
		return Restored{}, fmt.Errorf("restore %s: %w", backup, err)
	}
	defer b.Close()
	apart, err := db.readLists(lists)
	if err != nil {
		return Restored{}, err
	}
	done := Restored{At: kept(db.now())}
	if done.Backup, err = b.metaTime(ctx, metaBackup); err != nil {
		return Restored{}, err
	}
	err = db.Tx(ctx, func(ctx context.Context) error { return db.restore(ctx, b, apart, &done) })
	if err != nil {
		return Restored{}, fmt.Errorf("restore %s: %w", backup, err)
	}
	return done, db.syncList(ctx)
}

// readLists are all lists apart from the database as one.
func (db *DB) readLists(further []string) (map[string]oblivion, error) {
	union := map[string]oblivion{}
	for _, path := range further {
		if _, err := os.Stat(path); err != nil {
			return nil, err // a list that was named must be there
		}
	}
	if db.forgotten != "" {
		further = append(further, db.forgotten)
	}
	for _, path := range further {
		list, err := readList(path)
		if err != nil {
			return nil, err
		}
		maps.Copy(union, list)
	}
	return union, nil
}

func (db *DB) restore(ctx context.Context, b *DB, apart map[string]oblivion, done *Restored) error {
	since, err := db.remembered(ctx)
	if err != nil {
		return err
	}
	maps.Copy(since, apart)
	if err := db.fill(ctx, b); err != nil {
		return err
	}
	then, err := db.remembered(ctx)
	if err != nil {
		return err
	}
	again := missing(since, then)
	if err := db.forgetAgain(ctx, again); err != nil {
		return err
	}
	done.Forgotten = len(again)
	return db.hold(ctx, done)
}

// hold lets the past be past: posts that were due are cancelled, schedules begin
// anew now, and nothing happens until Resume.
func (db *DB) hold(ctx context.Context, done *Restored) error {
	n, err := db.exec(ctx, `UPDATE outbox SET state = 'cancelled', last_error = 'restored', lease_owner = '', lease_until = 0
		WHERE state IN ('queued', 'sending') AND due_at <= $1`, done.At)
	if err != nil {
		return err
	}
	done.Cancelled = int(n)
	for _, statement := range []string{
		`UPDATE outbox SET state = 'queued', lease_owner = '', lease_until = 0 WHERE state = 'sending'`,
		`DELETE FROM chat_lease`,
		`DELETE FROM meta WHERE name = '` + metaBackup + `'`, // it is none any more
	} {
		if _, err := db.exec(ctx, statement); err != nil {
			return err
		}
	}
	if _, err := db.exec(ctx, `UPDATE schedules SET planned = $1 WHERE planned < $2`, done.At, done.At); err != nil {
		return err
	}
	if err := db.setMetaTime(ctx, metaRestored, done.At); err != nil {
		return err
	}
	return db.setMetaTime(ctx, metaHeld, done.At)
}

// openBackup opens a copy of a backup, with its schema brought up to date.
func openBackup(ctx context.Context, path string, now clock) (*DB, error) {
	if err := looksLikeBackup(ctx, path); err != nil {
		return nil, err
	}
	b, err := openCopy(ctx, path, now)
	if err != nil {
		return nil, err
	}
	if err := b.check(ctx); err != nil {
		return nil, errors.Join(err, b.Close())
	}
	return b, nil
}

// looksLikeBackup keeps a file of something else from being made into an empty
// database of ours, and that from being restored.
func looksLikeBackup(ctx context.Context, path string) error {
	raw, err := openRaw(path)
	if err != nil {
		return err
	}
	defer raw.Close()
	var made string
	err = raw.QueryRowContext(ctx, `SELECT value FROM meta WHERE name = $1`, metaBackup).Scan(&made)
	if e, ok := errors.AsType[*sqlite.Error](err); ok && e.Code()&0xff != sqlite3.SQLITE_ERROR && e.Code()&0xff != sqlite3.SQLITE_NOTADB {
		return err
	}
	if err != nil {
		return ErrNoBackup
	}
	return nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}
