package main

import (
	"context"
	"sync"
)

// leases are the chats that this process may write to; one that others may hold
// is also listened to only meanwhile, since an account must not answer twice.
type leases struct {
	mu      sync.Mutex
	held    map[string]bool
	changed chan struct{} // closed and replaced at each change
}

func newLeases() *leases { return &leases{held: map[string]bool{}, changed: make(chan struct{})} }

func (l *leases) set(chat string, held bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.held[chat] = held
	close(l.changed)
	l.changed = make(chan struct{})
}

// await waits until a chat is held, or is not, and tells false when ctx ends first.
func (l *leases) await(ctx context.Context, chat string, held bool) bool {
	for {
		l.mu.Lock()
		now, changed := l.held[chat], l.changed
		l.mu.Unlock()
		if now == held {
			return ctx.Err() == nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return false
		}
	}
}

// whileHeld runs a chat whenever this process holds it, until the chat ends of
// itself or ctx does.
func (l *leases) whileHeld(ctx context.Context, chat string, run func(ctx context.Context) error) error {
	for l.await(ctx, chat, true) {
		own, lost := context.WithCancel(ctx)
		var watching sync.WaitGroup
		watching.Go(func() {
			l.await(own, chat, false)
			lost()
		})
		err := run(own)
		ended := own.Err() == nil || err != nil
		lost()
		watching.Wait()
		if ended {
			return err
		}
	}
	return nil
}
