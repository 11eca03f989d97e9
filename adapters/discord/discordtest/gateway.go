package discordtest

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/gorilla/websocket"
)

// Gateway opcodes, from Discord's documentation ("Opcodes and Status Codes").
const (
	opDispatch     = 0
	opHeartbeat    = 1
	opIdentify     = 2
	opResume       = 6
	opReconnect    = 7
	opInvalid      = 9
	opHello        = 10
	opHeartbeatAck = 11
)

// Intents of the same documentation ("Gateway").
const (
	intentGuilds         = 1 << 0
	intentEvents         = 1 << 16
	intentGuildMessages  = 1 << 9
	intentDirectMessages = 1 << 12
	privileged           = 1<<1 | 1<<8 | 1<<15
	knownIntents         = 1<<26 - 1 // more bits than these are refused
)

// buffered is how many events a session can be resumed over.
const buffered = 8192

// Stats are what has happened at the gateway so far.
type Stats struct {
	Connected  int   // sessions that have a connection and are ready
	Identifies int   // identifies that were accepted
	Resumes    int   // resumes that were accepted
	Heartbeats int   // heartbeats that came
	Closes     []int // the codes with which the bot closed connections
	Sessions   int   // sessions that could be resumed or are connected
}

type gateway struct {
	conns    sync.WaitGroup
	open     map[*conn]bool
	sessions map[string]*session
	stats    Stats

	muted      bool
	refuse     int   // the code that closes an identify, 0 for none
	resumeWith []int // opcodes to send, one for each resume, in place of RESUMED
}

func (g *gateway) init() {
	g.open = map[*conn]bool{}
	g.sessions = map[string]*session{}
}

// session is what an identify began. It outlives its connection.
type session struct {
	id      string
	seq     int
	buffer  []packet
	conn    *conn // nil while there is none
	intents int
	shard   [2]int
}

// packet is an event that was dispatched.
type packet struct {
	seq  int
	line []byte
}

// conn is one connection. A goroutine of its own writes, so that a slow bot
// does not hold up the server.
type conn struct {
	ws   *websocket.Conn
	mu   sync.Mutex
	cond *sync.Cond
	out  [][]byte
	end  int // the code to close with after out, -1 for without one, 0 for not yet
}

var upgrader = websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}

func (s *Server) gatewayURL() string { return "ws" + strings.TrimPrefix(s.URL, "http") + "/gateway" }

func (s *Server) serveGateway(w http.ResponseWriter, r *http.Request) {
	ws, err := upgrader.Upgrade(w, r, nil)
	if err != nil {
		return
	}
	c := &conn{ws: ws}
	c.cond = sync.NewCond(&c.mu)
	s.mu.Lock()
	s.gw.open[c] = true
	s.gw.conns.Add(2)
	s.mu.Unlock()
	go func() {
		defer s.gw.conns.Done()
		c.write()
	}()
	defer s.gw.conns.Done()
	if v := r.URL.Query().Get("v"); v != "9" && v != "10" {
		c.close(4012)
	}
	c.send(object{"op": opHello, "d": object{"heartbeat_interval": s.opts.Heartbeat.Milliseconds(), "_trace": []string{}}, "s": nil, "t": nil})
	s.read(c)
}

func (c *conn) write() {
	defer c.ws.Close()
	for {
		c.mu.Lock()
		for len(c.out) == 0 && c.end == 0 {
			c.cond.Wait()
		}
		out, end := c.out, c.end
		c.out = nil
		c.mu.Unlock()
		if end < 0 {
			return
		}
		for _, line := range out {
			if c.ws.WriteMessage(websocket.TextMessage, line) != nil {
				return
			}
		}
		if end > 0 {
			_ = c.ws.WriteMessage(websocket.CloseMessage, websocket.FormatCloseMessage(end, ""))
			return
		}
	}
}

func (c *conn) send(v any) {
	line, err := json.Marshal(v)
	if err != nil {
		panic(err) // made by this package
	}
	c.sendLine(line)
}

func (c *conn) sendLine(line []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.end == 0 {
		c.out = append(c.out, line)
		c.cond.Signal()
	}
}

// close ends the connection after what is to be sent: with a code, or -1 to cut
// it at once.
func (c *conn) close(code int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.end == 0 {
		c.end = code
		c.cond.Signal()
	}
}

// read takes what the bot sends until the connection is over.
func (s *Server) read(c *conn) {
	var of *session
	for {
		_, raw, err := c.ws.ReadMessage()
		if err != nil {
			s.closed(c, of, err)
			return
		}
		var p struct {
			Op int             `json:"op"`
			D  json.RawMessage `json:"d"`
		}
		if json.Unmarshal(raw, &p) != nil {
			c.close(4002)
			continue
		}
		s.mu.Lock()
		switch p.Op {
		case opHeartbeat:
			s.gw.stats.Heartbeats++
			if !s.gw.muted {
				c.send(object{"op": opHeartbeatAck, "d": nil, "s": nil, "t": nil})
			}
		case opIdentify:
			of = s.identify(c, of, p.D)
		case opResume:
			of = s.resume(c, of, p.D)
		case 3, 4, 8: // presence, voice, members: nothing to a bot of commands
		default:
			c.close(4001)
		}
		s.touch()
		s.mu.Unlock()
	}
}

func (s *Server) closed(c *conn, of *session, err error) {
	c.close(-1)
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.gw.open, c)
	if of != nil && of.conn == c {
		of.conn = nil
		s.gw.stats.Connected--
	}
	// From a server that closes, the bot's own code is an echo of it.
	c.mu.Lock()
	ours := c.end > 0
	c.mu.Unlock()
	var code *websocket.CloseError
	if ok := asClose(err, &code); ok && !ours && code.Code != websocket.CloseAbnormalClosure {
		s.gw.stats.Closes = append(s.gw.stats.Closes, code.Code)
		if of != nil && (code.Code == 1000 || code.Code == 1001) {
			delete(s.gw.sessions, of.id) // documented: these two end the session
		}
	}
	s.touch()
}

func asClose(err error, code **websocket.CloseError) bool {
	c, ok := err.(*websocket.CloseError)
	*code = c
	return ok
}

// identify begins a session. The caller holds mu.
func (s *Server) identify(c *conn, of *session, raw []byte) *session {
	var d struct {
		Token      string         `json:"token"`
		Intents    *int           `json:"intents"`
		Shard      *[2]int        `json:"shard"`
		Properties map[string]any `json:"properties"`
	}
	refuse := func(code int) *session {
		c.close(code)
		return of
	}
	switch {
	case s.gw.refuse != 0:
		return refuse(s.gw.refuse)
	case json.Unmarshal(raw, &d) != nil || d.Properties == nil || d.Intents == nil:
		return refuse(4002)
	case of != nil && of.conn == c:
		return refuse(4005)
	case strings.TrimPrefix(d.Token, "Bot ") != s.Token:
		return refuse(4004)
	case *d.Intents&^knownIntents != 0:
		return refuse(4013)
	case *d.Intents&privileged != 0:
		return refuse(4014)
	case d.Shard != nil && (d.Shard[1] < 1 || d.Shard[0] < 0 || d.Shard[0] >= d.Shard[1]):
		return refuse(4010)
	}
	of = &session{id: "s" + s.newID(), conn: c, intents: *d.Intents, shard: [2]int{0, 1}}
	if d.Shard != nil {
		of.shard = *d.Shard
	}
	s.gw.sessions[of.id] = of
	s.gw.stats.Identifies++
	s.gw.stats.Connected++
	guilds := []object{}
	var mine []*Guild
	for _, g := range s.guilds {
		if !g.absent && of.has(g.ID) {
			guilds = append(guilds, object{"id": g.ID, "unavailable": true})
			mine = append(mine, g)
		}
	}
	of.dispatch("READY", object{
		"v": 10, "user": s.users[s.AppID].object(), "guilds": guilds, "session_id": of.id, "resume_gateway_url": s.gatewayURL(),
		"shard": of.shard, "application": object{"id": s.AppID, "flags": 0}, "private_channels": []object{}, "_trace": []string{},
	})
	if of.intents&intentGuilds != 0 {
		for _, g := range mine {
			of.dispatch("GUILD_CREATE", g.object())
		}
	}
	return of
}

// resume goes on with a session. The caller holds mu.
func (s *Server) resume(c *conn, of *session, raw []byte) *session {
	var d struct {
		Token   string `json:"token"`
		Session string `json:"session_id"`
		Seq     int    `json:"seq"`
	}
	if json.Unmarshal(raw, &d) != nil {
		c.close(4002)
		return of
	}
	if strings.TrimPrefix(d.Token, "Bot ") != s.Token {
		c.close(4004)
		return of
	}
	if len(s.gw.resumeWith) > 0 {
		op := s.gw.resumeWith[0]
		s.gw.resumeWith = s.gw.resumeWith[1:]
		s.op(c, op, false)
		return of
	}
	old := s.gw.sessions[d.Session]
	if old == nil || d.Seq > old.seq || d.Seq < old.seq && (len(old.buffer) == 0 || old.buffer[0].seq > d.Seq+1) {
		s.op(c, opInvalid, false)
		return of
	}
	if old.conn != nil {
		old.conn.close(-1)
	} else {
		s.gw.stats.Connected++
	}
	old.conn = c
	for _, p := range old.buffer {
		if p.seq > d.Seq {
			c.sendLine(p.line)
		}
	}
	s.gw.stats.Resumes++
	old.dispatch("RESUMED", object{"_trace": []string{}})
	return old
}

func (s *Server) op(c *conn, op int, d any) {
	if op == opReconnect {
		d = nil
	}
	c.send(object{"op": op, "d": d, "s": nil, "t": nil})
}

// has tells whether what happens in a guild ("" for outside of any) is for the
// session's shard.
func (p *session) has(guild string) bool {
	if guild == "" {
		return p.shard[0] == 0
	}
	id, _ := strconv.ParseUint(guild, 10, 64)
	return int((id>>22)%uint64(p.shard[1])) == p.shard[0]
}

// dispatch sends an event, now or when the session is resumed.
func (p *session) dispatch(typ string, data any) {
	p.seq++
	line, err := json.Marshal(object{"op": opDispatch, "t": typ, "s": p.seq, "d": data})
	if err != nil {
		panic(fmt.Sprintf("%s: %v", typ, err)) // made by this package or by a test
	}
	if len(p.buffer) == buffered {
		p.buffer = slices.Delete(p.buffer, 0, buffered/2)
	}
	p.buffer = append(p.buffer, packet{p.seq, line})
	if p.conn != nil {
		p.conn.sendLine(line)
	}
}

// dispatch sends an event to the sessions that want it. The caller holds mu.
func (s *Server) dispatch(typ string, data any, intent int, guild string) {
	for _, p := range s.gw.sessions {
		if (intent == 0 || p.intents&intent != 0) && p.has(guild) {
			p.dispatch(typ, data)
		}
	}
	s.touch()
}

// Gateway says what has happened at the gateway.
func (s *Server) Gateway() Stats {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.gatewayStats()
}

func (s *Server) gatewayStats() Stats {
	out := s.gw.stats
	out.Closes = slices.Clone(out.Closes)
	out.Sessions = len(s.gw.sessions)
	return out
}

// AwaitGateway waits until ready is content with what has happened.
func (s *Server) AwaitGateway(ctx context.Context, ready func(Stats) bool) error {
	return s.await(ctx, func() bool { return ready(s.gatewayStats()) })
}

// Ready is for AwaitGateway: the bot is connected.
func Ready(st Stats) bool { return st.Connected > 0 }
