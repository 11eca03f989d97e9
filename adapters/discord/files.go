package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"unicode/utf8"

	"weftroom/bot"
)

// fileName keeps of a name what every file system takes, and nothing that leads
// out of a folder or hides the file in it.
func fileName(name string) string {
	const most = 80
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r == utf8.RuneError || r <= ' ' {
			return '-'
		}
		return r
	}, clean(name))
	for len(name) > most {
		_, n := utf8.DecodeRuneInString(name)
		name = name[n:] // the end tells the kind of file
	}
	if name = strings.TrimLeft(name, ".-"); name == "" {
		return "file"
	}
	return name
}

// cdnHosts are where Discord keeps the files of messages. Nothing else is read:
// an address from a message could lead into the operator's own network.
var cdnHosts = []string{"cdn.discordapp.com", "media.discordapp.net"}

// attached are the files that came with a message.
func (c *Chat) attached(list []attachment) []bot.Attached {
	var out []bot.Attached
	for _, a := range list {
		out = append(out, bot.Attached{
			Name: fileName(a.Filename), MediaType: a.ContentType, Size: a.Size,
			Read: func(ctx context.Context, most int64) ([]byte, error) { return c.fetch(ctx, a, most) },
		})
	}
	return out
}

// enclosed is a file that came as the option of a command.
type enclosed struct {
	For  string     `json:"for"` // the option
	File attachment `json:"file"`
}

// enclosedIn are the files among the options of a command. One of which Discord
// says nothing more has not come.
func enclosedIn(data interactionData) []enclosed {
	var out []enclosed
	_, options := leaf(data)
	for _, o := range options {
		if a, ok := data.Resolved.Attachments[o.text()]; ok && o.Type == optionFile {
			out = append(out, enclosed{o.Name, a})
		}
	}
	return out
}

// enclosed are those files as the core reads them.
func (c *Chat) enclosed(list []enclosed) []bot.Attached {
	var out []bot.Attached
	for _, e := range list {
		f := c.attached([]attachment{e.File})[0]
		f.For = e.For
		out = append(out, f)
	}
	return out
}

// fetch reads a file from Discord, refusing more than most bytes before and
// while it reads.
func (c *Chat) fetch(ctx context.Context, a attachment, most int64) ([]byte, error) {
	u, err := url.Parse(a.URL)
	if err != nil || u.Scheme != "https" || !slices.Contains(cdnHosts, u.Host) || u.User != nil {
		return nil, errors.New("the file is not at Discord's own address")
	}
	tooLarge := fmt.Errorf("%w: more than %d bytes", bot.ErrTooMuch, most)
	if a.Size > most {
		return nil, tooLarge
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, a.URL, nil)
	if err != nil {
		return nil, errors.New("the file's address cannot be used")
	}
	resp, err := c.rest.plain.Do(req)
	if err != nil {
		return nil, withoutAddress(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("discord gives %d for the file", resp.StatusCode)
	}
	if resp.ContentLength > most {
		return nil, tooLarge
	}
	raw, err := bot.ReadMost(resp.Body, most)
	if err != nil {
		return nil, withoutAddress(err)
	}
	return raw, nil
}
