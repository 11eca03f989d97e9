package store_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

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
