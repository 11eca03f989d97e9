package store_test

import (
	"context"
	"log/slog"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
	"weftroom/bot/timetable"
)

// peer is one of several processes on a PostgreSQL database.
type peer struct {
	*store.Outbox
	woken <-chan bool
	die   func() // ends its session without a word, as a kill does
}

func newPeer(t *testing.T, url string) *peer {
	t.Helper()
	o, err := store.NewOutbox(t.Context(), opened(t, url), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	ctx, die := context.WithCancel(context.Background())
	ended, woken := make(chan error, 1), make(chan bool, 100)
	go func() { ended <- o.Listen(ctx, func() { woken <- true }) }()
	p := &peer{Outbox: o, woken: woken, die: func() {
		die()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		ended <- nil
	}}
	t.Cleanup(p.die)
	wantWake(t, woken)
	return p
}

// eventually takes turns until one has what is wanted.
func eventually(t *testing.T, o *store.Outbox, turn timetable.Turn, has func(timetable.Claim) bool) timetable.Claim {
	t.Helper()
	for over := time.Now().Add(time.Minute); time.Now().Before(over); {
		if c := take(t, o, turn); has(c) {
			return c
		}
	}
	t.Fatal("it does not happen")
	panic("not reached")
}

func holds(c timetable.Claim) bool { return slices.Contains(c.Held, "loopback") }

func TestAChatIsHeldByOneProcess(t *testing.T) {
	url := storetest.Postgres(t)
	a, b := newPeer(t, url), newPeer(t, url)
	add(t, a.Outbox, noon, post("x", "x1", 0), post("y", "y1", 0))
	turn := turnAt(noon)
	turn.Free = 1
	if c := take(t, a.Outbox, turn); len(c.Posts) != 1 || !holds(c) {
		t.Fatalf("the first: %+v", c)
	}
	if c := take(t, b.Outbox, turnAt(noon)); len(c.Posts) != 0 || holds(c) || !c.Next.IsZero() {
		t.Errorf("the second claims in a chat that the first holds: %+v", c)
	}
	// Both have a chat of their own beside it.
	other := turnAt(noon)
	other.Chats = []string{"loopback", "another"}
	if c := take(t, b.Outbox, other); !slices.Equal(c.Held, []string{"another"}) {
		t.Errorf("the second holds %v", c.Held)
	}
	// The first leaves, and the second need not wait.
	take(t, a.Outbox, timetable.Turn{Now: noon, Leave: true, Lease: time.Minute})
	if c := take(t, b.Outbox, turnAt(noon)); !holds(c) || len(c.Posts) != 1 {
		t.Errorf("after the first has left: %+v", c)
	}
}

func TestLeasesRunOut(t *testing.T) {
	url := storetest.Postgres(t)
	a, b := newPeer(t, url), newPeer(t, url)
	add(t, a.Outbox, noon, post("x", "x1", 0))
	c := take(t, a.Outbox, turnAt(noon)) // and then it is stopped
	if got := take(t, b.Outbox, turnAt(after(59))); got.Freed != 0 || holds(got) {
		t.Fatalf("before the leases are over: %+v", got)
	}
	got := take(t, b.Outbox, turnAt(after(60)))
	if got.Freed != 1 || !holds(got) || names(got.Posts) != "x1" {
		t.Fatalf("after: %+v", got)
	}
	// The first goes on, and must learn that it is no longer its turn.
	late := take(t, a.Outbox, turnAt(after(61), sent(c.Posts[0], after(61))))
	if len(late.Fenced) != 1 || holds(late) {
		t.Errorf("the first, back again: %+v", late)
	}
}

func TestAHoldersLeaseIsRenewed(t *testing.T) {
	url := storetest.Postgres(t)
	a, b := newPeer(t, url), newPeer(t, url)
	for s := 0; s < 300; s += 10 {
		if c := take(t, a.Outbox, turnAt(after(s))); !holds(c) {
			t.Fatalf("the first lost the chat after %d s", s)
		}
		if c := take(t, b.Outbox, turnAt(after(s))); holds(c) {
			t.Fatalf("the second took the chat after %d s", s)
		}
	}
}

// TestADeadProcessIsSeen ends a session, and no lease has run out.
func TestADeadProcessIsSeen(t *testing.T) {
	url := storetest.Postgres(t)
	a, b := newPeer(t, url), newPeer(t, url)
	add(t, a.Outbox, noon, post("x", "x1", 0))
	take(t, a.Outbox, turnAt(noon))
	a.die()
	c := eventually(t, b.Outbox, turnAt(noon), holds)
	if c.Freed != 1 || names(c.Posts) != "x1" || c.Posts[0].Attempts != 2 {
		t.Errorf("the other takes over with %+v", c)
	}
	if late := take(t, a.Outbox, turnAt(noon)); holds(late) || len(late.Posts) != 0 {
		t.Errorf("without a session it claims: %+v", late)
	}
}

// TestARestartedProcessTakesItsPostsBack at once, even when nobody else looks.
func TestARestartedProcessTakesItsPostsBack(t *testing.T) {
	url := storetest.Postgres(t)
	a := newPeer(t, url)
	add(t, a.Outbox, noon, post("x", "x1", 0))
	take(t, a.Outbox, turnAt(noon))
	a.die()
	b := newPeer(t, url)
	c := eventually(t, b.Outbox, turnAt(noon), func(c timetable.Claim) bool { return len(c.Posts) > 0 })
	if c.Posts[0].Attempts != 2 {
		t.Errorf("attempt %d: an adapter that can must look before it sends", c.Posts[0].Attempts)
	}
}

func TestACommitWakesOtherProcesses(t *testing.T) {
	url := storetest.Postgres(t)
	a, b := newPeer(t, url), newPeer(t, url)
	add(t, a.Outbox, noon, post("x", "x1", 0))
	wantWake(t, a.woken)
	wantWake(t, b.woken)
}

// TestTheListeningSessionIsLost ends it from outside, as a restart of the
// database or a broken network does.
func TestTheListeningSessionIsLost(t *testing.T) {
	url := storetest.Postgres(t)
	a, b := newPeer(t, url), newPeer(t, url)
	add(t, a.Outbox, noon, post("x", "x1", 0))
	c := take(t, a.Outbox, turnAt(noon))
	wantWake(t, a.woken) // of x1
	wantWake(t, b.woken) // of x1: a session that is ended before it has told of it never does
	terminateListeners(t, url)
	wantWake(t, a.woken) // when it is back
	// Nobody else took a turn, so what it had in hand is still its own.
	done := take(t, a.Outbox, turnAt(after(1), sent(c.Posts[0], after(1))))
	if len(done.Fenced) != 0 || !holds(done) {
		t.Errorf("back again: %+v", done)
	}
	wantWake(t, b.woken) // when it is back
	add(t, a.Outbox, noon, post("y", "y1", 0))
	wantWake(t, b.woken)
	if got := names(take(t, a.Outbox, turnAt(after(2))).Posts); got != "y1" {
		t.Errorf("claims %q", got)
	}
}

func terminateListeners(t *testing.T, url string) {
	t.Helper()
	c, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(context.Background())
	var n int
	err = c.QueryRow(t.Context(), `SELECT COUNT(pg_terminate_backend(pid)) FROM pg_stat_activity
		WHERE datname = current_database() AND pid <> pg_backend_pid()
		AND pid IN (SELECT pid FROM pg_locks WHERE locktype = 'advisory')`).Scan(&n)
	if err != nil || n != 2 {
		t.Fatalf("%d sessions were ended, %v", n, err)
	}
}
