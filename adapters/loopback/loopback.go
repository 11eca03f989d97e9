// Package loopback is a chat in memory, for tests and demonstrations: rooms,
// people who write in them and read there, and faults by a script.
//
// A post takes the way that it takes through a real chat, and fails where a real
// one may: before it arrived, after it arrived but before anyone heard of that,
// for now, for good, or slowly.
package loopback

import (
	"context"
	"errors"
	"fmt"
	"path"
	"strings"
	"sync"
	"time"
	"unicode"

	"weftroom/bot"
)

// Message is one message as it stands in a room.
type Message struct {
	ID    string
	Key   string // under which it was posted; "" for an answer
	Place bot.Place
	Reply bot.Reply
	Text  string     // all its words
	Files []bot.File // with harmless names
}

// Fault is what goes wrong with one call of Post.
type Fault struct {
	Wait time.Duration // before anything else; a ctx that ends meanwhile ends the call
	Lost bool          // the message appears all the same; only its answer is lost
	Err  error         // what Post returns; nil for no fault
}

// Temporary is a fault that passes.
func Temporary() Fault { return Fault{Err: errors.New("loopback: out of reach")} }

// RetryAfter is a fault that says when to try again.
func RetryAfter(d time.Duration) Fault {
	return Fault{Err: &bot.SendError{Err: errors.New("loopback: too many posts"), RetryAfter: d}}
}

// Permanent is a fault that stays.
func Permanent() Fault {
	return Fault{Err: &bot.SendError{Err: errors.New("loopback: not allowed to write here"), Permanent: true}}
}

// Refused is a person who takes no direct messages.
func Refused() Fault {
	return Fault{Err: &bot.SendError{Err: errors.New("loopback: she takes no direct messages"), Permanent: true, Refused: true}}
}

// AnswerLost is a post that arrives without anyone hearing of it.
func AnswerLost() Fault {
	return Fault{Lost: true, Err: errors.New("loopback: the connection broke")}
}

// Chat is the whole chat and its adapter. It is safe for use from many
// goroutines.
type Chat struct {
	name string

	mu       sync.Mutex
	script   func(to bot.Place, key string, try int) Fault
	forget   bool
	rooms    map[string]bool
	users    map[string]bool
	messages []*Message // in the order in which they appeared; an edited one again
	byKey    map[key]*Message
	tries    map[string]int
	number   int
	changed  chan struct{} // closed and replaced when a message appears
	queues   map[string][]bot.Request
	asked    chan struct{} // something is in queues
}

type key struct {
	place bot.Place
	key   string
}

// New is a chat of that name with one room, in which users are.
func New(name, room string, users ...string) *Chat {
	c := &Chat{
		name: name, rooms: map[string]bool{room: true}, users: map[string]bool{},
		byKey: map[key]*Message{}, tries: map[string]int{},
		changed: make(chan struct{}), queues: map[string][]bot.Request{}, asked: make(chan struct{}, 1),
	}
	for _, u := range users {
		c.Join(u)
	}
	return c
}

// Open adds a room.
func (c *Chat) Open(room string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.rooms[room] = true
}

// Join adds a user.
func (c *Chat) Join(user string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.users[user] = true
	c.rooms[alone(user)] = true
}

// alone is the room in which a user is alone with the bot.
func alone(user string) string { return "direct:" + user }

// Script has f decide about each Post from now on; nil is no faults. try counts
// the calls under one key from 1. f must not call the Chat.
func (c *Chat) Script(f func(to bot.Place, key string, try int) Fault) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.script = f
}

// ForgetKeys makes it a chat without keys: each Post shows another message, and
// only Sent can tell that one is there. This breaks what is asked of an adapter
// on purpose.
func (c *Chat) ForgetKeys() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.forget = true
}

// Name implements bot.Adapter.
func (c *Chat) Name() string { return c.name }

// Post implements bot.Adapter. It blocks as long as the script says.
func (c *Chat) Post(ctx context.Context, to bot.Place, key string, r bot.Reply) (id string, err error) {
	f := c.try(to, key)
	if f.Wait > 0 {
		select {
		case <-time.After(f.Wait):
		case <-ctx.Done():
			return "", ctx.Err()
		}
	}
	if ctx.Err() != nil {
		return "", ctx.Err()
	}
	if f.Err != nil && !f.Lost {
		return "", f.Err
	}
	id, err = c.show(to, key, r)
	if f.Err != nil {
		return "", f.Err
	}
	return id, err
}

func (c *Chat) try(to bot.Place, key string) Fault {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.tries[key]++
	if c.script == nil {
		return Fault{}
	}
	return c.script(to, key, c.tries[key])
}

// show puts a message into a room, unless it is there.
func (c *Chat) show(to bot.Place, k string, r bot.Reply) (id string, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if to.Chat != c.name || !c.rooms[to.Room] {
		return "", &bot.SendError{Permanent: true, Err: fmt.Errorf("loopback: no room %q of %q here", to.Room, to.Chat)}
	}
	if m := c.byKey[key{to, k}]; m != nil && k != "" && !c.forget {
		return m.ID, nil
	}
	c.number++
	m := &Message{ID: fmt.Sprintf("message-%d", c.number), Key: k, Place: to}
	m.say(r)
	c.byKey[key{to, k}] = m
	c.appear(m)
	return m.ID, nil
}

// appear makes a message the last that was seen. Call it with mu held.
func (c *Chat) appear(m *Message) {
	c.messages = append(c.messages, m)
	close(c.changed)
	c.changed = make(chan struct{})
}

// say renders a reply into the message.
func (m *Message) say(r bot.Reply) {
	m.Reply, m.Text, m.Files = r, bot.Plain(r), nil
	for _, f := range r.Files {
		f.Name, f.Alt = harmless(path.Base(strings.ReplaceAll(f.Name, `\`, "/"))), harmless(f.Alt)
		m.Files = append(m.Files, f)
	}
}

// harmless takes out what a screen could obey.
func harmless(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
			return -1
		}
		return r
	}, strings.TrimLeft(strings.ToValidUTF8(s, ""), "."))
}

// Direct implements bot.DirectPoster.
func (c *Chat) Direct(_ context.Context, user string) (bot.Place, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.users[user] {
		return bot.Place{}, &bot.SendError{Permanent: true, Err: errors.New("loopback: no such user")}
	}
	return bot.Place{Chat: c.name, Room: alone(user)}, nil
}

// Edit implements bot.Editor.
func (c *Chat) Edit(_ context.Context, in bot.Place, id string, r bot.Reply) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, m := range c.messages {
		if m.Place == in && m.ID == id {
			edited := *m
			edited.say(r)
			c.appear(&edited)
			return nil
		}
	}
	return &bot.SendError{Permanent: true, Err: errors.New("loopback: no such message")}
}

// Sent implements bot.Reconciler.
func (c *Chat) Sent(_ context.Context, to bot.Place, k string) (id string, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if m := c.byKey[key{to, k}]; m != nil {
		return m.ID, nil
	}
	return "", nil
}

// Messages are all messages of a room, of all rooms for the zero Place, in the
// order in which they appeared.
func (c *Chat) Messages(in bot.Place) []Message {
	c.mu.Lock()
	defer c.mu.Unlock()
	var out []Message
	for _, m := range c.messages {
		if in == (bot.Place{}) || m.Place == in {
			out = append(out, *m)
		}
	}
	return out
}

// Tries is how often Post was called under a key.
func (c *Chat) Tries(key string) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.tries[key]
}

var (
	_ bot.Adapter      = (*Chat)(nil)
	_ bot.DirectPoster = (*Chat)(nil)
	_ bot.Editor       = (*Chat)(nil)
	_ bot.Reconciler   = (*Chat)(nil)
)
