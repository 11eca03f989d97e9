package discord

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
)

// nonceLasts is for how long Discord surely knows a message by its nonce: "the
// past few minutes" (documentation, Message Resource, enforce_nonce).
const nonceLasts = 2 * time.Minute

// posted is what became of a post. Discord gives a message's nonce to nobody
// who asks later, so before each part is sent its digest is kept: after a crash
// that part is looked for among our own recent messages.
type posted struct {
	Parts   int       `json:"parts"`             // how many messages it has
	IDs     []string  `json:"ids,omitempty"`     // of those that are there
	Pending string    `json:"pending,omitempty"` // digest of the one that was being sent
	Since   time.Time `json:"since,omitzero"`    // when that began
}

func (p posted) whole() bool { return p.Parts > 0 && len(p.IDs) == p.Parts }

func postNote(room, key string) string { return "post " + room + " " + key }

// Post implements bot.Adapter. A post of several messages that was cut off goes
// on where it was cut.
func (c *Chat) Post(ctx context.Context, to bot.Place, key string, r bot.Reply) (id string, err error) {
	if err := known(to); err != nil {
		return "", err
	}
	have, err := c.reconciled(ctx, to.Room, key)
	if err != nil {
		return "", asSendError(err)
	}
	if have.whole() {
		return have.IDs[0], nil
	}
	c.schedule(ctx, to.Room, r.Events)
	messages := c.furnish(ctx, c.render(r, ""), r, reader{})
	if len(messages) == 0 {
		return "", &bot.SendError{Permanent: true, Err: errors.New("discord: the post is empty")}
	}
	have.Parts = len(messages)
	for n := len(have.IDs); n < len(messages); n++ {
		messages[n] = c.drawn(messages[n])
		have.Pending, have.Since = messages[n].digest(), c.o.Now()
		if err := c.keepPost(ctx, to.Room, key, have); err != nil {
			return "", err
		}
		id, err := c.create(ctx, to.Room, part(key, n), messages[n])
		if err != nil {
			return "", asSendError(err)
		}
		have.IDs, have.Pending = append(have.IDs, id), ""
	}
	if err := errors.Join(c.keepPost(ctx, to.Room, key, have), c.keepRest(ctx, have.IDs)); err != nil { // it is there; the nonce is left to tell
		c.o.Log.Error("what became of a post cannot be kept", "chat", ChatName, "err", err)
	}
	return have.IDs[0], nil
}

// known refuses places that cannot be Discord's.
func known(to bot.Place) error {
	if to.Chat != ChatName || !isID(to.Room) {
		return &bot.SendError{Permanent: true, Err: errors.New("discord has no such channel")}
	}
	return nil
}

func (c *Chat) keepPost(ctx context.Context, room, key string, p posted) error {
	return c.notes.write(ctx, postNote(room, key), "", p, c.until(keepPosts))
}

// part is the nonce of the message number n of a post.
func part(key string, n int) string {
	nonce := key
	if n > 0 {
		nonce += "-" + strconv.Itoa(n)
	}
	if nonce == "" || size(nonce) > maxNonce {
		return digest(key, strconv.Itoa(n))
	}
	return nonce
}

// create sends a message. Under the same nonce it is the same message, so it may
// be tried again.
func (c *Chat) create(ctx context.Context, room, nonce string, m message) (id string, err error) {
	p := m.payload()
	p.Nonce, p.EnforceNonce = nonce, true
	var made received
	err = c.rest.do(ctx, call{method: http.MethodPost, path: "/channels/" + room + "/messages", body: p, files: m.ready(), into: &made, again: true})
	if err == nil && !m.undrawn() {
		c.keepFiles(made.ID, m.files, made.Attachments)
	}
	return made.ID, err
}

// sayIn answers a person with messages under keys of one beginning: the words of
// all, then their pictures, when they are drawn.
func (c *Chat) sayIn(ctx context.Context, user, room, key string, messages []message) error {
	c.voiced(messages)
	ids, err := c.sayWords(ctx, room, key, messages)
	if err != nil {
		return asSendError(err)
	}
	c.later(ctx, user, key, messages, func(ctx context.Context) error {
		return c.illustrate(ctx, messages, func(ctx context.Context, n int, i illustration, files []upload) error {
			return c.revise(ctx, room, ids[n], i, files, nil)
		})
	})
	return nil
}

func (c *Chat) sayWords(ctx context.Context, room, key string, messages []message) (ids []string, err error) {
	ctx, cancel := outlast(ctx)
	defer cancel()
	for n, m := range messages {
		id, err := c.create(ctx, room, part(key, n), m)
		if err != nil {
			return nil, err
		}
		ids = append(ids, id)
	}
	return ids, nil
}

// sayTo answers a person alone.
func (c *Chat) sayTo(ctx context.Context, user, key string, messages []message) error {
	place, err := c.Direct(ctx, user)
	if err != nil {
		return err
	}
	return c.sayIn(ctx, user, place.Room, key, messages)
}

// Sent implements bot.Reconciler.
func (c *Chat) Sent(ctx context.Context, to bot.Place, key string) (id string, err error) {
	if err := known(to); err != nil {
		return "", err
	}
	have, err := c.reconciled(ctx, to.Room, key)
	if err != nil || !have.whole() {
		return "", err
	}
	return have.IDs[0], nil
}

// reconciled is what became of a post, after a look for the part of which it is
// not known whether it arrived. While Discord knows the nonce it need not be
// looked for: it is the same message when it is sent again.
func (c *Chat) reconciled(ctx context.Context, room, key string) (posted, error) {
	var have posted
	if _, err := c.notes.read(ctx, postNote(room, key), &have); err != nil {
		return posted{}, err
	}
	if have.Pending == "" || len(have.IDs) >= have.Parts {
		return have, nil
	}
	id, err := c.arrived(ctx, room, have)
	if id == "" || err != nil {
		if c.o.Now().Sub(have.Since) < nonceLasts {
			err = nil
		}
		return have, err
	}
	have.IDs, have.Pending = append(have.IDs, id), ""
	return have, c.keepPost(ctx, room, key, have)
}

// arrived looks for the pending part among the first 100 messages since it was
// begun, however many have come later. Clocks may differ by a minute.
func (c *Chat) arrived(ctx context.Context, room string, p posted) (id string, err error) {
	me := c.self.Load()
	if me == nil {
		id, err := c.me(ctx)
		if err != nil {
			return "", err
		}
		me = &id
	}
	since := p.Since.Add(-time.Minute)
	var recent []received
	err = c.rest.do(ctx, call{
		method: http.MethodGet, path: "/channels/" + room + "/messages?limit=100&after=" + idAt(since), bucket: "look " + room, into: &recent, again: true,
	})
	if err != nil {
		return "", err
	}
	for _, m := range recent {
		mine := m.Author != nil && m.Author.ID == *me
		if mine && !madeAt(m.ID).Before(since) && m.digest() == p.Pending {
			return m.ID, nil
		}
	}
	return "", nil
}

// digest is what a message can be known by once it is there: its words, its
// files' names and what its buttons do.
func (m message) digest() string {
	var parts []string
	for _, f := range m.files {
		parts = append(parts, f.alt)
	}
	for _, row := range m.components {
		for _, b := range row.Components {
			parts = append(parts, b.CustomID)
		}
	}
	return digest(strings.Join(strings.Fields(m.content), " "), strings.Join(parts, "\n"))
}

func (m *received) digest() string {
	same := message{content: m.Content}
	for _, f := range m.Attachments {
		same.files = append(same.files, upload{alt: f.Description})
	}
	_ = json.Unmarshal(m.Components, &same.components) // none, or none of ours
	return same.digest()
}

// Direct implements bot.DirectPoster.
func (c *Chat) Direct(ctx context.Context, user string) (bot.Place, error) {
	if !isID(user) {
		return bot.Place{}, &bot.SendError{Permanent: true, Err: errors.New("discord has no such user")}
	}
	if room, ok := c.directs.get(user); ok {
		return bot.Place{Chat: ChatName, Room: room}, nil
	}
	var made received
	err := c.rest.do(ctx, call{method: http.MethodPost, path: "/users/@me/channels", body: map[string]string{"recipient_id": user}, into: &made, again: true})
	if err != nil {
		return bot.Place{}, asSendError(err)
	}
	c.directs.set(user, made.ID)
	return bot.Place{Chat: ChatName, Room: made.ID}, nil
}
