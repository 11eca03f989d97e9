//go:build unix

package delivery_test

import (
	"context"
	"fmt"
	"net/url"
	"syscall"
	"testing"
	"time"

	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
	"weftroom/bot/timetable"
)

// TestStopped stops one of two processes for longer than a lease while it
// sends. Its session stays, so the other sees it as alive, and only the lease
// tells. Then it goes on.
func TestStopped(t *testing.T) {
	const posts, rooms, lease = 200, 10, 2 * time.Second
	for _, look := range []bool{false, true} {
		t.Run(fmt.Sprint("a chat that must be looked into ", look), func(t *testing.T) {
			w := newWorld(t, trial{"", storetest.Postgres, 2, look})
			w.orders.Lease, w.orders.Timeout = lease, 500*time.Millisecond
			// A process may be stopped within a transaction, whose locks the
			// database ends; by default after 30 s.
			w.orders.Database = with(t, w.orders.Database, "idle_in_transaction_session_timeout", "1000")
			w.receiver.delay = 40 * time.Millisecond // so that most are left when the process is stopped
			w.add(posts, rooms)
			w.startAll()
			if !w.receiver.wait(20*time.Second, 20, w.receiver.shownSoFar) {
				t.Fatal("nothing is sent")
			}
			stopped := w.processes[w.active()]
			_ = stopped.cmd.Process.Signal(syscall.SIGSTOP)
			at, before := time.Now(), w.receiver.shownSoFar()
			w.kills++ // what it had in hand may be sent again

			if !w.receiver.wait(20*time.Second, min(before+w.orders.Parallel+1, posts), w.receiver.shownSoFar) {
				t.Error("the other process does not take over")
			}
			t.Logf("the other process took over %v after the stop, with a lease of %v", time.Since(at).Round(100*time.Millisecond), lease)
			if !w.receiver.wait(20*time.Second, posts, w.receiver.shownSoFar) {
				t.Error("the other process does not finish")
			}
			_ = stopped.cmd.Process.Signal(syscall.SIGCONT)
			w.add2(rooms)
			w.finish(posts + rooms)
			w.check(posts+rooms, rooms)
		})
	}
}

// active is which process posted last.
func (w *world) active() int {
	w.receiver.mu.Lock()
	defer w.receiver.mu.Unlock()
	for i, p := range w.processes {
		if p.orders.Name == w.receiver.active {
			return i
		}
	}
	w.t.Fatal("no process is active")
	return 0
}

// add2 adds one more post to each room, while the processes run.
func (w *world) add2(rooms int) {
	w.t.Helper()
	w.open(func(ctx context.Context, _ *store.DB, box *store.Outbox) {
		var all []timetable.Post
		for room := range rooms {
			chat := w.orders.Chats[room%2]
			all = append(all, numbered(chat, fmt.Sprint(room), len(w.receiver.shown[chat+" "+fmt.Sprint(room)])))
		}
		if _, err := box.Add(ctx, time.Now(), all...); err != nil {
			w.t.Fatal(err)
		}
	})
}

func with(t testing.TB, where, name, value string) string {
	t.Helper()
	u, err := url.Parse(where)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	q.Set(name, value)
	u.RawQuery = q.Encode()
	return u.String()
}
