package matrix

import (
	"context"
	"sync"
	"time"

	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// Bounds of what one person is answered in one room: so many requests together,
// and so many more in a second. Who was away for long is answered all the same,
// since it counts when a request was made; a talk between two programs ends.
const (
	floodMost   = 100.0
	floodRefill = 1.0
)

// verdict is what becomes of a request.
type verdict int

const (
	floodNot  verdict = iota // it is answered
	floodNews                // too much, and that is to be said
	floodTold                // too much, and that has been said
)

// floods counts what people ask. The zero value is ready.
type floods struct {
	mu     sync.Mutex
	each   map[floodKey]*bucket
	bucket float64 // how many requests together; 0 for floodMost
}

func (f *floods) most() float64 {
	if f.bucket > 0 {
		return f.bucket
	}
	return floodMost
}

type floodKey struct {
	room id.RoomID
	who  id.UserID
}

type bucket struct {
	left float64
	at   time.Time
	told bool
}

func (f *floods) admit(in incoming, now time.Time) verdict {
	at := time.UnixMilli(in.Event.Timestamp)
	if at.After(now) {
		at = now
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.each == nil {
		f.each = map[floodKey]*bucket{}
	}
	f.forget(now)
	k := floodKey{in.Room.ID, in.Event.Sender}
	b := f.each[k]
	if b == nil {
		b = &bucket{left: f.most(), at: at}
		f.each[k] = b
	}
	if passed := at.Sub(b.at); passed > 0 {
		b.left, b.at = min(b.left+passed.Seconds()*floodRefill, f.most()), at
	}
	b.told = b.told && b.left < f.most()/2
	switch {
	case !b.told && b.left >= 1:
		b.left--
		return floodNot
	case !b.told:
		b.told = true
		return floodNews
	}
	return floodTold
}

// maxFloods bounds how many people are counted; those who have asked nothing for
// long are forgotten then.
const maxFloods = 10_000

func (f *floods) forget(now time.Time) {
	if len(f.each) < maxFloods {
		return
	}
	for k, b := range f.each {
		if now.Sub(b.at).Seconds()*floodRefill > f.most() {
			delete(f.each, k)
		}
	}
	if len(f.each) >= maxFloods {
		clear(f.each)
	}
}

// sayFlood says that some of it is left out.
func (c *Chat) sayFlood(ctx context.Context, in incoming) error {
	return c.tell(ctx, in.Room.ID, c.key("flood", in.Event.ID), bot.KeyFlood)
}
