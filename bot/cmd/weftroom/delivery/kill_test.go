//go:build unix

package delivery_test

import (
	"context"
	"database/sql"
	"flag"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
	"weftroom/bot/timetable"
)

var torture = flag.Bool("torture", false, "2,000 posts and at least 100 kills for each kind, instead of a few hundred and 15")

// trial is one way to be killed.
type trial struct {
	name      string
	database  func(t testing.TB) string
	processes int
	look      bool
}

var trials = []trial{
	{"SQLite, a chat with keys", sqliteFile, 1, false},
	{"SQLite, a chat without", sqliteFile, 1, true},
	{"two on PostgreSQL, a chat with keys", storetest.Postgres, 2, false},
	{"two on PostgreSQL, a chat without", storetest.Postgres, 2, true},
}

func sqliteFile(t testing.TB) string { return filepath.Join(t.TempDir(), "class.db") }

// TestKilled has posts due at once and kills the processes that send them until
// all are through.
func TestKilled(t *testing.T) {
	posts, rooms, kills := 300, 15, 15
	if *torture {
		posts, rooms, kills = 2000, 50, 100
	}
	for _, c := range trials {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld(t, c)
			w.receiver.delay = 3 * time.Millisecond
			w.add(posts, rooms)
			w.killUntil(kills, posts, w.receiver.shownSoFar)
			w.finish(posts)
			w.check(posts, rooms)
		})
	}
}

// TestCommandsReplayed kills processes that answer requests, each of which has
// an effect and a post of its own, and repeats every request that got no answer.
func TestCommandsReplayed(t *testing.T) {
	const requests = 60
	kills := 10
	if *torture {
		kills = 60
	}
	for _, c := range []trial{trials[0], trials[2]} {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld(t, c)
			for i := range requests {
				w.receiver.requests = append(w.receiver.requests, asked{
					ID: fmt.Sprint("request-", i), From: bot.Account{Chat: "left", User: fmt.Sprint("user-", i%5)}, Line: fmt.Sprint("why ", i),
				})
			}
			id := w.openClass()
			w.orders.Commands = id
			w.killUntil(kills, requests, w.receiver.answered)
			w.finish(requests)
			w.check(requests, 1)
			w.checkQuestions(id, requests)
		})
	}
}

// world is a database, its processes and the receiver.
type world struct {
	t         *testing.T
	trial     trial
	receiver  *receiver
	orders    orders
	processes []*process
	kills     int
	recovered []time.Duration // from a kill to the next arrival
	random    *rand.Rand
}

func newWorld(t *testing.T, c trial) *world {
	t.Helper()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	w := &world{t: t, trial: c, receiver: newReceiver(t), random: rand.New(rand.NewPCG(seed, 0))}
	w.orders = orders{
		Database: c.database(t), Socket: w.receiver.socket, Chats: []string{"left", "right"}, Look: c.look, Parallel: 16,
	}
	return w
}

// open opens the world's database in the test's own process, when no other has
// it or may.
func (w *world) open(use func(ctx context.Context, db *store.DB, box *store.Outbox)) {
	w.t.Helper()
	ctx := w.t.Context()
	db, err := store.OpenURL(ctx, w.orders.Database, store.Options{})
	if err != nil {
		w.t.Fatal(err)
	}
	defer db.Close()
	box, err := store.NewOutbox(ctx, db, slog.New(slog.DiscardHandler))
	if err != nil {
		w.t.Fatal(err)
	}
	use(ctx, db, box)
}

// add spreads posts over rooms of both chats, numbered in each from 0.
func (w *world) add(posts, rooms int) {
	w.t.Helper()
	w.open(func(ctx context.Context, _ *store.DB, box *store.Outbox) {
		var all []timetable.Post
		for i := range posts {
			room := i % rooms
			all = append(all, numbered(w.orders.Chats[room%2], fmt.Sprint(room), i/rooms))
		}
		for i := range all {
			all[i].Due = all[0].Due
		}
		if _, err := box.Add(ctx, time.Now(), all...); err != nil {
			w.t.Fatal(err)
		}
	})
}

func (w *world) openClass() (id class.ID) {
	w.t.Helper()
	w.open(func(ctx context.Context, db *store.DB, _ *store.Outbox) {
		teacher, err := db.PersonOf(ctx, bot.Account{Chat: "left", User: "ada"}, "Ada")
		if err != nil {
			w.t.Fatal(err)
		}
		c, err := db.OpenClass(ctx, class.Class{Name: "Lace", Opened: time.Now()}, bot.Place{Chat: "left", Room: "class"}, teacher.ID)
		if err != nil {
			w.t.Fatal(err)
		}
		id = c.ID
	})
	return id
}

func (w *world) startAll() {
	w.t.Helper()
	w.processes = make([]*process, w.trial.processes)
	for i := range w.processes {
		w.start(i)
	}
}

func (w *world) start(i int) {
	w.t.Helper()
	o := w.orders
	o.Name = fmt.Sprint(i)
	w.processes[i] = start(w.t, o)
}

// killUntil kills processes and starts them again, so many times and for as
// long as count has not reached want.
func (w *world) killUntil(kills, want int, count func() int) {
	w.t.Helper()
	w.startAll()
	begun := time.Now()
	for w.kills < kills && count() < want && !w.t.Failed() {
		i := w.victim()
		if w.random.IntN(5) == 0 { // while it starts, or not at work
			time.Sleep(time.Duration(w.random.IntN(60)) * time.Millisecond)
		} else {
			w.receiver.wait(10*time.Second, min(count()+1+w.random.IntN(10), want), count)
			time.Sleep(time.Duration(w.random.IntN(4000)) * time.Microsecond)
		}
		w.processes[i].kill()
		w.kills++
		at, before := time.Now(), w.receiver.shownSoFar()+w.receiver.answered()
		w.start(i)
		if w.receiver.wait(10*time.Second, min(before+1, want), func() int { return w.receiver.shownSoFar() + w.receiver.answered() }) {
			w.recovered = append(w.recovered, time.Since(at))
		}
	}
	slices.Sort(w.recovered)
	n := len(w.recovered)
	if n == 0 {
		w.t.Fatalf("after none of %d kills anything came within ten seconds", w.kills)
	}
	w.t.Logf("%d kills in %.1f s; from a kill to the next message: median %v, most %v",
		w.kills, time.Since(begun).Seconds(), w.recovered[n/2].Round(time.Millisecond), w.recovered[n-1].Round(time.Millisecond))
}

// finish waits until so many posts are shown, and stops the processes. A kill
// that fell between a post's arrival and its mark may have left some to be sent
// again: processes that are not killed get through those, each time they are given
// longer, since on a busy machine a start alone may take a second.
func (w *world) finish(posts int) {
	w.t.Helper()
	if !w.receiver.wait(60*time.Second, posts, w.receiver.shownSoFar) {
		w.t.Errorf("after a minute without kills %d of %d are through", w.receiver.shownSoFar(), posts)
	}
	w.stopAll()
	for tries := 1; w.waiting() > 0 && tries <= 20 && !w.t.Failed(); tries++ {
		w.startAll()
		time.Sleep(time.Duration(tries) * 500 * time.Millisecond)
		w.stopAll()
	}
}

func (w *world) stopAll() {
	w.t.Helper()
	for _, p := range w.processes {
		p.stop()
	}
}

// waiting is how many posts are left while no process runs.
func (w *world) waiting() (n int) {
	w.t.Helper()
	w.open(func(ctx context.Context, _ *store.DB, box *store.Outbox) {
		var err error
		if n, err = box.Waiting(ctx); err != nil {
			w.t.Fatal(err)
		}
	})
	return n
}

// victim is mostly the process that is at work.
func (w *world) victim() int {
	w.receiver.mu.Lock()
	defer w.receiver.mu.Unlock()
	for i, p := range w.processes {
		if p.orders.Name == w.receiver.active && w.random.IntN(4) > 0 {
			return i
		}
	}
	return w.random.IntN(len(w.processes))
}

// check looks at what arrived and what is left.
func (w *world) check(posts, rooms int) {
	w.t.Helper()
	r := w.receiver
	shown := r.shownSoFar()
	w.t.Logf("%d posts over %d rooms, %d kills: %d shown, %d lost; %d arrivals of a key that was there, %d of them shown; %d at once in a room; %d out of order",
		posts, rooms, w.kills, shown, posts-shown, r.repeats, shown-len(r.times), r.overlaps, len(r.disorder))
	if shown != posts || len(r.times) != posts {
		w.t.Errorf("%d of %d were shown, under %d keys", shown, posts, len(r.times))
	}
	if len(r.disorder) > 0 {
		w.t.Errorf("out of order: %q", r.disorder[:min(5, len(r.disorder))])
	}
	if r.overlaps > 0 {
		w.t.Errorf("%d times two posts at once in a room", r.overlaps)
	}
	if w.trial.look && r.repeats > 0 {
		w.t.Errorf("%d were sent again although they could be seen to be there", r.repeats)
	}
	if most := slices.Max(values(r.times)); most > w.kills+1 {
		w.t.Errorf("a key arrived %d times with %d kills", most, w.kills)
	}
	w.open(func(ctx context.Context, db *store.DB, box *store.Outbox) {
		waiting, err := box.Waiting(ctx)
		dead, err2 := box.DeadOf(ctx, "")
		if err != nil || err2 != nil || waiting != 0 || len(dead) != 0 {
			w.t.Errorf("%d wait, %d are dead; %v, %v", waiting, len(dead), err, err2)
		}
		if db.Dialect() == store.SQLite {
			w.integrity()
		}
	})
}

func values(m map[string]int) []int {
	out := []int{0}
	for _, v := range m {
		out = append(out, v)
	}
	return out
}

func (w *world) integrity() {
	w.t.Helper()
	db, err := sql.Open("sqlite", "file:"+w.orders.Database)
	if err != nil {
		w.t.Fatal(err)
	}
	defer db.Close()
	var said string
	if err := db.QueryRow("PRAGMA integrity_check").Scan(&said); err != nil || said != "ok" {
		w.t.Errorf("integrity_check says %q, %v", said, err)
	}
}

// checkQuestions holds that each request had one effect and one answer.
func (w *world) checkQuestions(id class.ID, requests int) {
	w.t.Helper()
	w.open(func(ctx context.Context, db *store.DB, _ *store.Outbox) {
		asked, err := db.QuestionsOf(ctx, id, true)
		if err != nil || len(asked) != requests {
			w.t.Fatalf("%d questions of %d requests, %v", len(asked), requests, err)
		}
		replays := 0
		for _, q := range asked {
			var i int
			if _, err := fmt.Sscanf(q.Text, "why %d", &i); err != nil {
				w.t.Fatal(err)
			}
			answers := w.receiver.answers[fmt.Sprint("request-", i)]
			replays += len(answers) - 1
			for _, a := range answers {
				if a != fmt.Sprint("question ", q.Number) {
					w.t.Errorf("request %d was answered %q and is question %d", i, answers, q.Number)
				}
			}
		}
		w.t.Logf("%d requests, %d kills: %d effects, %d more answers, all the same as the first", requests, w.kills, len(asked), replays)
	})
}
