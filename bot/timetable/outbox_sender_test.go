package timetable_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/timetable"
)

func TestSentWhenDue(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.due("a", "first", 10*time.Second)
		defer b.run()()
		b.due("a", "second", 20*time.Second) // the commit wakes the sleeper
		b.sleep(10*time.Second - time.Millisecond)
		b.wantShown("", "")
		b.sleep(2 * time.Millisecond)
		b.wantShown("", "first")
		b.due("b", "at once", 0)
		synctest.Wait()
		b.wantShown("", "first at once")
		b.sleep(10 * time.Second)
		b.wantShown("", "first at once second")
		for _, o := range b.outcomes {
			if o.State != timetable.Sent || o.Late > 10*time.Millisecond {
				t.Errorf("%s, %v late", o.State, o.Late)
			}
		}
	})
}

func TestIdleSenderSleeps(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		defer b.run()()
		b.due("a", "far", 30*time.Hour)
		b.sleep(time.Second)
		before := b.box.taken()
		b.sleep(time.Hour)
		if n := b.box.taken() - before; n != 60 {
			t.Errorf("%d turns in an idle hour, want one a minute", n)
		}
	})
}

func TestRetries(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		var at []time.Duration
		begun := time.Now()
		b.chat.Script(func(_ bot.Place, _ string, try int) loopback.Fault {
			at = append(at, time.Since(begun).Round(time.Second))
			if try < 5 {
				return loopback.Temporary()
			}
			return loopback.Fault{}
		})
		b.due("a", "one", 0)
		b.due("a", "two", 0)
		defer b.run()()
		b.sleep(time.Minute)
		b.wantShown("a", "one two")
		want := []time.Duration{0, 1 * time.Second, 3 * time.Second, 7 * time.Second, 15 * time.Second}
		if !slices.Equal(at[:5], want) {
			t.Errorf("tried at %v, want %v", at[:5], want)
		}
	})
}

func TestRetryAfterDoesNotCount(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		const waits = timetable.MaxAttempts + 5
		b.chat.Script(func(_ bot.Place, _ string, try int) loopback.Fault {
			if try <= waits {
				return loopback.RetryAfter(7 * time.Second)
			}
			return loopback.Fault{}
		})
		p := b.due("a", "one", 0)
		defer b.run()()
		b.sleep(waits*7*time.Second - time.Second)
		b.wantShown("a", "")
		b.sleep(2 * time.Second)
		b.wantShown("a", "one")
		if n := b.chat.Tries(p.Key); n != waits+1 {
			t.Errorf("%d tries", n)
		}
	})
}

func TestErrorsThatStay(t *testing.T) {
	for _, c := range []struct {
		name  string
		fault loopback.Fault
		tries int
		then  string // what happens to the one behind it
	}{
		{"permanent", loopback.Permanent(), 1, "behind"},
		{"refused", loopback.Refused(), 1, "behind"},
	} {
		t.Run(c.name, func(t *testing.T) {
			atBench(t, func(t *testing.T, b *bench) {
				p := b.due("a", "bad", 0)
				b.chat.Script(func(_ bot.Place, key string, _ int) loopback.Fault {
					if key == p.Key {
						return c.fault
					}
					return loopback.Fault{}
				})
				b.due("a", "behind", 0)
				defer b.run()()
				b.sleep(time.Minute)
				b.wantShown("a", c.then)
				dead, err := b.box.DeadOf(t.Context(), "")
				if err != nil || len(dead) != 1 || dead[0].Key != p.Key || dead[0].Reason == "" {
					t.Fatalf("dead: %+v, %v", dead, err)
				}
				if n := b.chat.Tries(p.Key); n != c.tries {
					t.Errorf("%d tries", n)
				}
				b.chat.Script(nil)
				if err := b.box.Requeue(t.Context(), dead[0].ID, time.Now(), time.Now().Add(time.Hour)); err != nil {
					t.Fatal(err)
				}
				synctest.Wait()
				b.wantShown("a", "behind bad")
			})
		})
	}
}

func TestDeadAfterAllAttempts(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.o.MaxSleep = 24 * time.Hour
		b.chat.Script(func(bot.Place, string, int) loopback.Fault { return loopback.Temporary() })
		p := b.due("a", "one", 0)
		p.Key, p.Expires = timetable.PostKey("long"), p.Due.Add(48*time.Hour)
		if _, err := b.box.Add(t.Context(), time.Now(), p); err != nil {
			t.Fatal(err)
		}
		defer b.run()()
		b.sleep(24 * time.Hour)
		if n := b.chat.Tries(p.Key); n != timetable.MaxAttempts {
			t.Errorf("the post that was good for two days was tried %d times", n)
		}
		dead, err := b.box.DeadOf(t.Context(), "")
		if err != nil || len(dead) != 2 {
			t.Fatalf("dead: %+v, %v", dead, err)
		}
		for _, d := range dead {
			if want := "expired"; d.Key != p.Key && d.Reason != want {
				t.Errorf("the post that was good for an hour is dead for %q", d.Reason)
			}
		}
	})
}

// TestAnswerLost has the message arrive without anyone hearing of it.
func TestAnswerLost(t *testing.T) {
	for _, forget := range []bool{false, true} {
		t.Run(fmt.Sprintf("chat without keys %v", forget), func(t *testing.T) {
			atBench(t, func(t *testing.T, b *bench) {
				if forget {
					b.chat.ForgetKeys()
				}
				b.chat.Script(func(_ bot.Place, _ string, try int) loopback.Fault {
					if try == 1 {
						return loopback.AnswerLost()
					}
					return loopback.Fault{}
				})
				b.due("a", "one", 0)
				b.due("a", "two", 0)
				defer b.run()()
				b.sleep(time.Minute)
				b.wantShown("a", "one two")
			})
		})
	}
}

func TestSlowChat(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.chat.Script(func(to bot.Place, _ string, try int) loopback.Fault {
			if to.Room == "a" && try == 1 {
				return loopback.Fault{Wait: time.Hour}
			}
			return loopback.Fault{}
		})
		b.due("a", "slow", 0)
		b.due("b", "quick", 0)
		defer b.run()()
		b.sleep(time.Millisecond)
		b.wantShown("", "quick")
		b.sleep(timetable.DefaultSendTimeout + 2*time.Second)
		b.wantShown("", "quick slow")
	})
}

func TestPanicIsOneFailedPost(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		render, panics := b.render, 0
		b.render = func(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
			if p.To.Room == "a" && panics < 2 {
				panics++
				panic("on purpose")
			}
			return render(ctx, p)
		}
		b.chat.Script(func(to bot.Place, _ string, try int) loopback.Fault {
			if to.Room == "c" && try == 1 {
				panic("on purpose, too")
			}
			return loopback.Fault{}
		})
		for _, room := range []string{"a", "b", "c"} {
			b.due(room, room, 0)
		}
		defer b.run()()
		b.sleep(time.Millisecond)
		b.wantShown("", "b")
		b.sleep(time.Minute)
		b.wantShown("a", "a")
		b.wantShown("c", "c")
	})
}

func TestVerdictCancels(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		render := b.render
		b.render = func(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
			if d, _ := timetable.DetailsOf(p); d.Text == "moved" {
				return bot.Reply{}, timetable.SessionMoved, nil
			}
			return render(ctx, p)
		}
		begun := time.Now()
		b.due("a", "moved", 0)
		b.due("a", "stands", 0)
		defer b.run()()
		synctest.Wait()
		b.wantShown("a", "stands")
		skips, err := b.box.Skipped(t.Context(), begun)
		if err != nil || len(skips) != 1 || skips[0].Reason != string(timetable.SessionMoved) {
			t.Errorf("skipped: %v, %v", skips, err)
		}
		if got := b.states(); got != "cancelled sent" {
			t.Errorf("observed %q", got)
		}
	})
}

// TestRefusedPersonIsMentioned turns a refused direct message into one note.
func TestRefusedPersonIsMentioned(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.chat.Script(func(to bot.Place, _ string, _ int) loopback.Fault {
			if strings.HasPrefix(to.Room, "direct:") {
				return loopback.Refused()
			}
			return loopback.Fault{}
		})
		b.o.Refused = func(_ context.Context, p timetable.Post) ([]timetable.Post, error) {
			p.Key, p.To.Room, p.Kind = timetable.PostKey("note"), "a", timetable.KindNote
			p.Payload = []byte(`{"text":"note"}`)
			return []timetable.Post{p}, nil
		}
		b.due("@ada", "for you", 0)
		b.due("@ada", "for you, too", 0)
		b.due("@nobody", "for nobody", 0)
		defer b.run()()
		b.sleep(time.Minute)
		b.wantShown("", "note")
		if dead, err := b.box.DeadOf(t.Context(), ""); err != nil || len(dead) != 3 {
			t.Errorf("dead: %+v, %v", dead, err)
		}
	})
}

func TestDirectMessage(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		b.due("@ada", "for you", 0)
		defer b.run()()
		b.sleep(time.Minute)
		b.wantShown("direct:ada", "for you")
	})
}

// TestAfterALongDowntime begins to run days later.
func TestAfterALongDowntime(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		begun := time.Now()
		for i := range 30 {
			b.due("a", fmt.Sprint("stale", i), time.Duration(i)*time.Hour)
		}
		b.due("a", "of use", 71*time.Hour+30*time.Minute)
		b.sleep(72 * time.Hour)
		defer b.run()()
		synctest.Wait()
		b.wantShown("", "of use")
		skips, err := b.box.Skipped(t.Context(), begun)
		if want := []timetable.Skip{{Kind: timetable.KindSay, Reason: timetable.Stale, Posts: 30}}; err != nil || !slices.Equal(skips, want) {
			t.Errorf("skipped: %v, %v", skips, err)
		}
	})
}

func TestBackoff(t *testing.T) {
	for _, c := range []struct {
		attempt int
		jitter  float64
		want    time.Duration
	}{
		{1, 0, time.Second},
		{1, 0.5, 750 * time.Millisecond},
		{2, 0, 2 * time.Second},
		{11, 0, 1024 * time.Second},
		{12, 0, timetable.MaxBackoff},
		{25, 0, timetable.MaxBackoff},
		{25, 1, timetable.MaxBackoff / 2},
		{1000, 0, timetable.MaxBackoff},
	} {
		if got := timetable.Backoff(c.attempt, c.jitter); got != c.want {
			t.Errorf("after attempt %d with jitter %v: %v, want %v", c.attempt, c.jitter, got, c.want)
		}
	}
}

func TestPostKey(t *testing.T) {
	a := timetable.PostKey("session", "1", "x")
	if len(a) != 20 || strings.ContainsFunc(a, func(r rune) bool { return !strings.ContainsRune("abcdefghijklmnopqrstuvwxyz234567", r) }) {
		t.Errorf("key %q", a)
	}
	if a != timetable.PostKey("session", "1", "x") || a == timetable.PostKey("session", "1x") || a == timetable.PostKey("session1", "x") {
		t.Error("keys do not tell parts apart")
	}
}

// TestMoreRoomsThanAtOnce has slow sends fill all places while other rooms wait.
func TestMoreRoomsThanAtOnce(t *testing.T) {
	atBench(t, func(t *testing.T, b *bench) {
		const rooms, atOnce = 23, 4
		b.o.Parallel = atOnce
		b.chat.Script(func(bot.Place, string, int) loopback.Fault { return loopback.Fault{Wait: time.Second} })
		for i := range rooms {
			room := fmt.Sprint("room", i)
			b.chat.Open(room)
			b.due(room, room, 0)
		}
		defer b.run()()
		b.sleep(time.Millisecond)
		b.due("a", "woken in between", 0) // all places are taken
		b.sleep((rooms+atOnce)/atOnce*time.Second + 100*time.Millisecond)
		if got := len(strings.Fields(b.shown(""))); got != rooms+3 {
			t.Errorf("%d words of %d are through: no place may stand empty while a room waits", got, rooms+3)
		}
	})
}
