package adaptertest

import (
	"context"
	"testing"

	"weftroom/bot"
)

func tryEnd(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	before := goroutines()
	s := begin(t, f, always(title("answered")))
	s.say("anything")
	s.until("answered")
	s.end()
	s.wantEnd()
	wantNoneLeft(t, f, before)
}

func tryEndBusy(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	before := goroutines()
	begun := make(chan bool, 1)
	s := begin(t, f, handler(func(ctx context.Context, _ bot.Request) bot.Reply {
		begun <- true
		<-ctx.Done()
		return title("too late")
	}))
	s.say("anything")
	receive(s, begun, "the request")
	s.end()
	s.wantEnd()
	wantNoneLeft(t, f, before)
}

func tryEndBefore(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	before := goroutines()
	ended, end := context.WithCancel(t.Context())
	end()
	s := run(t, ended, end, f, handler(func(context.Context, bot.Request) bot.Reply {
		t.Error("a request was answered")
		return title("answered")
	}))
	s.wantEnd()
	wantNoneLeft(t, f, before)
}
