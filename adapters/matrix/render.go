package matrix

import (
	"encoding/json"
	"errors"
	"strings"
	"unicode/utf8"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// Bounds of one message. An event may hold 65,536 bytes (Matrix specification,
// Client-Server API, "Size limits"); encrypted words take a third more than they
// are, and what stands around them takes the rest.
const (
	maxContent  = 46_000 // bytes of both bodies, as they stand in JSON
	labelMargin = 300    // of these for the label of a part
)

// renderer turns a Reply into messages for one place.
type renderer struct {
	texts    bot.Texts
	commands []*bot.Command
	begins   string // what begins a command here; "" in a direct message
	most     int    // bytes of one message; 0 for maxContent
}

// renderer is the one for a room or a direct message.
func (c *Chat) renderer(direct bool) renderer {
	return renderer{texts: c.options.Texts, commands: c.options.Commands, begins: c.begin(direct, "")}
}

// parts are the messages that show a reply: words first, in as many parts as it
// takes, then pictures, then files. A reply with nothing in it has no parts.
//
// Matrix has no markup for an instant that is shown by each reader's own clock
// ("time" is not among the permitted tags), so that Moments stay as their words
// say them.
func (r renderer) parts(reply bot.Reply) []part {
	if reply.None() {
		return nil
	}
	if reply.Problem != nil {
		return []part{r.problem(*reply.Problem)}
	}
	body, drawn := pictures(reply.Body)
	buttons := r.buttons(reply.Buttons)
	if len(buttons) > 0 {
		body = append(body, r.offer(reply.Buttons))
	}
	var out []part
	for _, c := range split(reply.Title, body, r.room()) {
		out = append(out, c.part())
	}
	r.label(out)
	if len(out) > 0 {
		out[0].Notice = r.aside(reply)
		out[len(out)-1].Buttons = buttons
	}
	out = append(out, drawn...)
	for _, f := range reply.Files {
		sent := newFile(f)
		out = append(out, part{Body: sent.Alt, File: sent})
	}
	return out
}

// edited is the one message that shows a reply in place of another: pictures are
// said in words, and what is too long ends in a sentence that says so.
func (r renderer) edited(reply bot.Reply) part {
	if reply.Problem != nil {
		return r.problem(*reply.Problem)
	}
	body := reply.Body
	buttons := r.buttons(reply.Buttons)
	if len(buttons) > 0 {
		body = append(body[:len(body):len(body)], r.offer(reply.Buttons))
	}
	chunks := split(reply.Title, body, r.room())
	if len(chunks) == 0 {
		return part{}
	}
	if len(chunks) > 1 {
		chunks[0].blocks = append(chunks[0].blocks, bot.Paragraph(r.texts.Say(measure.Unset, bot.KeyCut)))
		buttons = nil // their list has been cut off
	}
	p := chunks[0].part()
	p.Buttons = buttons
	return p
}

// room is what one part may hold beside its label.
func (r renderer) room() int {
	if r.most > 0 {
		return r.most
	}
	return maxContent - labelMargin
}

// problem is the sentence of a mistake. Where a command needs a sign before it,
// the example has it too.
func (r renderer) problem(p bot.Problem) part {
	if r.named(p.Hint) != nil {
		p.Hint = r.begins + p.Hint
	}
	sentence := p.Sentence()
	return part{Body: trimmed(sentence), HTML: marked(inline(sentence)), Notice: true}
}

// aside tells what is written as a notice: a mistake, and the short answer to a
// command that changed something. Programs draw notices back and do not ring for
// them, and other bots leave them alone, so that none can be drawn into answering
// ours. What is meant to be read again is never one, nor is any post.
func (r renderer) aside(reply bot.Reply) bool {
	const short = 300
	if len(reply.Body) > 1 || len(reply.Files) > 0 || len(reply.Buttons) > 0 || reply.Ask != nil || reply.Audience == bot.Room {
		return false
	}
	said := utf8.RuneCountInString(reply.Title)
	for _, b := range reply.Body {
		p, ok := b.(bot.Paragraph)
		if !ok {
			return false
		}
		said += utf8.RuneCountInString(string(p))
	}
	c := r.named(reply.Command)
	return c != nil && c.Changes && said <= short
}

// notice is a sentence of the adapter's own.
func (r renderer) notice(key calc.Key) part {
	said := r.texts.Say(measure.Unset, key)
	return part{Body: said, HTML: marked(inline(said)), Notice: true}
}

// named is the command with which a line begins, nil when there is none.
func (r renderer) named(line string) *bot.Command {
	return find(r.commands, strings.Fields(strings.ToLower(line)))
}

// label numbers the parts, where there are several.
func (r renderer) label(parts []part) {
	if len(parts) < 2 {
		return
	}
	for i := range parts {
		label := r.texts.Say(measure.Unset, bot.KeyPart, i+1, len(parts))
		parts[i].Body += "\n\n(" + label + ")"
		parts[i].HTML = paragraphed(parts[i]) + "\n<p>(" + inline(label) + ")</p>"
	}
}

// pictures takes the pictures out of a body. They are drawn when the words have
// been sent, so that nobody waits for them to read.
func pictures(body []bot.Block) (words []bot.Block, drawn []part) {
	for _, b := range body {
		p, ok := b.(bot.Picture)
		if !ok {
			words = append(words, b)
			continue
		}
		drawn = append(drawn, part{Body: caption(p.Alt), Draw: func() (*file, error) { return drawing(p) }})
	}
	return words, drawn
}

// drawing draws one picture; a panic in it costs the picture and nothing else.
func drawing(p bot.Picture) (f *file, err error) {
	defer func() {
		if recover() != nil {
			f, err = nil, errors.New("drawing panicked")
		}
	}()
	return newPicture(p)
}

// drawn is the file of a part, drawn now if it is to be drawn. One that cannot be
// drawn is said in words.
func (c *Chat) drawn(p *part) *file {
	if p.Draw == nil {
		return p.File
	}
	f, err := p.Draw()
	if err != nil {
		c.options.Log.Error("a picture could not be drawn", "err", err)
		p.Body = "[" + p.Body + "]"
		return nil
	}
	return f
}

// inJSON is how many bytes a text takes in an event as it is sent.
func inJSON(s string) int {
	raw, _ := json.Marshal(s) // a string always can be
	return len(raw)
}
