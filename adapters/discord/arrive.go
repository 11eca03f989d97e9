package discord

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"weftroom/bot"
)

// event takes what the gateway sends. It is called in the order of the events
// and must not block.
func (c *Chat) event(ctx context.Context, e *discordgo.Event) {
	defer c.rescue("an event")
	switch e.Type {
	case "INTERACTION_CREATE":
		var it interaction
		if err := json.Unmarshal(e.RawData, &it); err != nil {
			c.o.Log.Warn("an interaction cannot be read", "chat", ChatName)
			return
		}
		c.interaction(&it)
	case "MESSAGE_CREATE":
		var m received
		if err := json.Unmarshal(e.RawData, &m); err != nil {
			c.o.Log.Warn("a message cannot be read", "chat", ChatName)
			return
		}
		c.message(&m)
	}
}

// interaction takes what somebody did, once however often Discord tells of it.
func (c *Chat) interaction(it *interaction) {
	if it.ID == "" || it.Token == "" || it.who() == nil || it.who().ID == "" || it.Type < askCommand || !c.seen.add(it.ID) {
		return
	}
	if it.Type == askAutocomplete {
		c.in.aside(func(ctx context.Context) { c.complete(ctx, it) })
		return
	}
	t, ok := c.turn(it)
	if !ok {
		return
	}
	switch do, form := c.asks(t); {
	case form: // must be the first answer, and needs nothing but the notes
		ok = c.in.aside(do)
	default:
		ok = c.in.queue(it.who().ID, waiting{do, t.dropped})
	}
	if !ok && !c.in.aside(func(ctx context.Context) { t.tell(ctx, c.say(bot.KeyFlood)) }) {
		t.still()
		c.o.Log.Warn("too much at once: a request was left out", "chat", ChatName, "request", it.ID)
	}
}

// dropped asks her to ask again, since the chat ends before her turn. Discord
// would let her wait for a quarter of an hour.
func (t *turn) dropped() {
	t.c.work.Go(func() {
		defer t.c.rescue("dropping a request")
		t.tell(context.Background(), t.c.say(bot.KeyFlood))
	})
}

// asks says what to do about an interaction, and whether that is to show a form.
func (c *Chat) asks(t *turn) (do job, form bool) {
	it := t.it
	switch it.Type {
	case askCommand:
		t.from = c.asked(t.from, it.Data)
		if a, missing := c.missingText(t.from, enclosedIn(it.Data)); missing {
			return func(ctx context.Context) { t.ask(ctx, a, "") }, true
		}
		return t.run, false
	case askForm:
		return t.submitted, false
	}
	id := it.Data.CustomID
	if len(it.Data.Values) > 0 {
		id = it.Data.Values[0]
	}
	m, ok := readMark(id)
	switch {
	case !ok:
		return func(ctx context.Context) { t.tell(ctx, c.say(bot.KeyWornOut)) }, false
	case m.kind == markForm:
		return func(ctx context.Context) { t.open(ctx, id, m) }, true
	case m.kind == markShare:
		return func(ctx context.Context) { t.share(ctx, m) }, false
	}
	return func(ctx context.Context) { t.press(ctx, m) }, false
}

// run has the question answered.
func (t *turn) run(ctx context.Context) { t.answer(ctx, t.c.handle(ctx, t.from)) }

// press runs what a button stands for.
func (t *turn) press(ctx context.Context, m mark) {
	if line, ok := t.known(ctx, m); ok {
		t.from.Line = line
		t.run(ctx)
	}
}

// known is the line of a mark, or tells her that nobody knows it any more.
func (t *turn) known(ctx context.Context, m mark) (line string, ok bool) {
	line, err := t.c.lineOf(ctx, m)
	if err != nil {
		t.c.o.Log.Error("what a button does cannot be looked up", "chat", ChatName, "request", t.it.ID, "err", err)
	}
	if line == "" {
		t.tell(ctx, t.c.say(bot.KeyWornOut))
	}
	return line, line != ""
}

// open shows the form of a button.
func (t *turn) open(ctx context.Context, id string, m mark) {
	var a asking
	if found, err := t.c.notes.read(ctx, noteOf(m.kept), &a); err != nil || !found {
		t.tell(ctx, t.c.say(bot.KeyWornOut))
		return
	}
	t.ask(ctx, a, id)
}

// ask shows a form, under an id that says what its answers complete.
func (t *turn) ask(ctx context.Context, a asking, id string) {
	var err error
	if id == "" {
		id, err = t.c.keepForm(ctx, 0, a, t.from.From.User, keepForms)
	}
	t.still()
	t.mu.Lock()
	if err == nil && t.state == fresh {
		t.state = answered
		short, cancel := context.WithTimeout(ctx, 3*time.Second)
		err = t.c.callback(short, t.it, callback{callForm, t.c.form(a, id)}, nil)
		cancel()
		t.mu.Unlock()
		if err != nil {
			t.c.o.Log.Warn("a form did not arrive", "chat", ChatName, "request", t.it.ID, "err", err)
		}
		return
	}
	t.mu.Unlock()
	t.tell(ctx, t.c.say(bot.KeyFlood)) // too late for a form: let her ask again
}

// submitted runs what a form was filled in for.
func (t *turn) submitted(ctx context.Context) {
	m, ok := readMark(t.it.Data.CustomID)
	var a asking
	if ok && m.kind == markForm {
		found, err := t.c.notes.read(ctx, noteOf(m.kept), &a)
		ok = found && err == nil
	}
	if !ok {
		t.tell(ctx, t.c.say(bot.KeyWornOut))
		return
	}
	t.from = t.c.answers(t.from, a, t.it.Data.Components)
	t.run(ctx)
}

// share shows everyone the answer that she saw alone: it is asked for again, so
// that it is true now and has its pictures, and stands under her name. It is
// asked as what all will read, who may not know all that she may. The button
// goes, so that it is done once.
func (t *turn) share(ctx context.Context, m mark) {
	line, ok := t.known(ctx, m)
	if !ok {
		return
	}
	if t.it.Message == nil || !t.c.shared.add(t.it.Message.ID) {
		t.answer(ctx, bot.Reply{})
		return
	}
	t.from.Line, t.from.Shared = line, true
	r := t.c.handle(ctx, t.from)
	if r.Problem != nil || r.None() || r.Audience == bot.Direct {
		t.c.shared.remove(t.it.Message.ID)
		t.answer(ctx, r)
		return
	}
	r.Buttons, r.Ask = nil, nil // those were hers
	if err := t.shareNow(ctx, t.c.render(r, "<@"+t.from.From.User+">")); err != nil {
		t.c.o.Log.Warn("a shared answer did not arrive", "chat", ChatName, "request", t.it.ID, "err", err)
	}
}

func (t *turn) shareNow(ctx context.Context, messages []message) error {
	t.c.voiced(messages)
	soon, cancel := outlast(ctx)
	defer cancel()
	if err := t.withoutShare(soon); err != nil {
		return err
	}
	ids, err := t.after(soon, messages, false)
	if err != nil {
		return err
	}
	t.illustrate(ctx, messages, ids)
	return nil
}

// withoutShare leaves of her message all but the button to share it.
func (t *turn) withoutShare(ctx context.Context) error {
	t.still()
	t.mu.Lock()
	defer t.mu.Unlock()
	rows := map[string]any{"components": rowsWithout(t.it.Message.Components, markShare), "allowed_mentions": nobody}
	was := t.state
	t.state = answered
	if was == fresh {
		return t.c.callback(ctx, t.it, callback{callUpdate, rows}, nil)
	}
	return t.c.change(ctx, t.it, original, rows, nil)
}

// rowsWithout are a message's rows as Discord gave them, but for the buttons of
// a kind.
func rowsWithout(raw json.RawMessage, kind byte) []component {
	var rows []component
	if json.Unmarshal(raw, &rows) != nil {
		return []component{}
	}
	left := []component{}
	for _, row := range rows {
		var kept []component
		for _, b := range row.Components {
			if m, ok := readMark(b.CustomID); !ok || m.kind != kind {
				kept = append(kept, b)
			}
		}
		if len(kept) > 0 {
			left = append(left, component{Type: componentRow, Components: kept})
		}
	}
	return left
}

// complete lists what an argument may be. Nothing is a good answer, and late
// ones are of no use.
func (c *Chat) complete(ctx context.Context, it *interaction) {
	ctx, cancel := context.WithTimeout(ctx, 2500*time.Millisecond)
	defer cancel()
	h := c.handler.Load()
	if h == nil {
		return
	}
	path, options := leaf(it.Data)
	choices := []choice{}
	for _, o := range options {
		suggester, ok := (*h).(bot.Suggester)
		if !o.Focused || !ok {
			continue
		}
		for _, value := range suggester.Suggest(ctx, c.asked(c.request(it), it.Data), path, o.Name, o.text(), maxOptions) {
			if ch, ok := suggested(o, value); ok && len(choices) < maxOptions {
				choices = append(choices, ch)
			}
		}
	}
	err := c.callback(ctx, it, callback{callComplete, map[string]any{"choices": choices}}, nil)
	if err != nil && ctx.Err() == nil {
		c.o.Log.Debug("a completion did not arrive", "chat", ChatName, "err", err)
	}
}

// suggested is a value in the type of its option.
func suggested(o option, value string) (choice, bool) {
	value = strings.TrimSpace(value)
	if value == "" || size(value) > maxOptionLabel {
		return choice{}, false
	}
	if o.Type == optionInteger {
		n := whole(value)
		if n == nil {
			return choice{}, false
		}
		return choice{value, *n}, true
	}
	return choice{value, value}, true
}

// message takes what somebody wrote to the bot alone.
func (c *Chat) message(m *received) {
	mine := m.Author == nil || m.Author.ID == "" || m.Author.Bot
	if mine || m.GuildID != "" || m.Type != channelMessage && m.Type != channelReply || !c.seen.add(m.ID) {
		return
	}
	if strings.TrimSpace(m.Content) == "" && len(m.Attachments) == 0 {
		return
	}
	r := c.written(m)
	if c.in.queue(m.Author.ID, waiting{func(ctx context.Context) { c.reply(ctx, r, c.handle(ctx, r)) }, func() {}}) {
		return
	}
	c.in.aside(func(ctx context.Context) { c.reply(ctx, r, bot.Reply{Title: c.say(bot.KeyFlood)}) })
}

// reply answers a direct message with messages, under keys that are the
// question's: however often they are sent, they appear once.
func (c *Chat) reply(ctx context.Context, q bot.Request, r bot.Reply) {
	if r.None() {
		return
	}
	ctx = context.WithoutCancel(ctx) // each thing that is sent has its own bound
	messages := c.furnish(ctx, c.render(r, ""), r, reader{user: q.From.User})
	if err := c.sayIn(ctx, q.From.User, q.In.Room, q.ID, messages); err != nil {
		c.o.Log.Warn("an answer did not arrive", "chat", ChatName, "request", q.ID, "err", err)
	}
}
