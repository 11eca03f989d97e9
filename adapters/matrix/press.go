package matrix

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
	"weftroom/calc/measure"
)

// signs are the reactions that stand for the buttons of a message, in order.
var signs = [...]string{"1️⃣", "2️⃣", "3️⃣", "4️⃣", "5️⃣", "6️⃣", "7️⃣", "8️⃣", "9️⃣", "🔟"}

// pressedFor is how long a button works.
const pressedFor = 90 * 24 * time.Hour

// buttons are those of a reply that have a sign; the others are only written out.
func (r renderer) buttons(buttons []bot.Button) []press {
	var out []press
	for i, b := range buttons[:min(len(buttons), len(signs))] {
		out = append(out, press{Emoji: signs[i], Label: b.Label, Line: b.Line})
	}
	return out
}

// offer says of each button which sign to press and what to write instead, since
// not every program shows reactions, and nothing else reads them out.
func (r renderer) offer(buttons []bot.Button) bot.Block {
	var items bot.List
	for i, b := range buttons {
		item := b.Label
		if i < len(signs) {
			item = r.texts.Say(measure.Unset, bot.KeyPress, signs[i], b.Label)
		}
		items = append(items, item+" · "+code(r.begins+b.Line))
	}
	return items
}

// code marks a text as something to be written, unless marks stand in it.
func code(s string) string {
	if strings.Contains(s, "`") {
		return s
	}
	return "`" + s + "`"
}

// offered is the note of a message with buttons.
type offered struct {
	Lines []string  `json:"lines"`         // what each sign runs, in the order of signs
	For   id.UserID `json:"for,omitempty"` // the only one who may press; "" for everyone
}

func offerName(message id.EventID) string { return "press/" + string(message) }

// offer keeps what the buttons of a message do. It may block on storage.
func (c *Chat) offer(ctx context.Context, _ id.RoomID, message id.EventID, p part) error {
	o := offered{For: p.For}
	for _, b := range p.Buttons {
		o.Lines = append(o.Lines, b.Line)
	}
	raw, err := json.Marshal(o)
	if err != nil {
		return err
	}
	return c.options.Notes.PutNote(ctx, Name, bot.Note{
		Name: offerName(message), User: string(p.For), Value: string(raw), Until: c.options.Now().Add(pressedFor),
	})
}

// offers is what the buttons of a message do; ok is false when nobody knows.
func (c *Chat) offers(ctx context.Context, message id.EventID) (o offered, ok bool, err error) {
	n, err := c.options.Notes.Note(ctx, Name, offerName(message))
	if err != nil || n.Value == "" || !n.Until.IsZero() && n.Until.Before(c.options.Now()) {
		return offered{}, false, err
	}
	if err := json.Unmarshal([]byte(n.Value), &o); err != nil {
		return offered{}, false, nil // not written by this version
	}
	return o, true, nil
}

// signOf is which button a reaction presses, -1 for none. Programs differ in
// whether they write the mark that asks for a coloured picture.
func signOf(reaction string) int {
	return slices.IndexFunc(signs[:], func(s string) bool { return plainSign(s) == plainSign(reaction) })
}

func plainSign(s string) string { return strings.ReplaceAll(s, "\ufe0f", "") }

// pressed is the request that a reaction makes: the line of the button, as the
// one who reacted. Others who press what is for one person alone are told so once;
// reactions that are no button are left alone. A reaction that is taken back, or
// put again, is another one; taking it back does nothing. It may block on storage
// and on the network.
func (c *Chat) pressed(ctx context.Context, in incoming) (bot.Request, bool) {
	message, n := reactionTo(in.Event.Content.Raw)
	if n < 0 || message == "" {
		return bot.Request{}, false
	}
	o, known, err := c.offers(ctx, message)
	if err == nil && !known && c.settled(ctx, in.Room.ID) { // she may have been quicker than the note
		o, known, err = c.offers(ctx, message)
	}
	switch {
	case err != nil:
		c.options.Log.Error("what a button does could not be looked up", "event", in.Event.ID, "err", err)
		return bot.Request{}, false
	case known && n < len(o.Lines) && o.For != "" && o.For != in.Event.Sender:
		if err := c.notYours(ctx, in, message); err != nil {
			c.options.Log.Warn("whose button it is could not be said", "event", in.Event.ID, "err", withoutURL(err))
		}
		return bot.Request{}, false
	case known && n < len(o.Lines):
		r := c.parser().from(in)
		r.Line = o.Lines[n]
		return r, true
	}
	if err := c.wornOut(ctx, in, message); err != nil {
		c.options.Log.Warn("a worn out button could not be explained", "event", in.Event.ID, "err", err)
	}
	return bot.Request{}, false
}

// notYours tells a person, once under a message, that its buttons are another's.
func (c *Chat) notYours(ctx context.Context, in incoming, message id.EventID) error {
	_, err := c.sendParts(ctx, in.Room.ID, c.key("not yours", message, in.Event.Sender), []part{c.renderer(in.Room.Direct).notice(bot.KeyNotYours)}, c.to(in))
	return err
}

// settled waits until what is being sent into a room is there, notes and all.
func (c *Chat) settled(ctx context.Context, room id.RoomID) bool {
	l, err := c.connected(ctx)
	if err != nil {
		return false
	}
	unlock, err := l.locks.within(ctx, string(room))
	if err != nil {
		return false
	}
	unlock()
	return true
}

// reactionTo is the message under which a reaction stands, and the number of the
// button that it presses, -1 for none.
func reactionTo(raw map[string]any) (message id.EventID, n int) {
	related := object(raw).object("m.relates_to")
	if event.RelationType(related.text("rel_type")) != event.RelAnnotation {
		return "", -1
	}
	return id.EventID(related.text("event_id")), signOf(related.text("key"))
}

// wornOut tells a person that her button does nothing any more, if it is one: the
// message is ours and has our reaction of that sign.
func (c *Chat) wornOut(ctx context.Context, in incoming, message id.EventID) error {
	ours, err := c.ownSigns(ctx, in.Room.ID, message)
	if err != nil {
		return err
	}
	if _, n := reactionTo(in.Event.Content.Raw); ours[n] == "" {
		return nil
	}
	_, err = c.sendParts(ctx, in.Room.ID, c.key("worn", in.Event.ID), []part{c.renderer(in.Room.Direct).notice(bot.KeyWornOut)}, c.to(in))
	return err
}

// ownSigns are our reactions under a message, by the number of their button.
func (c *Chat) ownSigns(ctx context.Context, room id.RoomID, message id.EventID) (map[int]id.EventID, error) {
	client, err := c.client(ctx)
	if err != nil {
		return nil, err
	}
	got, err := client.GetRelations(ctx, room, message, &mautrix.ReqGetRelations{
		RelationType: event.RelAnnotation, EventType: event.EventReaction, Limit: 100, Dir: mautrix.DirectionForward,
	})
	if err != nil {
		return nil, err
	}
	ours := map[int]id.EventID{}
	for _, e := range got.Chunk {
		if _, n := reactionTo(e.Content.Raw); e.Sender == c.user && n >= 0 {
			ours[n] = e.ID
		}
	}
	return ours, nil
}

// replace puts a part in the place of one of our messages, under a key, and takes back the
// signs of buttons that it no longer has. Should that fail, they only say that
// they are worn out.
func (c *Chat) replace(ctx context.Context, room id.RoomID, message id.EventID, key string, p part) error {
	before, _, err := c.offers(ctx, message)
	if err != nil {
		return err
	}
	if err := c.edit(ctx, room, message, key, p); err != nil || len(p.Buttons) >= len(before.Lines) {
		return err
	}
	ours, err := c.ownSigns(ctx, room, message)
	if err == nil {
		err = c.takeBack(ctx, room, ours, len(p.Buttons))
	}
	if err != nil {
		c.options.Log.Warn("signs of old buttons could not be taken back", "event", message, "err", err)
	}
	return nil
}

// takeBack removes our reactions from the button number n on.
func (c *Chat) takeBack(ctx context.Context, room id.RoomID, signs map[int]id.EventID, n int) error {
	client, err := c.client(ctx)
	if err != nil {
		return err
	}
	for sign, reaction := range signs {
		if sign < n {
			continue
		}
		if _, err := client.RedactEvent(ctx, room, reaction, mautrix.ReqRedact{TxnID: c.key("unsign", reaction)}); err != nil {
			return err
		}
	}
	return nil
}

// release takes the reaction back by which a button was pressed, where our power
// in the room allows that: then the next press of the same button takes one tap,
// and not one more to take the old one back. Should that fail, two taps do.
func (c *Chat) release(ctx context.Context, in incoming) {
	l, err := c.connected(ctx)
	if err != nil || !l.mayRedact(ctx, in.Room.ID) {
		return
	}
	if _, err := l.client.RedactEvent(ctx, in.Room.ID, in.Event.ID, mautrix.ReqRedact{TxnID: c.key("release", in.Event.ID)}); err != nil && ctx.Err() == nil {
		c.options.Log.Warn("a button that was pressed could not be released", "event", in.Event.ID, "err", withoutURL(err))
	}
}

// mayRedact tells whether we may take back in a room what others have written.
func (l *link) mayRedact(ctx context.Context, room id.RoomID) bool {
	levels, err := l.state.GetPowerLevels(ctx, room)
	if err != nil || levels == nil {
		return false
	}
	ours := levels.GetUserLevel(l.client.UserID)
	return ours >= levels.Redact() && ours >= levels.GetEventLevel(event.EventRedaction)
}
