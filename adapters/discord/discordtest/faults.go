package discordtest

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"time"
)

// Fault is something that goes wrong with requests of one route. The routes are
// those of Routes, as "POST /channels/{channel}/messages"; "" is every route.
type Fault struct {
	Route string
	After int // how many requests go well before
	Times int // how many go wrong; 1 when zero, without end when negative
	Every int // of those, only each so-manieth; the others go on to the next fault

	Hold    <-chan struct{} // the request waits until it is closed
	Apply   bool            // the request is done, and only its answer goes wrong
	Cut     bool            // the connection is cut in place of an answer
	Status  int             // the answer's status; nothing is answered with 0 and no Cut: then the request goes well, once it is no longer held
	Body    string          // of the answer
	Type    string          // its Content-Type; JSON when empty
	Headers map[string]string

	met int
}

// Fail adds a fault. Faults of one route follow each other in the order in
// which they were added.
func (s *Server) Fail(f Fault) {
	if f.Times == 0 {
		f.Times = 1
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.faults = append(s.faults, &f)
}

// AwaitFaults waits until no request of route would go wrong any more.
func (s *Server) AwaitFaults(ctx context.Context, route string) error {
	return s.await(ctx, func() bool { return !s.fails(route) })
}

// fails tells whether a request of route would go wrong now.
func (s *Server) fails(route string) bool {
	for _, f := range s.faults {
		if (f.Route == "" || f.Route == route) && (f.Times < 0 || f.met < f.After+f.Times) {
			return true
		}
	}
	return false
}

// Heal ends all faults.
func (s *Server) Heal() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.faults = nil
}

// Limited is an answer of too many requests as Discord gives it.
func Limited(route string, times int, wait time.Duration, global bool) Fault {
	seconds := wait.Seconds()
	h := map[string]string{
		"Retry-After":             strconv.Itoa(int(math.Ceil(seconds))),
		"X-RateLimit-Reset-After": strconv.FormatFloat(seconds, 'f', 3, 64),
		"X-RateLimit-Scope":       "user",
		"X-RateLimit-Remaining":   "0",
	}
	if global {
		h["X-RateLimit-Global"], h["X-RateLimit-Scope"] = "true", "global"
	}
	return Fault{
		Route: route, Times: times, Status: http.StatusTooManyRequests, Headers: h,
		Body: fmt.Sprintf(`{"message":"You are being rate limited.","retry_after":%.3f,"global":%v}`, seconds, global),
	}
}

// LimitedHTML is an answer of too many requests from what stands before
// Discord, with a page in place of JSON.
func LimitedHTML(route string, times int, wait time.Duration) Fault {
	return Fault{
		Route: route, Times: times, Status: http.StatusTooManyRequests, Type: "text/html; charset=UTF-8",
		Headers: map[string]string{"Retry-After": strconv.Itoa(int(math.Ceil(wait.Seconds())))},
		Body:    "<!DOCTYPE html><html><head><title>Access denied</title></head><body>error code: 1015</body></html>",
	}
}

// fault is the one that a request of route meets now, nil for none. The caller
// holds mu.
func (s *Server) fault(route string) *Fault {
	for _, f := range s.faults {
		if f.Route != "" && f.Route != route {
			continue
		}
		if f.Times >= 0 && f.met >= f.After+f.Times {
			continue // it is over
		}
		f.met++
		if f.met <= f.After {
			return nil
		}
		if f.Every > 1 && (f.met-f.After)%f.Every != 0 {
			continue
		}
		s.touch()
		return f
	}
	return nil
}

// nowhere takes the answer of a request that is done and whose answer is lost.
type nowhere struct{ h http.Header }

func (n nowhere) Header() http.Header         { return n.h }
func (n nowhere) Write(b []byte) (int, error) { return len(b), nil }
func (n nowhere) WriteHeader(int)             {}

// wrong has a request go wrong as f says, and tells that it is over.
func (s *Server) wrong(f *Fault, w http.ResponseWriter, r *http.Request, do http.HandlerFunc) {
	if f.Hold != nil {
		select {
		case <-f.Hold:
		case <-r.Context().Done():
			return
		}
	}
	switch {
	case !f.Cut && f.Status == 0:
		do(w, r)
		return
	case f.Apply:
		do(nowhere{http.Header{}}, r)
	}
	if f.Cut {
		cutHTTP(w)
		return
	}
	for k, v := range f.Headers {
		w.Header().Set(k, v)
	}
	typ := f.Type
	if typ == "" {
		typ = "application/json"
	}
	w.Header().Set("Content-Type", typ)
	w.WriteHeader(f.Status)
	_, _ = w.Write([]byte(f.Body))
}

// cutHTTP ends the connection without an answer.
func cutHTTP(w http.ResponseWriter) {
	if h, ok := w.(http.Hijacker); ok {
		if c, _, err := h.Hijack(); err == nil {
			c.Close()
			return
		}
	}
	panic(http.ErrAbortHandler)
}

// Cut cuts every gateway connection, as a network does: without a word.
func (s *Server) Cut() { s.eachConn(func(c *conn) { c.close(-1) }) }

// CloseGateway closes every gateway connection with a code.
func (s *Server) CloseGateway(code int) { s.eachConn(func(c *conn) { c.close(code) }) }

// Reconnect asks every connection to connect anew and resume.
func (s *Server) Reconnect() { s.eachConn(func(c *conn) { s.op(c, opReconnect, nil) }) }

// Beat asks for a heartbeat at once.
func (s *Server) Beat() { s.eachConn(func(c *conn) { s.op(c, opHeartbeat, nil) }) }

// Invalidate tells every connection that its session is no longer valid, and
// forgets the sessions unless they may be resumed.
func (s *Server) Invalidate(resumable bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.gw.sessions {
		c := p.conn
		if c == nil {
			continue
		}
		if !resumable {
			delete(s.gw.sessions, p.id)
			p.conn = nil
			s.gw.stats.Connected--
		}
		s.op(c, opInvalid, resumable)
	}
	s.touch()
}

func (s *Server) eachConn(do func(*conn)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for c := range s.gw.open {
		do(c)
	}
	s.touch()
}

// Forget drops all sessions, so that they cannot be resumed. Their connections hear
// nothing of it, nor anything else.
func (s *Server) Forget() {
	s.mu.Lock()
	defer s.mu.Unlock()
	clear(s.gw.sessions)
}

// MuteAcks has the gateway take heartbeats without a word, or again answer them:
// a connection that is dead and does not look it.
func (s *Server) MuteAcks(yes bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.gw.muted = yes
}

// ResumeWith answers the next resumes with these opcodes in place of RESUMED.
func (s *Server) ResumeWith(ops ...int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.gw.resumeWith = ops
}

// BreakOff closes the connections of the next resumes over missed events after the
// first of these, before RESUMED.
func (s *Server) BreakOff(times int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.gw.breakOff = times
}

// RefuseIdentify closes each identify with a code, 0 to let them in again.
func (s *Server) RefuseIdentify(code int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.gw.refuse = code
}

// Dispatch sends an event of the test's own, which may be malformed.
func (s *Server) Dispatch(typ string, data any) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.dispatch(typ, data, 0, "")
}
