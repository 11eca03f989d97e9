package discord

import (
	"strconv"
	"strings"

	"weftroom/bot"
)

// mostMessages is how many messages a Reply becomes before it is folded into
// one and a file: somebody who reads on a phone, beside her loom, scrolls four
// screens, but no forty; and an app that is installed for one user alone may
// send no more than five after its first answer.
const mostMessages = 4

// message is one message, before it is known where it goes.
type message struct {
	content    string
	files      []upload
	components []component
}

// render writes a reply as messages, its pictures not drawn yet. It uses plain
// content and no embeds: those are narrower on a phone, small, and not shown at
// all to whoever has turned previews off. Steps are never cut in two; a message
// ends between them.
//
// before is put at the head of the first, and must be escaped.
func (c *Chat) render(r bot.Reply, before string) []message {
	w := wordsOf(r)
	p := packer{chat: c, room: maxContent - 80}
	p.unit(before, "")
	if r.Problem != nil {
		p.lines(problem(w, r.Problem), "\n")
		return p.end()
	}
	p.title(w, r)
	for _, block := range r.Body {
		p.block(w, block)
	}
	for _, f := range r.Files {
		p.file(upload{name: f.Name, media: f.MediaType, alt: f.Alt, bytes: f.Bytes})
	}
	messages := p.end()
	if p.texts > mostMessages {
		messages = c.fold(r, p)
	}
	c.number(messages)
	return messages
}

// problem is a problem's sentence, its example in type of even width.
func problem(w words, p *bot.Problem) []string {
	const here = "\ue000" // of private use: no sentence has it
	whole := bot.Problem{Message: p.Message}
	if p.Hint != "" {
		whole.Hint = here
	}
	before, after, found := strings.Cut(whole.Sentence(), "`"+here+"`")
	if !found {
		return w.chunks(whole.Sentence(), maxContent-200)
	}
	hint := code(cut(oneLine(p.Hint), maxContent/2))
	out := w.chunks(before, maxContent-200-size(hint))
	if len(out) == 0 {
		return []string{hint}
	}
	out[len(out)-1] += " " + hint + escape(after)
	return out
}

// packer fills messages with texts and files, in order.
type packer struct {
	chat  *Chat
	room  int // for the text of one message
	done  []message
	now   message
	text  []byte // of now, until it is done
	used  int    // size of text
	texts int    // messages with text in them
	gap   string
}

// title is a heading when something follows, and else the whole answer.
func (p *packer) title(w words, r bot.Reply) {
	title := w.chunks(oneLine(r.Title), p.room-10)
	if len(title) == 0 {
		return
	}
	if len(r.Body) > 0 && len(title) == 1 {
		title[0] = "### " + title[0]
	}
	p.lines(title, "\n")
	p.gap = "\n"
}

func (p *packer) block(w words, block bot.Block) {
	gap := "\n\n"
	if p.gap != "" {
		gap, p.gap = p.gap, ""
	}
	switch block := block.(type) {
	case bot.Paragraph:
		p.units(w.chunksAfter(string(block), p.left(), p.room), gap, "\n")
	case bot.Heading:
		var parts []string
		for _, part := range w.chunks(oneLine(string(block)), p.room-10) {
			parts = append(parts, bold(part))
		}
		p.units(parts, "\n\n", "\n")
		p.gap = "\n"
	case bot.List:
		var items []string
		for _, item := range block {
			for i, part := range w.chunks(oneLine(item), p.room-10) {
				items = append(items, []string{"- ", "  "}[min(i, 1)]+part)
			}
		}
		p.units(items, gap, "\n")
	case bot.Table:
		p.units(w.tableUnits(block), gap, "\n")
	case bot.Steps:
		var steps []string
		for _, s := range block {
			steps = append(steps, w.step(s, p.room)...)
		}
		p.units(steps, gap, "\n")
	case bot.Picture:
		p.picture(block)
	}
}

// left is how long a text may be to go into this message, or, when it is nearly
// full, into the next.
func (p *packer) left() int {
	if left := p.room - p.used - 2; left > p.room/4 {
		return left
	}
	return p.room
}

// step is one instruction: its number, what to do, and the short form for a
// glance from the loom.
func (w words) step(s bot.Step, room int) []string {
	label, short := bold(escape(cut(oneLine(s.Label), 100))), code(cut(oneLine(s.Short), maxContent/2))
	parts := w.chunks(oneLine(s.Text), room-size(label)-2)
	if len(parts) == 0 {
		parts = []string{""}
	}
	if label != "" {
		parts[0] = label + " " + parts[0]
	}
	last := &parts[len(parts)-1]
	switch {
	case short == "":
	case size(*last)+size(short)+1 <= room:
		*last += " " + short
	default:
		parts = append(parts, short)
	}
	return parts
}

// units puts texts one below the other, the first after gap.
func (p *packer) units(texts []string, gap, between string) {
	for _, t := range texts {
		p.unit(t, gap)
		gap = between
	}
}

func (p *packer) lines(texts []string, gap string) { p.units(texts, gap, "\n") }

// unit puts one text, which is never cut, into this message or the next. Texts
// of reply are made to fit; anything longer would be ours to blame.
func (p *packer) unit(text, gap string) {
	if strings.TrimSpace(text) == "" {
		return
	}
	n := size(text)
	if p.used > 0 && p.used+len(gap)+n > p.room {
		p.next()
	}
	if p.used == 0 {
		gap = ""
		p.texts++
	}
	p.add(gap, len(gap))
	p.add(text, n)
}

func (p *packer) add(text string, size int) {
	p.text = append(p.text, text...)
	p.used += size
}

func (p *packer) next() {
	p.now.content = string(p.text)
	p.done = append(p.done, p.now)
	p.now, p.text, p.used = message{}, p.text[:0], 0
}

func (p *packer) picture(pic bot.Picture) {
	name := pic.Name
	if !strings.HasSuffix(strings.ToLower(name), ".png") {
		name += ".png"
	}
	p.file(upload{name: name, media: "image/png", alt: pic.Alt, draw: func() ([]byte, error) { return draw(pic) }})
}

// file attaches a file to this message or, when there is no room, to another.
func (p *packer) file(f upload) {
	f.name, f.alt = fileName(f.name), cut(oneLine(f.alt), maxAlt)
	if f.size() > maxUpload {
		p.chat.o.Log.Error("a file is too large for discord", "chat", ChatName, "bytes", len(f.bytes))
		p.unit(escape(p.chat.say(bot.KeyCut)), "\n\n")
		return
	}
	total := f.size()
	for _, other := range p.now.files {
		total += other.size()
	}
	if len(p.now.files) == maxFiles || total > maxUpload {
		p.next()
	}
	p.now.files = append(p.now.files, f)
}

// end gives the messages, none when there is nothing to show.
func (p *packer) end() []message {
	if p.used > 0 || len(p.now.files) > 0 {
		p.next()
	}
	return p.done
}

// fold keeps the first message of a very long reply, with all files, and puts
// the whole of it into a text file.
func (c *Chat) fold(r bot.Reply, long packer) []message {
	p := packer{chat: c, room: maxContent}
	p.unit(long.done[0].content, "")
	whole := "\n\n" + escape(c.say(bot.KeyWhole))
	p.add(whole, size(whole))
	p.file(upload{name: "answer.txt", media: "text/plain; charset=utf-8", alt: c.say(bot.KeyWhole), bytes: []byte(bot.Plain(r))})
	for _, m := range long.done {
		for _, f := range m.files {
			p.file(f)
		}
	}
	return p.end()
}

// number says under each of several messages which part it is.
func (c *Chat) number(messages []message) {
	for i := range messages {
		if len(messages) > 1 && messages[i].content != "" {
			messages[i].content += "\n-# " + escape(cut(c.say(bot.KeyPart, i+1, len(messages)), 70))
		}
	}
}

// payload is a message as it is sent, without what is not drawn yet.
func (m message) payload() payload {
	p := payload{Content: m.content, Components: m.components, Attachments: []attachment{}, AllowedMentions: nobody}
	if p.Components == nil {
		p.Components = []component{}
	}
	for i, f := range m.ready() {
		p.Attachments = append(p.Attachments, attachment{ID: strconv.Itoa(i), Filename: f.name, Description: f.alt})
	}
	return p
}
