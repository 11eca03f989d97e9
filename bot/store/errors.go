package store

import (
	"cmp"
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Unavailable says that the database cannot serve for a while: locked, gone,
// its disk full. What was asked has not been kept, or it is not known whether it
// has; the same request may be tried again, which Once makes safe.
type Unavailable struct {
	Why string // in words for the operator
	Err error
}

// Error implements error.
func (e *Unavailable) Error() string { return e.Why + ": " + e.Err.Error() }

// Unwrap gives the cause.
func (e *Unavailable) Unwrap() error { return e.Err }

// Temporary tells that trying again later may help; always true.
func (e *Unavailable) Temporary() bool { return true }

// IsTemporary tells whether err says that the database cannot serve for a while.
func IsTemporary(err error) bool {
	_, ok := errors.AsType[*Unavailable](err)
	return ok
}

// kind makes err an *Unavailable when it is one, and leaves it as it is otherwise.
func kind(err error) error {
	if err == nil || IsTemporary(err) {
		return err
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	why := cmp.Or(whyFile(err), whyGone(err))
	if e, ok := errors.AsType[*sqlite.Error](err); ok {
		why = whySQLite(e.Code())
	}
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		why = whyPostgres(e.Code)
	}
	if why == "" {
		return err
	}
	return &Unavailable{Why: why, Err: err}
}

// whySQLite is why a result code (https://www.sqlite.org/rescode.html) may pass,
// "" when it will not.
func whySQLite(code int) string {
	switch code & 0xff { // the primary code; the rest is detail
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return "the database file is locked by another program"
	case sqlite3.SQLITE_FULL:
		return "the disk of the database is full"
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return "the database file may not be written"
	case sqlite3.SQLITE_CANTOPEN:
		return "the database file cannot be opened"
	case sqlite3.SQLITE_IOERR:
		return "the disk of the database does not answer"
	case sqlite3.SQLITE_NOMEM:
		return "the database has no memory left"
	}
	return ""
}

// whyPostgres is why a SQLSTATE (PostgreSQL manual, appendix A) may pass, ""
// when it will not.
func whyPostgres(code string) string {
	switch {
	case code == "40001", code == "40P01":
		return "too many changes at once in the database"
	case code == "55P03":
		return "the database is locked by another program"
	case code == "53100":
		return "the disk of the database is full"
	case code == "25P03", code == "25P04":
		return "the database gave up a transaction that took too long"
	case code == "25006":
		return "the database takes no changes just now"
	case strings.HasPrefix(code, "53"):
		return "the database has too much to do"
	case strings.HasPrefix(code, "08"), strings.HasPrefix(code, "57P"):
		return "the database is gone for a while"
	case strings.HasPrefix(code, "58"):
		return "the disk of the database does not answer"
	}
	return ""
}

// whyFile is why a file could not be opened or written, "" when err is about
// something else.
func whyFile(err error) string {
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return "the disk of the database is full"
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return "the database file may not be written"
	case errors.Is(err, syscall.EIO):
		return "the disk of the database does not answer"
	}
	return ""
}

// whyGone is why a connection that was lost may come back, "" when err is not
// about a connection.
func whyGone(err error) string {
	_, connecting := errors.AsType[*pgconn.ConnectError](err)
	if _, file := errors.AsType[*fs.PathError](err); file && !connecting {
		return "" // whose numbers look like those of a network
	}
	_, network := errors.AsType[net.Error](err)
	if connecting || network || pgconn.SafeToRetry(err) || errors.Is(err, driver.ErrBadConn) ||
		errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, sql.ErrConnDone) {
		return "the database is gone for a while"
	}
	return ""
}

// runAgain tells whether a transaction failed only because of others that ran
// at the same time.
func runAgain(err error) bool {
	e, ok := errors.AsType[*pgconn.PgError](err)
	return ok && runAgainState(e.Code)
}

// runAgainState knows serialization_failure and deadlock_detected, and
// unique_violation as well: two transactions that choose the same key see each
// other only there, and the one that runs again finds it taken.
func runAgainState(code string) bool {
	return code == "40001" || code == "40P01" || code == "23505"
}

// asInt is a whole number as either driver gives it.
func asInt(src any) (int64, error) {
	if v, ok := src.(int64); ok {
		return v, nil
	}
	return 0, fmt.Errorf("store: %T where a whole number is kept", src)
}
