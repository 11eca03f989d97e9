package discordtest

import (
	"encoding/json"
	"slices"
	"strings"
	"time"
)

// nonceWindow is for how long a nonce is unique; the documentation says "the
// past few minutes".
const nonceWindow = 5 * time.Minute

type nonce struct {
	m  *message
	at time.Time
}

// message is one message as the server keeps it.
type message struct {
	id      string
	in      *Channel
	author  *User
	only    *User // who alone sees it; nil for everyone
	at      time.Time
	edited  bool
	deleted bool
	loading bool // "thinking…", for an answer that was deferred

	content    string
	embeds     json.RawMessage
	components json.RawMessage
	files      []*File
	flags      int
	nonce      json.RawMessage
	replyTo    string
	alerted    []string

	interaction *Interaction // whose answer it is
	readEmbeds  []Embed
	readParts   []Component
}

// Message is a message as a person sees it.
type Message struct {
	ID         string
	Channel    string
	Author     string // the id of whoever wrote it
	Content    string
	Embeds     []Embed
	Components []Component
	Files      []File
	Ephemeral  bool     // nobody else sees it
	Edited     bool     // it has been changed since it was written
	Alerted    []string // ids of those whom it called, "everyone" for all
	ReplyTo    string   // the id of the message that it answers
	Nonce      string
	At         time.Time
}

// Text is every word that can be read in the message, labels included.
func (m Message) Text() string {
	var t []string
	add := func(s string) {
		if s != "" {
			t = append(t, s)
		}
	}
	add(m.Content)
	for _, e := range m.Embeds {
		if e.Author != nil {
			add(e.Author.Name)
		}
		add(e.Title)
		add(e.Description)
		for _, f := range e.Fields {
			add(f.Name)
			add(f.Value)
		}
		if e.Footer != nil {
			add(e.Footer.Text)
		}
	}
	for _, c := range m.Buttons() {
		add(c.Label)
		add(c.Placeholder)
		for _, o := range c.Options {
			add(o.Label)
			add(o.Description)
		}
	}
	return strings.Join(t, "\n")
}

// Buttons are the buttons and selects of the message, in reading order.
func (m Message) Buttons() []Component {
	var out []Component
	for _, row := range m.Components {
		out = append(out, row.Components...)
	}
	return out
}

func (m *message) seen() Message {
	out := Message{
		ID: m.id, Channel: m.in.ID, Author: m.author.ID, Content: m.content, Embeds: m.readEmbeds, Components: m.readParts,
		Ephemeral: m.only != nil, Edited: m.edited, Alerted: m.alerted, ReplyTo: m.replyTo,
		Nonce: strings.Trim(string(m.nonce), `"`), At: m.at,
	}
	for _, f := range m.files {
		out.Files = append(out.Files, *f)
	}
	return out
}

// object is the message as the interface shows it. The nonce comes with what is
// new and is not kept: it is in no history (seen by others, discord.py issue
// 2451).
func (m *message) object(fresh bool) object {
	files := []object{}
	for _, f := range m.files {
		files = append(files, f.object())
	}
	mentioned := []object{}
	for _, id := range m.alerted {
		if u := m.in.srv.users[id]; u != nil {
			mentioned = append(mentioned, u.object())
		}
	}
	o := object{
		"id": m.id, "channel_id": m.in.ID, "author": m.author.object(), "content": m.content, "timestamp": stamp(m.at),
		"edited_timestamp": nil, "tts": false, "mention_everyone": slices.Contains(m.alerted, "everyone"),
		"mentions": mentioned, "mention_roles": []string{}, "attachments": files, "embeds": raw(m.embeds), "components": raw(m.components),
		"pinned": false, "type": 0, "flags": m.flags,
	}
	if m.edited {
		o["edited_timestamp"] = stamp(m.in.srv.now())
	}
	if m.loading {
		o["flags"] = m.flags | 1<<7
	}
	if fresh && m.nonce != nil {
		o["nonce"] = m.nonce
	}
	if i := m.interaction; i != nil {
		o["type"] = 20
		if i.kind == kindComponent || i.kind == kindModal {
			o["type"] = 19
		}
		o["webhook_id"], o["application_id"] = m.in.srv.AppID, m.in.srv.AppID
		o["interaction_metadata"] = object{
			"id": i.ID, "type": i.kind, "user": i.user.object(), "authorizing_integration_owners": i.owners(),
		}
	}
	return o
}

func raw(r json.RawMessage) json.RawMessage {
	if len(r) == 0 || string(r) == "null" {
		return json.RawMessage("[]")
	}
	return r
}

// fill puts what a bot sent into the message: all of it for a new one, what was
// named for an edit.
func (m *message) fill(p *payload, b *body) error {
	files, err := m.in.srv.attach(m.in.ID, m.only != nil, m.files, p.Attachments, b)
	if err != nil {
		return err
	}
	content, embeds, components := m.content, m.readEmbeds, m.readParts
	if p.Content != nil {
		content = *p.Content
	}
	if p.Embeds != nil {
		embeds = p.embeds
	}
	if p.Components != nil {
		components = p.components
	}
	if strings.TrimSpace(content) == "" && len(embeds) == 0 && len(files) == 0 && len(components) == 0 {
		return errEmpty
	}
	m.content, m.readEmbeds, m.readParts, m.files = content, embeds, components, files
	if p.Embeds != nil {
		m.embeds = *p.Embeds
	}
	if p.Components != nil {
		m.components = *p.Components
	}
	m.flags |= p.Flags
	m.alerted = called(content, p.AllowedMentions)
	return nil
}

// called lists whom a text calls, as far as it is allowed to. Without
// allowed_mentions it calls everyone that it names.
func called(text string, a *allowed) []string {
	if !strings.Contains(text, "@") { // most texts call nobody, and are long
		return nil
	}
	var out []string
	for _, at := range mentions.FindAllStringSubmatch(text, -1) {
		switch {
		case at[1] != "" && (a == nil || slices.Contains(a.Parse, "users") || slices.Contains(a.Users, at[1])):
			out = append(out, at[1])
		case at[2] != "" && (a == nil || slices.Contains(a.Parse, "roles") || slices.Contains(a.Roles, at[2])):
			out = append(out, at[2])
		case at[1] == "" && at[2] == "" && (a == nil || slices.Contains(a.Parse, "everyone")):
			out = append(out, "everyone")
		}
	}
	return out
}

// add shows a new message. The caller holds mu.
func (c *Channel) add(m *message) {
	c.messages = append(c.messages, m)
	if k := c.srv.opts.Keep; k > 0 && len(c.messages) > 2*k {
		for _, old := range c.messages[:len(c.messages)-k] {
			for _, f := range old.files {
				delete(c.srv.files, f.ID)
			}
		}
		c.messages = slices.Clone(c.messages[len(c.messages)-k:])
	}
	c.show(m)
	c.tell("MESSAGE_CREATE", m)
}

// change shows a message anew.
func (c *Channel) change(m *message) {
	c.show(m)
	c.tell("MESSAGE_UPDATE", m)
}

// tell dispatches a message to the bot. It has content only where an application
// without the privileged intent sees it: in direct messages, where it is called,
// and in its own ("Gateway: Message Content Intent").
func (c *Channel) tell(typ string, m *message) {
	if m.only != nil {
		c.srv.touch()
		return
	}
	o := m.object(true)
	bot := c.srv.users[c.srv.AppID]
	if c.direct == nil && m.author != bot && !slices.Contains(m.alerted, bot.ID) {
		o["content"], o["embeds"], o["attachments"], o["components"] = "", []object{}, []object{}, []object{}
	}
	if c.direct != nil {
		c.srv.dispatch(typ, o, intentDirectMessages, "")
		return
	}
	o["guild_id"] = c.guild.ID
	if !m.author.bot {
		member := c.guild.member(m.author)
		delete(member, "user")
		o["member"] = member
	}
	if !c.guild.absent {
		c.srv.dispatch(typ, o, intentGuildMessages, c.guild.ID)
	}
	c.srv.touch()
}
