package discord

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
)

// The tests of these files are the faults of discordgo and of networks that were
// found by running, one each, and the proof of its cure.

// faulty is a chat at work on a server on which something will go wrong.
type faulty struct {
	t     *testing.T
	ctx   context.Context
	srv   *discordtest.Server
	chat  *Chat
	guild *discordtest.Guild
	room  *discordtest.Channel
	ann   *discordtest.User
	log   *logBook
	end   func()
	ended chan error
}

// still is the server's clock in these tests: nothing is too late on a busy
// machine.
type still struct {
	mu sync.Mutex
	t  time.Time
}

func newStill() *still { return &still{t: time.Now()} }

func (c *still) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *still) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// logBook is the log of a chat. No token may ever be in it.
type logBook struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

// Write implements io.Writer.
func (l *logBook) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *logBook) text() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.String()
}

type handle func(ctx context.Context, r bot.Request) bot.Reply

// Handle implements bot.Handler.
func (h handle) Handle(ctx context.Context, r bot.Request) bot.Reply { return h(ctx, r) }

func echo(_ context.Context, r bot.Request) bot.Reply {
	return bot.Reply{Title: "echo " + r.Line + r.Command + r.Values["text"]}
}

// echoCommand is what the people of these tests run.
var echoCommand = &bot.Command{
	Name: "echo", Params: []bot.Param{{Name: "text", Kind: bot.Words, First: true}},
	Run: func(context.Context, *bot.Call) (bot.Reply, error) { return bot.Reply{}, nil },
}

// begin lets a chat run until the test is over.
func begin(t *testing.T, s discordtest.Options, o Options, h bot.Handler) *faulty {
	t.Helper()
	f := prepare(t, s, o)
	f.run(h)
	if err := f.srv.AwaitGateway(f.ctx, discordtest.Ready); err != nil {
		t.Fatal(err)
	}
	ready(t, f.srv, f.ann, f.room)
	return f
}

func prepare(t *testing.T, s discordtest.Options, o Options) *faulty {
	t.Helper()
	if s.Now == nil {
		s.Now = newStill().now
	}
	f := &faulty{t: t, ctx: patience(t), srv: discordtest.New(t, s), log: &logBook{}, ended: make(chan error, 1)}
	f.guild = f.srv.Guild("Far looms")
	f.room = f.guild.Channel("loom-room")
	f.ann = f.srv.User("Ann")
	f.guild.Join(f.ann)
	o.Commands = []*bot.Command{echoCommand}
	o.Log = slog.New(slog.NewTextHandler(f.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	if o.Now == nil {
		o.Now = s.Now
	}
	f.chat = newChat(t, f.srv, o)
	t.Cleanup(func() {
		log := f.log.text()
		if t.Failed() {
			t.Logf("the log:\n%s", log)
		}
		if strings.Contains(log, f.srv.Token) || strings.Contains(log, "interaction-token") {
			t.Error("the log has a token in it")
		}
	})
	return f
}

func (f *faulty) run(h bot.Handler) {
	ctx, end := context.WithCancel(context.Background())
	f.end = end
	go func() { f.ended <- f.chat.Run(ctx, h) }()
	f.t.Cleanup(func() {
		end()
		select {
		case <-f.ended:
		case <-time.After(time.Minute):
			f.t.Error("Run has not returned")
		}
	})
}

// asks has Ann ask and waits for her answer.
func (f *faulty) asks(text string) discordtest.Message {
	f.t.Helper()
	return f.answer(f.slash(text))
}

func (f *faulty) slash(text string) *discordtest.Interaction {
	f.t.Helper()
	i, err := f.ann.Slash(f.room, "echo", discordtest.Values{"text": text})
	if err != nil {
		f.t.Fatal(err)
	}
	return i
}

func (f *faulty) answer(i *discordtest.Interaction) discordtest.Message {
	f.t.Helper()
	m, err := i.Message(f.ctx)
	if err != nil {
		f.t.Fatalf("no answer: %v", err)
	}
	return m
}

func (f *faulty) wantEcho(text string) {
	f.t.Helper()
	if m := f.asks(text); !strings.Contains(m.Text(), "echo") || !strings.Contains(m.Text(), text) {
		f.t.Errorf("%q is answered with %q", text, m.Text())
	}
}

func (f *faulty) gateway(what string, ready func(discordtest.Stats) bool) {
	f.t.Helper()
	if err := f.srv.AwaitGateway(f.ctx, ready); err != nil {
		f.t.Fatalf("%s: %v; %+v", what, err, f.srv.Gateway())
	}
}

func (f *faulty) post(key, text string) (string, error) {
	return f.chat.Post(f.ctx, bot.Place{Chat: ChatName, Room: f.room.ID}, key, bot.Reply{Title: text, Audience: bot.Room})
}

// times is how often a text stands in the room.
func (f *faulty) times(text string) int {
	n := 0
	for _, m := range f.room.All() {
		n += strings.Count(m.Text(), text)
	}
	return n
}

// quick are times for tests that must see the supervisor at work. On a machine that
// stands still for some seconds nothing is dead or stuck for that.
var quick = Pace{Retry: time.Millisecond, Look: 5 * time.Millisecond, Stale: time.Minute, Stuck: time.Minute, PerSecond: 5000}

// TestFaultReconnectInPlaceOfResumed: discordgo locks itself up for good when
// op 7 arrives in place of RESUMED. The session is dropped and another begun.
func TestFaultReconnectInPlaceOfResumed(t *testing.T) {
	t.Parallel()
	pace := quick
	pace.Stuck = 5 * time.Second // closing a connection takes discordgo one, and a busy machine more
	f := begin(t, discordtest.Options{}, Options{Pace: pace}, handle(echo))
	f.srv.ResumeWith(7)
	f.srv.Cut()
	f.gateway("another session", func(st discordtest.Stats) bool { return st.Identifies == 2 && st.Connected == 1 })
	f.wantEcho("after the deadlock")
	if !strings.Contains(f.log.text(), errStuck.Error()) {
		t.Error("the log does not say that discordgo had locked itself up: the fault was not met")
	}
}

// TestFaultDeadConnection: discordgo notices a dead connection after five beats
// and closes it with 1000, which loses the session and what happened meanwhile.
func TestFaultDeadConnection(t *testing.T) {
	t.Parallel()
	pace := quick
	pace.Stale = 6 * time.Second // discordgo's own patience is 7.5 s then, and a machine may stand still for 4
	f := begin(t, discordtest.Options{Heartbeat: 1500 * time.Millisecond}, Options{Pace: pace}, handle(echo))
	f.gateway("heartbeats", func(st discordtest.Stats) bool { return st.Heartbeats > 2 })
	if got := f.srv.Gateway(); len(got.Closes) > 0 || got.Identifies != 1 {
		t.Errorf("a connection that lives was closed: %+v", got)
	}
	f.srv.MuteAcks(true)
	f.gateway("the dead connection is closed", func(st discordtest.Stats) bool { return slices.Contains(st.Closes, 4000) })
	f.srv.MuteAcks(false)
	i := f.slash("meanwhile") // before it is resumed, or after: it must not be lost
	f.gateway("it is resumed", func(st discordtest.Stats) bool { return st.Resumes > 0 && st.Connected == 1 })
	if m := f.answer(i); !strings.Contains(m.Text(), "meanwhile") {
		t.Errorf("answered with %q", m.Text())
	}
	if got := f.srv.Gateway(); got.Identifies != 1 || slices.Contains(got.Closes, 1000) {
		t.Errorf("the session was lost: %+v", got)
	}
}

// TestFaultPanic: discordgo's handlers run bare, so that a panic ends the
// process. Here it is one failed request, with a reference.
func TestFaultPanic(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(func(ctx context.Context, r bot.Request) bot.Reply {
		if r.Values["text"] == "panic" {
			panic("secret words")
		}
		return echo(ctx, r)
	}))
	if m := f.asks("panic"); !strings.Contains(m.Text(), "reference") || strings.Contains(m.Text(), "secret") {
		t.Errorf("a panic is answered with %q", m.Text())
	}
	f.wantEcho("afterwards")
	if strings.Contains(f.log.text(), "secret words") {
		t.Error("the log has the words of the panic")
	}
}

// TestFaultUnknownComponent: an unknown type of component leaves discordgo's
// Data nil, and what reads it panics. Such events, and others that are no good,
// must do nothing at all.
func TestFaultUnknownComponent(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	who := map[string]any{"user": map[string]any{"id": f.ann.ID, "username": "Ann"}, "permissions": "0"}
	interaction := func(kind int, data any) map[string]any {
		return map[string]any{
			"id": "1" + strings.Repeat("0", 17), "token": "unknown", "application_id": f.srv.AppID, "type": kind, "version": 1,
			"channel_id": f.room.ID, "guild_id": f.guild.ID, "member": who, "data": data,
		}
	}
	parts := func(kinds ...int) []any {
		var out []any
		for _, k := range kinds {
			out = append(out, map[string]any{"type": k, "custom_id": "x", "components": []any{map[string]any{"type": k, "custom_id": "y", "value": 7}}})
		}
		return out
	}
	events := []any{
		interaction(5, map[string]any{"custom_id": "form", "components": parts(99)}),
		interaction(5, map[string]any{"custom_id": "form", "components": parts(1, 18, 77, -1)}),
		interaction(5, map[string]any{"custom_id": "form", "components": "none"}),
		interaction(3, map[string]any{"custom_id": "button", "component_type": 77}),
		interaction(3, nil), interaction(2, nil), interaction(4, nil), interaction(5, nil), interaction(99, map[string]any{}),
		interaction(2, map[string]any{"name": 5, "options": "none"}),
		interaction(2, map[string]any{"name": "echo", "type": 1, "options": []any{map[string]any{"name": "text", "type": 3, "value": []int{1}}}}),
		interaction(2, map[string]any{"name": "echo", "type": 1, "options": []any{nil, map[string]any{"type": 1}}}),
		map[string]any{}, nil, "text", 5, []any{},
	}
	for n, e := range events {
		if m, ok := e.(map[string]any); ok && m["id"] != nil {
			m["id"] = fmt.Sprintf("1%017d", n)
		}
		f.srv.Dispatch("INTERACTION_CREATE", e)
		f.srv.Dispatch("MESSAGE_CREATE", e)
	}
	f.srv.Dispatch("A_NEW_EVENT", map[string]any{"what": "ever"})
	f.wantEcho("afterwards")
	if got := f.srv.Gateway(); got.Identifies != 1 || got.Resumes != 0 {
		t.Errorf("the connection did not outlast it: %+v", got)
	}
	if strings.Contains(f.log.text(), "panic") {
		t.Error("there was a panic")
	}
}

// TestFaultInvalidSession: discordgo identifies at once on the same connection,
// whether the session could be resumed or not. What comes afterwards must be
// answered, once.
func TestFaultInvalidSession(t *testing.T) {
	t.Parallel()
	for _, resumable := range []bool{false, true} {
		f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
		f.srv.Invalidate(resumable)
		if !resumable {
			f.gateway("another session", func(st discordtest.Stats) bool { return st.Identifies >= 2 && st.Connected == 1 })
		}
		f.wantEcho(fmt.Sprint("resumable ", resumable))
	}
}

// TestFaultInvalidOnResume: the session is no longer known when it is resumed.
func TestFaultInvalidOnResume(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	f.srv.Forget()
	f.srv.Cut()
	f.gateway("another session", func(st discordtest.Stats) bool { return st.Identifies == 2 && st.Connected == 1 })
	f.wantEcho("afterwards")
}

// TestFaultCutWhileResuming: the connection is lost again before all that was
// missed has come. The session goes on where that stopped.
func TestFaultCutWhileResuming(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	f.srv.BreakOff(2)
	f.srv.Cut()
	f.gateway("cut", func(st discordtest.Stats) bool { return st.Connected == 0 })
	var asked []*discordtest.Interaction
	for n := range 4 {
		asked = append(asked, f.slash(fmt.Sprint("question ", n)))
	}
	for n, i := range asked {
		if m, want := f.answer(i), fmt.Sprint("question ", n); !strings.Contains(m.Text(), want) {
			t.Errorf("%s is answered with %q", want, m.Text())
		}
	}
	f.gateway("resumed", func(st discordtest.Stats) bool { return st.Connected == 1 })
	if got := f.srv.Gateway(); got.Identifies != 1 || got.Resumes != 1 {
		t.Errorf("the session was lost: %+v", got)
	}
}

// TestFaultReconnect: Discord asks for another connection, or closes, and the
// session goes on; what happened between is not lost.
func TestFaultReconnect(t *testing.T) {
	t.Parallel()
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
	for n, fault := range []func(){f.srv.Reconnect, func() { f.srv.CloseGateway(4000) }, func() { f.srv.CloseGateway(1001) }, f.srv.Cut} {
		fault()
		f.gateway("disconnected", func(st discordtest.Stats) bool { return st.Connected == 0 || st.Resumes > n })
		i := f.slash("meanwhile")
		f.gateway("resumed", func(st discordtest.Stats) bool { return st.Resumes == n+1 && st.Connected == 1 })
		if m := f.answer(i); !strings.Contains(m.Text(), "meanwhile") {
			t.Errorf("answered with %q", m.Text())
		}
	}
	if got := f.srv.Gateway(); got.Identifies != 1 {
		t.Errorf("the session was lost: %+v", got)
	}
}

// TestFaultRefusedForGood: discordgo tries for ever when Discord closes for a
// reason that stays. Run ends, and says what to do.
func TestFaultRefusedForGood(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code int
		says string
	}{{4004, "token"}, {4010, "shards"}, {4011, "shards"}, {4013, "4013"}, {4014, "4014"}} {
		t.Run(fmt.Sprint(c.code), func(t *testing.T) {
			t.Parallel()
			wantRefused := func(f *faulty) {
				t.Helper()
				select {
				case err := <-f.ended:
					if err == nil || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), f.srv.Token) {
						t.Errorf("Run: %v", err)
					}
					f.ended <- err
				case <-f.ctx.Done():
					t.Error("it is still tried")
				}
			}
			first := prepare(t, discordtest.Options{}, Options{Pace: quick})
			first.srv.RefuseIdentify(c.code)
			first.run(handle(echo))
			wantRefused(first)

			later := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(echo))
			later.srv.RefuseIdentify(c.code)
			later.srv.Forget()
			later.srv.Cut()
			wantRefused(later)
		})
	}
}

// TestFaultNoGateway: Discord cannot be reached for a while.
func TestFaultNoGateway(t *testing.T) {
	t.Parallel()
	f := prepare(t, discordtest.Options{}, Options{Pace: quick})
	f.srv.Fail(discordtest.Fault{Route: discordtest.RouteGateway, Times: 2, Status: 503})
	f.srv.Fail(discordtest.Fault{Route: discordtest.RouteGateway, Times: 1, Cut: true})
	f.srv.Fail(discordtest.LimitedHTML(discordtest.RouteGateway, 1, 0))
	f.run(handle(echo))
	f.gateway("connected at last", discordtest.Ready)
	ready(t, f.srv, f.ann, f.room)
	f.wantEcho("at last")
}

// TestFaultTwice: an interaction can arrive twice.
func TestFaultTwice(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	asked := map[string]int{}
	f := begin(t, discordtest.Options{}, Options{Pace: quick}, handle(func(ctx context.Context, r bot.Request) bot.Reply {
		mu.Lock()
		asked[r.ID]++
		mu.Unlock()
		return echo(ctx, r)
	}))
	i := f.slash("once")
	i.Again()
	f.answer(i)
	i.Again()
	f.wantEcho("afterwards")
	mu.Lock()
	defer mu.Unlock()
	if asked[i.ID] != 1 || len(asked) != 2 {
		t.Errorf("asked: %v", asked)
	}
	if r := f.srv.Refused(); len(r) > 0 {
		t.Errorf("answered twice: %v", r)
	}
}
