package discord

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"

	"weftroom/bot"
)

// Drawing takes a while, and Discord wants a first sign within 3 seconds. So an
// answer's words are sent at once, and its pictures put to them when they are
// drawn; a post, which nobody waits for, is sent whole.

// usualPicture is for how many bytes a picture is taken until it is drawn; those
// of the class have a quarter of that.
const usualPicture = 2 << 20

func (f upload) size() int {
	if f.draw != nil {
		return usualPicture
	}
	return len(f.bytes)
}

// ready are the files that can be sent.
func (m message) ready() []upload {
	var out []upload
	for _, f := range m.files {
		if f.draw == nil {
			out = append(out, f)
		}
	}
	return out
}

// undrawn tells that there are pictures to draw.
func (m message) undrawn() bool { return len(m.ready()) < len(m.files) }

// drawn is a message with its pictures drawn. One that fails is told in words.
func (c *Chat) drawn(m message) message {
	files, total := m.files, 0
	m.files = nil
	for _, f := range files {
		if f.draw != nil {
			raw, err := f.draw()
			if err == nil && total+len(raw) > maxUpload {
				err = errors.New("it is too large")
			}
			if err != nil {
				c.o.Log.Error("a picture could not be drawn", "chat", ChatName, "err", err)
				m.content = inWords(m.content, f.alt)
				continue
			}
			f.bytes, f.draw = raw, nil
		}
		total += len(f.bytes)
		m.files = append(m.files, f)
	}
	return m
}

// voiced draws at once what has nothing else to show.
func (c *Chat) voiced(messages []message) {
	for n, m := range messages {
		if m.content == "" && len(m.ready()) == 0 {
			messages[n] = c.drawn(m)
		}
	}
}

// illustration is what is put to words that stand there. It leaves alone what it
// does not name, since the words may have changed meanwhile.
type illustration struct {
	Content         string       `json:"content,omitempty"` // when a picture must be told in words
	Attachments     []attachment `json:"attachments"`
	AllowedMentions mentions     `json:"allowed_mentions"`
}

// illustrate draws the pictures of messages that are there, and puts them in
// with patch, until ctx ends.
func (c *Chat) illustrate(ctx context.Context, messages []message, patch func(ctx context.Context, n int, i illustration, files []upload) error) error {
	for n, before := range messages {
		if !before.undrawn() {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		m := c.drawn(before)
		i := illustration{Attachments: m.payload().Attachments, AllowedMentions: nobody}
		if m.content != before.content {
			i.Content = m.content
		}
		soon, cancel := context.WithTimeout(ctx, grace)
		err := patch(soon, n, i, m.ready())
		cancel()
		if err != nil {
			return err
		}
	}
	return nil
}

// inWords puts what a picture would have shown below a content, as far as there
// is room.
func inWords(content, alt string) string {
	const gap = "\n\n"
	if content == "" {
		return cut(escape(alt), maxContent)
	}
	if left := maxContent - size(content) - len(gap); left > 20 {
		return content + gap + cut(escape(alt), left)
	}
	return content
}

// draw draws a picture, and survives its panic.
func draw(p bot.Picture) (raw []byte, err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("drawing panicked at %s", debug.Stack())
		}
	}()
	if p.Draw == nil {
		return nil, errors.New("nothing draws it")
	}
	return p.Draw()
}
