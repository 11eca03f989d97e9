package matrix

import (
	"context"
	"errors"
	"strings"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// enclosed adds to a command that takes a file the one that is in the message
// which it answers: not every program can write words beside a picture. It blocks
// on the network; a file that cannot be found has not come.
func (l *link) enclosed(ctx context.Context, in incoming, q bot.Request) bot.Request {
	to := readSaid(in.Event.Content.Raw).replyTo
	command := find(l.chat.options.Commands, strings.Fields(strings.ToLower(q.Command+" "+q.Line)))
	if len(q.Attached) > 0 || to == "" || command == nil || !command.Encloses() {
		return q
	}
	raw, err := l.saidIn(ctx, in.Room.ID, to)
	if err != nil {
		l.chat.log().Warn("matrix: what a command answers could not be read", "event", in.Event.ID, "err", withoutURL(err))
		return q
	}
	if m := readSaid(raw); m.file != nil {
		q.Attached = l.chat.parser().attached(*m.file)
	}
	return q
}

// saidIn is what an event of a room says, decrypted.
func (l *link) saidIn(ctx context.Context, room id.RoomID, name id.EventID) (map[string]any, error) {
	evt, err := l.client.GetEvent(ctx, room, name)
	if err != nil {
		return nil, err
	}
	if evt.RoomID = room; evt.Type.Type != event.EventEncrypted.Type {
		return evt.Content.Raw, nil
	}
	if err := evt.Content.ParseRaw(event.EventEncrypted); err != nil && !errors.Is(err, event.ErrContentAlreadyParsed) {
		return nil, err
	}
	open, _, err := l.vault.decrypt(ctx, evt)
	if err != nil {
		return nil, err
	}
	return open.Content.Raw, nil
}

// attached is a file as the core reads it.
func (p parser) attached(f attached) []bot.Attached {
	a := bot.Attached{Name: f.name, MediaType: f.mediaType, Size: f.size}
	if p.read != nil {
		a.Read = p.read(f)
	}
	return []bot.Attached{a}
}
