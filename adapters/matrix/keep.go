package matrix

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix/id"
	_ "modernc.org/sqlite" // the driver of both files
)

// Files of the keys' folder.
const (
	keysFile     = "keys.db"
	seenFile     = "seen.db"
	pickleFile   = "pickle.key"
	recoveryFile = "recovery.key" // only between making a recovery key and showing it
)

// keysDSN opens what must never be turned back: each commit is on the disk
// before it counts.
const keysDSN = "file:%s?_pragma=foreign_keys(1)&_pragma=journal_mode(WAL)&_pragma=busy_timeout(5000)&_txlock=immediate"

// seenDSN opens what the server can tell again: a power cut may lose the last
// moments of it. The lock is held as long as the file is open, and so keeps a
// second process with the same device away.
const seenDSN = "file:%s?_pragma=busy_timeout(1000)&_pragma=locking_mode(EXCLUSIVE)&_pragma=journal_mode(WAL)&_pragma=synchronous(NORMAL)&_txlock=immediate"

const seenSchema = `
CREATE TABLE IF NOT EXISTS stream (one INTEGER PRIMARY KEY CHECK (one = 1), token TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS handled (event TEXT PRIMARY KEY, at INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS sent (room TEXT NOT NULL, key TEXT NOT NULL, event TEXT NOT NULL, whole INTEGER NOT NULL DEFAULT 0,
	at INTEGER NOT NULL, PRIMARY KEY (room, key)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS rooms (room TEXT PRIMARY KEY, last TEXT NOT NULL DEFAULT '', explained INTEGER NOT NULL DEFAULT 0) WITHOUT ROWID;
`

// keepFor is how long the ids of answered events and of sent messages are kept;
// longer than maxAge, so that nothing is answered again.
const keepFor = 30 * 24 * time.Hour

// keep is what has been seen and sent, in a file of its own.
type keep struct {
	db     *sql.DB
	now    func() time.Time
	pruned time.Time // when what is old was last forgotten
}

var errInUse = errors.New("another process has it open")

// openKeep opens seen.db, and fails with errInUse while another process has it.
func openKeep(ctx context.Context, dir string, now func() time.Time) (*keep, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	db, err := openFile(filepath.Join(dir, seenFile), seenDSN)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	k := &keep{db: db, now: now}
	if _, err := db.ExecContext(ctx, seenSchema); err != nil {
		return nil, errors.Join(locked(err), db.Close())
	}
	if err := k.do(ctx, func(tx *sql.Tx) error { return k.prune(ctx, tx) }); err != nil {
		return nil, errors.Join(locked(err), db.Close())
	}
	return k, nil
}

// prune forgets what is older than keepFor, once a day.
func (k *keep) prune(ctx context.Context, tx *sql.Tx) error {
	now := k.now()
	if now.Sub(k.pruned) < 24*time.Hour {
		return nil
	}
	for _, table := range []string{"handled", "sent"} {
		if _, err := tx.ExecContext(ctx, "DELETE FROM "+table+" WHERE at < $1", now.Add(-keepFor).UnixMilli()); err != nil {
			return err
		}
	}
	k.pruned = now
	return nil
}

// openFile opens a database that nobody else may read.
func openFile(path, dsn string) (*sql.DB, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	if err := f.Close(); err != nil {
		return nil, err
	}
	return sql.Open("sqlite", fmt.Sprintf(dsn, path))
}

// locked makes errInUse of SQLite's word for it.
func locked(err error) error {
	var coded interface{ Code() int }
	const busy = 5 // SQLITE_BUSY
	if errors.As(err, &coded) && coded.Code()&0xff == busy {
		return errInUse
	}
	return err
}

// openKeys opens keys.db for the library that keeps its tables there.
func openKeys(dir string) (*dbutil.Database, error) {
	raw, err := openFile(filepath.Join(dir, keysFile), keysDSN)
	if err != nil {
		return nil, err
	}
	raw.SetMaxOpenConns(4)
	raw.SetMaxIdleConns(4)
	return dbutil.NewWithDB(raw, "sqlite3")
}

func (k *keep) close() error { return k.db.Close() }

// token is the place in the stream up to which all is answered, "" at first.
func (k *keep) token(ctx context.Context) (token string, err error) {
	err = k.db.QueryRowContext(ctx, "SELECT token FROM stream").Scan(&token)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return token, err
}

// advance moves the place in the stream on, with the last event of each room
// up to there, and forgets what is old. It is called by one at a time.
func (k *keep) advance(ctx context.Context, token string, lasts map[id.RoomID]id.EventID) error {
	return k.do(ctx, func(tx *sql.Tx) error {
		for room, event := range lasts {
			if _, err := tx.ExecContext(ctx, "INSERT INTO rooms (room, last) VALUES ($1, $2) ON CONFLICT (room) DO UPDATE SET last = excluded.last",
				string(room), string(event)); err != nil {
				return err
			}
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO stream (one, token) VALUES (1, $1) ON CONFLICT (one) DO UPDATE SET token = excluded.token", token); err != nil {
			return err
		}
		return k.prune(ctx, tx)
	})
}

// last is the last event of a room up to the token, "" for a room not seen yet.
func (k *keep) last(ctx context.Context, room id.RoomID) (event id.EventID, err error) {
	err = k.db.QueryRowContext(ctx, "SELECT last FROM rooms WHERE room = $1", string(room)).Scan(&event)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return event, err
}

// left forgets how far a room was read, since the events until the next joining
// are none of ours.
func (k *keep) left(ctx context.Context, room id.RoomID) error {
	_, err := k.db.ExecContext(ctx, "UPDATE rooms SET last = '' WHERE room = $1", string(room))
	return err
}

// explain tells whether it is time to explain once more in a room why a message
// could not be read, and takes that for done.
func (k *keep) explain(ctx context.Context, room id.RoomID) (bool, error) {
	now := k.now()
	done, err := k.db.ExecContext(ctx, `INSERT INTO rooms (room, explained) VALUES ($1, $2)
		ON CONFLICT (room) DO UPDATE SET explained = excluded.explained WHERE explained < $3`,
		string(room), now.UnixMilli(), now.Add(-explainAgain).UnixMilli())
	if err != nil {
		return false, err
	}
	n, err := done.RowsAffected()
	return n > 0, err
}

// handled tells whether an event is through.
func (k *keep) handled(ctx context.Context, event id.EventID) (yes bool, err error) {
	err = k.db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM handled WHERE event = $1)", string(event)).Scan(&yes)
	return yes, err
}

// markHandled puts an event behind us.
func (k *keep) markHandled(ctx context.Context, event id.EventID) error {
	_, err := k.db.ExecContext(ctx, "INSERT OR IGNORE INTO handled (event, at) VALUES ($1, $2)", string(event), k.now().UnixMilli())
	return err
}

// message is what is known of one that was to be sent.
type message struct {
	Event id.EventID // "" while nobody knows whether it arrived
	Begun bool       // it was tried
	Whole bool       // and so was everything that belongs to it
}

func (k *keep) message(ctx context.Context, room id.RoomID, key string) (m message, err error) {
	err = k.db.QueryRowContext(ctx, "SELECT event, whole FROM sent WHERE room = $1 AND key = $2", string(room), key).Scan(&m.Event, &m.Whole)
	if errors.Is(err, sql.ErrNoRows) {
		return message{}, nil
	}
	m.Begun = err == nil
	return m, err
}

// begin notes that a message is about to be sent.
func (k *keep) begin(ctx context.Context, room id.RoomID, key string) error {
	_, err := k.db.ExecContext(ctx, "INSERT OR IGNORE INTO sent (room, key, event, at) VALUES ($1, $2, '', $3)", string(room), key, k.now().UnixMilli())
	return err
}

// refused notes that a message that was begun has not been taken.
func (k *keep) refused(ctx context.Context, room id.RoomID, key string) error {
	_, err := k.db.ExecContext(ctx, "DELETE FROM sent WHERE room = $1 AND key = $2 AND event = ''", string(room), key)
	return err
}

// echo is a message of ours that the server has.
type echo struct {
	Room  id.RoomID
	Key   string
	Event id.EventID
	Gone  bool // it has been taken back since
}

// arrived notes messages that the server has. The first event under a key stays;
// another one that stands beside it is its twin, and given back.
func (k *keep) arrived(ctx context.Context, echoes ...echo) (twins []echo, err error) {
	if len(echoes) == 0 {
		return nil, nil
	}
	err = k.do(ctx, func(tx *sql.Tx) error {
		for _, e := range echoes {
			var first id.EventID
			if err := tx.QueryRowContext(ctx, `INSERT INTO sent (room, key, event, at) VALUES ($1, $2, $3, $4)
				ON CONFLICT (room, key) DO UPDATE SET event = CASE event WHEN '' THEN excluded.event ELSE event END RETURNING event`,
				string(e.Room), e.Key, string(e.Event), k.now().UnixMilli()).Scan(&first); err != nil {
				return err
			}
			if first != e.Event && !e.Gone {
				twins = append(twins, e)
			}
		}
		return nil
	})
	return twins, err
}

// markWhole notes that all parts under a key are there.
func (k *keep) markWhole(ctx context.Context, room id.RoomID, key string) error {
	_, err := k.db.ExecContext(ctx, "UPDATE sent SET whole = 1 WHERE room = $1 AND key = $2", string(room), key)
	return err
}

func (k *keep) do(ctx context.Context, f func(*sql.Tx) error) error {
	tx, err := k.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := f(tx); err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}
