package bot

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"

	"weftroom/calc"
)

// gate is a command that tells when it is begun and waits until it is let go.
type gate struct {
	mu    sync.Mutex
	begun []string // request ids, in order
	open  chan struct{}
}

func newGate() *gate { return &gate{open: make(chan struct{})} }

func (g *gate) command() *Command {
	return &Command{Name: "wait", Run: func(_ context.Context, c *Call) (Reply, error) {
		g.mu.Lock()
		g.begun = append(g.begun, c.Request.ID)
		g.mu.Unlock()
		<-g.open
		return Reply{Title: c.Request.ID}, nil
	}}
}

func (g *gate) order() []string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return slices.Clone(g.begun)
}

// room for replies that come from several goroutines.
type replies struct {
	mu  sync.Mutex
	got map[string]Reply
	wg  sync.WaitGroup
}

func (a *replies) ask(ctx context.Context, d *Dispatcher, r Request) {
	a.wg.Go(func() {
		reply := d.Handle(ctx, r)
		a.mu.Lock()
		defer a.mu.Unlock()
		if a.got == nil {
			a.got = map[string]Reply{}
		}
		a.got[r.ID] = reply
	})
	synctest.Wait() // it is answered, or waits
}

func (a *replies) code(id string) calc.Code {
	a.mu.Lock()
	defer a.mu.Unlock()
	r, ok := a.got[id]
	switch {
	case !ok:
		return "waits"
	case r.Problem != nil:
		return r.Problem.Code
	}
	return ""
}

func waitRequest(id, user, room string) Request {
	return Request{ID: id, From: Account{"test", user}, In: Place{"test", room}, Line: "wait"}
}

func TestOnePersonsRequestsInOrder(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate()
		d := testDispatcher(g.command())
		var a replies
		var want []string
		for i := range PerPerson {
			id := fmt.Sprint(i)
			want = append(want, id)
			a.ask(t.Context(), d, waitRequest(id, "ana", "hall"))
		}
		if got := g.order(); len(got) != 1 {
			t.Errorf("%d requests of one person are begun at once", len(got))
		}
		close(g.open)
		a.wg.Wait()
		if got := g.order(); !slices.Equal(got, want) {
			t.Errorf("answered in the order %v", got)
		}
	})
}

func TestDifferentPeopleSideBySide(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate()
		d := testDispatcher(g.command())
		var a replies
		a.ask(t.Context(), d, waitRequest("1", "ana", "hall"))
		a.ask(t.Context(), d, waitRequest("2", "ana", "hall"))
		a.ask(t.Context(), d, waitRequest("3", "ben", "hall"))
		a.ask(t.Context(), d, Request{ID: "4", From: Account{"other", "ana"}, In: hall, Line: "wait"})
		if got := g.order(); !slices.Equal(got, []string{"1", "3", "4"}) {
			t.Errorf("begun: %v", got)
		}
		close(g.open)
		a.wg.Wait()
	})
}

func TestOverTheBoundsTheAnswerIsKind(t *testing.T) {
	person := func(i int) Request { return waitRequest(fmt.Sprint(i), "ana", fmt.Sprint("room", i)) }
	room := func(i int) Request { return waitRequest(fmt.Sprint(i), fmt.Sprint("user", i), "hall") }
	all := func(i int) Request { return waitRequest(fmt.Sprint(i), fmt.Sprint("user", i), fmt.Sprint("room", i)) }
	rows := []struct {
		shows   string
		most    int
		request func(int) Request
		other   Request // still has room
	}{
		{"one person", PerPerson, person, waitRequest("other", "ben", "room0")},
		{"one room", PerRoom, room, waitRequest("other", "user0", "garden")},
		{"all together", InAll, all, Request{}},
	}
	for _, row := range rows {
		t.Run(row.shows, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				g := newGate()
				d := testDispatcher(g.command())
				var a replies
				for i := range row.most {
					a.ask(t.Context(), d, row.request(i))
				}
				last, over := fmt.Sprint(row.most-1), fmt.Sprint(row.most)
				a.ask(t.Context(), d, row.request(row.most))
				if a.code(last) != "waits" || a.code(over) != Busy {
					t.Errorf("the last within the bound: %q; the first over it: %q", a.code(last), a.code(over))
				}
				if m := a.got[over].Problem.Message; m != testTexts()[KeyBusy] {
					t.Errorf("it says %q", m)
				}
				if row.other.ID != "" {
					if a.ask(t.Context(), d, row.other); a.code("other") != "waits" {
						t.Errorf("someone else is not let in: %q", a.code("other"))
					}
				}
				close(g.open)
				a.wg.Wait()
				if a.ask(t.Context(), d, row.request(row.most)); a.code(over) != "" {
					t.Errorf("afterwards still %q", a.code(over))
				}
				wantEmpty(t, d.queue)
			})
		})
	}
}

func wantEmpty(t *testing.T, q *queue) {
	t.Helper()
	if len(q.people) != 0 || len(q.rooms) != 0 || q.all != 0 {
		t.Errorf("the queue still has %d people, %d rooms, %d requests", len(q.people), len(q.rooms), q.all)
	}
}

func TestRequestsThatEndWhileTheyWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate()
		d := testDispatcher(g.command())
		ended, end := context.WithCancel(t.Context())
		var a replies
		a.ask(t.Context(), d, waitRequest("1", "ana", "hall"))
		a.ask(ended, d, waitRequest("2", "ana", "hall"))
		a.ask(t.Context(), d, waitRequest("3", "ana", "hall"))
		end()
		synctest.Wait()
		if a.code("2") != Busy {
			t.Errorf("the ended request is not answered at once: %q", a.code("2"))
		}
		if got := g.order(); !slices.Equal(got, []string{"1"}) {
			t.Errorf("begun before the first is through: %v", got)
		}
		a.ask(ended, d, waitRequest("4", "ben", "hall"))
		if a.code("4") != Busy {
			t.Errorf("a request that had ended before is begun: %q", a.code("4"))
		}
		close(g.open)
		a.wg.Wait()
		if got := g.order(); !slices.Equal(got, []string{"1", "3"}) {
			t.Errorf("begun: %v", got)
		}
		wantEmpty(t, d.queue)
	})
}

// TestTurnThatComesAsTheRequestEnds: a request whose turn has come and that
// gives up nevertheless hands the turn on.
func TestTurnThatComesAsTheRequestEnds(t *testing.T) {
	q := newQueue()
	first, second, third := waitRequest("1", "ana", "hall"), waitRequest("2", "ana", "hall"), waitRequest("3", "ana", "hall")
	q.line(first)
	turn2, _ := q.line(second)
	turn3, _ := q.line(third)
	q.leave(first)
	<-turn2
	q.giveUp(second, turn2)
	select {
	case <-turn3:
	default:
		t.Fatal("the third never gets her turn")
	}
	q.leave(third)
	wantEmpty(t, q)
}

// TestManyAtOnce is for the race detector, and holds that no two requests of a
// person ever run together.
func TestManyAtOnce(t *testing.T) {
	var running [5]atomic.Int32
	var answered atomic.Int32
	d := testDispatcher(&Command{Name: "run", Params: []Param{{Name: "who", Kind: Count, First: true}}, Run: func(_ context.Context, c *Call) (Reply, error) {
		who := c.Args.Count("who")
		if running[who].Add(1) != 1 {
			t.Errorf("two requests of person %d at once", who)
		}
		defer running[who].Add(-1)
		answered.Add(1)
		return Reply{Ask: &Question{Line: "run"}}, nil
	}})
	var wg sync.WaitGroup
	for i := range 400 {
		wg.Go(func() {
			who := i % len(running)
			ctx, end := context.WithCancel(t.Context())
			defer end()
			if i%7 == 0 {
				go end()
			}
			d.Handle(ctx, Request{From: Account{"test", fmt.Sprint(who)}, In: hall, Line: fmt.Sprint("run ", who)})
		})
	}
	wg.Wait()
	if answered.Load() == 0 {
		t.Error("nothing was answered")
	}
	wantEmpty(t, d.queue)
}

// TestOneClassHasItsBound fills a class over many rooms and people.
func TestOneClassHasItsBound(t *testing.T) {
	q := newQueue()
	for range PerClass {
		if !q.attend("lace") {
			t.Fatal("refused below the bound")
		}
	}
	if q.attend("lace") {
		t.Error("let in over the bound")
	}
	if !q.attend("tapestry") || !q.attend("") {
		t.Error("another class, or none, was refused")
	}
	q.excuse("lace")
	if !q.attend("lace") {
		t.Error("refused where there is room again")
	}
	for range PerClass {
		q.excuse("lace")
	}
	q.excuse("tapestry")
	q.excuse("")
	if len(q.classes) != 0 {
		t.Errorf("%v is left", q.classes)
	}
}
