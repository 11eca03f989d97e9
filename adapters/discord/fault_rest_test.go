package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
)

// TestFaultServerErrors: discordgo retries 502 alone, and without a pause. A post
// is tried again on each, done or not, and appears once.
func TestFaultServerErrors(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	for _, status := range []int{500, 502, 503, 504} {
		for _, applied := range []bool{false, true} {
			text := fmt.Sprintf("post after %d, applied %v.", status, applied)
			f.srv.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, Times: 2, Status: status, Apply: applied, Body: "<html>oops</html>", Type: "text/html"})
			if id, err := f.post(fmt.Sprintf("key-%d-%v", status, applied), text); err != nil || id == "" {
				t.Errorf("%s: %q %v", text, id, err)
			}
			if n := f.times(text); n != 1 {
				t.Errorf("%q appeared %d times", text, n)
			}
		}
	}
	f.srv.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, Times: 2, Cut: true, Apply: true})
	if _, err := f.post("cut", "answer lost twice."); err != nil || f.times("answer lost twice.") != 1 {
		t.Errorf("%d times, %v", f.times("answer lost twice."), err)
	}
	f.srv.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, Times: -1, Status: 500})
	_, err := f.post("never", "never.")
	if send := bot.AsSendError(orNone(err)); err == nil || send.Permanent {
		t.Errorf("a server that is ill for long: %v", err)
	}
}

var errNone = errors.New("no error")

func orNone(err error) error {
	if err == nil {
		return errNone
	}
	return err
}

// TestFaultRefusals: what stays refused is not tried again, and says for good.
func TestFaultRefusals(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	f.ann.RefuseDirect(true)
	_, err := f.chat.Post(f.ctx, bot.Place{Chat: ChatName, Room: f.ann.DM().ID}, "direct", bot.Reply{Title: "to her alone"})
	if send := bot.AsSendError(orNone(err)); !send.Permanent || !send.Refused {
		t.Errorf("a direct message to who takes none: %v", err)
	}
	f.guild.LetBot(discordtest.ViewChannel)
	_, err = f.post("forbidden", "forbidden")
	if send := bot.AsSendError(orNone(err)); !send.Permanent || send.Refused {
		t.Errorf("where the bot may not write: %v", err)
	}
	f.guild.LetBot(discordtest.BotPermissions())
	f.room.Delete()
	_, err = f.post("gone", "gone")
	if send := bot.AsSendError(orNone(err)); !send.Permanent || send.Refused {
		t.Errorf("where no channel is: %v", err)
	}
	if n := len(f.srv.Refused()); n != 3 {
		t.Errorf("three refusals were asked for %d times", n)
	}
}

// TestFaultRateLimit: discordgo sleeps on 429 without looking at the context,
// and cannot read one that is a page. Short ones are waited for; of long ones
// the sender is told, so that it can do something else.
func TestFaultRateLimit(t *testing.T) {
	t.Parallel()
	const route = discordtest.RouteCreateMessage
	for _, c := range []struct {
		name  string
		fault discordtest.Fault
		after time.Duration // what the sender is told, 0 when it is waited for
	}{
		{"short", discordtest.Limited(route, 1, 20*time.Millisecond, false), 0},
		{"short, for everything", discordtest.Limited(route, 1, 20*time.Millisecond, true), 0},
		{"long", discordtest.Limited(route, 1, time.Minute, false), time.Minute},
		{"long, for everything", discordtest.Limited(route, 1, time.Minute, true), time.Minute},
		{"a page", discordtest.LimitedHTML(route, 1, 90*time.Second), 90 * time.Second},
		{"a page without a time", discordtest.Fault{Route: route, Status: 429, Type: "text/html", Body: "<html>"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
			f.srv.Fail(c.fault)
			_, err := f.post("key", "limited.")
			if c.after == 0 {
				if err != nil || f.times("limited.") != 1 {
					t.Errorf("%v, %d times", err, f.times("limited."))
				}
				return
			}
			if send := bot.AsSendError(orNone(err)); send.Permanent || send.RetryAfter != c.after {
				t.Errorf("told to wait for %v: %v", send.RetryAfter, err)
			}
			// While everything is limited, answers are not: they do not count.
			f.wantEcho("meanwhile")
		})
	}
}

// TestFaultWaitIgnoresContext: a wait for a limit ends with the context.
func TestFaultWaitIgnoresContext(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	f.srv.Fail(discordtest.Limited(discordtest.RouteCreateMessage, 1, 4*time.Second, false)) // short enough to be waited for
	ctx, cancel := context.WithCancel(f.ctx)
	met := make(chan struct{})
	go func() {
		defer close(met)
		if f.srv.AwaitFaults(f.ctx, discordtest.RouteCreateMessage) != nil {
			return
		}
		cancel()
	}()
	_, err := f.chat.Post(ctx, bot.Place{Chat: ChatName, Room: f.room.ID}, "key", bot.Reply{Title: "too late."})
	<-met
	if err == nil || f.times("too late.") != 0 {
		t.Errorf("it was waited for after the context had ended: %v", err)
	}
}

// TestFaultWaitEndsAtOnce: it ends at the moment at which the context does, by a
// clock of the test's own.
func TestFaultWaitEndsAtOnce(t *testing.T) {
	for name, answer := range map[string]http.Response{
		"a limit":       {StatusCode: 429, Header: http.Header{"Retry-After": {"4"}}},
		"an ill server": {StatusCode: 503},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newREST("token", Options{Now: time.Now, Pace: Pace{Retry: 10 * time.Second, Tries: 2, PerSecond: 50}, Transport: carrier(func(*http.Request) (*http.Response, error) {
					resp := answer
					resp.Body = http.NoBody
					return &resp, nil
				})})
				begun := time.Now()
				ctx, cancel := context.WithTimeout(t.Context(), time.Second)
				defer cancel()
				err := r.do(ctx, call{method: http.MethodGet, path: "/users/@me", again: true})
				if took := time.Since(begun); err == nil || took != time.Second {
					t.Errorf("it was waited for %v: %v", took, err)
				}
			})
		})
	}
}

type carrier func(*http.Request) (*http.Response, error)

// RoundTrip implements http.RoundTripper.
func (c carrier) RoundTrip(r *http.Request) (*http.Response, error) { return c(r) }

// TestFaultBuckets: discordgo keeps a rate limit for each interaction for ever.
// Here there is a fixed number, and another one takes no memory at all.
func TestFaultBuckets(t *testing.T) {
	l := newLimits(1000)
	n := 0
	if a := testing.AllocsPerRun(100_000, func() {
		n++
		l.turn(call{method: http.MethodPost, path: "/x", bucket: "interaction 1", free: true})
	}); a != 0 {
		t.Errorf("a limit takes %v allocations", a)
	}
	seen := map[int]bool{}
	for i := range 100_000 {
		c := call{bucket: fmt.Sprint("interaction ", i), free: true}
		l.close(c, time.Minute, false)
		seen[l.of(c)] = true
	}
	if len(seen) > gates || len(seen) < gates/2 {
		t.Errorf("100,000 limits have %d gates", len(seen))
	}
}

// TestFaultOneAtATime: discordgo holds a bucket for the whole round trip, so that
// all edits of answers queue behind each other. One that hangs holds up no other.
func TestFaultOneAtATime(t *testing.T) {
	t.Parallel()
	pace := quick
	pace.Defer = time.Nanosecond // so that every answer is an edit
	gate := make(chan struct{})
	slow := func(ctx context.Context, r bot.Request) bot.Reply {
		select {
		case <-gate:
		case <-ctx.Done():
		}
		return echo(ctx, r)
	}
	f := begin(t, discordtest.Options{}, Options{Pace: pace}, handle(slow))
	hold := make(chan struct{})
	f.srv.Fail(discordtest.Fault{Route: discordtest.RouteEditAnswer, Hold: hold})
	var asked []*discordtest.Interaction
	for n := range 8 {
		u := f.srv.User(fmt.Sprint("person ", n))
		f.guild.Join(u)
		i, err := u.Slash(f.room, "echo", discordtest.Values{"text": fmt.Sprint("number ", n)})
		if err != nil {
			t.Fatal(err)
		}
		if typ, err := i.Type(f.ctx); err != nil || typ != discordtest.AnswerDeferred {
			t.Fatalf("first answered by %d: %v", typ, err)
		}
		asked = append(asked, i)
	}
	close(gate)
	// All but the one that hangs, whichever it is.
	done := make(chan discordtest.Message, len(asked))
	for _, i := range asked {
		go func() {
			if m, err := i.Message(f.ctx); err == nil {
				done <- m
			}
		}()
	}
	for range len(asked) - 1 {
		select {
		case m := <-done:
			if !strings.Contains(m.Text(), "number") {
				t.Errorf("answered with %q", m.Text())
			}
		case <-f.ctx.Done():
			t.Fatal("edits queue behind the one that hangs")
		}
	}
	select {
	case m := <-done:
		t.Errorf("%q was answered while it was held", m.Text())
	default:
	}
	close(hold)
	select {
	case <-done:
	case <-f.ctx.Done():
		t.Error("the one that was held has no answer")
	}
}

// TestFaultAnswers: a first answer whose confirmation is lost is there, once. An
// answer has no key, so that what could double is not tried again.
func TestFaultAnswers(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	for n, fault := range []discordtest.Fault{
		{Status: 500}, {Status: 503}, {Cut: true}, {Status: 500, Apply: true}, {Cut: true, Apply: true},
		discordtest.Limited("", 1, 10*time.Millisecond, false),
	} {
		fault.Route = discordtest.RouteCallback
		f.srv.Fail(fault)
		text := fmt.Sprintf("answer %d.", n)
		f.wantEcho(text)
		seen := 0
		for _, m := range f.ann.Messages(f.room) {
			seen += strings.Count(m.Text(), text)
		}
		if seen != 1 {
			t.Errorf("%q is there %d times", text, seen)
		}
	}
	f.finish()
	if strings.Contains(f.log.text(), "did not arrive") {
		t.Error("an answer that arrived is taken for lost, so that nothing would follow it")
	}
}

// TestFaultFollowUps: further messages of an answer have no key. One whose
// confirmation is lost must not come again.
func TestFaultFollowUps(t *testing.T) {
	t.Parallel()
	long := func(ctx context.Context, r bot.Request) bot.Reply {
		reply := bot.Reply{Title: "echo " + r.Values["text"]}
		for n := range 60 {
			reply.Body = append(reply.Body, bot.Paragraph(fmt.Sprintf("paragraph-%02d %s.", n, strings.Repeat("a word ", 8))))
		}
		return reply
	}
	for _, fault := range []discordtest.Fault{{Status: 500, Apply: true}, {Cut: true, Apply: true}} {
		f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(long))
		fault.Route = discordtest.RouteFollowUp
		f.srv.Fail(fault)
		f.asks("long")
		f.asks("again") // after it, in turn
		f.finish()
		counts := map[string]int{}
		for _, m := range f.ann.Messages(f.room) {
			for n := range 60 {
				p := fmt.Sprintf("paragraph-%02d", n)
				counts[p] += strings.Count(m.Text(), p)
			}
		}
		for p, n := range counts {
			if n > 2 {
				t.Errorf("%s is there %d times for two questions", p, n)
			}
		}
	}
}

// finish ends the chat, which finishes what it has in hand.
func (f *faulty) finish() {
	f.end()
	f.ended <- <-f.ended
}

// TestFaultLongOutage: a post arrived, its confirmation did not, and when it is
// tried again Discord has forgotten the nonce.
func TestFaultLongOutage(t *testing.T) {
	t.Parallel()
	clock := newStill()
	kept := newMemory()
	f := begin(t, discordtest.Options{Now: clock.now}, Options{Pace: quick, Notes: kept}, handle(echo))
	f.srv.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, Times: 1, Cut: true, Apply: true})
	f.srv.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, Times: 20, Cut: true})
	if _, err := f.post("key", "did it arrive?"); err == nil {
		t.Fatal("it was confirmed")
	}
	f.srv.Heal()
	clock.pass(2 * time.Hour)
	place := bot.Place{Chat: ChatName, Room: f.room.ID}
	// Another process, with what the first one kept.
	other := newChat(t, f.srv, Options{Pace: quick, Notes: kept, Now: clock.now})
	found, err := other.Sent(f.ctx, place, "key")
	if err != nil || found == "" {
		t.Errorf("looked for: %q %v", found, err)
	}
	id, err := other.Post(f.ctx, place, "key", bot.Reply{Title: "did it arrive?", Audience: bot.Room})
	if err != nil || id != found || f.times("did it arrive?") != 1 {
		t.Errorf("posted again: %q %v, there %d times", id, err, f.times("did it arrive?"))
	}
	if id, err := other.Sent(f.ctx, place, "another key"); err != nil || id != "" {
		t.Errorf("what was never posted: %q %v", id, err)
	}
}
