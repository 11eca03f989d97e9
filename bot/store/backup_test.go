package store_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
	"weftroom/bot/timetable"
)

// across runs a test with a backup that comes from one database and goes into
// the other.
func across(t *testing.T, test func(t *testing.T, from, to *store.DB)) {
	t.Run("SQLite to PostgreSQL", func(t *testing.T) { test(t, openSQLite(t), openPostgres(t)) })
	t.Run("PostgreSQL to SQLite", func(t *testing.T) { test(t, openPostgres(t), openSQLite(t)) })
}

// within runs a test with a backup that goes into another of the same kind.
func within(t *testing.T, test func(t *testing.T, from, to *store.DB)) {
	t.Run("SQLite to SQLite", func(t *testing.T) { test(t, openSQLite(t), openSQLite(t)) })
	t.Run("PostgreSQL to PostgreSQL", func(t *testing.T) { test(t, openPostgres(t), openPostgres(t)) })
}

func backup(t *testing.T, db *store.DB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "weftroom-backup.db")
	if err := db.Backup(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	return path
}

func restore(t *testing.T, db *store.DB, path string, lists ...string) store.Restored {
	t.Helper()
	done, err := db.Restore(t.Context(), path, lists...)
	if err != nil {
		t.Fatal(err)
	}
	return done
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestRestore(t *testing.T) {
	within(t, restoresAll)
	across(t, restoresAll)
}

func restoresAll(t *testing.T, from, to *store.DB) {
	storetest.Populate(t, from)
	want := storetest.Everything(t, from)
	path := backup(t, from)
	storetest.Populate(t, to) // all of which is replaced

	done := restore(t, to, path)
	if diff := cmp.Diff(want, storetest.Everything(t, to)); diff != "" {
		t.Errorf("restored (-want +got):\n%s", diff)
	}
	if time.Since(done.Backup) > time.Hour || done.At.Before(done.Backup) || done.Forgotten != 0 {
		t.Errorf("done: %+v", done)
	}
	for name, at := range map[string]func(context.Context) (time.Time, error){"held": to.HeldSince, "restored": to.RestoredAt} {
		if got, err := at(t.Context()); err != nil || got != done.At {
			t.Errorf("%s since %v, %v, want %v", name, got, err, done.At)
		}
	}
	ok(t, to.Resume(t.Context()))
	ok(t, to.Resume(t.Context()))
	if got, err := to.HeldSince(t.Context()); err != nil || !got.IsZero() {
		t.Errorf("resumed, and held since %v, %v", got, err)
	}
	if got, err := to.RestoredAt(t.Context()); err != nil || got != done.At {
		t.Errorf("resumed, restored at %v, %v", got, err)
	}
	if p, err := to.PersonOf(t.Context(), bot.Account{Chat: "console", User: "new"}, "New"); err != nil || p.ID == "" {
		t.Errorf("goes on: %+v, %v", p, err)
	}
}

// TestRestoredPosts: what was due in the past is not sent, what is due in the
// future is, and schedules begin anew.
func TestRestoredPosts(t *testing.T) {
	across(t, func(t *testing.T, from, to *store.DB) {
		ctx := t.Context()
		now := time.Now().Truncate(time.Millisecond).UTC()
		o := outboxOf(t, from)
		room := bot.Place{Chat: "matrix", Room: "!loft:example.org"}
		post := func(key string, due time.Time) timetable.Post {
			return timetable.Post{Key: key, To: room, Due: due, Expires: due.Add(24 * time.Hour)}
		}
		_, err := o.Add(ctx, now.Add(-2*time.Hour), post("past", now.Add(-time.Hour)), post("past, on its way", now.Add(-time.Hour)),
			post("future", now.Add(time.Hour)), post("future, on its way", now.Add(time.Hour)))
		ok(t, err)
		ok(t, store.ForceSending(ctx, from, "past, on its way"))
		teacher, err := from.PersonOf(ctx, bot.Account{Chat: "matrix", User: "@ines:example.org"}, "Ines")
		ok(t, err)
		c, err := from.OpenClass(ctx, class.Class{}, room, teacher.ID)
		ok(t, err)
		for _, planned := range []time.Time{now.Add(-time.Hour), now.Add(48 * time.Hour)} {
			_, err := from.AddSchedule(ctx, class.Schedule{Class: c.ID, Planned: planned})
			ok(t, err)
		}

		done := restore(t, to, backup(t, from))
		if done.Cancelled != 2 {
			t.Errorf("%d cancelled", done.Cancelled)
		}
		for key, want := range map[string]string{"past": "cancelled", "past, on its way": "cancelled", "future": "queued", "future, on its way": "queued"} {
			if got, err := store.Ask(ctx, to, `SELECT state FROM outbox WHERE dedupe_key = $1`, key); err != nil || got != want {
				t.Errorf("%s: %s, %v", key, got, err)
			}
		}
		list, err := to.SchedulesOf(ctx, c.ID)
		ok(t, err)
		if list[0].Planned != done.At || list[1].Planned != now.Add(48*time.Hour) {
			t.Errorf("planned up to %v and %v", list[0].Planned, list[1].Planned)
		}
	})
}

// TestForgottenStaysForgotten: a backup knows her, and who restores it does not.
func TestForgottenStaysForgotten(t *testing.T) {
	across(t, func(t *testing.T, from, to *store.DB) {
		ctx := t.Context()
		one, two := storetest.Populate(t, from)
		accounts, err := from.Accounts(ctx, two.ID)
		ok(t, err)
		path := backup(t, from)
		ok(t, from.DeletePerson(ctx, two.ID))
		want := storetest.Everything(t, from)
		back, err := from.PersonOf(ctx, accounts[0], "back again") // as another person
		ok(t, err)
		later := backup(t, from)

		// The list of the other database knows nothing of it: it is named.
		list := filepath.Join(t.TempDir(), "list")
		raw, err := store.Ask(ctx, from, `SELECT what FROM forgotten`)
		ok(t, err)
		ok(t, os.WriteFile(list, []byte(raw+"\n"+`{"id":"cut sh`), 0o600))
		if done := restore(t, to, path, list); done.Forgotten != 1 {
			t.Errorf("%d forgotten again", done.Forgotten)
		}
		if diff := cmp.Diff(want, storetest.Everything(t, to)); diff != "" {
			t.Errorf("not as after the deletion (-want +got):\n%s", diff)
		}
		if _, err := to.Person(ctx, one.ID); err != nil {
			t.Errorf("who stays: %v", err)
		}
		// What was forgotten before the backup is not forgotten again: she is back.
		if done := restore(t, to, later, list); done.Forgotten != 0 {
			t.Errorf("%d forgotten again of a later backup", done.Forgotten)
		}
		if p, err := to.FindPerson(ctx, accounts[0]); err != nil || p.ID != back.ID {
			t.Errorf("who came back: %+v, %v", p, err)
		}
		// And the database that knows it by itself.
		if done := restore(t, from, path); done.Forgotten != 1 {
			t.Errorf("%d forgotten again by its own list", done.Forgotten)
		}
		if _, err := from.FindPerson(ctx, accounts[0]); !errors.Is(err, class.ErrNone) {
			t.Errorf("she is back: %v", err)
		}
	})
}

// TestForgottenUnderAnotherName: the backup has her account in another person,
// from before two were linked or after they were.
func TestForgottenUnderAnotherName(t *testing.T) {
	both(t, func(t *testing.T, db *store.DB) {
		ctx := t.Context()
		a, b := bot.Account{Chat: "matrix", User: "@a:example.org"}, bot.Account{Chat: "discord", User: "77"}
		one, err := db.PersonOf(ctx, a, "one")
		ok(t, err)
		two, err := db.PersonOf(ctx, b, "two")
		ok(t, err)
		ok(t, db.MoveAccount(ctx, b, one.ID))
		path := backup(t, db) // both are one's
		ok(t, db.MoveAccount(ctx, b, two.ID))
		ok(t, db.DeletePerson(ctx, two.ID))
		restore(t, db, path)
		if _, err := db.FindPerson(ctx, b); !errors.Is(err, class.ErrNone) {
			t.Errorf("her account is back: %v", err)
		}
		if p, err := db.FindPerson(ctx, a); err != nil || p != one {
			t.Errorf("the other has gone too: %+v, %v", p, err)
		}
		if _, err := db.Person(ctx, two.ID); !errors.Is(err, class.ErrNone) {
			t.Errorf("she is back: %v", err)
		}
	})
}

// TestCopiedBack: someone puts an old file in the place of the new one by hand,
// and the list beside it makes good what that brought back.
func TestCopiedBack(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "class.db")
	db := opened(t, path)
	_, two := storetest.Populate(t, db)
	old := backup(t, db)
	ok(t, db.DeletePerson(ctx, two.ID))
	ok(t, db.Close())
	raw, err := os.ReadFile(old)
	ok(t, err)
	for _, beside := range []string{"-wal", "-shm"} {
		ok(t, errors.Join(os.RemoveAll(path+beside)))
	}
	ok(t, os.WriteFile(path, raw, 0o600))
	db = opened(t, path)
	if _, err := db.Person(ctx, two.ID); !errors.Is(err, class.ErrNone) {
		t.Errorf("she is back: %v", err)
	}
	text, err := os.ReadFile(path + ".forgotten")
	ok(t, err)
	if n := strings.Count(string(text), "\n"); n != 1 {
		t.Errorf("%d lines in the list:\n%s", n, text)
	}
}

// TestListApart: the file is made up for what it missed, and holds no names.
func TestListApart(t *testing.T) {
	for _, open := range []func(t *testing.T) string{
		func(t *testing.T) string { return filepath.Join(t.TempDir(), "class.db") },
		func(t *testing.T) string { return storetest.Postgres(t) },
	} {
		ctx := t.Context()
		where, list := open(t), filepath.Join(t.TempDir(), "list")
		db, err := store.OpenURL(ctx, where, store.Options{Forgotten: list})
		ok(t, err)
		forget := func(user string) {
			p, err := db.PersonOf(ctx, bot.Account{Chat: "matrix", User: user}, "Maya")
			ok(t, err)
			ok(t, db.DeletePerson(ctx, p.ID))
		}
		lines := func() (text string, n int) {
			raw, err := os.ReadFile(list)
			ok(t, err)
			return string(raw), strings.Count(string(raw), `"id"`)
		}
		forget("@first")
		if text, n := lines(); n != 1 || strings.Contains(text, "first") || strings.Contains(text, "Maya") {
			t.Errorf("after the first:\n%s", text)
		}
		if info, err := os.Stat(list); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("mode %v, %v", info.Mode(), err)
		}
		ok(t, os.WriteFile(list, []byte(`{"id":"cut sh`), 0o600)) // all lost but half a line
		forget("@second")
		if text, n := lines(); n != 2 || !strings.HasPrefix(text, "{\"id\":\"cut sh\n{") {
			t.Errorf("after the second:\n%s", text)
		}
		ok(t, db.Backup(ctx, filepath.Join(t.TempDir(), "b.db")))
		if text, n := lines(); n != 3 {
			t.Errorf("a backup makes up for the first:\n%s", text)
		}
		ok(t, os.Remove(list))
		ok(t, db.Close())
		db, err = store.OpenURL(ctx, where, store.Options{Forgotten: list})
		ok(t, err)
		if text, n := lines(); n != 2 {
			t.Errorf("so does opening:\n%s", text)
		}
		ok(t, db.Close())
	}
}

func TestBackupIsWholeOrNotThere(t *testing.T) {
	both(t, func(t *testing.T, db *store.DB) {
		ctx := t.Context()
		dir := t.TempDir()
		path := filepath.Join(dir, "b.db")
		ok(t, db.Backup(ctx, path))
		info, err := os.Stat(path)
		ok(t, err)
		if info.Mode().Perm() != 0o600 {
			t.Errorf("mode %v", info.Mode())
		}
		if err := db.Backup(ctx, path); err == nil || !strings.Contains(err.Error(), "already") {
			t.Errorf("over another: %v", err)
		}
		cancelled, cancel := context.WithCancel(ctx)
		cancel()
		if err := db.Backup(cancelled, filepath.Join(dir, "c.db")); err == nil {
			t.Error("a cancelled one is done")
		}
		if err := db.Backup(ctx, filepath.Join(dir, "none", "d.db")); err == nil {
			t.Error("into a folder that is not there")
		}
		names, err := os.ReadDir(dir)
		ok(t, err)
		if len(names) != 1 {
			t.Errorf("left behind: %v", names)
		}
	})
}

// TestBackupWhileBusy: a moment of the database, whatever is going on.
func TestBackupWhileBusy(t *testing.T) {
	both(t, func(t *testing.T, db *store.DB) {
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan error, 1)
		first := make(chan bool, 1)
		go func() {
			// Two codes change together, always to the same number.
			for n := 1; ctx.Err() == nil; n++ {
				err := db.Tx(context.WithoutCancel(ctx), func(ctx context.Context) error {
					return errors.Join(db.PutLink(ctx, class.Link{Code: "a", Tries: n}), db.PutLink(ctx, class.Link{Code: "b", Tries: n}))
				})
				if err != nil {
					done <- err
					return
				}
				select {
				case first <- true:
				default:
				}
			}
			done <- nil
		}()
		<-first
		for range 3 {
			b := opened(t, backup(t, db))
			x, err := b.Link(t.Context(), "a")
			ok(t, err)
			y, err := b.Link(t.Context(), "b")
			ok(t, err)
			if x.Tries != y.Tries {
				t.Errorf("half a transaction: %d and %d", x.Tries, y.Tries)
			}
			ok(t, store.Check(t.Context(), b))
		}
		stop()
		ok(t, <-done)
	})
}

// TestRestoreRefuses: what cannot be restored leaves everything as it was.
func TestRestoreRefuses(t *testing.T) {
	both(t, func(t *testing.T, db *store.DB) {
		storetest.Populate(t, db)
		want := storetest.Everything(t, db)
		write := func(name string, raw []byte) string {
			path := filepath.Join(t.TempDir(), name)
			ok(t, os.WriteFile(path, raw, 0o600))
			return path
		}
		good, err := os.ReadFile(backup(t, db))
		ok(t, err)
		torn := append([]byte{}, good...)
		for i := len(torn) / 3; i < len(torn)-4096; i += 97 {
			torn[i] ^= 0x55
		}
		for _, c := range []struct {
			name, path string
			lists      []string
			none       bool
		}{
			{name: "not there", path: filepath.Join(t.TempDir(), "none")},
			{name: "empty", path: write("a", nil), none: true},
			{name: "a text", path: write("b", []byte(strings.Repeat("Dear diary, ", 500))), none: true},
			{name: "a database of something else", path: somethingElse(t), none: true},
			{name: "damaged", path: write("c", torn)},
			{name: "cut short", path: write("d", good[:len(good)/2])},
			{name: "a list that is not there", path: write("e", good), lists: []string{"/none"}},
		} {
			_, err := db.Restore(t.Context(), c.path, c.lists...)
			if err == nil || errors.Is(err, store.ErrNoBackup) != c.none {
				t.Errorf("%s: %v", c.name, err)
			}
		}
		if diff := cmp.Diff(want, storetest.Everything(t, db)); diff != "" {
			t.Errorf("something has changed (-want +got):\n%s", diff)
		}
		if at, err := db.HeldSince(t.Context()); err != nil || !at.IsZero() {
			t.Errorf("held since %v, %v", at, err)
		}
	})
}

// somethingElse is a SQLite file that nobody ever backed up.
func somethingElse(t *testing.T) string {
	db := openSQLite(t)
	path := filepath.Join(t.TempDir(), "else.db")
	ok(t, store.Do(t.Context(), db, `VACUUM INTO '`+path+`'`))
	return path
}
