package main

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"
)

// TestListenedToWhileHeld: a chat runs whenever the process holds it, and only
// then; when it ends of itself, that is its end.
func TestListenedToWhileHeld(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := newLeases()
		running := 0
		ended := make(chan error, 1)
		finish := make(chan error)
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		go func() {
			ended <- l.whileHeld(ctx, "left", func(ctx context.Context) error {
				running++
				defer func() { running-- }()
				select {
				case <-ctx.Done():
					return nil
				case err := <-finish:
					return err
				}
			})
		}()
		want := func(what string, n int) {
			t.Helper()
			synctest.Wait()
			if running != n {
				t.Errorf("%s: runs %d times, want %d", what, running, n)
			}
		}
		want("before it is held", 0)
		l.set("right", true)
		want("another is held", 0)
		l.set("left", true)
		want("held", 1)
		l.set("left", true)
		want("held still", 1)
		l.set("left", false)
		want("lost", 0)
		time.Sleep(time.Hour)
		want("an hour later", 0)
		l.set("left", true)
		want("held again", 1)
		trouble := errors.New("the account is gone")
		finish <- trouble
		if err := <-ended; !errors.Is(err, trouble) {
			t.Errorf("ended with %v", err)
		}
	})
}

// TestListeningEndsWithItsContext while the chat is held, and while it is not.
func TestListeningEndsWithItsContext(t *testing.T) {
	for _, held := range []bool{true, false} {
		synctest.Test(t, func(t *testing.T) {
			l := newLeases()
			l.set("left", held)
			ctx, cancel := context.WithCancel(t.Context())
			ended := make(chan error, 1)
			go func() {
				ended <- l.whileHeld(ctx, "left", func(ctx context.Context) error {
					<-ctx.Done()
					return nil
				})
			}()
			synctest.Wait()
			cancel()
			if err := <-ended; err != nil {
				t.Errorf("held %v: %v", held, err)
			}
		})
	}
}
