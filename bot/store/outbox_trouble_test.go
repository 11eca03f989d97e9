package store_test

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// TestDiskFull lets the database grow no further while posts are in hand.
func TestDiskFull(t *testing.T) {
	db := openSQLite(t)
	o := outboxOf(t, db)
	for i := range 20 {
		add(t, o, noon, post("a", fmt.Sprint(i), i))
	}
	c := take(t, o, turnAt(after(100)))
	store.MayGrowTo(t, db, 0)
	full := false
	for i := range 10_000 {
		if _, err := o.Add(t.Context(), noon, post("b", fmt.Sprint("more", i), 0)); err != nil {
			if full = store.IsTemporary(err); !full {
				t.Fatalf("a full disk is not temporary: %v", err)
			}
			break
		}
	}
	if !full {
		t.Fatal("the disk is never full")
	}
	// Whether a mark still fits is luck; what matters is that none is lost.
	var got []string
	var done []timetable.Mark
	for _, p := range c.Posts {
		got = append(got, name(p))
		done = append(done, sent(p, after(100)))
	}
	for try := 0; len(done) > 0; try++ {
		if try == 2 {
			store.MayGrowTo(t, db, 1<<30)
		}
		turn := turnAt(after(101), done...)
		turn.Lost = try > 0
		c, err := o.Turn(t.Context(), turn)
		if err != nil {
			if !store.IsTemporary(err) || try > 2 {
				t.Fatal(err)
			}
			continue
		}
		done = nil
		for _, p := range c.Posts {
			done = append(done, sent(p, after(101)))
			if p.To.Room == "a" {
				got = append(got, name(p))
			}
		}
	}
	for i := range 20 {
		if i >= len(got) || got[i] != fmt.Sprint(i) {
			t.Fatalf("room a got %v", got)
		}
	}
}

// TestLocked has another program hold the database's lock for a while.
func TestLocked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	o := outboxOf(t, opened(t, path))
	add(t, o, noon, post("a", "a1", 0))
	other, err := sql.Open("sqlite", "file:"+path+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	tx, err := other.Begin()
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	if _, err := o.Turn(ctx, turnAt(noon)); err == nil {
		t.Fatal("a turn went through a lock")
	}
	done := make(chan string, 1)
	go func() {
		c, err := o.Turn(t.Context(), turnAt(noon))
		done <- fmt.Sprint(names(c.Posts), err)
	}()
	select {
	case got := <-done:
		t.Errorf("a turn does not wait for the lock: %s", got)
	case <-time.After(100 * time.Millisecond):
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	if got := <-done; got != "a1<nil>" {
		t.Errorf("after the lock: %s", got)
	}
}
