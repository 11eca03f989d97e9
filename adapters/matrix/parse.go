package matrix

import (
	"context"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// inCharge is the power level from which on someone runs a room: the one that
// rooms ask for by default before they let anyone change their state (Matrix
// specification, Client-Server API, "m.room.power_levels").
const inCharge = 50

// parser makes requests of what people write.
type parser struct {
	me       id.UserID
	prefix   string // what begins a command in a room
	open     bool   // power in a room counts
	commands []*bot.Command
	asked    func(message id.EventID, user id.UserID) bool // a message of ours that asked this person something; may block
	read     func(a attached) func(ctx context.Context, most int64) ([]byte, error)
}

// read is the request that an event makes, if any. It may block on storage.
func (c *Chat) read(ctx context.Context, in incoming) (bot.Request, bool) {
	switch in.Event.Type.Type {
	case event.EventMessage.Type:
		p := c.parser()
		p.asked = func(message id.EventID, user id.UserID) bool { return c.hasAsked(ctx, message, user) }
		return p.request(in)
	case event.EventReaction.Type:
		return c.pressed(ctx, in)
	}
	return bot.Request{}, false
}

func (c *Chat) parser() parser {
	return parser{
		me: c.user, prefix: c.settings.Prefix, open: c.settings.Open == "yes", commands: c.options.Commands,
		read: c.download,
	}
}

// begin is how a command line is written in a room or a direct message.
func (c *Chat) begin(direct bool, line string) string {
	if direct {
		return line
	}
	return c.settings.Prefix + line
}

// request reads a message. Left alone are: notices, which programs send and must
// not answer, or two of them would never end; other kinds that are no words, such
// as what somebody does ("/me"); and the correction of an earlier message, since
// that one has been answered, and what it changed would be changed again.
func (p parser) request(in incoming) (bot.Request, bool) {
	m := readSaid(in.Event.Content.Raw)
	if m.corrects || m.kind != event.MsgText && m.file == nil {
		return bot.Request{}, false
	}
	r := p.from(in)
	if m.file != nil {
		r.Attached = p.attached(*m.file)
	}
	if m.command != "" {
		r.Command, r.Values = m.command, m.values
		return r, p.meant(in, m)
	}
	line, ok := p.addressed(in, m)
	r.Line = line
	return r, ok
}

// from is what is known of a request before its words are.
func (p parser) from(in incoming) bot.Request {
	r := bot.Request{
		ID:     string(in.Event.ID),
		From:   bot.Account{Chat: Name, User: string(in.Event.Sender)},
		In:     bot.Place{Chat: Name, Room: string(in.Room.ID)},
		Direct: in.Room.Direct,
		Power:  p.open && in.Power >= inCharge,
		Name:   in.Name,

		Enclosing: bot.KeyFileCaption, Several: bot.KeyLinesBlock,
	}
	if in.Event.Timestamp > 0 {
		r.At = time.UnixMilli(in.Event.Timestamp)
	}
	return r
}

// meant tells whether a structured command is for us: in a room, its sender's
// program calls nobody else (MSC4391).
func (p parser) meant(in incoming, m said) bool {
	if len(m.mentions) == 0 {
		return in.Room.Direct
	}
	return len(m.mentions) == 1 && m.mentions[0] == p.me
}

// addressed is the command line in a message, and whether it is meant for us. In
// a room that takes the prefix, our name at the beginning, or an answer to the
// message in which we asked this person something.
func (p parser) addressed(in incoming, m said) (line string, ok bool) {
	text := unticked(strings.TrimSpace(m.words()))
	rest, called := p.afterName(text, in.Ours, m)
	after, begun := p.afterPrefix(rest)
	switch {
	case begun:
		rest = after
	case called, in.Room.Direct:
	case m.replyTo != "" && p.asked != nil && p.asked(m.replyTo, in.Event.Sender):
	default:
		return "", false
	}
	return p.withBlock(strings.TrimSpace(rest), m), true
}

// afterPrefix is what stands behind the prefix. An exclamation such as "!!" is no
// command.
func (p parser) afterPrefix(text string) (rest string, ok bool) {
	rest, ok = strings.CutPrefix(text, p.prefix)
	rest = strings.TrimSpace(rest)
	first, _ := utf8.DecodeRuneInString(rest)
	if !ok || p.prefix == "" || !unicode.IsLetter(first) && !unicode.IsNumber(first) && !strings.ContainsRune("\"'“„‘`", first) {
		return text, false
	}
	return rest, true
}

// afterName is what stands behind our name at the beginning of a text: the whole
// name with a colon or a comma, as people type it, or any form of it where the
// message says that it calls us.
func (p parser) afterName(text, ours string, m said) (rest string, ok bool) {
	names := []string{ours, string(p.me), "@" + p.me.Localpart(), p.me.Localpart()}
	called := m.calls(p.me)
	if pill := pillFor(m.html, p.me); pill != "" {
		called = true
		names = append([]string{"[" + pill + "](" + p.me.URI().MatrixToURL() + ")", pill}, names...)
	}
	for _, name := range names {
		rest, begins := cutFold(text, strings.TrimSpace(name))
		if !begins {
			continue
		}
		next, size := utf8.DecodeRuneInString(rest)
		switch {
		case strings.ContainsRune(":,：，", next):
			return strings.TrimSpace(rest[size:]), true
		case called && (rest == "" || unicode.IsSpace(next)):
			return strings.TrimSpace(rest), true
		}
	}
	return text, false
}

// cutFold cuts a beginning off, whatever its capitals.
func cutFold(s, begin string) (rest string, ok bool) {
	if begin == "" || len(s) < len(begin) || !strings.EqualFold(s[:len(begin)], begin) {
		return s, false
	}
	return s[len(begin):], true
}

// unticked takes the marks of code off a line that was copied with them.
func unticked(s string) string {
	if strings.HasPrefix(s, "`") && !strings.HasPrefix(s, fence) && strings.Count(s, "`") <= 2 {
		s = strings.TrimSpace(strings.Replace(s[1:], "`", "", 1))
	}
	return s
}
