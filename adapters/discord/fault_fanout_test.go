package discord

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
)

// fanOut is a class of many rooms, each with posts to come. As for the sender
// that belongs to the program, each room has one of its own, which keeps their
// order and tries again, under the same key, until Discord has taken a post.
type fanOut struct {
	f     *faulty
	rooms []*discordtest.Channel
	each  int
	tries int // of one post, before it is given up
}

func newFanOut(f *faulty, posts, rooms int) *fanOut {
	o := &fanOut{f: f, each: posts / rooms, tries: 100}
	for n := range rooms {
		o.rooms = append(o.rooms, f.guild.Channel(fmt.Sprintf("room-%d", n)))
	}
	return o
}

func (o *fanOut) text(room, n int) string { return fmt.Sprintf("room %d post %d.", room, n) }

// send posts everything. Before each post it takes leave from turns, when there
// is such a thing.
func (o *fanOut) send(turns <-chan struct{}) {
	o.f.t.Helper()
	var senders sync.WaitGroup
	for room := range o.rooms {
		senders.Go(func() {
			for n := range o.each {
				if turns != nil {
					select {
					case <-turns:
					case <-o.f.ctx.Done():
					}
				}
				if err := o.post(room, n); err != nil {
					o.f.t.Errorf("%s: %v", o.text(room, n), err)
					return
				}
			}
		})
	}
	senders.Wait()
}

func (o *fanOut) post(room, n int) error {
	to := bot.Place{Chat: ChatName, Room: o.rooms[room].ID}
	var err error
	for range o.tries {
		_, err = o.f.chat.Post(o.f.ctx, to, fmt.Sprintf("post-%d-%d", room, n), bot.Reply{Title: o.text(room, n), Audience: bot.Room})
		if err == nil || o.f.ctx.Err() != nil {
			return err
		}
		send := bot.AsSendError(err)
		if send.Permanent {
			return err
		}
		_ = pause(o.f.ctx, max(send.RetryAfter, time.Millisecond))
	}
	return err
}

// check counts what stands in the rooms.
func (o *fanOut) check() {
	o.f.t.Helper()
	lost, doubled, disordered := 0, 0, 0
	for room, c := range o.rooms {
		var texts []string
		for _, m := range c.All() {
			texts = append(texts, m.Text())
		}
		all := strings.Join(texts, "\n")
		last := -1
		for n := range o.each {
			switch c := strings.Count(all, o.text(room, n)); {
			case c == 0:
				lost++
			case c > 1:
				doubled += c - 1
			}
			at := strings.Index(all, o.text(room, n))
			if at < last {
				disordered++
			}
			last = at
		}
	}
	if lost+doubled+disordered > 0 {
		o.f.t.Errorf("of %d posts %d are lost, %d doubled, %d out of order", o.each*len(o.rooms), lost, doubled, disordered)
	} else {
		o.f.t.Logf("%d posts in %d rooms: 0 lost, 0 doubled", o.each*len(o.rooms), len(o.rooms))
	}
}

// TestFaultGatewayCutFiftyTimes cuts the gateway 50 times while 2,000 posts go
// out, and each time has somebody ask while there is no connection.
func TestFaultGatewayCutFiftyTimes(t *testing.T) {
	const posts, rooms, cuts = 2000, 50, 50
	if testing.Short() {
		t.Skip("SKIP: 50 cuts take a minute, since discordgo closes each for a second")
	}
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	f.within(5 * time.Minute)
	o := newFanOut(f, posts, rooms)
	turns := make(chan struct{})
	var sent sync.WaitGroup
	sent.Go(func() { o.send(turns) })
	for n := range cuts {
		f.srv.Cut()
		f.gateway("cut", func(st discordtest.Stats) bool { return st.Connected == 0 || st.Resumes > n })
		i := f.slash(fmt.Sprintf("question %d.", n))
		for range posts / cuts {
			select {
			case turns <- struct{}{}:
			case <-f.ctx.Done():
				t.Fatal("the posts do not go on")
			}
		}
		f.gateway("resumed", func(st discordtest.Stats) bool { return st.Resumes == n+1 && st.Connected == 1 })
		if m := f.answer(i); !strings.Contains(m.Text(), fmt.Sprintf("question %d.", n)) {
			t.Errorf("question %d is answered with %q", n, m.Text())
		}
	}
	sent.Wait()
	o.check()
	if got := len(f.ann.Messages(f.room)); got != cuts {
		t.Errorf("%d questions have %d answers", cuts, got)
	}
	if got := f.srv.Gateway(); got.Identifies != 1 || got.Resumes != cuts {
		t.Errorf("%+v", got)
	}
}

// TestFaultStorm lets 2,000 posts go out while Discord is over its limits and
// ill: every so-manieth request is refused, failed, done without an answer, or
// cut, in turn.
func TestFaultStorm(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	f.within(5 * time.Minute)
	const route = discordtest.RouteCreateMessage
	forever := func(every int, fault discordtest.Fault) {
		fault.Route, fault.Times, fault.Every = route, -1, every
		f.srv.Fail(fault)
	}
	forever(7, discordtest.Limited(route, 0, 10*time.Millisecond, false))
	forever(97, discordtest.Limited(route, 0, 30*time.Millisecond, true))
	forever(5, discordtest.Fault{Status: 500})
	forever(6, discordtest.Fault{Status: 503, Apply: true})
	forever(8, discordtest.Fault{Status: 504, Apply: true, Body: "<html>", Type: "text/html"})
	forever(9, discordtest.Fault{Cut: true})
	forever(11, discordtest.Fault{Cut: true, Apply: true})
	f.srv.Fail(discordtest.LimitedHTML(route, 2, time.Second))
	o := newFanOut(f, 2000, 50)
	o.send(nil)
	o.check()
	f.srv.Heal()
	f.wantEcho("after the storm")
}

// within sets how long the test may take.
func (f *faulty) within(d time.Duration) {
	ctx, cancel := context.WithTimeout(f.t.Context(), d)
	f.t.Cleanup(cancel)
	f.ctx = ctx
}
