package matrix

import (
	"context"
	"errors"
	"time"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/measure"
)

const (
	maxAge       = 7 * 24 * time.Hour // older events are history
	explainAgain = 24 * time.Hour     // between two explanations in one room
	firstWait    = 3 * time.Second    // for a key, before its sender is asked for it
	secondWait   = 17 * time.Second   // and after
	answerGrace  = 10 * time.Second   // for an answer that is there when the run ends
	answerFor    = 15 * time.Minute   // an answer that finds no way is given up after
)

// errReplayed is of an encrypted event that has been read under another id.
var errReplayed = errors.New("matrix: an encrypted event came twice")

// understand has an event that someone wrote: decrypts it, reads it, has the
// request answered, and sends the answer. It may take as long as the answer does.
func (l *link) understand(ctx context.Context, t *task) (over bool) {
	evt := t.event
	known, err := l.keep.handled(ctx, evt.ID)
	if known || l.chat.isOld(evt) {
		return true
	}
	if err != nil {
		l.chat.log().Error("matrix: looking for what is handled", "err", err)
		return ctx.Err() == nil // answering twice is worse
	}
	_ = evt.Content.ParseRaw(evt.Type) // who reads it looks at the raw content as well
	if evt.Type.Type == event.EventEncrypted.Type {
		open, missing, err := l.vault.decrypt(ctx, evt)
		switch {
		case missing && l.waitForKey(ctx, t):
			return false
		case errors.Is(err, errReplayed):
			return true
		case err != nil:
			return l.unreadable(ctx, t, err)
		}
		evt = open
	}
	return l.answered(ctx, evt)
}

// answered reads an event and answers it.
func (l *link) answered(ctx context.Context, evt *event.Event) (over bool) {
	in, err := l.incoming(ctx, evt)
	for pause := firstPause; err != nil && ctx.Err() == nil; pause = min(2*pause, longestPause) {
		if bot.AsSendError(sendError(err)).Permanent { // we are no longer in that room
			return true
		}
		rest(ctx, pause)
		in, err = l.incoming(ctx, evt)
	}
	if err != nil {
		return false
	}
	q, ok := l.chat.read(ctx, in)
	if !ok {
		return ctx.Err() == nil
	}
	switch l.chat.floods.admit(in, l.chat.options.Now()) {
	case floodTold:
		return true
	case floodNews:
		return l.deliver(ctx, func(ctx context.Context) error { return l.chat.sayFlood(ctx, in) })
	}
	reply := l.handler.Handle(ctx, l.enclosed(ctx, in, q))
	if ctx.Err() != nil && reply.Problem != nil && reply.Problem.Code == bot.Busy {
		return false // it was not begun
	}
	if reply.None() {
		return true
	}
	return l.deliver(ctx, func(ctx context.Context) error { return l.chat.answer(ctx, in, q, reply) })
}

// incoming is an event with what its reader needs to know.
func (l *link) incoming(ctx context.Context, evt *event.Event) (incoming, error) {
	about, err := l.about(ctx, evt.RoomID)
	if err != nil {
		return incoming{}, err
	}
	return incoming{
		Event: evt, Room: about,
		Name:  l.nameIn(ctx, evt.RoomID, evt.Sender),
		Ours:  l.nameIn(ctx, evt.RoomID, l.client.UserID),
		Power: l.power(ctx, evt.RoomID, evt.Sender),
	}, nil
}

// deliver sends an answer until it has arrived, or cannot. When the run ends it
// has a moment more.
func (l *link) deliver(ctx context.Context, send func(ctx context.Context) error) (over bool) {
	begun := time.Now()
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		err := l.attempt(ctx, send)
		s := bot.AsSendError(err)
		switch {
		case err == nil:
			return true
		case s.Permanent, time.Since(begun) > answerFor:
			l.chat.log().Warn("matrix: an answer could not be sent", "err", err)
			return true
		case ctx.Err() != nil:
			return false
		}
		rest(ctx, max(pause, s.RetryAfter))
	}
}

func (l *link) attempt(ctx context.Context, send func(ctx context.Context) error) error {
	own, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Minute)
	defer cancel()
	stop := context.AfterFunc(ctx, func() { time.AfterFunc(answerGrace, cancel) })
	defer stop()
	return send(own)
}

// waitForKey waits apart for the key of an event, and puts the event into its
// person's line again when it is there. False when too many are waited for.
func (l *link) waitForKey(ctx context.Context, t *task) bool {
	select {
	case l.waiting <- struct{}{}:
	default:
		return false
	}
	l.work.Go(func() {
		defer func() { <-l.waiting }()
		found := l.vault.await(ctx, t.event, firstWait)
		if !found && ctx.Err() == nil {
			l.vault.request(ctx, t.event)
			found = l.vault.await(ctx, t.event, l.chat.secondWait)
		}
		switch {
		case ctx.Err() != nil:
		case found && l.queue(ctx, t):
		default:
			again := *t
			again.run = func(ctx context.Context, t *task) bool { return l.unreadable(ctx, t, errNoKey) }
			l.try(ctx, &again)
		}
	})
	return true
}

var errNoKey = errors.New("matrix: its key has not come")

// unreadable explains, once in a while in a room, that a message could not be
// read.
func (l *link) unreadable(ctx context.Context, t *task, why error) (over bool) {
	l.chat.log().Warn("matrix: a message could not be read", "event", t.event.ID, "err", why)
	if !canEncrypt {
		return l.leaveSealed(ctx, t.event.RoomID)
	}
	if !l.rooms.has(t.event.RoomID) {
		return true
	}
	yes, err := l.keep.explain(ctx, t.event.RoomID)
	if err != nil || !yes {
		return ctx.Err() == nil
	}
	return l.deliver(ctx, func(ctx context.Context) error {
		return l.chat.tell(ctx, t.event.RoomID, l.chat.key("unreadable", t.event.ID), bot.KeyUndecrypted)
	})
}

// tell says a sentence of the catalogue in a room.
func (c *Chat) tell(ctx context.Context, room id.RoomID, key string, sentence calc.Key, args ...any) error {
	text := c.options.Texts.Say(measure.Unset, sentence, args...)
	_, err := c.sendParts(ctx, room, key, []part{{Body: text, Notice: true}}, relation{})
	return err
}
