package store

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
)

// TestStatementsAreParsedOnce has many people read at once: each query is kept as
// one statement, and answers as before.
func TestStatementsAreParsedOnce(t *testing.T) {
	ctx := context.Background()
	db, err := OpenURL(ctx, filepath.Join(t.TempDir(), "weftroom.db"), Options{})
	must(t, err)
	defer db.Close()
	ada := bot.Account{Chat: "matrix", User: "@ada:example.org"}
	must(t, db.KeepLoom(ctx, ada, class.Loom{Kind: class.TableLoom, Ends: 97}))
	before := len(db.parsed.known)
	var all sync.WaitGroup
	for n := range 32 {
		all.Go(func() {
			l, err := db.Loom(ctx, ada)
			if err != nil || l.Ends != 97 {
				t.Errorf("a loom of %d ends, %v", l.Ends, err)
			}
			nobody := bot.Account{Chat: "matrix", User: fmt.Sprint("@nobody", n, ":example.org")}
			if _, err := db.FindPerson(ctx, nobody); !errors.Is(err, class.ErrNone) {
				t.Errorf("somebody unknown: %v", err)
			}
		})
	}
	all.Wait()
	if n := len(db.parsed.known) - before; n != 2 {
		t.Errorf("%d statements are kept, not the 2 that were asked", n)
	}
}

// TestStatementsAreBounded asks more queries than are kept.
func TestStatementsAreBounded(t *testing.T) {
	ctx := context.Background()
	db, err := OpenURL(ctx, filepath.Join(t.TempDir(), "weftroom.db"), Options{})
	must(t, err)
	defer db.Close()
	for n := range mostStatements + 10 {
		got, err := one(ctx, db, readNumber, fmt.Sprintf("SELECT %d", n))
		if err != nil || got != n {
			t.Fatalf("SELECT %d gives %d, %v", n, got, err)
		}
	}
	if n := len(db.parsed.known); n != mostStatements {
		t.Errorf("%d statements are kept, not %d", n, mostStatements)
	}
}

// TestStatementsTellWhatIsWrong asks for what is not there, and reads what came
// after the statement was parsed: a column more, and rows.
func TestStatementsTellWhatIsWrong(t *testing.T) {
	ctx := context.Background()
	db, err := OpenURL(ctx, filepath.Join(t.TempDir(), "weftroom.db"), Options{})
	must(t, err)
	defer db.Close()
	const query = "SELECT COUNT(*) FROM shuttles"
	if _, err := one(ctx, db, readNumber, query); err == nil {
		t.Error("there is no such table, and no error")
	}
	must(t, Do(ctx, db, "CREATE TABLE shuttles (name TEXT)"))
	if n, err := one(ctx, db, readNumber, query); err != nil || n != 0 {
		t.Errorf("an empty table has %d rows, %v", n, err)
	}
	must(t, Do(ctx, db, "ALTER TABLE shuttles ADD COLUMN yarn TEXT"))
	must(t, Do(ctx, db, "INSERT INTO shuttles (name, yarn) VALUES ('a', 'b')"))
	if n, err := one(ctx, db, readNumber, query); err != nil || n != 1 {
		t.Errorf("a table with one row has %d, %v", n, err)
	}
	gone, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := one(gone, db, readNumber, query); !errors.Is(err, context.Canceled) {
		t.Errorf("asked by someone who has gone: %v", err)
	}
}

// TestStatementsThatWriteAreParsedOnce has transactions learn from each other: what
// the first was the first to use is kept for the others, also where it was undone,
// and what cannot be parsed is told of each time.
func TestStatementsThatWriteAreParsedOnce(t *testing.T) {
	ctx := context.Background()
	db, err := OpenURL(ctx, filepath.Join(t.TempDir(), "weftroom.db"), Options{})
	must(t, err)
	defer db.Close()
	const insert, count = "INSERT INTO shuttles (name) VALUES ($1)", "SELECT COUNT(*) FROM shuttles"
	if _, err := db.exec(ctx, insert, "a"); err == nil || db.written.has(insert) != nil {
		t.Errorf("there is no such table: %v", err)
	}
	must(t, Do(ctx, db, "CREATE TABLE shuttles (name TEXT)"))
	undone := errors.New("undone")
	for n, want := range []int{1, 1, 2} { // the first is undone
		err := db.Tx(ctx, func(ctx context.Context) error {
			if kept := db.written.has(insert) != nil; kept != (n > 0) {
				t.Errorf("in transaction %d the statement is kept: %v", n, kept)
			}
			if _, err := db.exec(ctx, insert, "b"); err != nil {
				return err
			}
			if got, err := one(ctx, db, readNumber, count); err != nil || got != want {
				t.Errorf("transaction %d sees %d rows, %v; want %d", n, got, err, want)
			}
			if n == 0 {
				return undone
			}
			return nil
		})
		if n == 0 && !errors.Is(err, undone) || n > 0 && err != nil {
			t.Errorf("transaction %d: %v", n, err)
		}
	}
}
