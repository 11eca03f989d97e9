package matrix

import (
	"context"
	"errors"
	"time"

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
	if err != nil || reply.Ask == nil {
		return err
	}
	return c.rememberAsked(ctx, message, in.Event.Sender)
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
		if err := c.rememberAsked(ctx, message, in.Event.Sender); err != nil {
			return err
		}
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

// askedFor is how long a reply to a message in which something was asked needs no
// prefix.
const askedFor = 7 * 24 * time.Hour

func askedName(message id.EventID) string { return "asked/" + string(message) }

// rememberAsked keeps that a message asked somebody something, so that a reply to
// it needs no prefix. It may block on storage.
func (c *Chat) rememberAsked(ctx context.Context, message id.EventID, user id.UserID) error {
	return c.options.Notes.PutNote(ctx, Name, bot.Note{
		Name: askedName(message), User: string(user), Value: string(user), Until: c.options.Now().Add(askedFor),
	})
}

// hasAsked tells whether a message asked this person something. It may block on
// storage.
func (c *Chat) hasAsked(ctx context.Context, message id.EventID, user id.UserID) bool {
	n, err := c.options.Notes.Note(ctx, Name, askedName(message))
	if err != nil {
		c.log().Error("whether a message asked something could not be looked up", "event", message, "err", err)
		return false
	}
	return n.Value == string(user) && c.options.Now().Before(n.Until)
}
