package console

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"weftroom/bot"
)

// ErrClosed is the error of a Post into a room whose Run has ended.
var ErrClosed = errors.New("the room is closed")

// closing tells that a post waits for the next room: nothing is wrong with it.
func closing() error { return &bot.SendError{Err: ErrClosed, RetryAfter: time.Second} }

// post is a message that nobody in the room asked for.
type post struct {
	key  string
	id   string
	text string
	done chan struct{} // closed when it was printed, or will not be
	err  error         // why it was not printed; to be read when done is closed
}

// Post implements bot.Adapter. It returns when r is on the screen, which is at
// once unless a line is being typed or Run has not begun. A post whose ctx ends
// before is taken back, and may be posted again under the same key.
func (r *Room) Post(ctx context.Context, to bot.Place, key string, reply bot.Reply) (id string, err error) {
	if to != r.Place() {
		return "", &bot.SendError{Permanent: true, Err: fmt.Errorf("the console has no room %q of %q", to.Room, to.Chat)}
	}
	p, err := r.queue(key, reply)
	if err != nil {
		return "", err
	}
	select {
	case <-p.done:
	case <-ctx.Done():
		r.takeBack(p, ctx.Err())
		<-p.done
	}
	if p.err != nil {
		return "", p.err
	}
	return p.id, nil
}

// Direct implements bot.DirectPoster: one person is there, and she is in the room.
func (r *Room) Direct(_ context.Context, user string) (bot.Place, error) {
	if user != r.o.User {
		return bot.Place{}, &bot.SendError{Permanent: true, Err: errors.New("nobody else is at the console")}
	}
	return r.Place(), nil
}

// queue finds or makes the post of a key, and shows it when that can be done now.
func (r *Room) queue(key string, reply bot.Reply) (*post, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if p, ok := r.posts[key]; ok {
		return p, nil
	}
	if r.state == closed {
		return nil, closing()
	}
	text, ok := r.safely("post "+key, func() string { return r.post(reply) })
	if !ok {
		return nil, &bot.SendError{Permanent: true, Err: errors.New("the post cannot be written out")}
	}
	r.posted++
	p := &post{key: key, id: fmt.Sprintf("post-%d", r.posted), text: text, done: make(chan struct{})}
	r.posts[key] = p
	r.waiting = append(r.waiting, p)
	switch r.state {
	case open:
		_ = r.showWaiting() // p carries the error
	case typing:
		r.source.nudge()
	}
	return p, nil
}

// showWaiting prints what waits, in order. Call it with mu held.
func (r *Room) showWaiting() error {
	for len(r.waiting) > 0 {
		p := r.waiting[0]
		err := r.print(p.text + "\n")
		r.settle(p, err)
		if err != nil {
			return err
		}
	}
	return nil
}

// settle ends the wait of whoever posted p; after an error the key is free again.
func (r *Room) settle(p *post, err error) {
	r.waiting = slices.DeleteFunc(r.waiting, func(w *post) bool { return w == p })
	if p.err = err; err != nil {
		delete(r.posts, p.key)
	}
	close(p.done)
}

func (r *Room) takeBack(p *post, why error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if slices.Contains(r.waiting, p) { // else it was printed meanwhile
		r.settle(p, why)
	}
}

// shut refuses what still waits, and all that comes.
func (r *Room) shut() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.state = closed
	for len(r.waiting) > 0 {
		r.settle(r.waiting[0], closing())
	}
}
