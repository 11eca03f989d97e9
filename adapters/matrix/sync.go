package matrix

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// Bounds of asking for what is new.
const (
	pollFor      = 30 * time.Second // the server answers then at the latest
	pollGrace    = 30 * time.Second // and is given up so much later
	firstPause   = 250 * time.Millisecond
	longestPause = 10 * time.Second // whoever writes when the server is back again waits no longer than for half as much again
)

// follow asks for what is new until ctx ends or the server throws us out. While
// the server is away it tries again, less and less often. begun is when the run
// did.
func (l *link) follow(ctx context.Context, begun time.Time) error {
	since, err := l.keep.token(ctx)
	if err != nil {
		return err
	}
	first, pause := true, firstPause
	for ctx.Err() == nil {
		round := l.rounds.begin()
		next, err := l.once(ctx, since, first || l.rounds.hurried(round))
		switch {
		case err == nil:
			since, pause = next, firstPause
			if first {
				first = false
				close(l.ready)
				l.chat.log().Info("matrix: connected", "took", time.Since(begun))
				l.arrive(ctx)
			}
			l.rounds.end(round)
		case errors.Is(err, errHurry):
		case errors.Is(err, mautrix.MUnknownToken), errors.Is(err, mautrix.MMissingToken):
			return err
		case ctx.Err() == nil:
			l.chat.log().Warn("matrix: the server is away", "err", withoutURL(err), "pause", pause)
			rest(ctx, pause/2+rand.N(pause))
			pause = min(2*pause, longestPause)
		}
	}
	return nil
}

// once asks once, and takes what comes. atOnce is not to wait for news.
func (l *link) once(ctx context.Context, since string, atOnce bool) (next string, err error) {
	poll, stop := l.rounds.polling(ctx)
	defer stop()
	wait := pollFor
	if atOnce {
		wait = 0
	}
	poll, cancel := context.WithTimeout(poll, wait+pollGrace)
	defer cancel()
	resp, err := l.client.FullSyncRequest(poll, mautrix.ReqSync{
		Since: since, Timeout: int(wait.Milliseconds()), FilterID: syncFilter, SetPresence: event.PresenceOnline,
	})
	if err != nil {
		if ctx.Err() == nil && errors.Is(context.Cause(poll), errHurry) {
			return "", errHurry
		}
		return "", err
	}
	b, err := l.takeWhole(ctx, resp, since)
	if err != nil {
		return "", err
	}
	return resp.NextBatch, l.start(ctx, b)
}

// takeGrace is how long a response that is being taken has when the run ends.
const takeGrace = 20 * time.Second

// takeWhole is take, and finishes when ctx ends meanwhile: the state of a room
// that was taken in half would be missed for ever.
func (l *link) takeWhole(ctx context.Context, resp *mautrix.RespSync, since string) (*batch, error) {
	own, cancel := context.WithCancel(context.WithoutCancel(ctx))
	defer cancel()
	defer context.AfterFunc(ctx, func() { time.AfterFunc(takeGrace, cancel) })()
	return l.take(own, resp, since)
}

// syncFilter leaves out what we have no use for, and asks for up to 50 events of
// a room.
const syncFilter = `{"presence":{"types":[]},"room":{"timeline":{"limit":50},"ephemeral":{"types":[]}}}`

// rest waits, up to the end of ctx.
func rest(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-ctx.Done():
	}
}

// take has one response of the server: first the keys, then the state of rooms,
// then what people wrote, in order within a room. An error leaves nothing
// half-done that would be done twice: the same response is asked for again.
func (l *link) take(ctx context.Context, resp *mautrix.RespSync, since string) (*batch, error) {
	l.vault.take(ctx, resp, since)
	l.takeAccount(resp.AccountData.Events)
	b := &batch{token: resp.NextBatch, lasts: map[id.RoomID]id.EventID{}}
	var echoes []echo
	for _, roomID := range byTime(resp.Rooms.Join) {
		seen, err := l.takeRoom(ctx, b, roomID, resp.Rooms.Join[roomID], since)
		if err != nil {
			return nil, err
		}
		echoes = append(echoes, seen...)
	}
	for roomID := range resp.Rooms.Leave {
		if err := l.gone(ctx, roomID); err != nil {
			return nil, err
		}
		b.tasks = append(b.tasks, l.forgetting(roomID))
	}
	twins, err := l.keep.arrived(ctx, echoes...)
	if err != nil {
		return nil, err
	}
	for _, twin := range twins {
		b.tasks = append(b.tasks, l.takingBack(twin))
	}
	for roomID, invited := range resp.Rooms.Invite {
		b.tasks = append(b.tasks, l.invitation(roomID, invited))
	}
	return b, nil
}

// takeAccount takes over which rooms are direct chats.
func (l *link) takeAccount(events []*event.Event) {
	for _, evt := range events {
		if evt.Type.Type != event.AccountDataDirectChats.Type {
			continue
		}
		evt.Type.Class = event.AccountDataEventType
		if err := evt.Content.ParseRaw(evt.Type); err != nil {
			continue
		}
		if direct, ok := evt.Content.Parsed.(*event.DirectChatsEventContent); ok {
			l.rooms.setDirect(*direct)
		}
	}
}

// byTime lists rooms by their first event, so that what one person writes in two
// of them comes in about that order.
func byTime(joined map[id.RoomID]*mautrix.SyncJoinedRoom) []id.RoomID {
	var out []id.RoomID
	at := map[id.RoomID]int64{}
	for roomID, r := range joined {
		out = append(out, roomID)
		if len(r.Timeline.Events) > 0 {
			at[roomID] = r.Timeline.Events[0].Timestamp
		}
	}
	slices.SortFunc(out, func(a, b id.RoomID) int { return cmp.Compare(at[a], at[b]) })
	return out
}

// takeRoom has what is new in a room: its state at once, what people wrote as
// tasks of the batch. It gives the echoes of what we wrote.
func (l *link) takeRoom(ctx context.Context, b *batch, roomID id.RoomID, r *mautrix.SyncJoinedRoom, since string) ([]echo, error) {
	last, err := l.keep.last(ctx, roomID)
	if err != nil {
		return nil, err
	}
	for _, evt := range r.State.Events {
		l.takeState(ctx, roomID, evt)
	}
	events := r.Timeline.Events
	if r.Timeline.Limited && since != "" && !l.joinedIn(events, last) {
		missed, err := l.pageBack(ctx, roomID, r.Timeline.PrevBatch, last)
		if err != nil {
			return nil, fmt.Errorf("what was missed in a room: %w", err)
		}
		events = append(missed, events...)
	}
	from := l.beginning(events, last)
	var echoes []echo
	for i, evt := range events {
		if t, e := l.takeEvent(ctx, roomID, evt); e.Key != "" {
			echoes = append(echoes, e)
		} else if t != nil && i >= from && since != "" {
			b.tasks = append(b.tasks, t)
		}
	}
	if slices.ContainsFunc(slices.Concat(r.State.Events, events), isCreate) {
		l.rooms.markComplete(roomID) // who is told of that, is told of the whole state
	}
	if n := len(events); n > 0 {
		b.lasts[roomID] = events[n-1].ID
	} else if last == "" {
		b.lasts[roomID] = nothingRead
	}
	if l.rooms.join(roomID) || last == "" && since != "" {
		b.tasks = append(b.tasks, l.joining(roomID))
	} else if since == "" && last == "" && l.unanswered(events) {
		b.tasks = append(b.tasks, l.anew(roomID))
	} else if since != "" && !l.rooms.isOffered(roomID) && slices.ContainsFunc(events, isMember) {
		b.tasks = append(b.tasks, l.grown(roomID))
	}
	return echoes, nil
}

func isCreate(evt *event.Event) bool { return evt.Type.Type == event.StateCreate.Type }

func isMember(evt *event.Event) bool { return evt.Type.Type == event.StateMember.Type }

// takeEvent has one event of a timeline: state at once, an echo of ours as such,
// and what someone else wrote as a task. A library that breaks on an event breaks
// on that one alone.
func (l *link) takeEvent(ctx context.Context, roomID id.RoomID, evt *event.Event) (t *task, e echo) {
	defer func() {
		if p := recover(); p != nil {
			l.chat.log().Error("matrix: panic at an event", "event", evt.ID, "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
			t, e = nil, echo{}
		}
	}()
	evt.RoomID = roomID
	if evt.StateKey != nil {
		l.takeState(ctx, roomID, evt)
		return nil, echo{}
	}
	evt.Type.Class = event.MessageEventType
	if l.own(evt.Sender) {
		return nil, echo{Room: roomID, Key: keyOf(evt), Event: evt.ID, Gone: evt.Unsigned.RedactedBecause != nil}
	}
	return &task{event: evt, who: evt.Sender, run: l.understand}, echo{}
}

// takeState has one event of a room's state.
func (l *link) takeState(ctx context.Context, roomID id.RoomID, evt *event.Event) {
	defer func() {
		if p := recover(); p != nil {
			l.chat.log().Error("matrix: panic at state", "event", evt.ID, "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
		}
	}()
	if evt.StateKey == nil {
		return
	}
	evt.RoomID = roomID
	evt.Type.Class = event.StateEventType
	if err := evt.Content.ParseRaw(evt.Type); err != nil && !errors.Is(err, event.ErrContentAlreadyParsed) {
		return // malformed, or of no interest
	}
	mautrix.UpdateStateStore(ctx, l.state, evt)
	if evt.Type == event.StateMember {
		l.rooms.resize(roomID)
	}
	l.vault.see(ctx, evt)
}

// keyOf is the key under which we sent an event: the server says it to the device
// that sent it, and the content says it to all.
func keyOf(evt *event.Event) string {
	if key, ok := evt.Content.Raw[witness].(string); ok && key != "" {
		return key
	}
	return evt.Unsigned.TransactionID
}

// rounds counts the times that the server was asked for what is new, for those
// who need to know that all is in which was there when they began to wait.
type rounds struct {
	mu      sync.Mutex
	begun   int
	ended   int
	wanted  int // the last round that somebody waits for
	changed chan struct{}
	hurry   context.CancelCauseFunc // of the request that is under way
}

var errHurry = errors.New("asked anew at once")

func (r *rounds) begin() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.begun++
	return r.begun
}

func (r *rounds) end(n int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.ended = n
	if r.changed != nil {
		close(r.changed)
		r.changed = nil
	}
}

// hurried tells whether somebody waits for a round.
func (r *rounds) hurried(n int) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.wanted >= n
}

// polling is a context for a request, which ends when somebody is in a hurry.
func (r *rounds) polling(ctx context.Context) (context.Context, func()) {
	ctx, cancel := context.WithCancelCause(ctx)
	r.mu.Lock()
	defer r.mu.Unlock()
	switch {
	case r.wanted > r.begun:
		cancel(errHurry)
	case r.wanted < r.begun: // one that is waited for is soon over
		r.hurry = cancel
	}
	return ctx, func() {
		r.mu.Lock()
		r.hurry = nil
		r.mu.Unlock()
		cancel(nil)
	}
}

// caughtUp waits until a round that began after the call has ended.
func (r *rounds) caughtUp(ctx context.Context) error {
	r.mu.Lock()
	want := r.begun + 1
	r.wanted = max(r.wanted, want)
	if r.hurry != nil {
		r.hurry(errHurry)
	}
	r.mu.Unlock()
	for {
		r.mu.Lock()
		if r.ended >= want {
			r.mu.Unlock()
			return nil
		}
		if r.changed == nil {
			r.changed = make(chan struct{})
		}
		changed := r.changed
		r.mu.Unlock()
		select {
		case <-changed:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}
