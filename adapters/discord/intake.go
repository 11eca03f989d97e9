package discord

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"runtime/debug"
	"sync"

	"weftroom/bot"
)

// Bounds of what has come and is not answered yet. Over a bound the answer is a
// kind one, at once.
const (
	perPerson = 4 * bot.PerPerson
	atOnce    = bot.InAll
)

// intake hands over what comes: that of one person in the order in which it
// came, that of different people side by side. Nothing is begun before begin or
// after end.
type intake struct {
	chat *Chat

	mu     sync.Mutex
	ctx    context.Context // while it is open
	people map[string][]waiting
	count  int // jobs that wait or run
}

// job is something to do for a person.
type job func(ctx context.Context)

type waiting struct {
	do   job
	drop func() // called when it will not be done, with the intake locked; must not block
}

func newIntake(c *Chat) *intake { return &intake{chat: c, people: map[string][]waiting{}} }

func (in *intake) begin(ctx context.Context) {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.ctx = ctx
}

// end lets nothing in any more. What runs is for Chat.work to wait for; what
// waits is dropped.
func (in *intake) end() {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.ctx = nil
	for user, left := range in.people {
		in.count -= len(left)
		in.people[user] = nil
		for _, w := range left {
			w.drop()
		}
	}
}

// queue does a job after what came before of the same person. It tells false
// when that would be too much.
func (in *intake) queue(user string, w waiting) bool {
	in.mu.Lock()
	defer in.mu.Unlock()
	before, busy := in.people[user]
	if in.ctx == nil || in.count >= atOnce || busy && len(before)+1 >= perPerson {
		return false
	}
	in.count++
	in.people[user] = append(before, w)
	if !busy {
		in.start(func(context.Context) { in.serve(user) })
	}
	return true
}

// serve does the jobs of one person until there are none.
func (in *intake) serve(user string) {
	for {
		in.mu.Lock()
		left := in.people[user]
		if len(left) == 0 {
			delete(in.people, user)
			in.mu.Unlock()
			return
		}
		next, ctx := left[0], in.ctx
		in.people[user] = left[1:]
		in.mu.Unlock()
		in.safely(ctx, next.do)
		in.mu.Lock()
		in.count--
		in.mu.Unlock()
	}
}

// aside does j at once, in no order. It tells false when that would be too much.
func (in *intake) aside(j job) bool {
	in.mu.Lock()
	defer in.mu.Unlock()
	if in.ctx == nil || in.count >= 2*atOnce {
		return false
	}
	in.count++
	in.start(func(ctx context.Context) {
		in.safely(ctx, j)
		in.mu.Lock()
		in.count--
		in.mu.Unlock()
	})
	return true
}

// start begins a goroutine that Run waits for. Call it with mu held.
func (in *intake) start(j job) {
	ctx := in.ctx
	in.chat.work.Go(func() { j(ctx) })
}

// hold makes Run wait for something that begins later, until the function that
// it gives is called. It tells false when nothing may begin any more.
func (in *intake) hold() (done func(), ok bool) {
	in.mu.Lock()
	defer in.mu.Unlock()
	if in.ctx == nil {
		return nil, false
	}
	in.chat.work.Add(1)
	return in.chat.work.Done, true
}

// safely does a job, and survives its panic, which is one failed request.
func (in *intake) safely(ctx context.Context, j job) {
	defer in.chat.rescue("a request")
	j(ctx)
}

// rescue ends a panic; it must be deferred itself.
func (c *Chat) rescue(what string) {
	if p := recover(); p != nil {
		c.panicked(what, p)
	}
}

// panicked logs a panic without its value, which may hold what somebody wrote.
func (c *Chat) panicked(what string, p any) {
	c.o.Log.Error("panic", "chat", ChatName, "in", what, "kind", fmt.Sprintf("%T", p), "stack", string(debug.Stack()))
}

// handle has a request answered. A handler that panics, which it must not,
// is one request that failed for a reason of ours.
func (c *Chat) handle(ctx context.Context, r bot.Request) (reply bot.Reply) {
	h := c.handler.Load()
	if h == nil {
		return bot.Reply{}
	}
	defer func() {
		p := recover()
		if p == nil {
			return
		}
		c.panicked("the handler", p)
		reply = bot.Reply{Problem: &bot.Problem{Code: bot.Internal, Message: c.failed(r.ID)}}
	}()
	return (*h).Handle(ctx, r)
}

// failed logs a fault of ours and says no more of it than its reference.
func (c *Chat) failed(request string) string {
	var b [4]byte
	_, _ = rand.Read(b[:]) // never fails: crypto/rand ends the process instead
	ref := hex.EncodeToString(b[:])
	c.o.Log.Error("request failed", "chat", ChatName, "request", request, "reference", ref)
	return c.say(bot.KeyInternal, ref)
}
