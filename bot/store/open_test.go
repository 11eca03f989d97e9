package store_test

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
)

func openSQLite(t testing.TB) *store.DB {
	t.Helper()
	return opened(t, filepath.Join(t.TempDir(), "class.db"))
}

func openPostgres(t testing.TB) *store.DB {
	t.Helper()
	return opened(t, storetest.Postgres(t))
}

func opened(t testing.TB, where string) *store.DB {
	t.Helper()
	db, err := store.OpenURL(t.Context(), where, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

// both runs a test on either database.
func both(t *testing.T, test func(t *testing.T, db *store.DB)) {
	t.Run("SQLite", func(t *testing.T) { test(t, openSQLite(t)) })
	t.Run("PostgreSQL", func(t *testing.T) { test(t, openPostgres(t)) })
}

func TestOpen(t *testing.T) {
	both(t, func(t *testing.T, db *store.DB) {})
}

// TestStoppedProcess: one that is stopped in the midst of a transaction must not
// hold up the others for as long as it is.
func TestStoppedProcess(t *testing.T) {
	db := openPostgres(t)
	for name, want := range map[string]string{"idle_in_transaction_session_timeout": "30s", "application_name": "weftroom"} {
		if got, err := store.Ask(t.Context(), db, `SELECT current_setting($1)`, name); err != nil || got != want {
			t.Errorf("%s is %q, %v", name, got, err)
		}
	}
	url := storetest.Postgres(t) + "&idle_in_transaction_session_timeout=500"
	db = opened(t, url)
	err := db.Tx(t.Context(), func(ctx context.Context) error {
		if err := db.PutLink(ctx, class.Link{Code: "x"}); err != nil {
			return err
		}
		for { // until the server has given it up
			open, err := store.Ask(t.Context(), db, `SELECT COUNT(*) || '' FROM pg_stat_activity WHERE state = 'idle in transaction' AND datname = current_database()`)
			if err != nil || open == "0" {
				return err
			}
		}
	})
	wantTemporary(t, "stopped for too long", err, "")
	if _, err := db.Link(t.Context(), "x"); !errors.Is(err, class.ErrNone) {
		t.Errorf("what it had done so far: %v", err)
	}
}

func TestFilesArePrivate(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a class?#%.db") // which a URL must escape
	if err := os.WriteFile(path, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	opened(t, path)
	names, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(names) != 4 { // the database, -wal, -shm, .lock
		t.Errorf("files %v", names)
	}
	for _, n := range names {
		info, err := n.Info()
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != 0o600 {
			t.Errorf("%s has mode %v", n.Name(), info.Mode())
		}
	}
}

// TestSecondProcess opens the file in this process and again in another.
func TestSecondProcess(t *testing.T) {
	if path := os.Getenv("WEFTROOM_TEST_SECOND"); path != "" {
		_, err := store.OpenSQLite(t.Context(), path, store.Options{})
		if inUse, ok := errors.AsType[*store.InUse](err); !ok || inUse.PID != os.Getppid() {
			t.Fatalf("the second process: %v, of parent %d", err, os.Getppid())
		}
		return
	}
	path := filepath.Join(t.TempDir(), "class.db")
	db := opened(t, path)
	link := filepath.Join(t.TempDir(), "other-name.db")
	if err := os.Symlink(path, link); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{path, link} {
		c := exec.Command(os.Args[0], "-test.run=^TestSecondProcess$")
		c.Env = append(os.Environ(), "WEFTROOM_TEST_SECOND="+name)
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	opened(t, path) // free again
}
