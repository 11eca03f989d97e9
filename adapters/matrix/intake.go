package matrix

import (
	"context"
	"fmt"
	"maps"
	"runtime/debug"
	"sync"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// Bounds of what is in hand.
const (
	maxAtOnce  = 64   // people whose events are being handled
	maxQueue   = 2000 // events of one person that wait; more are left alone
	maxWaiting = 256  // events whose key is waited for
)

// task is one thing to do because of a response of the server.
type task struct {
	event *event.Event // nil when it is not about what someone wrote
	who   id.UserID    // whose turn it takes; "" for nobody's

	// run does it, and tells whether that is over and done with. What is not is
	// done again in the next run of the program, or is given to end later.
	run   func(ctx context.Context, t *task) (over bool)
	batch *batch
}

// batch is what one response of the server has us do.
type batch struct {
	token string // the place in the stream behind it
	lasts map[id.RoomID]id.EventID
	tasks []*task
	open  int
}

// batches keeps the place in the stream behind all that is done, in order: a
// batch that is done waits for those before it.
type batches struct {
	keeping sync.Mutex // of the place, so that it never goes back
	mu      sync.Mutex
	line    []*batch
}

// add puts a batch in line.
func (q *batches) add(b *batch) {
	q.mu.Lock()
	defer q.mu.Unlock()
	b.open = len(b.tasks)
	q.line = append(q.line, b)
}

// done counts a task as done, and takes the batches off that are through: the
// token behind them, "" when there is none, and the last events up to there.
func (q *batches) done(b *batch, tasks int) (token string, lasts map[id.RoomID]id.EventID) {
	q.mu.Lock()
	defer q.mu.Unlock()
	b.open -= tasks
	lasts = map[id.RoomID]id.EventID{}
	for len(q.line) > 0 && q.line[0].open == 0 {
		token = q.line[0].token
		maps.Copy(lasts, q.line[0].lasts)
		q.line = q.line[1:]
	}
	return token, lasts
}

// start puts the tasks of a batch into the lines of those whom they concern. A
// place in the stream is kept as soon as all before it is done; while nothing
// happens it need not be.
func (l *link) start(ctx context.Context, b *batch) error {
	l.batches.add(b)
	if len(b.tasks) == 0 {
		return l.advance(ctx, b, 0)
	}
	for _, t := range b.tasks {
		t.batch = b
		if t.who == "" {
			l.work.Go(func() { l.try(ctx, t) })
			continue
		}
		if !l.queue(ctx, t) {
			l.chat.log().Warn("matrix: left alone, for too many wait", "event", t.event.ID)
			l.end(ctx, t)
		}
	}
	b.tasks = nil
	return nil
}

// advance keeps the place in the stream behind what is done. Should the write
// fail, the events come again, and are known.
func (l *link) advance(ctx context.Context, b *batch, tasks int) error {
	l.batches.keeping.Lock()
	defer l.batches.keeping.Unlock()
	token, lasts := l.batches.done(b, tasks)
	if token == "" {
		return nil
	}
	return l.keep.advance(context.WithoutCancel(ctx), token, lasts)
}

// end marks a task as done for good.
func (l *link) end(ctx context.Context, t *task) {
	ctx = context.WithoutCancel(ctx)
	if t.event != nil {
		if err := l.keep.markHandled(ctx, t.event.ID); err != nil {
			l.chat.log().Error("matrix: keeping what is handled", "err", err)
			return // so the place in the stream stays before it
		}
	}
	if err := l.advance(ctx, t.batch, 1); err != nil {
		l.chat.log().Error("matrix: keeping the place in the stream", "err", err)
	}
}

// try does a task. One that panics is done with, or it would come again for ever.
func (l *link) try(ctx context.Context, t *task) {
	over := true
	defer func() {
		if p := recover(); p != nil {
			l.chat.log().Error("matrix: panic", "panic", panicText(p), "stack", string(debug.Stack()))
		}
		if over {
			l.end(ctx, t)
		}
	}()
	over = t.run(ctx, t)
}

// panicText shows a panic of the runtime's; others may hold what people wrote.
func panicText(p any) string {
	if err, ok := p.(interface{ RuntimeError() }); ok {
		return fmt.Sprint(err)
	}
	return fmt.Sprintf("%T", p)
}

// people has a line for each person whose events are being handled.
type people struct {
	mu    sync.Mutex
	lines map[id.UserID][]*task // has those who are being served
	slots chan struct{}
}

// queue puts a task at the end of its person's line; false when that is too long.
func (l *link) queue(ctx context.Context, t *task) bool {
	p := &l.people
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.lines == nil {
		p.lines = map[id.UserID][]*task{}
	}
	line, served := p.lines[t.who]
	if len(line) >= maxQueue {
		return false
	}
	p.lines[t.who] = append(line, t)
	if !served {
		l.work.Go(func() { l.serve(ctx, t.who) })
	}
	return true
}

// serve does the tasks of one person, one after the other. When ctx ends, what
// has not begun is left for the next run of the program.
func (l *link) serve(ctx context.Context, who id.UserID) {
	for {
		t := l.people.next(who)
		if t == nil {
			return
		}
		select {
		case l.people.slots <- struct{}{}:
		case <-ctx.Done():
			continue
		}
		if ctx.Err() == nil {
			l.try(ctx, t)
		}
		<-l.people.slots
	}
}

// next takes the first of a line; the line ends with its last.
func (p *people) next(who id.UserID) *task {
	p.mu.Lock()
	defer p.mu.Unlock()
	line := p.lines[who]
	if len(line) == 0 {
		delete(p.lines, who)
		return nil
	}
	p.lines[who] = line[1:]
	return line[0]
}
