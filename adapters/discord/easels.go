package discord

import (
	"context"
	"slices"
	"sync"

	"weftroom/bot"
)

// easels are the answers whose pictures are being drawn: those of one person one
// after the other, while she is answered what she asked next. The zero value is
// ready.
type easels struct {
	mu     sync.Mutex
	people map[string]easel
}

// easel is one person's.
type easel struct {
	last  chan struct{} // closed when the latest answer has its pictures
	count int           // answers that wait for theirs
}

// pictureTime is how long after its words an answer may still get its pictures. So
// long at most what asks for her next answer's place, and the end of Run, wait for
// an upload that hangs. Our own bound: twice what one message may take to be sent.
const pictureTime = 2 * grace

// later puts the pictures to words of user's that stand there. When too many of
// her answers wait for theirs, it waits with them.
func (c *Chat) later(ctx context.Context, user, request string, messages []message, illustrate func(ctx context.Context) error) {
	if !slices.ContainsFunc(messages, message.undrawn) {
		return
	}
	before, done, many := c.easels.join(user)
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), pictureTime)
	c.work.Go(func() {
		defer cancel()
		defer c.easels.leave(user, done)
		defer c.rescue("illustrating an answer")
		if before != nil {
			select {
			case <-before:
			case <-ctx.Done():
			}
		}
		if err := illustrate(ctx); err != nil {
			c.o.Log.Warn("pictures did not arrive", "chat", ChatName, "request", request, "err", err)
		}
	})
	if many {
		<-done
	}
}

// join puts an answer behind the others of its person: it begins when before is
// closed, at once when that is nil, and closes done.
func (e *easels) join(user string) (before, done chan struct{}, many bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.people == nil {
		e.people = map[string]easel{}
	}
	own := e.people[user]
	done = make(chan struct{})
	e.people[user] = easel{done, own.count + 1}
	return own.last, done, own.count+1 >= bot.PerPerson
}

func (e *easels) leave(user string, done chan struct{}) {
	e.mu.Lock()
	defer e.mu.Unlock()
	own := e.people[user]
	if own.count--; own.count == 0 {
		delete(e.people, user)
	} else {
		e.people[user] = own
	}
	close(done)
}

// settled waits until all answers of a person have their pictures: what takes the
// place of one must not get them.
func (e *easels) settled(user string) {
	e.mu.Lock()
	last := e.people[user].last
	e.mu.Unlock()
	if last != nil {
		<-last
	}
}
