package matrix

import (
	"context"
	"errors"
	"sync"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// answer shows the reply to a request to those whom it is meant for. Called again
// with the same event and reply it sends what has not arrived yet. It blocks
// while pictures are drawn and on the network.
func (c *Chat) answer(ctx context.Context, in incoming, q bot.Request, reply bot.Reply) error {
	switch message, pressed := pressedUnder(in); {
	case reply.Audience == bot.Direct && !in.Room.Direct:
		return c.answerAlone(ctx, in, reply)
	case pressed && reply.Instead && reply.Problem == nil:
		p := c.renderer(in.Room.Direct).edited(reply)
		p.For = forWhom(in, reply)
		if err := c.replace(ctx, in.Room.ID, message, c.key("instead", in.Event.ID), p); err != nil {
			return err
		}
		c.release(ctx, in)
		return nil
	}
	parts := c.renderer(in.Room.Direct).parts(reply)
	message, err := c.sendParts(ctx, in.Room.ID, c.key("answer", in.Event.ID), personal(parts, forWhom(in, reply)), c.stands(in, reply))
	if err == nil && reply.Ask != nil {
		c.asked.remember(message, in.Event.Sender)
	}
	return err
}

// answerAlone writes to the asker alone, with a word in the room that it is on
// its way. Who takes no direct messages is answered in the room.
func (c *Chat) answerAlone(ctx context.Context, in incoming, reply bot.Reply) error {
	alone, err := c.Direct(ctx, string(in.Event.Sender))
	if refused, ok := errors.AsType[*bot.SendError](err); ok && refused.Permanent {
		parts := append([]part{c.renderer(false).notice(bot.KeyNotAlone)}, c.renderer(false).parts(reply)...)
		_, err := c.sendParts(ctx, in.Room.ID, c.key("answer", in.Event.ID), personal(parts, in.Event.Sender), c.to(in))
		return err
	}
	if err != nil {
		return err
	}
	room := id.RoomID(alone.Room)
	message, err := c.sendParts(ctx, room, c.key("alone", in.Event.ID), personal(c.renderer(true).parts(reply), in.Event.Sender), relation{})
	if err != nil {
		return err
	}
	if reply.Ask != nil {
		c.asked.remember(message, in.Event.Sender)
	}
	_, err = c.sendParts(ctx, in.Room.ID, c.key("answer", in.Event.ID), []part{c.renderer(false).notice(bot.KeyOnItsWay)}, c.to(in))
	return err
}

// stands says how an answer stands to what was asked: in a direct message there
// is nothing to say; in a room what is for everyone is a message of its own, in
// the thread if there is one, and what is for the asker a reply to her.
func (c *Chat) stands(in incoming, reply bot.Reply) relation {
	switch {
	case in.Room.Direct:
		return relation{Thread: thread(in.Event.Content.Raw)}
	case reply.Audience == bot.Room && reply.Problem == nil:
		return relation{Thread: thread(in.Event.Content.Raw)}
	}
	return c.to(in)
}

// to is a reply to the asker, who is called by it; to the message that held the
// button when she pressed one.
func (c *Chat) to(in incoming) relation {
	if in.Room.Direct {
		return relation{Thread: thread(in.Event.Content.Raw)}
	}
	how := relation{ReplyTo: in.Event.ID, Thread: thread(in.Event.Content.Raw), Mentions: []id.UserID{in.Event.Sender}}
	if message, pressed := pressedUnder(in); pressed {
		how.ReplyTo = message
	}
	return how
}

// pressedUnder is the message whose button was pressed.
func pressedUnder(in incoming) (message id.EventID, pressed bool) {
	if in.Event.Type.Type != event.EventReaction.Type {
		return "", false
	}
	message, _ = reactionTo(in.Event.Content.Raw)
	return message, message != ""
}

// forWhom is the only one who may press the buttons of an answer, "" for everyone.
func forWhom(in incoming, reply bot.Reply) id.UserID {
	if reply.Audience == bot.Room {
		return ""
	}
	return in.Event.Sender
}

func personal(parts []part, user id.UserID) []part {
	for i := range parts {
		parts[i].For = user
	}
	return parts
}

// asked remembers in which messages people were asked something, so that a reply
// to one of them needs no prefix. It is kept in memory alone: after a restart such
// a reply needs one again.
type asked struct {
	mu       sync.Mutex
	messages map[id.EventID]id.UserID
	order    []id.EventID // oldest first
}

// maxAsked bounds how many such messages are remembered.
const maxAsked = 10_000

func (a *asked) remember(message id.EventID, user id.UserID) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.messages == nil {
		a.messages = map[id.EventID]id.UserID{}
	}
	if _, known := a.messages[message]; !known {
		a.order = append(a.order, message)
	}
	a.messages[message] = user
	if len(a.order) > maxAsked {
		delete(a.messages, a.order[0])
		a.order = a.order[1:]
	}
}

// by tells whether a message asked this person something.
func (a *asked) by(message id.EventID, user id.UserID) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	to, known := a.messages[message]
	return known && to == user
}
