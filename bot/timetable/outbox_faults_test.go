package timetable_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/timetable"
)

func TestGracefulStop(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.chat.Script(func(bot.Place, string, int) loopback.Fault { return loopback.Fault{Wait: 5 * time.Second} })
		b.due("a", "in hand", 0)
		b.due("a", "waits", 0)
		end := b.run()
		b.sleep(time.Second)
		begun := time.Now()
		end()
		if d := time.Since(begun); d > 5*time.Second {
			t.Errorf("the stop took %v", d)
		}
		b.wantShown("", "in hand")
		if got := b.states(); got != "sent" {
			t.Errorf("observed %q", got)
		}
		if got := b.heldSoFar(); got != "loopback true, loopback false" {
			t.Errorf("held: %s", got)
		}
		b.run()()
		if got := b.shown(""); !strings.HasPrefix(got, "in hand") || strings.Count(got, "in hand") != 1 {
			t.Errorf("after another start %q", got)
		}
	})
}

var errGone = errors.New("database gone")

func TestDatabaseGoneForAWhile(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.chat.Script(func(bot.Place, string, int) loopback.Fault { return loopback.Fault{Wait: time.Second} })
		b.due("a", "in hand", 0)
		b.due("a", "waits", 0)
		defer b.run()()
		b.sleep(500 * time.Millisecond)
		b.box.spoil(func() error { return errGone }, nil)
		before := b.box.taken()
		b.sleep(30 * time.Second)
		b.wantShown("a", "in hand")
		if n := b.box.taken() - before; n > 8 {
			t.Errorf("%d turns were tried in half a minute", n)
		}
		if got := b.heldSoFar(); got != "loopback true" {
			t.Errorf("the chat was given up at once: %s", got)
		}
		b.sleep(90 * time.Second)
		if got := b.heldSoFar(); got != "loopback true, loopback false" {
			t.Errorf("held once the lease must be over: %s", got)
		}
		b.box.spoil(nil, nil)
		b.sleep(15 * time.Second)
		b.wantShown("a", "in hand waits")
		for _, p := range []string{"in hand", "waits"} {
			if n := b.chat.Tries(timetable.PostKey("a", p)); n != 1 {
				t.Errorf("%q was sent %d times", p, n)
			}
		}
		if got := b.heldSoFar(); got != "loopback true, loopback false, loopback true" {
			t.Errorf("held: %s", got)
		}
	})
}

// TestAnswerOfTheDatabaseLost has turns take place without the Sender hearing.
func TestAnswerOfTheDatabaseLost(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		n := 0
		b.box.spoil(nil, func() error {
			if n++; n%2 == 1 {
				return errGone
			}
			return nil
		})
		for i := range 5 {
			b.due("a", fmt.Sprint(i), 0)
			b.due("b", fmt.Sprint("b", i), 0)
		}
		defer b.run()()
		b.sleep(time.Minute) // far less would do than five leases
		b.wantShown("a", "0 1 2 3 4")
		b.wantShown("b", "b0 b1 b2 b3 b4")
	})
}

// TestClockSetBackAtWork sets the wall clock back by three hours while posts
// were sent, wait for a retry, and are planned.
func TestClockSetBackAtWork(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		var fails atomic.Bool
		fails.Store(true)
		retry := b.due("b", "retry", 0)
		b.chat.Script(func(_ bot.Place, key string, _ int) loopback.Fault {
			if key == retry.Key && fails.Load() {
				return loopback.RetryAfter(50 * time.Minute)
			}
			return loopback.Fault{}
		})
		b.due("a", "sent", 0)
		defer b.run()()
		b.sleep(time.Second)
		b.wantShown("", "sent")
		fails.Store(false)
		b.wrong(-3 * time.Hour)
		b.due("c", "now", 0)
		b.due("c", "soon", 10*time.Minute)
		b.sleep(time.Minute)
		b.wantShown("", "sent now")
		b.sleep(10 * time.Minute)
		b.wantShown("", "sent now soon")
		b.sleep(3 * time.Hour) // by then it is due again
		b.wantShown("", "sent now soon retry")
		if n := b.chat.Tries(timetable.PostKey("a", "sent")); n != 1 {
			t.Errorf("what was sent before was sent %d times", n)
		}
	})
}

// TestClockSetForward is noticed within a minute.
func TestClockSetForward(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.due("a", "in two hours", 2*time.Hour)
		defer b.run()()
		b.sleep(time.Second)
		b.wrong(2*time.Hour + time.Minute)
		b.sleep(time.Minute)
		b.wantShown("", "in two hours")
	})
}

// TestStoppedBeforeItSent has a process stand still between reading the truth
// and sending, until its lease is nearly over.
func TestStoppedBeforeItSent(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		render, stops := b.render, 1
		b.render = func(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
			if stops--; stops == 0 {
				time.Sleep(timetable.DefaultLease - timetable.DefaultSendTimeout + time.Second)
			}
			return render(context.WithoutCancel(ctx), p)
		}
		p := b.due("a", "one", 0)
		defer b.run()()
		b.sleep(timetable.DefaultLease - timetable.DefaultSendTimeout)
		b.wantShown("a", "")
		b.sleep(2 * time.Second)
		b.wantShown("a", "one")
		if n := b.chat.Tries(p.Key); n != 1 {
			t.Errorf("the chat was asked %d times: nothing may be sent when another may have the post", n)
		}
		if got := b.states(); got != "queued sent" {
			t.Errorf("observed %q", got)
		}
	})
}

// TestAWrongReadingIsOneFailedAttempt has the truth out of reach.
func TestAWrongReadingIsOneFailedAttempt(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		render, fails := b.render, 3
		b.render = func(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
			if fails--; fails >= 0 {
				return bot.Reply{}, timetable.Send, errGone
			}
			return render(ctx, p)
		}
		b.due("a", "one", 0)
		defer b.run()()
		b.sleep(8 * time.Second)
		b.wantShown("a", "one")
		if got := b.states(); got != "queued queued queued sent" {
			t.Errorf("observed %q", got)
		}
	})
}
