package store_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"slices"
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

func TestClockSetBack(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("b", "b1", 0), post("c", "planned", 600))
		c := take(t, o, turnAt(after(10)))
		take(t, o, turnAt(after(10), timetable.Mark{Post: c.Posts[0], State: timetable.Queued, Next: after(1800), Reason: "x"}))
		// Three hours back: a1's retry and the lease on b1 would be that far away.
		back := after(10).Add(-3 * time.Hour)
		turn := turnAt(back)
		turn.MaxWait = time.Hour
		c = take(t, o, turn)
		if got := names(c.Posts); got != "" {
			t.Errorf("claims %q before its time", got)
		}
		if !c.Next.Equal(noon) {
			t.Errorf("a1 is tried at %v, want its due time and no later", c.Next)
		}
		turn = turnAt(back.Add(61 * time.Second))
		if c = take(t, o, turn); c.Freed != 1 {
			t.Errorf("the lease on b1 was not shortened: %+v", c)
		}
		if !slices.Equal(c.Held, []string{"loopback"}) {
			t.Errorf("the chat was lost: %v", c.Held)
		}
		c = take(t, o, turnAt(after(1)))
		if got := names(c.Posts); got != "a1 b1" && got != "b1 a1" {
			t.Errorf("at their time again: %q", got)
		}
	})
}

func TestOneSenderPerRoomIsTheDatabasesRule(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, db *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("a", "a2", 0), post("b", "b1", 0))
		take(t, o, turnAt(noon))
		if err := store.ForceSending(t.Context(), db, timetable.PostKey("a", "a2")); err == nil {
			t.Error("a second post of the room was set to sending")
		}
	})
}

func TestAddedInATransaction(t *testing.T) {
	both(t, func(t *testing.T, db *store.DB) {
		o, err := store.NewOutbox(t.Context(), db, slog.New(slog.DiscardHandler))
		if err != nil {
			t.Fatal(err)
		}
		woken := listen(t, o)
		no := errors.New("no")
		err = db.Tx(t.Context(), func(ctx context.Context) error {
			if _, err := o.Add(ctx, noon, post("a", "undone", 0)); err != nil {
				return err
			}
			return no
		})
		if !errors.Is(err, no) {
			t.Fatal(err)
		}
		err = db.Tx(t.Context(), func(ctx context.Context) error {
			_, err := o.Add(ctx, noon, post("a", "kept", 0))
			if len(woken) > 0 {
				t.Error("woken before the commit")
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		wantWake(t, woken)
		if got := names(take(t, o, turnAt(noon)).Posts); got != "kept" {
			t.Errorf("claims %q", got)
		}
	})
}

// TestARestoredDatabasePostsNothing until Resume.
func TestARestoredDatabasePostsNothing(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, db *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("b", "b1", 0))
		store.Hold(t, db, noon)
		if c := take(t, o, turnAt(after(9999))); len(c.Posts)+len(c.Expired) != 0 || !c.Next.IsZero() {
			t.Errorf("while it is held: %+v", c)
		}
		if err := db.Resume(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got := names(take(t, o, turnAt(after(1))).Posts); got != "a1 b1" && got != "b1 a1" {
			t.Errorf("afterwards %q", got)
		}
	})
}

func TestPrune(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "cancelled", 0), post("b", "dead", 1), post("c", "sent", 60), post("d", "queued", 3000))
		var done []timetable.Mark
		for _, p := range take(t, o, turnAt(after(60))).Posts {
			done = append(done, timetable.Mark{Post: p, State: timetable.State(name(p)), Sent: after(60)})
		}
		take(t, o, turnAt(after(60), done...))
		if n, err := o.Prune(t.Context(), after(60)); err != nil || n != 1 {
			t.Errorf("pruned %d, %v; want the cancelled one", n, err)
		}
		if n, err := o.Prune(t.Context(), after(9999)); err != nil || n != 1 {
			t.Errorf("pruned %d, %v; want the sent one, and neither the dead nor the queued one", n, err)
		}
	})
}
