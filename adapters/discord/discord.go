// Package discord is the adapter for Discord: slash commands, buttons, forms
// and posts in servers, and plain words in direct messages.
//
// Discord sends events through a gateway, one connection a shard, which
// discordgo keeps and gateway.go watches over. An event becomes a bot.Request
// (request.go), waits behind the earlier ones of the same person (intake.go) and
// goes to the Handler. The Reply is rendered as messages (render.go) and goes
// back over HTTP, as the answer to the interaction (turn.go) or as a message in
// a channel (post.go). The HTTP side is rest.go, and not discordgo's: that one
// sleeps on rate limits without looking at the context, holds a lock for the
// whole round trip, and prints addresses, which hold the tokens of interactions.
//
// Bounds and times are Discord's where api.go says so, and elsewhere our own
// choices, made without a source, where none stands beside them.
//
// What must outlive a restart, such as what a button does or which message a
// post became, is kept in bot.Notes.
package discord

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"weftroom/bot"
	"weftroom/config"
)

// ChatName is Discord's name in Accounts and Places. A Room is the id of a
// channel or thread, a User the id of a user.
const ChatName = "discord"

// Options are what a Chat is made of beside its settings.
type Options struct {
	Notes    bot.Notes      // required
	Commands []*bot.Command // from which the application commands are made
	Texts    bot.Texts
	Tongues  map[string]bot.Texts // what commands are called elsewhere, by Discord's locale, as "de"; see named
	Log      *slog.Logger         // nil: nothing is logged
	Now      func() time.Time     // nil: time.Now

	// Transport carries every HTTP request, and Dial every connection to the
	// gateway. nil are those of the standard library.
	Transport http.RoundTripper
	Dial      func(ctx context.Context, network, address string) (net.Conn, error)

	Pace Pace
}

// Pace are the times and rates that Discord's rules and networks suggest. Zero
// values stand for those of DefaultPace.
type Pace struct {
	Defer     time.Duration // an answer that takes longer is announced; Discord waits for 3 s
	Retry     time.Duration // the first pause before trying again; it doubles each time
	Tries     int           // of one HTTP request, the first included
	PerSecond int           // HTTP requests; Discord's own bound is 50
	Look      time.Duration // how often the supervisor looks at a connection
	Stale     time.Duration // a heartbeat unanswered for so long means that the connection is dead
	Stuck     time.Duration // opening or closing that takes so long will never end
	Between   time.Duration // from one shard's start to the next
}

// DefaultPace: heartbeats come every 41.25 s, so Stale is two of them; shards
// start 5 s apart (Discord documentation, Gateway).
var DefaultPace = Pace{
	Defer: 1500 * time.Millisecond, Retry: 250 * time.Millisecond, Tries: 4, PerSecond: 45,
	Look: 5 * time.Second, Stale: 85 * time.Second, Stuck: 30 * time.Second, Between: 5 * time.Second,
}

func (p Pace) filled() Pace {
	d := DefaultPace
	for _, v := range []struct{ have, usual *time.Duration }{
		{&p.Defer, &d.Defer}, {&p.Retry, &d.Retry}, {&p.Look, &d.Look},
		{&p.Stale, &d.Stale}, {&p.Stuck, &d.Stuck}, {&p.Between, &d.Between},
	} {
		if *v.have == 0 {
			*v.have = *v.usual
		}
	}
	if p.Tries == 0 {
		p.Tries = d.Tries
	}
	if p.PerSecond == 0 {
		p.PerSecond = d.PerSecond
	}
	return p
}

// Chat implements bot.Adapter, bot.DirectPoster, bot.Editor, bot.Reconciler and
// bot.Checker. It is safe for use from many goroutines; Run may be called again
// after it has returned.
type Chat struct {
	o      Options
	token  string
	shards int
	open   bool // who may manage a server may open a class there
	rest   *rest
	notes  notes

	handler atomic.Pointer[bot.Handler] // while Run runs
	in      *intake
	easels  easels
	work    sync.WaitGroup // every goroutine of Run's but discordgo's own

	seen     *recent // ids of interactions and messages that came
	shared   *recent // ids of messages whose answer was shown to everyone
	guilds   *recent // the server of a channel
	files    *recent // what files a message has, and under which ids
	directs  *recent // the direct channel of a user
	oneEvent sync.Mutex
	self     atomic.Pointer[string] // the bot's own user id, once known
}

// New makes a Chat. It does not connect.
func New(c config.Discord, o Options) (*Chat, error) {
	if c.Token == "" {
		return nil, errors.New("discord: there is no token; set discord.token to that of your application's bot")
	}
	if o.Notes == nil {
		return nil, errors.New("discord: there is nowhere to keep notes")
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Transport == nil {
		t := http.DefaultTransport.(*http.Transport).Clone()
		t.MaxIdleConnsPerHost = 64
		o.Transport = t
	}
	if o.Dial == nil {
		o.Dial = (&net.Dialer{Timeout: 30 * time.Second}).DialContext
	}
	o.Pace = o.Pace.filled()
	chat := &Chat{
		o: o, token: c.Token, shards: c.ShardCount(), open: c.Open == "yes",
		rest: newREST(c.Token, o), notes: notes{o.Notes},
		seen: newRecent(8192), shared: newRecent(1024), guilds: newRecent(4096), directs: newRecent(4096), files: newRecent(1024),
	}
	chat.in = newIntake(chat)
	return chat, nil
}

// Name implements bot.Adapter.
func (*Chat) Name() string { return ChatName }

// Run implements bot.Adapter. It returns an error when Discord refuses the
// application for good, as for a token that is not valid any more.
//
// Every goroutine that it started has ended when it returns, but for one case:
// a discordgo session that has locked itself up (see gateway.go) cannot be
// ended by anyone; it is dropped, and its goroutine sleeps for good.
func (c *Chat) Run(ctx context.Context, h bot.Handler) error {
	if ctx.Err() != nil {
		return nil
	}
	c.handler.Store(&h)
	c.in.begin(ctx)
	err := c.listen(ctx)
	c.in.end()
	c.work.Wait()
	c.handler.Store(nil)
	c.rest.client.CloseIdleConnections()
	return err
}

// Check implements bot.Checker: it asks Discord who the token belongs to.
func (c *Chat) Check(ctx context.Context) error {
	_, err := c.me(ctx)
	if e, ok := errors.AsType[*apiError](err); ok && e.status == http.StatusUnauthorized {
		return errBadToken
	}
	if err != nil {
		return fmt.Errorf("discord cannot be asked: %w", err)
	}
	return nil
}

var errBadToken = errors.New("discord does not know the token; copy it anew from your application's page, section Bot, into discord.token")

// me is the bot's own user id.
func (c *Chat) me(ctx context.Context) (string, error) {
	var me struct {
		ID string `json:"id"`
	}
	if err := c.rest.do(ctx, call{method: "GET", path: "/users/@me", into: &me, again: true}); err != nil {
		return "", err
	}
	c.self.Store(&me.ID)
	return me.ID, nil
}

var (
	_ bot.Adapter      = (*Chat)(nil)
	_ bot.DirectPoster = (*Chat)(nil)
	_ bot.Editor       = (*Chat)(nil)
	_ bot.Reconciler   = (*Chat)(nil)
	_ bot.Checker      = (*Chat)(nil)
)
