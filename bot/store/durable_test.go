package store_test

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
)

// TestWhatWaitsForTheDisk asks the databases how they are about to commit: what may
// be on the disk soon does not wait, and whatever comes after it does again.
func TestWhatWaitsForTheDisk(t *testing.T) {
	for _, on := range []struct{ name, asks, waits, not string }{
		{"SQLite", `PRAGMA synchronous`, "2", "1"}, // FULL and NORMAL, https://www.sqlite.org/pragma.html#pragma_synchronous
		{"PostgreSQL", `SHOW synchronous_commit`, "on", "off"},
	} {
		t.Run(on.name, func(t *testing.T) {
			where := filepath.Join(t.TempDir(), "class.db")
			if on.name == "PostgreSQL" {
				where = storetest.Postgres(t)
			}
			db := opened(t, where)
			asked := 0
			how := func(ctx context.Context) (string, error) {
				asked++ // in words of its own: SQLite answers from when a statement was parsed
				return store.Ask(ctx, db, fmt.Sprintf("%s -- %d", on.asks, asked))
			}
			said := func(once func(context.Context, bot.Request, func(context.Context) (bot.Reply, error)) (bot.Reply, error), err error) string {
				r, got := once(t.Context(), bot.Request{ID: fmt.Sprint(asked), From: killer}, func(ctx context.Context) (bot.Reply, error) {
					how, failed := how(ctx)
					return bot.Reply{Title: how}, errors.Join(failed, err)
				})
				if !errors.Is(got, err) {
					t.Fatal(got)
				}
				return r.Title
			}
			inTx := func() (said string) {
				ok(t, db.Tx(t.Context(), func(ctx context.Context) (err error) {
					said, err = how(ctx)
					return err
				}))
				return said
			}
			for _, row := range []struct{ what, got, want string }{
				{"at first", said(db.Once, nil), on.waits},
				{"soon", said(db.OnceSoon, nil), on.not},
				{"soon again", said(db.OnceSoon, nil), on.not},
				{"at once after it", said(db.Once, nil), on.waits},
				{"soon after that", said(db.OnceSoon, nil), on.not},
				{"a transaction after it", inTx(), on.waits},
				{"soon, but it failed", said(db.OnceSoon, errSpoilt), ""},
				{"a transaction after the failure", inTx(), on.waits},
			} {
				if row.got != row.want {
					t.Errorf("%s: %s, want %s", row.what, row.got, row.want)
				}
			}
		})
	}
}

var errSpoilt = errors.New("spoilt")

// TestFlush: what did not wait is followed, within a second, by something that does,
// once for all that came meanwhile; never by anything after the end.
func TestFlush(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "class.db")
		db, err := store.OpenSQLite(t.Context(), path, store.Options{})
		ok(t, err)
		flushed := func() string {
			synctest.Wait()
			at, err := store.Ask(t.Context(), db, `SELECT COALESCE(MAX(value), '') FROM meta WHERE name = 'flushed_at'`)
			ok(t, err)
			return at
		}
		asked := 0
		soon := func() {
			asked++
			_, err := db.OnceSoon(t.Context(), bot.Request{ID: fmt.Sprint(asked), From: killer}, func(context.Context) (bot.Reply, error) {
				return bot.Reply{Title: "kept"}, nil
			})
			ok(t, err)
		}
		begun := time.Now()
		soon()
		time.Sleep(store.FlushAfter / 2)
		soon()
		if at := flushed(); at != "" {
			t.Errorf("flushed at once: %s", at)
		}
		time.Sleep(store.FlushAfter / 2)
		first := flushed()
		if want := fmt.Sprint(begun.Add(store.FlushAfter).UnixMilli()); first != want {
			t.Errorf("flushed at %q, want %s", first, want)
		}
		time.Sleep(10 * store.FlushAfter)
		if at := flushed(); at != first {
			t.Errorf("flushed again, though nothing came: %s", at)
		}
		soon()
		ok(t, db.Close())
		time.Sleep(2 * store.FlushAfter)
		db, err = store.OpenSQLite(t.Context(), path, store.Options{})
		ok(t, err)
		defer db.Close()
		if at := flushed(); at != first {
			t.Errorf("flushed after the end: %s", at)
		}
		if n, err := store.Ask(t.Context(), db, `SELECT COUNT(*) || '' FROM ledger`); n != "3" || err != nil {
			t.Errorf("%s requests are kept, %v", n, err)
		}
	})
}
