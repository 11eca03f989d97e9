package discordtest

import (
	"context"
	"fmt"
	"slices"
)

// seen is one appearance of a message: when it was new, or after it changed.
type seen struct {
	m    Message
	only *User
}

func (c *Channel) show(m *message) {
	if m.loading {
		return // "thinking…" has no words
	}
	c.seen = append(c.seen, seen{m.seen(), m.only})
	if k := c.srv.opts.Keep; k > 0 && len(c.seen) > 2*k {
		c.dropped += len(c.seen) - k
		c.seen = slices.Clone(c.seen[len(c.seen)-k:])
	}
}

// View is what a person sees of a channel, in the order in which it appears.
type View struct {
	of  *User
	in  *Channel
	pos int
}

// View begins to look at a channel, with what appears from now on.
func (u *User) View(c *Channel) *View {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	return &View{of: u, in: c, pos: c.dropped + len(c.seen)}
}

// Next waits for the next message that appears or changes, those of the person
// herself left out.
func (v *View) Next(ctx context.Context) (Message, error) {
	var out Message
	err := v.of.srv.await(ctx, func() bool {
		for v.pos = max(v.pos, v.in.dropped); v.pos < v.in.dropped+len(v.in.seen); {
			s := v.in.seen[v.pos-v.in.dropped]
			v.pos++
			if s.m.Author != v.of.ID && (s.only == nil || s.only == v.of) && v.in.sees(v.of) {
				out = s.m
				return true
			}
		}
		return false
	})
	if err != nil {
		return out, fmt.Errorf("%s sees nothing more: %w", v.of.Name, err)
	}
	return out, nil
}

// Messages are the messages that stand in the channel for u now, oldest first.
func (u *User) Messages(c *Channel) []Message {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	if !c.sees(u) {
		return nil
	}
	var out []Message
	for _, m := range c.messages {
		if !m.deleted && !m.loading && (m.only == nil || m.only == u) {
			out = append(out, m.seen())
		}
	}
	return out
}

// All are the messages of a channel that everyone sees, whoever may look.
func (c *Channel) All() []Message {
	c.srv.mu.Lock()
	defer c.srv.mu.Unlock()
	var out []Message
	for _, m := range c.messages {
		if !m.deleted && !m.loading && m.only == nil {
			out = append(out, m.seen())
		}
	}
	return out
}

// Write has u write in the channel. In a guild the bot reads it only when it is
// called by Server.Mention.
func (u *User) Write(c *Channel, text string, files ...File) Message {
	s := u.srv
	s.mu.Lock()
	defer s.mu.Unlock()
	m := &message{id: s.newID(), in: c, author: u, at: s.now(), content: text, alerted: called(text, nil)}
	for _, f := range files {
		m.files = append(m.files, s.keepFile(f, c.ID, false))
	}
	c.add(m)
	return m.seen()
}

// Mention is the sign in a message that calls the bot.
func (s *Server) Mention() string { return "<@" + s.AppID + ">" }

func (s *Server) keepFile(f File, channel string, private bool) *File {
	kept := f
	kept.ID, kept.channel, kept.private = s.newID(), channel, private
	kept.URL = s.fileURL(&kept)
	s.files[kept.ID] = &kept
	return &kept
}

// object of a message in a list of what is resolved.
func (f *File) resolved() object {
	o := f.object()
	o["ephemeral"] = true
	return o
}
