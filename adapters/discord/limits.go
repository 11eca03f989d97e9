package discord

import (
	"context"
	"hash/maphash"
	"net/http"
	"strconv"
	"sync"
	"time"
)

// gates is how many rate limits are told apart, of what is counted and again of
// interactions, so that nobody's answer waits for a channel. What shares a gate
// by chance waits together; that the number is fixed keeps the memory bounded,
// however many channels and interactions there are.
const gates = 256

// limits holds requests back as Discord's answers ask for.
type limits struct {
	seed  maphash.Seed
	every time.Duration // from one counted request to the next

	mu    sync.Mutex
	gate  [2 * gates]time.Time // closed until
	all   time.Time            // every gate is
	next  time.Time            // when the next counted request may go
	burst time.Duration        // by how much requests may run ahead
}

func newLimits(perSecond int) *limits {
	every := time.Second / time.Duration(max(perSecond, 1))
	return &limits{seed: maphash.MakeSeed(), every: every, burst: 20 * every}
}

func (l *limits) of(c call) int {
	bucket := c.bucket
	if bucket == "" {
		bucket = c.method + " " + c.path
	}
	gate := int(maphash.String(l.seed, bucket) % gates)
	if c.free {
		gate += gates
	}
	return gate
}

// wait blocks until c may go, or ctx ends. When that would take longer than
// longWait it says so at once.
func (l *limits) wait(ctx context.Context, c call) error {
	d := time.Until(l.turn(c))
	switch {
	case d > longWait:
		l.leave(c)
		return &apiError{status: http.StatusTooManyRequests, message: "waiting for a rate limit to end", after: d}
	case d > 0:
		return pause(ctx, d)
	}
	return ctx.Err()
}

// turn is when c may go. A counted request takes its place in the row.
func (l *limits) turn(c call) time.Time {
	l.mu.Lock()
	defer l.mu.Unlock()
	until := l.gate[l.of(c)]
	if c.free {
		return until
	}
	if l.all.After(until) {
		until = l.all
	}
	if least := time.Now().Add(-l.burst); l.next.Before(least) {
		l.next = least
	}
	l.next = l.next.Add(l.every)
	if l.next.After(until) {
		until = l.next
	}
	return until
}

// leave gives back the place of a request that will not go now.
func (l *limits) leave(c call) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !c.free {
		l.next = l.next.Add(-l.every)
	}
}

// heed notes that a limit is used up.
func (l *limits) heed(c call, h http.Header) {
	if h.Get("X-RateLimit-Remaining") != "0" {
		return
	}
	if after, err := strconv.ParseFloat(h.Get("X-RateLimit-Reset-After"), 64); err == nil {
		l.close(c, seconds(after), false)
	}
}

// close holds back what shares c's limit, or everything that is counted.
func (l *limits) close(c call, d time.Duration, everything bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	until := time.Now().Add(d)
	if everything {
		l.all = later(l.all, until)
		return
	}
	i := l.of(c)
	l.gate[i] = later(l.gate[i], until)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
