package discordtest

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

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
	if s.gw.breakOff > 0 && d.Seq < old.seq {
		s.gw.breakOff--
		c.sendLine(old.buffer[len(old.buffer)-old.seq+d.Seq].line)
		c.close(4000)
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
