package store_test

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgproto3"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
)

// databases are where both kinds may be; each call makes a fresh one.
var databases = map[string]func(t testing.TB) string{
	"SQLite":     func(t testing.TB) string { return filepath.Join(t.TempDir(), "class.db") },
	"PostgreSQL": func(t testing.TB) string { return storetest.Postgres(t) },
}

func beside(t *testing.T, where string) *store.DB {
	t.Helper()
	db, err := store.OpenBeside(t.Context(), where, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ok(t, db.Close()) })
	return db
}

// TestBeside reads, copies and resumes a database that is in use.
func TestBeside(t *testing.T) {
	for name, fresh := range databases {
		t.Run(name, func(t *testing.T) {
			ctx, where := t.Context(), fresh(t)
			db := opened(t, where)
			ok(t, db.PutLink(ctx, class.Link{Code: "before"}))
			restore(t, db, backup(t, db))
			ok(t, db.PutLink(ctx, class.Link{Code: "after"}))

			by := beside(t, where)
			if have, newest, err := by.Schema(ctx); err != nil || have != newest || newest < 1 {
				t.Errorf("schema %d of %d, %v", have, newest, err)
			}
			ok(t, by.Writable(ctx))
			box, err := store.NewOutbox(ctx, by, slog.New(slog.DiscardHandler))
			ok(t, err)
			if _, err := box.Waiting(ctx); err != nil {
				t.Error(err)
			}
			copied := backup(t, by)
			if since, err := by.HeldSince(ctx); err != nil || since.IsZero() {
				t.Errorf("held since %v, %v", since, err)
			}
			ok(t, by.Resume(ctx))
			if since, err := db.HeldSince(ctx); err != nil || !since.IsZero() {
				t.Errorf("resumed from beside, and held since %v, %v", since, err)
			}

			other := openSQLite(t)
			restore(t, other, copied)
			for _, code := range []string{"before", "after"} {
				if _, err := other.Link(ctx, code); err != nil {
					t.Errorf("%s, in the backup from beside: %v", code, err)
				}
			}
		})
	}
}

// TestBesideMakesNothing: whoever only looks leaves nothing behind.
func TestBesideMakesNothing(t *testing.T) {
	ctx, dir := t.Context(), t.TempDir()
	path := filepath.Join(dir, "class.db")
	if _, err := store.OpenBeside(ctx, path, store.Options{}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
	if made, err := os.ReadDir(dir); err != nil || len(made) > 0 {
		t.Errorf("made %v, %v", made, err)
	}
	ok(t, os.WriteFile(path, nil, 0o600))
	if _, err := store.OpenBeside(ctx, path, store.Options{}); !errors.Is(err, store.ErrNotOurs) {
		t.Errorf("an empty file: %v", err)
	}
	url := storetest.Postgres(t)
	for range 2 { // the first has made no tables either
		if _, err := store.OpenBeside(ctx, url, store.Options{}); !errors.Is(err, store.ErrNotOurs) {
			t.Errorf("an empty database: %v", err)
		}
	}
}

// TestBesideLeavesTheForgottenAlone: what stands on the list and not in the
// database may be a deletion that the other process is about to commit.
func TestBesideLeavesTheForgottenAlone(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "class.db")
	db := opened(t, path)
	p, err := db.PersonOf(ctx, bot.Account{Chat: "left", User: "ada"}, "Ada")
	ok(t, err)
	ok(t, os.WriteFile(path+".forgotten", []byte(`{"id":"x","at":"2026-01-01T00:00:00Z","persons":["`+string(p.ID)+`"],"accounts":[]}`+"\n"), 0o600))
	backup(t, beside(t, path))
	if _, err := db.Person(ctx, p.ID); err != nil {
		t.Errorf("forgotten from beside: %v", err)
	}
}

func TestRunning(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "class.db")
	db := opened(t, path)
	by := beside(t, path)
	if running, pid, err := by.Running(ctx); err != nil || !running || pid != os.Getpid() {
		t.Errorf("open: %v by %d, %v", running, pid, err)
	}
	ok(t, db.Close())
	if running, _, err := by.Running(ctx); err != nil || running {
		t.Errorf("closed: %v, %v", running, err)
	}
	opened(t, path) // looking has taken nothing away

	url := storetest.Postgres(t)
	db = opened(t, url)
	by = beside(t, url)
	if running, _, err := by.Running(ctx); err != nil || running {
		t.Errorf("open, and nobody posts: %v, %v", running, err)
	}
	box, err := store.NewOutbox(ctx, db, slog.New(slog.DiscardHandler))
	ok(t, err)
	listening, hush := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- box.Listen(listening, func() {}) }()
	if !comesTrue(func() bool { running, _, err := by.Running(ctx); return err == nil && running }) {
		t.Error("somebody posts, and it is not seen")
	}
	hush()
	ok(t, <-ended)
	if !comesTrue(func() bool { running, _, err := by.Running(ctx); return err == nil && !running }) {
		t.Error("nobody posts any more, and it is not seen")
	}
}

// comesTrue asks for up to a minute.
func comesTrue(is func() bool) bool {
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if is() {
			return true
		}
	}
	return false
}

func TestAdvice(t *testing.T) {
	const secret = "p4ssw0rd"
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		ok(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	const closed = "127.0.0.1:1" // no system gives this one out to others meanwhile
	used := filepath.Join(dir, "used.db")
	opened(t, used)

	for _, c := range []struct{ name, where, says string }{
		{"the folder is missing", filepath.Join(dir, "none", "class.db"), "the folder must be there"},
		{"a folder for a file", dir, "name a file in a folder"},
		{"a disk for reading only", filepath.Join(readOnlyDisk(t), "class.db"), "choose another folder"},
		{"a file of something else", file("diary", strings.Repeat("Dear diary, ", 500)), "name another"},
		{"a file of a few letters", file("note", "{"), "name another"},
		{"a database of someone else", foreign(t), "name the database that serve uses"},
		{"in use", used, "stop it first"},
		{"nobody answers", "postgres://weftroom:" + secret + "@" + closed + "/weftroom", "pg_isready"},
		{"the password is wrong", refusing(t, "28P01", secret), "the password is wrong"},
		{"the user is not let in", refusing(t, "28000", secret), "pg_hba.conf"},
		{"no such database", refusing(t, "3D000", secret), "createdb"},
		{"too many connections", refusing(t, "53300", secret), "max_connections"},
		{"no URL that can be read", "postgres://weftroom:" + secret + "@h:port/weftroom", "postgres://USER"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := store.OpenURL(t.Context(), c.where, store.Options{})
			if err == nil {
				t.Fatal("opened")
			}
			if got := store.Advice(err); !strings.Contains(got, c.says) {
				t.Errorf("%v\nadvice %q, want %q", err, got, c.says)
			}
			if raw, _ := os.ReadFile(filepath.Join(dir, "note")); string(raw) != "{" {
				t.Error("it has been changed")
			}
			if strings.Contains(err.Error(), secret) {
				t.Errorf("the password is shown: %v", err)
			}
		})
	}
}

// TestAdviceOfPostgres: the states come from a real server as well.
func TestAdviceOfPostgres(t *testing.T) {
	url := storetest.Postgres(t)
	nobody := strings.Replace(url, "user=weftroom", "user=nobody", 1)
	nowhere := strings.Replace(url, "postgres:///", "postgres:///not_", 1)
	for where, says := range map[string]string{nobody: "the role's name", nowhere: "createdb"} {
		_, err := store.OpenURL(t.Context(), where, store.Options{})
		if got := store.Advice(err); !strings.Contains(got, says) {
			t.Errorf("%v: advice %q, want %q", err, got, says)
		}
	}
}

// foreign is a SQLite file with a table that is not ours.
func foreign(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "places.db")
	db, err := sql.Open("sqlite", path)
	ok(t, err)
	defer db.Close()
	_, err = db.ExecContext(t.Context(), `CREATE TABLE places (name TEXT)`)
	ok(t, err)
	return path
}

// refusing is the URL of a server that lets nobody in.
func refusing(t *testing.T, state, password string) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ok(t, err)
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			b := pgproto3.NewBackend(c, c)
			if _, err := b.ReceiveStartupMessage(); err == nil {
				b.Send(&pgproto3.ErrorResponse{Severity: "FATAL", Code: state, Message: "refused"})
				_ = b.Flush() // who has gone needs no answer
			}
			c.Close()
		}
	}()
	return "postgres://weftroom:" + password + "@" + l.Addr().String() + "/weftroom?sslmode=disable"
}
