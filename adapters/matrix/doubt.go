package matrix

import (
	"context"
	"crypto/rand"
	"errors"
	"net"
	"net/http/httptrace"
	"sync"
	"sync/atomic"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// A message is in doubt when a request has gone out with it and no answer has
// come: the connection broke, the time was over, or the process was killed. It
// may have arrived, it may be on its way, and it may never come. A server goes
// on with what it was asked when the one who asked is gone, and a proxy may hold
// a request for a while. So such a message is sent again only when
//
//   - its echo is not in the stream,
//   - the request has been over for a while (settle), and
//   - something else that was sent into the room after that has come back in the
//     stream: what the server had taken before stands before it.
//
// Whoever wants to send it is told to come again meanwhile, so that no post
// waits for that within its own time, and nothing waits where nothing is in
// doubt.
//
// A server that was killed may still bring out minutes later what it had in hand:
// dendrite v0.13.8 after 30 seconds or after 5 minutes and 10 seconds, when its
// queues take what was being worked on for lost, or when it is started once more.
// Nobody is kept waiting for that long: the message is sent again, and its twin is
// taken back when it comes.

// Bounds of a doubt.
const (
	settle    = 10 * time.Second // how long a request that is over may still be on its way
	glance    = time.Second      // how long to look whether the echo is there by now
	lookAgain = 2 * time.Second  // when one who is told to come again does, at the latest

	forgetDoubt = time.Hour // after which it does not matter when a request was over
)

// passingBy is an event that says nothing and is shown by nobody: when it is in
// the stream, all is that the server had taken for its room before.
var passingBy = event.Type{Type: "weftroom.passing", Class: event.MessageEventType}

var errInDoubt = errors.New("matrix: not known yet whether it has arrived")

// doubts has when requests with messages in doubt were over. Those that are not
// in it are of an earlier run, and were over when this one began.
type doubts struct {
	now func() time.Time

	mu    sync.Mutex
	begun time.Time // the run
	over  map[doubted]time.Time
}

type doubted struct {
	room id.RoomID
	key  string
}

// add notes that a request has ended in doubt.
func (d *doubts) add(room id.RoomID, key string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.over == nil {
		d.over = map[doubted]time.Time{}
	}
	now := d.now()
	for k, over := range d.over {
		if now.Sub(over) > forgetDoubt {
			delete(d.over, k)
		}
	}
	d.over[doubted{room, key}] = now
}

// end forgets a doubt.
func (d *doubts) end(room id.RoomID, key string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.over, doubted{room, key})
}

// left is how long a request may still be on its way.
func (d *doubts) left(room id.RoomID, key string, settle time.Duration) time.Duration {
	d.mu.Lock()
	defer d.mu.Unlock()
	over, known := d.over[doubted{room, key}]
	if !known {
		over = d.begun
	}
	return settle - d.now().Sub(over)
}

// resolve finds out whether a message in doubt has arrived. What it gives is in
// doubt no longer; an error says when to come again. The caller holds the room's
// lock.
func (l *link) resolve(ctx context.Context, room id.RoomID, key string) (message, error) {
	look, cancel := context.WithTimeout(ctx, glance)
	defer cancel()
	_ = l.rounds.caughtUp(look) // else the stream brings it later
	m, err := l.keep.message(ctx, room, key)
	if err != nil || m.Event != "" {
		return m, err
	}
	if left := l.doubts.left(room, key, l.chat.settle); left > 0 {
		return message{}, &bot.SendError{Err: errInDoubt, RetryAfter: min(left, lookAgain)}
	}
	if err := l.passBy(ctx, room); err != nil {
		l.chat.log().Warn("matrix: a message in doubt could not be looked for", "key", key, "err", withoutURL(err))
		return message{}, &bot.SendError{Err: errInDoubt, RetryAfter: lookAgain}
	}
	m, err = l.keep.message(ctx, room, key)
	if err != nil || m.Event != "" {
		return m, err
	}
	l.chat.log().Info("matrix: a message in doubt has not arrived and is sent again", "key", key)
	l.doubts.end(room, key)
	return message{}, l.keep.refused(ctx, room, key)
}

// passBy waits until all is in the stream that the server had taken for a room.
// Where we may not send what passes by, time has to do.
func (l *link) passBy(ctx context.Context, room id.RoomID) error {
	key := rand.Text()[:20]
	_, err := l.client.SendMessageEvent(mautrix.WithMaxRetries(ctx, 0), room, passingBy,
		map[string]any{witness: key}, mautrix.ReqSendEvent{TransactionID: key, DontEncrypt: true})
	if refusedBy(err) && !errors.Is(err, mautrix.MLimitExceeded) {
		return nil
	}
	if err != nil {
		return err
	}
	for {
		if err := l.rounds.caughtUp(ctx); err != nil {
			return err
		}
		if m, err := l.keep.message(ctx, room, key); err != nil || m.Event != "" {
			return err
		}
	}
}

// takingBack is the task of a message that came out beside the one that was sent in
// its place: one of the two is to stand.
func (l *link) takingBack(twin echo) *task {
	return &task{run: func(ctx context.Context, _ *task) bool {
		l.chat.log().Warn("matrix: a message came out twice, and one is taken back", "key", twin.Key, "event", twin.Event)
		return l.persist(ctx, "taking a message back", func(ctx context.Context) error {
			_, err := l.client.RedactEvent(ctx, twin.Room, twin.Event, mautrix.ReqRedact{TxnID: l.chat.key("twin", twin.Event)})
			return err
		})
	}}
}

// request sends an event under a key that was begun. When it fails, sure tells
// that it certainly has not arrived.
func (l *link) request(ctx context.Context, room id.RoomID, key string, kind event.Type, content any) (message id.EventID, sure bool, err error) {
	var out atomic.Bool
	ctx = httptrace.WithClientTrace(mautrix.WithMaxRetries(ctx, 0), &httptrace.ClientTrace{
		GotConn: func(httptrace.GotConnInfo) { out.Store(true) },
	})
	got, err := l.client.SendMessageEvent(ctx, room, kind,
		&event.Content{Parsed: content, Raw: map[string]any{witness: key}},
		mautrix.ReqSendEvent{TransactionID: key, DontEncrypt: true})
	if err != nil {
		return "", refusedBy(err) || !out.Load() || unreached(err), err
	}
	return got.EventID, false, nil
}

// unreached tells that there was no connection to the server.
func unreached(err error) bool {
	failed, ok := errors.AsType[*net.OpError](err)
	return ok && failed.Op == "dial"
}
