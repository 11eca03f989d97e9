// Package discordtest is a chat server for tests that behaves towards a bot as
// Discord does: a gateway and the REST routes that a bot of slash commands
// needs, with the rules that Discord keeps and the faults that its network has.
//
// A test starts a Server, makes servers ("guilds" in Discord's interface),
// channels and people, and lets the people act: they run commands, press
// buttons, fill in forms, and see what each of them would see. The bot reaches
// the server through Transport and Dial, which turn Discord's own addresses
// into this one's and refuse every other. Everything that a bot sends is checked
// against Discord's limits, and can be recorded for a judge that was not written
// here.
//
// The rules come from Discord's published developer documentation, as of
// September 2026; where a rule is known from elsewhere, its place says so. Two
// outside judges hold the package to them: a bot on discord.js connects to it
// unmodified, and the published schemas must accept what our own bot sends.
package discordtest

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strconv"
	"sync"
	"testing"
	"time"
)

// Options are what a test can choose. The zero value is good.
type Options struct {
	Now       func() time.Time // the server's clock; time.Now when nil
	Record    string           // a file to which the body of every request is added, one JSON value a line
	Heartbeat time.Duration    // what HELLO asks for; 41.25 s when zero
	Shards    int              // how many GET /gateway/bot advises; 1 when zero
	Keep      int              // how many messages a channel keeps; all when zero
}

// Server is a running server. Its methods are safe to call from many goroutines.
type Server struct {
	URL   string // http://127.0.0.1:PORT
	Token string // of the bot, without "Bot " before it
	AppID string // of the application; the bot's user has the same id

	opts Options
	now  func() time.Time
	http *httptest.Server
	rec  *recorder

	mu           sync.Mutex
	changed      chan struct{} // closed, and made anew, when anything below changes
	last         uint64        // the last id that was given
	users        map[string]*User
	guilds       map[string]*Guild
	channels     map[string]*Channel
	commands     map[string][]*command // by guild; "" for everywhere
	puts         int                   // how often commands were registered
	interactions map[string]*Interaction
	byToken      map[string]*Interaction
	old          []*Interaction // in order of creation, for forgetting
	nonces       map[string]nonce
	files        map[string]*File
	faults       []*Fault
	refused      []string
	gw           gateway
}

// New starts a server, which ends with the test.
func New(t testing.TB, o Options) *Server {
	t.Helper()
	s, err := Start(o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// Start starts a server outside of a test. Close ends it.
func Start(o Options) (*Server, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Heartbeat == 0 {
		o.Heartbeat = 41250 * time.Millisecond
	}
	rec, err := newRecorder(o.Record)
	if err != nil {
		return nil, err
	}
	s := &Server{
		Token: "test.token." + strconv.FormatInt(time.Now().UnixNano(), 36),
		opts:  o, now: o.Now, rec: rec,
		changed:      make(chan struct{}),
		users:        map[string]*User{},
		guilds:       map[string]*Guild{},
		channels:     map[string]*Channel{},
		commands:     map[string][]*command{},
		interactions: map[string]*Interaction{},
		byToken:      map[string]*Interaction{},
		nonces:       map[string]nonce{},
		files:        map[string]*File{},
	}
	s.AppID = s.newID()
	s.users[s.AppID] = &User{srv: s, ID: s.AppID, Name: "the bot", bot: true}
	s.gw.init()
	s.http = httptest.NewServer(s.routes())
	s.URL = s.http.URL
	return s, nil
}

// Close cuts every connection and ends the server.
func (s *Server) Close() {
	s.Cut()
	s.http.CloseClientConnections()
	s.http.Close()
	s.gw.conns.Wait()
	s.rec.close()
}

// Transport takes requests for Discord's own addresses to this server, and
// refuses all others.
func (s *Server) Transport() http.RoundTripper {
	return Through(s.http.Listener.Addr().String())
}

// Through is Transport for a bot in another process, which knows the server's
// address alone: HOST:PORT.
func Through(addr string) http.RoundTripper {
	return rewriter{to: addr, base: &http.Transport{MaxIdleConnsPerHost: 128}}
}

type rewriter struct {
	to   string
	base *http.Transport
}

// RoundTrip implements http.RoundTripper.
func (r rewriter) RoundTrip(req *http.Request) (*http.Response, error) {
	switch req.URL.Host {
	case "discord.com", "cdn.discordapp.com", "media.discordapp.net", r.to:
	default:
		return nil, fmt.Errorf("a test must not reach %s", req.URL.Host)
	}
	req = req.Clone(req.Context())
	req.URL.Scheme, req.URL.Host, req.Host = "http", r.to, ""
	return r.base.RoundTrip(req)
}

// CloseIdleConnections lets http.Client.CloseIdleConnections reach through.
func (r rewriter) CloseIdleConnections() { r.base.CloseIdleConnections() }

// Dial is for a websocket dialer: it reaches this machine alone.
func (s *Server) Dial(ctx context.Context, network, addr string) (net.Conn, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil || host != "127.0.0.1" {
		return nil, fmt.Errorf("a test must not reach %s", addr)
	}
	var d net.Dialer
	return d.DialContext(ctx, network, addr)
}

// Refused lists what the server has not accepted from the bot, without what was
// asked for by a Fault: a bot that keeps the rules leaves it empty.
func (s *Server) Refused() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]string(nil), s.refused...)
}

// epoch is the first millisecond of Discord's ids.
const epoch = 1420070400000

// newID gives an id that is greater than all before it. It holds the time, as
// Discord's do. The caller holds mu, or nobody else knows s yet.
func (s *Server) newID() string {
	s.last = max(s.last+1, uint64(s.now().UnixMilli()-epoch)<<22)
	return strconv.FormatUint(s.last, 10)
}

// touch wakes everyone who waits for a change. The caller holds mu.
func (s *Server) touch() {
	close(s.changed)
	s.changed = make(chan struct{})
}

// await waits until ready, which is called with mu held, and gives ctx's error
// when it ends before.
func (s *Server) await(ctx context.Context, ready func() bool) error {
	s.mu.Lock()
	for !ready() {
		changed := s.changed
		s.mu.Unlock()
		select {
		case <-changed:
		case <-ctx.Done():
			return ctx.Err()
		}
		s.mu.Lock()
	}
	s.mu.Unlock()
	return nil
}
