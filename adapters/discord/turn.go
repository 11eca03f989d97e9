package discord

import (
	"context"
	"errors"
	"net/http"
	"sync"
	"time"

	"weftroom/bot"
)

// turn is one interaction on its way to its answer. Discord waits 3 seconds for
// the first sign, which is either the answer or the word that one will come; the
// answer itself may take a quarter of an hour.
//
// Discord has no key by which an answer could be sent again, so each is sent
// once: when it gets lost, the person asks again, and the ledger knows what has
// been done. Only what changes nothing when it is repeated is tried again.
type turn struct {
	c     *Chat
	it    *interaction
	from  bot.Request
	apart bool // Discord can show her an answer that nobody else sees

	mu     sync.Mutex // held while a first sign is under way
	state  turnState
	likely turnState // what state would be, had a first sign arrived of which nobody knows
	alone  bool      // the word that an answer will come was for her alone
	timer  *time.Timer
	done   func() // to be called when the timer will not fire
}

type turnState int

const (
	fresh     turnState = iota
	announced           // a message stands there, "is thinking"
	accepted            // taken from a component, nothing is shown
	answered
)

// grace is how long an answer may take to be sent, once it is rendered.
const grace = 20 * time.Second

// turn begins one. It announces an answer by itself when it takes too long.
func (c *Chat) turn(it *interaction) (*turn, bool) {
	done, ok := c.in.hold()
	if !ok {
		return nil, false
	}
	t := &turn{c: c, it: it, from: c.request(it), apart: !it.direct(), done: done}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.timer = time.AfterFunc(c.o.Pace.Defer, func() {
		defer done()
		defer c.rescue("announcing an answer")
		t.announce()
	})
	return t, true
}

// still keeps the timer from firing.
func (t *turn) still() {
	if t.timer.Stop() {
		t.done()
	}
}

// onMessage tells that a component of a message was used.
func (t *turn) onMessage() bool { return t.it.Message != nil }

// announce says that an answer will come. On a component nothing is shown then:
// whether the answer will take the place of the message is not known yet.
func (t *turn) announce() {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.state != fresh {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	first, next := callback{Type: callDeferred}, announced
	if t.onMessage() {
		first.Type, next = callDeferUpdate, accepted
	} else if t.apart {
		t.alone = true
		first.Data = map[string]int{"flags": flagEphemeral}
	}
	if err := t.c.callback(ctx, t.it, first, nil); err != nil {
		t.c.o.Log.Warn("an answer could not be announced", "chat", ChatName, "request", t.it.ID, "err", err)
		if e, ok := errors.AsType[*apiError](err); !ok || e.fleeting() {
			t.likely = next
		}
		return // the answer may still come in time
	}
	t.state = next
}

// outlast is a context for the sending of an answer: it is finished even when
// the chat is asked to end.
func outlast(ctx context.Context) (context.Context, context.CancelFunc) {
	return context.WithTimeout(context.WithoutCancel(ctx), grace)
}

// answer shows a reply.
func (t *turn) answer(ctx context.Context, r bot.Reply) {
	ctx = context.WithoutCancel(ctx) // each thing that is sent has its own bound
	var err error
	switch {
	case r.None():
		err = t.silence(ctx)
	case r.Audience == bot.Direct && r.Problem == nil && t.apart:
		err = t.direct(ctx, r)
	default:
		err = t.show(ctx, r, "")
	}
	e, ok := errors.AsType[*apiError](err)
	if refused := ok && e.status == http.StatusBadRequest; err != nil && (refused || r.Audience == bot.Direct) && t.unanswered() {
		err = errors.Join(err, t.send(ctx, []message{{content: escape(t.c.failed(t.it.ID))}}, t.apart, false))
	}
	if err != nil {
		t.c.o.Log.Warn("an answer did not arrive", "chat", ChatName, "request", t.it.ID, "err", err)
	}
}

// unanswered tells that Discord has not taken an answer yet.
func (t *turn) unanswered() bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.state != answered
}

// show renders a reply and sends it to the room or to her alone.
func (t *turn) show(ctx context.Context, r bot.Reply, before string) error {
	alone := t.apart && (r.Audience != bot.Room || r.Problem != nil)
	to := reader{}
	if r.Audience != bot.Room {
		to.user = t.from.From.User
	}
	if alone && r.Problem == nil && r.Audience == bot.Personal && t.shareable(r) {
		to.share = asLine(t.from)
	}
	messages := t.c.furnish(ctx, t.c.render(r, before), r, to)
	return t.send(ctx, messages, alone, r.Instead && t.mayReplace(r))
}

// shareable tells that the answer can be shown to everyone by asking again,
// which does nothing and shows what is true then. What changes something, asks
// something, came by a button that is part of a conversation or with a file,
// which would be missing, cannot.
func (t *turn) shareable(r bot.Reply) bool {
	d := find(t.c.o.Commands, r.Command)
	return d != nil && d.path() == r.Command && !d.Changes && r.Ask == nil && len(t.from.Attached) == 0 && asLine(t.from) != ""
}

// mayReplace tells that the message with the button is hers, or that its room
// is meant to read the answer.
func (t *turn) mayReplace(r bot.Reply) bool {
	return t.onMessage() && (!t.apart || t.it.Message.Flags&flagEphemeral != 0 || r.Audience == bot.Room)
}

// original names the message that answers.
const original = "@original"

// send sends messages: the first as the answer, the others after it, and then
// their pictures.
func (t *turn) send(ctx context.Context, messages []message, alone, instead bool) error {
	if len(messages) == 0 {
		return errors.New("there is nothing to show")
	}
	t.c.voiced(messages)
	if instead {
		t.c.easels.settled(t.from.From.User)
	}
	ids, err := t.sendWords(ctx, messages, alone, instead)
	if err != nil {
		return err
	}
	t.illustrate(ctx, messages, ids)
	return nil
}

// sendWords sends what is ready, and gives the names of the messages.
func (t *turn) sendWords(ctx context.Context, messages []message, alone, instead bool) (ids []string, err error) {
	ctx, cancel := outlast(ctx)
	defer cancel()
	t.still()
	t.mu.Lock()
	defer t.mu.Unlock()
	was := t.state
	t.state = answered
	id, err := t.first(ctx, was, messages[0], alone, instead)
	if e, ok := errors.AsType[*apiError](err); ok && e.status == http.StatusBadRequest {
		t.state = was // Discord takes no such message; another can still be sent
	}
	if err != nil {
		return nil, err
	}
	more, err := t.after(ctx, messages[1:], alone)
	return append([]string{id}, more...), err
}

// first sends the first message in the way that is open from a state.
func (t *turn) first(ctx context.Context, was turnState, m message, alone, instead bool) (id string, err error) {
	switch {
	case was == fresh:
		err := t.atOnce(ctx, m, alone, instead)
		if e, ok := errors.AsType[*apiError](err); ok && e.code == codeAnswered && t.likely != fresh {
			return t.first(ctx, t.likely, m, alone, instead)
		}
		return original, err
	case was == announced && t.alone != alone:
		return t.forEveryone(ctx, m)
	case was == announced, was == accepted && instead:
		return original, t.c.amend(ctx, t.it, original, m)
	case was == accepted:
		return t.follow(ctx, m, alone)
	}
	return "", errors.New("it has been answered")
}

// atOnce answers by the first sign itself. That it has been answered may mean
// that this answer arrived, or an announcement of which nobody knows: then it
// is an error.
func (t *turn) atOnce(ctx context.Context, m message, alone, instead bool) error {
	p := m.payload()
	sign := callback{callUpdate, p}
	if !instead {
		p.Flags = flags(alone)
		sign = callback{callMessage, p}
	}
	if t.likely != fresh {
		return t.c.sign(ctx, t.it, sign, m.ready())
	}
	return t.c.callback(ctx, t.it, sign, m.ready())
}

// forEveryone shows what was announced to her alone. The next message would take
// the place of the announcement and be as hidden, so that gets words of its own
// first, and goes when the other is there.
func (t *turn) forEveryone(ctx context.Context, m message) (id string, err error) {
	if err := t.c.amend(ctx, t.it, original, message{content: escape(t.c.say(bot.KeyWorking))}); err != nil {
		return "", err
	}
	if id, err = t.follow(ctx, m, false); err != nil {
		return "", err
	}
	return id, t.c.unsend(ctx, t.it)
}

// after sends further messages, in order.
func (t *turn) after(ctx context.Context, messages []message, alone bool) (ids []string, err error) {
	for _, m := range messages {
		id, err := t.follow(ctx, m, alone)
		if err != nil {
			return ids, err
		}
		ids = append(ids, id)
	}
	return ids, nil
}

// follow sends a message after the answer, once.
func (t *turn) follow(ctx context.Context, m message, alone bool) (id string, err error) {
	p := m.payload()
	p.Flags = flags(alone)
	var made received
	err = t.c.rest.do(ctx, call{method: http.MethodPost, path: t.it.hook(), bucket: t.it.bucket(), body: p, files: m.ready(), into: &made, free: true})
	return made.ID, err
}

// illustrate puts the pictures to messages of those names, when they are drawn.
func (t *turn) illustrate(ctx context.Context, messages []message, ids []string) {
	t.c.later(ctx, t.from.From.User, t.it.ID, messages, func(ctx context.Context) error {
		return t.c.illustrate(ctx, messages, func(ctx context.Context, n int, i illustration, files []upload) error {
			return t.c.change(ctx, t.it, ids[n], i, files)
		})
	})
}

// silence ends a turn without an answer.
func (t *turn) silence(ctx context.Context) error {
	ctx, cancel := outlast(ctx)
	defer cancel()
	t.still()
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.state == fresh {
		first := callback{Type: callDeferUpdate}
		if !t.onMessage() {
			first = callback{Type: callDeferred, Data: map[string]int{"flags": flagEphemeral}}
			t.state = announced
		}
		if err := t.c.callback(ctx, t.it, first, nil); err != nil {
			return err
		}
	}
	was := t.state
	t.state = answered
	if was == announced {
		return t.c.unsend(ctx, t.it)
	}
	return nil
}

// direct writes to her alone, with a word where she asked. When she takes no
// direct messages the answer is where she asked, seen by her alone.
func (t *turn) direct(ctx context.Context, r bot.Reply) error {
	messages := t.c.furnish(ctx, t.c.render(r, ""), r, reader{user: t.from.From.User})
	err := t.c.sayTo(ctx, t.from.From.User, t.it.ID, messages)
	if send, ok := errors.AsType[*bot.SendError](err); ok && send.Refused {
		return t.show(ctx, r, escape(t.c.say(bot.KeyNotAlone)))
	}
	if err != nil {
		return err
	}
	return t.send(ctx, []message{{content: escape(t.c.say(bot.KeyOnItsWay))}}, true, false)
}

// tell answers with a sentence of the chat's own, for her alone.
func (t *turn) tell(ctx context.Context, said string) {
	if err := t.send(ctx, []message{{content: escape(said)}}, t.apart, false); err != nil {
		t.c.o.Log.Warn("an answer did not arrive", "chat", ChatName, "request", t.it.ID, "err", err)
	}
}

func flags(alone bool) int {
	if alone {
		return flagEphemeral
	}
	return 0
}

// hook is where answers after the first go; bucket is its rate limit's, which
// must not hold the token.
func (it *interaction) hook() string   { return "/webhooks/" + it.AppID + "/" + it.Token }
func (it *interaction) bucket() string { return "interaction " + it.ID }

// callback is the first sign. To repeat it does no harm: Discord takes one and
// refuses the others, so that a refusal for that reason says that it arrived.
func (c *Chat) callback(ctx context.Context, it *interaction, first callback, files []upload) error {
	err := c.sign(ctx, it, first, files)
	if e, ok := errors.AsType[*apiError](err); ok && e.code == codeAnswered {
		return nil
	}
	return err
}

// sign is a callback that tells when there was one before.
func (c *Chat) sign(ctx context.Context, it *interaction, first callback, files []upload) error {
	return c.rest.do(ctx, call{
		method: http.MethodPost, path: "/interactions/" + it.ID + "/" + it.Token + "/callback", bucket: it.bucket(),
		body: first, files: files, again: true, free: true,
	})
}

// amend puts a message in the place of one that is there.
func (c *Chat) amend(ctx context.Context, it *interaction, id string, m message) error {
	return c.change(ctx, it, id, m.payload(), m.ready())
}

// change changes of a message what body names.
func (c *Chat) change(ctx context.Context, it *interaction, id string, body any, files []upload) error {
	return c.rest.do(ctx, call{
		method: http.MethodPatch, path: it.hook() + "/messages/" + id, bucket: it.bucket(), body: body, files: files, again: true, free: true,
	})
}

// unsend takes the first away.
func (c *Chat) unsend(ctx context.Context, it *interaction) error {
	return c.rest.do(ctx, call{method: http.MethodDelete, path: it.hook() + "/messages/" + original, bucket: it.bucket(), again: true, free: true})
}
