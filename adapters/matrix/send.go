package matrix

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"strings"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// witness is the field of every event of ours that holds its key: a digest that
// tells nothing, in the clear even where the rest is encrypted, so that a message
// can be recognised when the server no longer knows its transaction.
const witness = "weftroom.key"

// key is a digest of 20 letters and digits, the same for the same parts.
func (c *Chat) key(kind string, parts ...any) string {
	sum := sha256.Sum256([]byte(fmt.Sprintln(append([]any{kind}, parts...)...)))
	return strings.ToLower(base32.StdEncoding.EncodeToString(sum[:])[:20])
}

// Post implements bot.Adapter. It waits until the first sync of a run is
// through, since only then it is known who reads along and what has arrived.
func (c *Chat) Post(ctx context.Context, to bot.Place, key string, r bot.Reply) (string, error) {
	if to.Chat != Name || !strings.HasPrefix(to.Room, "!") {
		return "", nowhere("no such room here")
	}
	about, err := c.roomOf(ctx, id.RoomID(to.Room))
	if err != nil {
		return "", err
	}
	event, err := c.sendParts(ctx, about.ID, key, c.renderer(about.Direct).parts(r), relation{})
	return string(event), err
}

// Sent implements bot.Reconciler.
func (c *Chat) Sent(ctx context.Context, to bot.Place, key string) (string, error) {
	l, err := c.connected(ctx)
	if err != nil {
		return "", err
	}
	room := id.RoomID(to.Room)
	unlock, err := l.locks.within(ctx, string(room))
	if err != nil {
		return "", sendError(err)
	}
	defer unlock()
	m, err := l.keep.message(ctx, room, key)
	if err == nil && m.Begun && m.Event == "" {
		m, err = l.resolve(ctx, room, key)
	}
	if err != nil || !m.Whole {
		return "", sendError(err)
	}
	return string(m.Event), nil
}

// Edit implements bot.Editor.
func (c *Chat) Edit(ctx context.Context, in bot.Place, message string, r bot.Reply) error {
	about, err := c.roomOf(ctx, id.RoomID(in.Room))
	if err != nil {
		return err
	}
	return c.replace(ctx, about.ID, id.EventID(message), rand.Text()[:20], c.renderer(about.Direct).edited(r))
}

// roomOf is what is known of a room that we are in.
func (c *Chat) roomOf(ctx context.Context, roomID id.RoomID) (room, error) {
	l, err := c.connected(ctx)
	if err != nil {
		return room{}, err
	}
	if !l.rooms.has(roomID) {
		return room{}, nowhere("we are not in that room")
	}
	about, err := l.about(ctx, roomID)
	return about, sendError(err)
}

// client is the connection of the run, for what has no place in this file.
func (c *Chat) client(ctx context.Context) (*mautrix.Client, error) {
	l, err := c.connected(ctx)
	if err != nil {
		return nil, err
	}
	return l.client, nil
}

// sendParts sends the parts of one message into a room, in order, part n under
// key and "-n". What has arrived already is not sent again. It gives the id of
// the first.
func (c *Chat) sendParts(ctx context.Context, room id.RoomID, key string, parts []part, how relation) (id.EventID, error) {
	l, err := c.connected(ctx)
	if err != nil {
		return "", err
	}
	if !l.rooms.has(room) {
		return "", nowhere("we are not in that room")
	}
	unlock, err := l.locks.within(ctx, string(room))
	if err != nil {
		return "", sendError(err)
	}
	defer unlock()
	var first id.EventID
	for n, p := range parts {
		own := key
		if n > 0 { // her telephone need not ring for each
			own, how = fmt.Sprintf("%s-%d", key, n), relation{Thread: how.Thread}
		}
		message, err := l.sendPart(ctx, room, own, p, how)
		if err != nil {
			return "", sendError(err)
		}
		if n == 0 {
			first = message
		}
	}
	return first, sendError(l.keep.markWhole(ctx, room, key))
}

// sendPart sends one message, and its buttons after it.
func (l *link) sendPart(ctx context.Context, room id.RoomID, key string, p part, how relation) (id.EventID, error) {
	message, err := l.put(ctx, room, key, event.EventMessage, func(ctx context.Context, sealed bool) (any, error) {
		return l.content(ctx, p, how, sealed)
	})
	if err != nil {
		return "", err
	}
	return message, l.sendButtons(ctx, room, message, p)
}

// sendButtons puts a reaction under a message for each of its buttons, unless it
// is there.
func (l *link) sendButtons(ctx context.Context, room id.RoomID, message id.EventID, p part) error {
	if len(p.Buttons) == 0 {
		return nil
	}
	if err := l.chat.offer(ctx, room, message, p); err != nil {
		return err
	}
	for _, b := range p.Buttons {
		react := &event.ReactionEventContent{RelatesTo: event.RelatesTo{Type: event.RelAnnotation, EventID: message, Key: b.Emoji}}
		_, err := l.put(ctx, room, l.chat.key("sign", message, b.Emoji), event.EventReaction, func(context.Context, bool) (any, error) { return react, nil })
		if err != nil && (!refusedBy(err) || errors.Is(err, mautrix.MLimitExceeded)) { // no reactions here: the commands are written out
			return err
		}
	}
	return nil
}

// edit replaces an own message, under a key; with it, its buttons.
func (c *Chat) edit(ctx context.Context, room id.RoomID, message id.EventID, key string, p part) error {
	l, err := c.connected(ctx)
	if err != nil {
		return err
	}
	if !l.rooms.has(room) {
		return nowhere("we are not in that room")
	}
	unlock, err := l.locks.within(ctx, string(room))
	if err != nil {
		return sendError(err)
	}
	defer unlock()
	_, err = l.put(ctx, room, key, event.EventMessage, func(ctx context.Context, sealed bool) (any, error) {
		return l.content(ctx, p, relation{Replaces: message}, sealed)
	})
	if err != nil {
		return sendError(err)
	}
	if len(p.Buttons) == 0 { // those that were there do nothing any more
		return sendError(c.offer(ctx, room, message, p))
	}
	return sendError(l.sendButtons(ctx, room, message, p))
}

// put sends one event under a key, unless it has arrived before. Of one in doubt
// it is found out first. The caller holds the room's lock: two at once under one
// key would both be shown.
func (l *link) put(ctx context.Context, room id.RoomID, key string, kind event.Type, compose func(ctx context.Context, sealed bool) (any, error)) (id.EventID, error) {
	m, err := l.keep.message(ctx, room, key)
	if err == nil && m.Begun && m.Event == "" {
		m, err = l.resolve(ctx, room, key)
	}
	if err != nil || m.Event != "" {
		return m.Event, err
	}
	sealed, err := l.sealed(ctx, room)
	if err != nil {
		return "", err
	}
	content, err := compose(ctx, sealed)
	if err != nil {
		return "", err
	}
	if sealed && kind != event.EventReaction { // reactions are always in the clear
		if content, err = l.vault.encrypt(ctx, room, kind, content); err != nil {
			return "", err
		}
		kind = event.EventEncrypted
	}
	if err := l.keep.begin(ctx, room, key); err != nil {
		return "", err
	}
	got, sure, err := l.request(ctx, room, key, kind, content)
	kept := context.WithoutCancel(ctx)
	switch {
	case err == nil:
		if _, err := l.keep.arrived(kept, echo{Room: room, Key: key, Event: got}); err != nil {
			return "", err
		}
		m, err := l.keep.message(kept, room, key) // another one, if it has come out meanwhile after all
		return m.Event, err
	case sure:
		if err := l.keep.refused(kept, room, key); err != nil {
			return "", err
		}
	default:
		l.doubts.add(room, key)
	}
	return "", err
}
