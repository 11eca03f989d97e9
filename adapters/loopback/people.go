package loopback

import (
	"context"
	"fmt"
	"strings"
	"sync"

	"weftroom/bot"
)

// Say sends a line as a user, in a room or, with "", to the bot alone. It does
// not wait for an answer. Its id is given back; a Request of the same id can be
// replayed by Ask.
func (c *Chat) Say(user, room, line string) (id string) {
	c.mu.Lock()
	c.number++
	id = fmt.Sprintf("request-%d", c.number)
	c.mu.Unlock()
	direct := room == "" || room == alone(user)
	if direct {
		room = alone(user)
	}
	c.Ask(bot.Request{
		ID: id, From: bot.Account{Chat: c.name, User: user}, In: bot.Place{Chat: c.name, Room: room},
		Direct: direct, Line: line,
	})
	return id
}

// Ask puts a request before the handler as if a person had made it. It does not
// wait for an answer, which appears in the request's place.
func (c *Chat) Ask(r bot.Request) {
	c.mu.Lock()
	c.queues[r.From.User] = append(c.queues[r.From.User], r)
	c.mu.Unlock()
	select {
	case c.asked <- struct{}{}:
	default:
	}
}

// Press presses, as a user, the last button of that label in a room. It reports
// whether there is one.
func (c *Chat) Press(user, room, label string) bool {
	messages := c.Messages(bot.Place{Chat: c.name, Room: room})
	for i := len(messages) - 1; i >= 0; i-- {
		for _, b := range messages[i].Reply.Buttons {
			if b.Label == label {
				c.Say(user, room, b.Line)
				return true
			}
		}
	}
	return false
}

// After waits for the message number n, from 0, of a room.
func (c *Chat) After(ctx context.Context, in bot.Place, n int) (Message, error) {
	for {
		c.mu.Lock()
		changed := c.changed
		c.mu.Unlock()
		if all := c.Messages(in); n < len(all) {
			return all[n], nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return Message{}, ctx.Err()
		}
	}
}

// Run implements bot.Adapter. Requests of one person are handed over one after
// the other, those of different people at the same time.
func (c *Chat) Run(ctx context.Context, h bot.Handler) error {
	var people sync.WaitGroup
	defer people.Wait()
	busy := map[string]bool{}
	free := make(chan string)
	for ctx.Err() == nil {
		for user, r := range c.begin(busy) {
			busy[user] = true
			people.Go(func() {
				c.answer(ctx, h, r)
				select {
				case free <- user:
				case <-ctx.Done():
				}
			})
		}
		select {
		case <-c.asked:
		case user := <-free:
			delete(busy, user)
		case <-ctx.Done():
		}
	}
	return nil
}

// begin takes the next request of everyone who is not busy.
func (c *Chat) begin(busy map[string]bool) map[string]bot.Request {
	c.mu.Lock()
	defer c.mu.Unlock()
	next := map[string]bot.Request{}
	for user, waiting := range c.queues {
		if busy[user] {
			continue
		}
		next[user] = waiting[0]
		if c.queues[user] = waiting[1:]; len(waiting) == 1 {
			delete(c.queues, user)
		}
	}
	return next
}

// answer shows the reply to a request, which appears once however often the
// request is replayed: where it was asked or, when it is for a direct message, to
// the asker alone.
func (c *Chat) answer(ctx context.Context, h bot.Handler, r bot.Request) {
	defer func() {
		_ = recover() // one failed request; the handler logs its own faults
	}()
	reply := h.Handle(ctx, r)
	if reply.None() {
		return
	}
	to := r.In
	if reply.Audience == bot.Direct {
		to.Room = alone(r.From.User)
	}
	_, _ = c.show(to, "answer "+r.ID, reply) // a room that is gone has no readers
}

// String lists the messages, for a test that fails.
func (c *Chat) String() string {
	var b strings.Builder
	for _, m := range c.Messages(bot.Place{}) {
		fmt.Fprintf(&b, "%s %s %s\n%s", m.Place.Room, m.ID, m.Key, m.Text)
	}
	return b.String()
}
