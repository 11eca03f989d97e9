package discordtest

import (
	"encoding/json"
	"net/http"
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
	breakOff   int   // resumes that are broken off after the first event
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
