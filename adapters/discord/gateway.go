package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
	"golang.org/x/sync/errgroup"
)

// discordgo opens a connection, beats its heart and reads its events. What it
// does when something goes wrong is not left to it, since it
//
//   - notices a dead connection only after five beats, and then closes it in the
//     way that loses the session and the events meanwhile;
//   - locks itself up for good when Discord asks for another connection at the
//     moment of resuming;
//   - may close the next connection for the loss of the one before;
//   - tries for ever when Discord refuses the application for good.
//
// So its own reconnecting is off, and shard.keep looks after each session.

// intents are the events that are asked for: servers, which slash commands
// need, and messages to the bot alone. Neither is a privileged one.
const intents = discordgo.IntentsGuilds | discordgo.IntentsDirectMessages

func init() {
	discordgo.APIVersion = "10" // of the gateway; its HTTP addresses have 9 built in, see bound
	// Its log prints whole packets, tokens included.
	discordgo.Logger = func(int, int, string, ...any) {}
}

// shard is one connection to the gateway, with what is known of it.
type shard struct {
	chat *Chat
	id   int

	mu   sync.Mutex
	conn net.Conn // under discordgo's websocket
	lost chan struct{}

	greeted atomic.Bool // an event has come on the connection: the session is known
}

// listen keeps all shards until ctx ends or Discord refuses one for good.
func (c *Chat) listen(ctx context.Context) error {
	group, ctx := errgroup.WithContext(ctx)
	var once sync.Once
	for id := range c.shards {
		group.Go(func() error {
			if pause(ctx, time.Duration(id)*c.o.Pace.Between) != nil {
				return nil
			}
			s := &shard{chat: c, id: id, lost: make(chan struct{}, 1)}
			return s.keep(ctx, &once)
		})
	}
	return group.Wait()
}

// keep has sessions one after the other, each resumed as often as it can be.
func (s *shard) keep(ctx context.Context, once *sync.Once) error {
	for wait := s.chat.o.Pace.Retry; ctx.Err() == nil; {
		begun := time.Now()
		err := s.session(ctx, once)
		if fatal := refused(err); fatal != nil {
			return fatal
		}
		if ctx.Err() != nil {
			break
		}
		s.chat.o.Log.Warn("a session with discord is over; another is begun", "chat", ChatName, "shard", s.id, "err", withoutAddress(err))
		if time.Since(begun) > time.Minute {
			wait = s.chat.o.Pace.Retry
		}
		_ = pause(ctx, wait)
		wait = min(2*wait, 2*time.Minute) // Discord lets one begin 1,000 sessions a day
	}
	return nil
}

// session keeps one until it must be given up, or ctx ends.
func (s *shard) session(ctx context.Context, once *sync.Once) error {
	dg, err := s.open(ctx, once)
	if err != nil {
		return err
	}
	defer s.shut(ctx, dg)
	for wait, known := s.chat.o.Pace.Retry, false; ctx.Err() == nil; {
		err := s.connect(ctx, dg)
		switch {
		case err == nil:
			known, wait = true, s.chat.o.Pace.Retry
			if err := s.watch(ctx, dg); err != nil {
				return err
			}
			if ctx.Err() == nil && !s.greeted.Load() {
				return errUngreeted
			}
			continue
		case errors.Is(err, errStuck), refused(err) != nil, !resumable(err):
			return err
		case !known:
			return err
		}
		s.chat.o.Log.Warn("discord cannot be reached; it is tried again", "chat", ChatName, "shard", s.id, "err", withoutAddress(err))
		_ = pause(ctx, wait)
		wait = min(2*wait, time.Minute)
	}
	return nil
}

// shut closes what is still open of a session, so that its goroutines end.
func (s *shard) shut(ctx context.Context, dg *discordgo.Session) {
	if !dg.TryLock() { // nobody can close what has locked itself up
		s.hangUp()
		return
	}
	dg.Unlock()
	if err := s.within(context.WithoutCancel(ctx), dg.Close); err != nil {
		s.chat.o.Log.Warn("a connection was not closed well", "chat", ChatName, "shard", s.id, "err", err)
	}
}

// open makes a discordgo session whose events come here.
func (s *shard) open(ctx context.Context, once *sync.Once) (*discordgo.Session, error) {
	dg, err := discordgo.New("Bot " + s.chat.token)
	if err != nil {
		return nil, err
	}
	dg.ShouldReconnectOnError = false
	dg.ShouldReconnectVoiceOnSessionError = false
	dg.StateEnabled = false
	dg.SyncEvents = true // in their order; event does not block
	dg.Identify.Intents = intents
	dg.ShardID, dg.ShardCount = s.id, s.chat.shards
	dg.Client = &http.Client{Transport: bound{ctx, s.chat.o.Transport}, Timeout: 20 * time.Second}
	dg.Dialer = &websocket.Dialer{
		Proxy: http.ProxyFromEnvironment, HandshakeTimeout: 20 * time.Second,
		NetDialContext: func(_ context.Context, network, address string) (net.Conn, error) {
			conn, err := s.chat.o.Dial(ctx, network, address)
			if err != nil {
				return nil, err
			}
			s.mu.Lock()
			s.conn = conn
			s.mu.Unlock()
			return lostOnce{conn}, nil
		},
	}
	lost := make(chan struct{}, 1)
	s.lost = lost
	dg.AddHandler(func(_ *discordgo.Session, e *discordgo.Event) {
		s.greeted.Store(true) // what was missed comes before RESUMED
		if e.Type == "READY" {
			s.ready(ctx, e, once)
		}
		s.chat.event(ctx, e)
	})
	dg.AddHandler(func(*discordgo.Session, *discordgo.Disconnect) {
		select {
		case lost <- struct{}{}:
		default:
		}
	})
	return dg, nil
}

// lostOnce is a connection whose loss only a reader is told. Discordgo's heart and
// its reader each close what is open when theirs fails: the later of the two would
// close the connection that was made meanwhile, in the way that loses the session.
type lostOnce struct{ net.Conn }

// Write implements net.Conn. When it fails, reading ends.
func (c lostOnce) Write(b []byte) (int, error) {
	if _, err := c.Conn.Write(b); err != nil {
		_ = c.Conn.Close() // it may be closed already
	}
	return len(b), nil
}

// ready learns who we are, and registers the commands once a run.
func (s *shard) ready(ctx context.Context, e *discordgo.Event, once *sync.Once) {
	defer s.chat.rescue("becoming ready")
	var r struct {
		User        user `json:"user"`
		Application struct {
			ID string `json:"id"`
		} `json:"application"`
	}
	if err := json.Unmarshal(e.RawData, &r); err != nil || r.Application.ID == "" {
		s.chat.o.Log.Error("discord's greeting cannot be read", "chat", ChatName)
		return
	}
	if r.User.ID != "" {
		s.chat.self.Store(&r.User.ID)
	}
	s.chat.o.Log.Info("connected", "chat", ChatName, "shard", s.id)
	once.Do(func() {
		s.chat.in.aside(func(context.Context) { s.chat.keepRegistering(ctx, r.Application.ID) })
	})
}

// errUngreeted ends a session whose connection was closed before any event had
// come on it. When a session cannot be resumed, discordgo identifies at once on
// the same connection and shows nobody why that is closed; a new session does.
var errUngreeted = errors.New("discord closed the connection without a greeting")

var errStuck = errors.New("discordgo has locked itself up")

// connect opens the connection, anew or resumed. Opening that never ends is cut
// short by closing what it reads from; if that does not end it, discordgo has
// locked itself up.
func (s *shard) connect(ctx context.Context, dg *discordgo.Session) error {
	select {
	case <-s.lost: // of the connection before
	default:
	}
	s.greeted.Store(false)
	err := s.within(ctx, dg.Open)
	if errors.Is(err, discordgo.ErrWSAlreadyOpen) {
		// What was lost was the connection before this one: discordgo may say so
		// twice, and late.
		s.greeted.Store(true)
		return nil
	}
	return err
}

// within does what may never end. When it takes too long, or ctx ends, the
// connection is closed under it; it must end soon then.
func (s *shard) within(ctx context.Context, do func() error) error {
	done := make(chan error, 1)
	go func() { done <- do() }()
	patience := time.NewTimer(s.chat.o.Pace.Stuck)
	defer patience.Stop()
	select {
	case err := <-done:
		return err
	case <-patience.C:
	case <-ctx.Done():
	}
	s.hangUp()
	patience.Reset(s.chat.o.Pace.Stuck)
	select {
	case err := <-done:
		if err == nil {
			err = ctx.Err()
		}
		return err
	case <-patience.C:
		return errStuck
	}
}

// hangUp closes the connection under discordgo.
func (s *shard) hangUp() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.conn != nil {
		_ = s.conn.Close() // it may be closed already
	}
}

// watch looks after an open connection. It returns nil when it was lost and can
// be resumed, or when ctx has ended.
func (s *shard) watch(ctx context.Context, dg *discordgo.Session) error {
	look := time.NewTicker(s.chat.o.Pace.Look)
	defer look.Stop()
	locked := 0 // looks one after the other; a clock would run on while the process stands still
	for {
		select {
		case <-s.lost:
			return nil
		case <-ctx.Done():
			return nil
		case <-look.C:
		}
		if !dg.TryRLock() {
			if locked++; time.Duration(locked)*s.chat.o.Pace.Look > s.chat.o.Pace.Stuck {
				s.hangUp()
				return errStuck
			}
			continue
		}
		locked = 0
		ack := dg.LastHeartbeatAck
		dg.RUnlock()
		if time.Since(ack) <= s.chat.o.Pace.Stale {
			continue
		}
		s.chat.o.Log.Warn("the connection is dead; it is resumed", "chat", ChatName, "shard", s.id)
		if err := s.within(ctx, func() error { return dg.CloseWithCode(4000) }); err != nil { // not 1000: that ends the session
			return err
		}
	}
}

// resumable tells that a session may go on after an error of connecting. Discord
// closes with 4007 and 4009 when it does not know the session any more.
func resumable(err error) bool {
	var closed *websocket.CloseError
	if errors.As(err, &closed) {
		return closed.Code != 4003 && closed.Code != 4007 && closed.Code != 4009
	}
	return true
}

// refused is what the operator must do when Discord closes for a reason that
// stays (documentation, Gateway Close Event Codes).
func refused(err error) error {
	var closed *websocket.CloseError
	if !errors.As(err, &closed) {
		var e *discordgo.RESTError
		if errors.As(err, &e) && e.Response != nil && e.Response.StatusCode == http.StatusUnauthorized {
			return errBadToken
		}
		return nil
	}
	switch closed.Code {
	case 4004:
		return errBadToken
	case 4010, 4011:
		return fmt.Errorf("discord refuses the number of shards (close code %d); raise discord.shards, 1 for each 2,500 servers", closed.Code)
	case 4012:
		return errors.New("discord no longer speaks this version of its gateway (close code 4012); a newer weftroom is needed")
	case 4013, 4014:
		return fmt.Errorf("discord refuses the events that are asked for (close code %d), none of which is privileged; see whether the application is limited on its page, section Bot", closed.Code)
	}
	return nil
}

// bound carries discordgo's own requests, of which there is one, for the address
// of the gateway: it ends with ctx, which discordgo does not know, and asks for
// the version of today.
type bound struct {
	ctx  context.Context
	base http.RoundTripper
}

// RoundTrip implements http.RoundTripper.
func (b bound) RoundTrip(req *http.Request) (*http.Response, error) {
	ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
	context.AfterFunc(req.Context(), cancel)
	out := req.Clone(ctx)
	out.URL.Path = strings.Replace(out.URL.Path, "/api/v9/", "/api/v10/", 1)
	resp, err := b.base.RoundTrip(out)
	if err != nil {
		cancel()
	}
	return resp, err
}
