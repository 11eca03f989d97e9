//go:build goolm

package matrixtest

import (
	"context"
	"net"
	"net/http"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// After waits for the message number n, from 0, that she has read in a room.
func (p *Student) After(ctx context.Context, room id.RoomID, n int) (*event.Event, error) {
	for {
		p.mu.Lock()
		news := p.news
		p.mu.Unlock()
		if all := p.Seen(room, event.EventMessage); n < len(all) {
			return all[n], nil
		}
		select {
		case <-news:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

// Marks are texts by which goroutines of students are known in a list of stacks.
// The one that writes to a connection cannot be told from another's; each has one
// that reads.
var Marks = []string{"matrixtest.", "net/http.(*persistConn).writeLoop"}

// conn is a connection of a student's.
type conn struct{ net.Conn }

// Read implements net.Conn.
func (c conn) Read(b []byte) (int, error) { return c.Conn.Read(b) }

func newTransport() *http.Transport {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.ForceAttemptHTTP2 = false
	dial := t.DialContext
	t.DialContext = func(ctx context.Context, network, address string) (net.Conn, error) {
		c, err := dial(ctx, network, address)
		if err != nil {
			return nil, err
		}
		return conn{c}, nil
	}
	return t
}
