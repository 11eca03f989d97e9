package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// A backup is one SQLite file of our schema, whichever database it came from,
// so that it can go back into either. It is complete and checked, or it is not
// there.

// Backup writes a consistent copy of the database to a new file at path, while
// the database goes on, and checks it. The list of the forgotten is brought up
// to date first, for a backup is only as good as the list beside it.
func (db *DB) Backup(ctx context.Context, path string) error {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(fmt.Errorf("backup %s: there is something of that name already", path), err)
	}
	if err := db.syncList(ctx); err != nil {
		return fmt.Errorf("backup: the list of the forgotten: %w", err)
	}
	dir, err := os.MkdirTemp(filepath.Dir(path), ".weftroom-backup-") // mode 0700
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	copied := filepath.Join(dir, "backup.db")
	if err := db.copyTo(ctx, copied); err != nil {
		return kind(fmt.Errorf("backup %s: %w", path, err))
	}
	return put(copied, path)
}

func (db *DB) copyTo(ctx context.Context, path string) error {
	if db.dialect == SQLite {
		if err := db.vacuumInto(ctx, path); err != nil {
			return err
		}
	}
	b, err := openCopy(ctx, path, db.now)
	if err != nil {
		return err
	}
	defer b.Close()
	if db.dialect == PostgreSQL {
		if err := db.dump(ctx, b); err != nil {
			return err
		}
	}
	if err := b.setMetaTime(ctx, metaBackup, db.now()); err != nil {
		return err
	}
	if err := b.check(ctx); err != nil {
		return err
	}
	// One file, without others beside it.
	if err := b.read.Close(); err != nil {
		return err
	}
	if _, err := b.write.ExecContext(ctx, `PRAGMA journal_mode = DELETE`); err != nil {
		return err
	}
	return b.Close()
}

// vacuumInto copies a moment of the file on a connection of its own, so that
// neither readers nor the writer wait.
func (db *DB) vacuumInto(ctx context.Context, path string) error {
	if err := private(path); err != nil { // it may be there when it is empty
		return err
	}
	c, err := sql.Open("sqlite", dsn(db.path))
	if err != nil {
		return err
	}
	defer c.Close()
	_, err = c.ExecContext(ctx, `VACUUM INTO $1`, path)
	return err
}

// openCopy opens a file that nobody else knows of.
func openCopy(ctx context.Context, path string, now clock) (*DB, error) {
	b := &DB{dialect: SQLite, path: path, now: now}
	if err := b.openFile(ctx); err != nil {
		return nil, errors.Join(err, b.Close())
	}
	return b, nil
}

// dump copies what PostgreSQL holds at one moment.
func (db *DB) dump(ctx context.Context, to *DB) error {
	return db.atomic(ctx, sql.LevelRepeatableRead, onDisk, func(ctx context.Context) error {
		return to.fill(ctx, db)
	})
}

// check has SQLite look at every page, index and reference of the file.
func (db *DB) check(ctx context.Context) error {
	said, err := all(ctx, db, readText, `PRAGMA integrity_check`)
	if err != nil {
		return err
	}
	if len(said) != 1 || said[0] != "ok" {
		return fmt.Errorf("integrity check: %q", said)
	}
	broken, err := all(ctx, db, readText, `SELECT "table" FROM pragma_foreign_key_check`)
	if err != nil {
		return err
	}
	if len(broken) > 0 {
		return fmt.Errorf("rows without what they refer to in %q", broken)
	}
	return nil
}

// put moves a file to its name and waits until it is there.
func put(from, to string) error {
	f, err := os.Open(from)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(from, to); err != nil {
		return err
	}
	dir, err := os.Open(filepath.Dir(to))
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}
