package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Beside the process that runs the class another may look at its database, copy
// it and end a hold. None of that needs the lock of a SQLite file, for SQLite
// itself keeps two programs apart; the lock is there so that posts are sent and
// requests answered by one.

// ErrNotOurs says that a database holds nothing of weftroom.
var ErrNotOurs = errors.New("this is no database of weftroom")

// errNoDatabase says that a file is none.
var errNoDatabase = errors.New("this is no database, and is left as it is")

// OpenBeside opens a database that another process may be running: it takes no
// lock, makes nothing and leaves the schema as it is. It is for reading, for
// Backup and for Resume. A file that is not there is fs.ErrNotExist, a database
// without our tables ErrNotOurs.
func OpenBeside(ctx context.Context, where string, o Options) (*DB, error) {
	db, err := reach(ctx, where, o)
	if err != nil {
		return nil, err
	}
	db.beside = true
	have, newest, err := db.Schema(ctx)
	if err == nil && have > newest {
		err = newerSchema(have, newest)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open %s: %w", db.name(), err), db.Close())
	}
	return db, nil
}

func reach(ctx context.Context, where string, o Options) (*DB, error) {
	if isURL(where) {
		return reachPostgres(where, o)
	}
	path, err := resolve(where)
	if err != nil {
		return nil, kind(err)
	}
	if _, err := os.Stat(path); err != nil {
		return nil, kind(err)
	}
	db := &DB{dialect: SQLite, path: path, now: o.clock(), log: o.logger(), forgotten: cmp.Or(o.Forgotten, path+".forgotten")}
	if db.write, err = sql.Open("sqlite", dsn(path)); err != nil {
		return nil, err
	}
	db.write.SetMaxOpenConns(1)
	if db.read, err = openRaw(path); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// name is the database in an error; of a URL nothing is shown.
func (db *DB) name() string { return cmp.Or(db.path, "PostgreSQL") }

func isURL(where string) bool {
	return strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://")
}

// Schema tells which version of the schema the database has, and which is the
// newest that this program knows. Without our tables it is ErrNotOurs.
func (db *DB) Schema(ctx context.Context) (have, newest int64, err error) {
	p, err := db.migrator()
	if err != nil {
		return 0, 0, err
	}
	sources := p.ListSources()
	newest = sources[len(sources)-1].Version
	readVersion := func(r row) (v int64, err error) { return v, r.Scan(&v) }
	have, err = one(ctx, db, readVersion, `SELECT COALESCE(MAX(version_id), 0) FROM goose_db_version WHERE is_applied`)
	if noTable(err) || err == nil && have == 0 {
		return 0, newest, ErrNotOurs
	}
	return have, newest, err
}

// ours refuses a SQLite file with tables of someone else.
func (db *DB) ours(ctx context.Context) error {
	_, _, err := db.Schema(ctx)
	if !errors.Is(err, ErrNotOurs) {
		return err
	}
	readCount := func(r row) (n int, err error) { return n, r.Scan(&n) }
	tables, err := one(ctx, db, readCount, `SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'goose%' AND name NOT LIKE 'sqlite%'`)
	if err == nil && tables > 0 {
		return ErrNotOurs
	}
	return err
}

func noTable(err error) bool {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		return e.Code == "42P01" // undefined_table
	}
	e, ok := errors.AsType[*sqlite.Error](err)
	return ok && e.Code()&0xff == sqlite3.SQLITE_ERROR && strings.Contains(e.Error(), "no such table")
}

// Writable takes the way of a change without making one.
func (db *DB) Writable(ctx context.Context) error {
	return db.Tx(ctx, func(context.Context) error { return nil })
}

// Running tells whether another process answers and posts from this database: it
// has the lock of the SQLite file, and pid says which it is (0 when it does not
// say); or it holds an identity on PostgreSQL.
func (db *DB) Running(ctx context.Context) (running bool, pid int, err error) {
	if db.dialect == SQLite {
		return heldLock(db.path)
	}
	read := func(r row) (n int, err error) { return n, r.Scan(&n) }
	n, err := one(ctx, db, read, `SELECT COUNT(*) FROM pg_locks l JOIN pg_database d ON d.oid = l.database
		WHERE l.locktype = 'advisory' AND l.granted AND l.classid::bigint = $1 AND d.datname = current_database()`, lockSpace)
	return n > 0, 0, err
}
