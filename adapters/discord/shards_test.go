package discord

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
	"weftroom/config"
)

// TestShards has as many connections as the settings say, and registers the
// commands once.
func TestShards(t *testing.T) {
	srv := newServer(t, discordtest.Options{Shards: 3})
	ann := srv.User("Ann")
	chat, err := New(config.Discord{Token: srv.Token, Shards: "3"}, Options{
		Notes: newMemory(), Commands: testCommands, Texts: texts, Transport: srv.Transport(), Dial: srv.Dial,
		Pace: Pace{Between: time.Millisecond, Retry: time.Millisecond}, Log: slog.New(slog.NewTextHandler(testWriter{t}, nil)),
	})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		ended <- chat.Run(ctx, answerer(func(context.Context, bot.Request) bot.Reply { return title("done") }))
	}()
	if err := srv.AwaitGateway(patience(t), func(st discordtest.Stats) bool { return st.Connected == 3 && st.Identifies == 3 }); err != nil {
		t.Error(err)
	}
	ready(t, srv, ann, ann.DM())
	i, err := ann.Slash(ann.DM(), "row", nil)
	if err != nil {
		t.Fatal(err)
	}
	if m, err := i.Message(patience(t)); err != nil || m.Content != "done" {
		t.Errorf("%+v, %v", m, err)
	}
	cancel()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if _, times := srv.Registered(); times != 1 {
		t.Errorf("registered %d times", times)
	}
}

// TestLimits: requests are held back as Discord's answers say, in a bounded
// number of gates.
func TestLimits(t *testing.T) { synctest.Test(t, testLimits) }

func testLimits(t *testing.T) {
	l := newLimits(50)
	var apart []call // three that do not share a gate by chance
	for n := 0; len(apart) < 3; n++ {
		c := call{method: "POST", path: fmt.Sprint("/", n), free: len(apart) == 2}
		if !slices.ContainsFunc(apart, func(o call) bool { return l.of(o) == l.of(c) }) {
			apart = append(apart, c)
		}
	}
	post, other, free := apart[0], apart[1], apart[2]
	until := func(c call) time.Duration { return time.Until(l.turn(c)) }
	l.heed(post, http.Header{"X-Ratelimit-Remaining": {"0"}, "X-Ratelimit-Reset-After": {"30"}})
	if until(post) != 30*time.Second || until(other) > 0 {
		t.Errorf("after a limit: %v, the other %v", until(post), until(other))
	}
	l.heed(other, http.Header{"X-Ratelimit-Remaining": {"3"}, "X-Ratelimit-Reset-After": {"30"}})
	if until(other) > 0 {
		t.Error("held back while something remains")
	}
	l.close(other, time.Minute, true)
	if until(call{method: "GET", path: "/d"}) != time.Minute || until(free) > 0 {
		t.Errorf("after a limit of all: counted %v, an interaction %v", until(other), until(free))
	}
	if err := l.wait(patience(t), post); err == nil {
		t.Error("it waits for longer than anybody wants")
	}
	fast := newLimits(50)
	for range 1000 {
		fast.turn(post)
	}
	if d, want := time.Until(fast.turn(other)), 1001*time.Second/50-fast.burst; d != want {
		t.Errorf("request 1,001 at 50 a second goes after %v, want %v", d, want)
	}
}

// TestLimitsApart: a channel that is closed for long holds up no answer, and who
// is sent away takes no place in the row.
func TestLimitsApart(t *testing.T) {
	l := newLimits(50)
	for n := range 20 * gates { // so many that every gate of channels is closed
		l.close(call{method: "POST", path: fmt.Sprint("/channels/", n, "/messages")}, time.Hour, false)
	}
	answer := call{bucket: "interaction 1", free: true}
	if err := l.wait(t.Context(), answer); err != nil {
		t.Errorf("an answer waits for a channel: %v", err)
	}
	row := newLimits(50)
	post := call{method: "POST", path: "/channels/1/messages"}
	row.close(post, time.Hour, false)
	for range 1000 {
		if row.wait(t.Context(), post) == nil {
			t.Fatal("it went through a closed gate")
		}
	}
	if other := (call{method: "GET", path: "/users/@me"}); row.of(other) != row.of(post) && time.Until(row.turn(other)) > 0 {
		t.Error("requests that were sent away hold up another")
	}
}
