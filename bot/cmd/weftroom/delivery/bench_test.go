//go:build unix

package delivery_test

import (
	"context"
	"fmt"
	"log/slog"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
	"weftroom/bot/timetable"
	"weftroom/calc/cputime"
)

var silent = slog.New(slog.DiscardHandler)

// mass is how many reminders are due in the same minute.
const mass = 5000

// counter is an adapter that hands on to another, or to nobody, and counts.
type counter struct {
	to   bot.Adapter // nil for nobody
	n    atomic.Int64
	at   map[int64]func() // what to do at a count; set before use
	full chan struct{}    // closed at the last
	last int64
}

func newCounter(to bot.Adapter, last int) *counter {
	return &counter{to: to, full: make(chan struct{}), last: int64(last), at: map[int64]func(){}}
}

func (c *counter) Name() string { return "left" }

func (c *counter) Run(ctx context.Context, _ bot.Handler) error {
	<-ctx.Done()
	return nil
}

func (c *counter) Post(ctx context.Context, to bot.Place, key string, r bot.Reply) (id string, err error) {
	if c.to != nil {
		if _, err := c.to.Post(ctx, to, key, r); err != nil {
			return "", err
		}
	}
	n := c.n.Add(1)
	if do := c.at[n]; do != nil {
		do()
	}
	if n == c.last {
		close(c.full)
	}
	return key, nil
}

// massPosts are so many posts, due now, over so many rooms.
func massPosts(n, rooms int) []timetable.Post {
	out := make([]timetable.Post, n)
	for i := range out {
		out[i] = numbered("left", fmt.Sprint(i%rooms), i/rooms)
	}
	return out
}

// outboxWith is an outbox on a new database, with posts in it.
func outboxWith(t testing.TB, where string, posts []timetable.Post) *store.Outbox {
	t.Helper()
	db, err := store.OpenURL(context.Background(), where, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	box, err := store.NewOutbox(context.Background(), db, silent)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := box.Add(context.Background(), time.Now(), posts...); err != nil {
		t.Fatal(err)
	}
	return box
}

// sendAll runs a Sender until all posts are through and marked.
func sendAll(t testing.TB, box timetable.Outbox, c *counter) {
	t.Helper()
	ctx, end := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- timetable.NewSender(box, []bot.Adapter{c}, renderNumber, timetable.Options{Log: silent}).Run(ctx)
	}()
	<-c.full
	end()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
}

// BenchmarkMass sends 5,000 reminders due in the same minute, and then the same
// in a bare loop: one after the other, and as many at once as the Sender does.
func BenchmarkMass(b *testing.B) {
	for _, db := range []struct {
		name string
		open func(testing.TB) string
	}{{"SQLite", sqliteFile}, {"PostgreSQL", storetest.Postgres}} {
		for _, rooms := range []int{mass, 50, 1} {
			b.Run(fmt.Sprintf("%s/rooms=%d", db.name, rooms), func(b *testing.B) {
				var ours, bare, parallel, ourCPU, bareCPU time.Duration
				for range b.N {
					r := newReceiver(b)
					to := newCourier("left", "", r.socket)
					box := outboxWith(b, db.open(b), massPosts(mass, rooms))
					c := newCounter(to, mass)
					before := cputime.Now(b)
					ours += timed(func() { sendAll(b, box, c) })
					between := cputime.Now(b)
					bare += timed(func() { loop(b, to, "again", 1) })
					ourCPU, bareCPU = ourCPU+between-before, bareCPU+cputime.Now(b)-between
					parallel += timed(func() { loop(b, to, "and again", min(rooms, timetable.DefaultParallel)) })
				}
				b.ReportMetric(float64(mass*b.N)/ours.Seconds(), "posts/s")
				b.ReportMetric(ours.Seconds()/bare.Seconds(), "×loop")
				b.ReportMetric(ours.Seconds()/parallel.Seconds(), "×parallel-loop")
				b.ReportMetric(ourCPU.Seconds()/bareCPU.Seconds(), "×loop-CPU") // steadier where others use the machine; without PostgreSQL's own
			})
		}
	}
}

func timed(do func()) time.Duration {
	begun := time.Now()
	do()
	return time.Since(begun)
}

// loop sends the mass with nothing around it.
func loop(b *testing.B, to bot.Adapter, salt string, atOnce int) {
	posts := make(chan int)
	var all sync.WaitGroup
	for range atOnce {
		all.Go(func() {
			for i := range posts {
				key := timetable.PostKey(salt, fmt.Sprint(i))
				if _, err := to.Post(context.Background(), bot.Place{Chat: salt, Room: fmt.Sprint(i)}, key, bot.Reply{Title: "0"}); err != nil {
					b.Error(err)
				}
			}
		})
	}
	for i := range mass {
		posts <- i
	}
	close(posts)
	all.Wait()
}

// BenchmarkNoSend is the machinery alone: posts to nobody.
func BenchmarkNoSend(b *testing.B) {
	for _, db := range []struct {
		name string
		open func(testing.TB) string
	}{{"SQLite", sqliteFile}, {"PostgreSQL", storetest.Postgres}} {
		b.Run(db.name, func(b *testing.B) {
			var ours time.Duration
			for range b.N {
				box := outboxWith(b, db.open(b), massPosts(mass, mass))
				c := newCounter(nil, mass)
				ours += timed(func() { sendAll(b, box, c) })
			}
			b.ReportMetric(float64(mass*b.N)/ours.Seconds(), "posts/s")
		})
	}
}

// BenchmarkIdle is a turn with nothing to do, while 1,000 posts are planned for
// later. On SQLite there is one a minute, on PostgreSQL one a second.
func BenchmarkIdle(b *testing.B) {
	for _, db := range []struct {
		name  string
		open  func(testing.TB) string
		turns float64 // a minute
	}{{"SQLite", sqliteFile, 1}, {"PostgreSQL", storetest.Postgres, 60}} {
		b.Run(db.name, func(b *testing.B) {
			posts := massPosts(1000, 1000)
			for i := range posts {
				posts[i].Due = posts[i].Due.Add(time.Hour)
				posts[i].Expires = posts[i].Due.Add(time.Hour)
			}
			box := outboxWith(b, db.open(b), posts)
			listen(b, box)
			before := cputime.Now(b)
			for b.Loop() {
				_, err := box.Turn(context.Background(), timetable.Turn{
					Now: time.Now(), Chats: []string{"left"}, Free: 64, Look: true, Lease: time.Minute,
				})
				if err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64((cputime.Now(b)-before).Microseconds())/1000/float64(b.N)*db.turns, "CPU-ms/idle-minute")
		})
	}
}

// listen has a shared outbox know who it is.
func listen(t testing.TB, box *store.Outbox) {
	t.Helper()
	ctx, end := context.WithCancel(context.Background())
	done, woken := make(chan error, 1), make(chan bool, 100)
	go func() { done <- box.Listen(ctx, func() { woken <- true }) }()
	if box.Poll() <= time.Second {
		<-woken
	}
	t.Cleanup(func() {
		end()
		<-done
	})
}

// TestHeapStaysFlat compares the live heap once a third of a mass is sent with
// that at its end. Each is the least of several looks, for what the posts in
// hand hold comes and goes; the first comes when the connections to the database
// have most of what they keep.
func TestHeapStaysFlat(t *testing.T) {
	const mass = 3 * mass
	box := outboxWith(t, sqliteFile(t), massPosts(mass, mass))
	third, end := uint64(math.MaxUint64), uint64(math.MaxUint64)
	var mu sync.Mutex // posts are sent side by side
	look := func(least *uint64) func() {
		return func() {
			mu.Lock()
			defer mu.Unlock()
			*least = min(*least, liveHeap())
		}
	}
	c := newCounter(nil, mass)
	for i := range int64(10) {
		c.at[mass/3+10*i], c.at[mass-1-10*i] = look(&third), look(&end)
	}
	sendAll(t, box, c)
	t.Logf("live heap: %d kB after a third of %d posts, %d kB at the end, %+.1f %%", third/1024, mass, end/1024, (float64(end)/float64(third)-1)*100)
	if float64(end) > 1.1*float64(third)+kept {
		t.Errorf("the live heap grew from %d to %d bytes", third, end)
	}
}

// kept is what a connection to the database that was opened meanwhile may keep, of
// statements that it has read; 30 bytes for each post that was sent in between.
const kept = 300_000

func liveHeap() uint64 {
	runtime.GC()
	runtime.GC() // what a pool kept over the first
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// TestIdleGoroutines bounds what a Sender needs while it waits: its own loop, what
// listens, and one more that the database pool may start.
func TestIdleGoroutines(t *testing.T) {
	for _, c := range []struct {
		name string
		open func(testing.TB) string
		most int
	}{{"SQLite", sqliteFile, 3}, {"PostgreSQL", storetest.Postgres, 4}} {
		t.Run(c.name, func(t *testing.T) {
			box := outboxWith(t, c.open(t), massPosts(1, 1))
			before := runtime.NumGoroutine()
			ctx, end := context.WithCancel(t.Context())
			done := make(chan error, 1)
			counter := newCounter(nil, 1)
			go func() {
				done <- timetable.NewSender(box, []bot.Adapter{counter}, renderNumber, timetable.Options{Log: silent}).Run(ctx)
			}()
			<-counter.full
			now := runtime.NumGoroutine() - before
			for over := time.Now().Add(10 * time.Second); now > c.most && time.Now().Before(over); { // that of the post has to go
				runtime.Gosched()
				now = runtime.NumGoroutine() - before
			}
			if now > c.most {
				stacks := make([]byte, 1<<16)
				t.Errorf("%d goroutines beside the test's:\n%s", now, stacks[:runtime.Stack(stacks, true)])
			}
			end()
			if err := <-done; err != nil {
				t.Error(err)
			}
		})
	}
}
