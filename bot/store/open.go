package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	_ "modernc.org/sqlite" // the driver "sqlite"
)

// Dialect is the database behind a DB.
type Dialect int

// The databases.
const (
	SQLite Dialect = iota
	PostgreSQL
)

// Options are what may be said when opening. The zero value will do.
type Options struct {
	// Forgotten is the file that keeps, apart from the database, who was
	// forgotten, so that a restored backup can forget them again. It holds ids
	// and digests, no names. For SQLite "" is the database's path with
	// ".forgotten"; for PostgreSQL "" is none, and then the list lives and dies
	// with the database.
	Forgotten string

	// Now is the clock; nil is time.Now.
	Now func() time.Time

	// Log hears what went wrong where no error can be returned; nil for nobody.
	Log *slog.Logger
}

// DB is the open database. It is safe for use from many goroutines.
type DB struct {
	dialect   Dialect
	write     *sql.DB     // SQLite: one connection
	read      *sql.DB     // SQLite: a small pool that cannot write; PostgreSQL: the same as write
	parsed    *statements // of read; nil on PostgreSQL and before the schema stands
	written   *statements // of write; nil as parsed
	path      string      // of the SQLite file, resolved; "" on PostgreSQL
	forgotten string
	now       clock
	log       *slog.Logger
	lock      *os.File
	beside    bool       // of a process that has it open; see OpenBeside
	listing   sync.Mutex // of the file forgotten
	waits     waits      // of the connection of write
	flush     flush
}

type clock func() time.Time

// Bounds of the connections.
const (
	sqliteReaders = 4
	postgresConns = 8
	// idleInTransaction ends a transaction whose process was stopped in its
	// midst, so that it cannot hold up the others for long.
	idleInTransaction = "30000" // ms
)

// OpenURL opens PostgreSQL for a URL that begins postgres:// or postgresql://,
// and otherwise the SQLite file of that path.
func OpenURL(ctx context.Context, where string, o Options) (*DB, error) {
	if isURL(where) {
		return OpenPostgres(ctx, where, o)
	}
	return OpenSQLite(ctx, where, o)
}

// OpenSQLite opens the file at path, made when there is none, with the schema
// brought up to date. A second process that opens it is refused with *InUse.
func OpenSQLite(ctx context.Context, path string, o Options) (*DB, error) {
	db := &DB{dialect: SQLite, path: path, now: o.clock(), log: o.logger()}
	if err := db.lockPath(); err != nil {
		return nil, kind(err)
	}
	db.forgotten = cmp.Or(o.Forgotten, db.path+".forgotten")
	if err := db.openFile(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open %s: %w", path, kind(err)), db.Close())
	}
	return db.ready(ctx)
}

// OpenPostgres opens the database of a URL, with the schema brought up to date.
// Several processes may have it open.
func OpenPostgres(ctx context.Context, url string, o Options) (*DB, error) {
	db, err := reachPostgres(url, o)
	if err != nil {
		return nil, err
	}
	if err := db.migrate(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open PostgreSQL: %w", kind(err)), db.Close())
	}
	return db.ready(ctx)
}

// reachPostgres makes connections when they are needed.
func reachPostgres(url string, o Options) (*DB, error) {
	c, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, err // pgx leaves the password out
	}
	setUnless(c.RuntimeParams, "application_name", "weftroom")
	setUnless(c.RuntimeParams, "idle_in_transaction_session_timeout", idleInTransaction)
	pool := stdlib.OpenDB(*c)
	pool.SetMaxOpenConns(postgresConns)
	pool.SetMaxIdleConns(postgresConns)
	return &DB{dialect: PostgreSQL, write: pool, read: pool, now: o.clock(), log: o.logger(), forgotten: o.Forgotten}, nil
}

// ready makes the list of the forgotten agree with the database.
func (db *DB) ready(ctx context.Context) (*DB, error) {
	if err := db.syncList(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("the list of the forgotten: %w", kind(err)), db.Close())
	}
	return db, nil
}

// Dialect tells which database it is.
func (db *DB) Dialect() Dialect { return db.dialect }

// Close gives everything back. Transactions that still run fail. Closing again
// does nothing.
func (db *DB) Close() error {
	db.endFlush()
	var errs []error
	if db.read != nil && db.read != db.write {
		errs = append(errs, db.read.Close())
	}
	if db.write != nil {
		errs = append(errs, db.write.Close())
	}
	if db.lock != nil {
		if err := db.lock.Close(); !errors.Is(err, os.ErrClosed) { // which unlocks it
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

func (o Options) clock() clock {
	if o.Now == nil {
		return time.Now
	}
	return o.Now
}

func (db *DB) lockPath() (err error) {
	if db.path, err = resolve(db.path); err != nil {
		return err
	}
	db.lock, err = lockFile(db.path)
	return err
}

func (o Options) logger() *slog.Logger {
	if o.Log == nil {
		return slog.New(slog.DiscardHandler)
	}
	return o.Log
}

func setUnless(m map[string]string, key, value string) {
	if m[key] == "" {
		m[key] = value
	}
}

// resolve makes path absolute and follows links, so that one file has one lock
// by whatever name it is opened.
func resolve(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real, nil
	}
	dir, err := filepath.EvalSymlinks(filepath.Dir(path))
	if err != nil {
		return "", err
	}
	return filepath.Join(dir, filepath.Base(path)), nil
}

func (db *DB) openFile(ctx context.Context) error {
	if err := private(db.path); err != nil {
		return err
	}
	var err error
	if db.write, err = sql.Open("sqlite", dsn(db.path, "journal_mode(WAL)", "synchronous(FULL)", "journal_size_limit(67108864)")); err != nil {
		return err
	}
	db.write.SetMaxOpenConns(1)
	if db.read, err = openRaw(db.path); err != nil {
		return err
	}
	if err := db.ours(ctx); err != nil {
		return err
	}
	if err := db.migrate(ctx); err != nil {
		return err
	}
	db.read.SetMaxOpenConns(sqliteReaders)
	db.read.SetMaxIdleConns(sqliteReaders)
	db.parsed, db.written = newStatements(db.read), newStatements(db.write)
	return db.read.PingContext(ctx)
}

// openRaw opens a SQLite file for reading as it is.
func openRaw(path string) (*sql.DB, error) { return sql.Open("sqlite", dsn(path, "query_only(1)")) }

// private makes the file readable by its owner alone. SQLite gives the files
// beside it the same mode.
func private(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if info.Size() > 0 && !beginsLikeSQLite(f) {
		return errNoDatabase
	}
	if info.Mode().Perm() == 0o600 {
		return nil
	}
	return f.Chmod(0o600)
}

// beginsLikeSQLite looks at the first bytes (https://www.sqlite.org/fileformat.html,
// 1.2.1), for SQLite itself takes a file of a few bytes for an empty database.
func beginsLikeSQLite(f *os.File) bool {
	const magic = "SQLite format 3\x00"
	head := make([]byte, len(magic))
	_, err := f.ReadAt(head, 0)
	return err == nil && string(head) == magic
}

// busyTimeout is how long SQLite waits for the lock of another program, in ms.
var busyTimeout = 5000

// dsn is the data source name of a SQLite file. How long to wait for a lock
// comes first, for the other pragmas may need one.
func dsn(path string, pragmas ...string) string {
	q := url.Values{
		"_txlock": {"immediate"},
		"_pragma": append([]string{"busy_timeout(" + strconv.Itoa(busyTimeout) + ")", "foreign_keys(1)"}, pragmas...),
	}
	u := url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}
	return u.String()
}
