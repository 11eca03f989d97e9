package discord

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"weftroom/bot"
)

// who is the person of an interaction: a member in a server, a user elsewhere.
func (it *interaction) who() *user {
	if it.Member != nil && it.Member.User != nil {
		return it.Member.User
	}
	return it.User
}

// direct tells that she is alone with the bot.
func (it *interaction) direct() bool {
	if it.Context != nil {
		return *it.Context == contextDirect
	}
	return it.GuildID == ""
}

// request is what an interaction asks, but for the question itself. Whatever
// the place, Discord can show an answer to her alone.
func (c *Chat) request(it *interaction) bot.Request {
	r := bot.Request{
		ID: it.ID, From: bot.Account{Chat: ChatName, User: it.who().ID}, In: bot.Place{Chat: ChatName, Room: it.ChannelID},
		Direct: it.direct(), Apart: !it.direct(), At: madeAt(it.ID), Name: it.who().name(), Enclosing: bot.KeyFileField, Several: bot.KeyLinesForm,
	}
	if it.Member != nil {
		if it.Member.Nick != "" {
			r.Name = it.Member.Nick
		}
		r.Power = c.open && it.Member.manages() && it.invited()
	}
	return r
}

func (u *user) name() string {
	if u.GlobalName != "" {
		return u.GlobalName
	}
	return u.Username
}

// manages tells that she may run the server or its events. Discord counts in
// what the channel changes.
func (m *member) manages() bool {
	p, err := strconv.ParseUint(m.Permissions, 10, 64)
	return err == nil && p&(manageServer|manageEvents|administrator) != 0
}

// invited tells that the bot is in the server. Where somebody has only installed
// it for herself it answers her, and can post nothing.
func (it *interaction) invited() bool {
	_, byServer := it.Owners["0"]
	return byServer || len(it.Owners) == 0
}

// asked fills in the command and its arguments.
func (c *Chat) asked(r bot.Request, data interactionData) bot.Request {
	path, options := leaf(data)
	r.Attached = c.enclosed(enclosedIn(data))
	if line, ok := c.lineIn(path, options); ok {
		r.Line = line
		for i := range r.Attached { // it is beside the line, which may be for any command
			r.Attached[i].For = ""
		}
		return r
	}
	r.Command, r.Values = path, map[string]string{}
	for _, o := range options {
		if o.Type != optionFile {
			r.Values[o.Name] = o.text()
		}
	}
	return r
}

// lineIn is the line of the command that takes any command as one.
func (c *Chat) lineIn(path string, options []option) (line string, ok bool) {
	i := slices.IndexFunc(options, func(o option) bool { return o.Name == "line" })
	if path != lineCommand || i < 0 || find(c.o.Commands, lineCommand) != nil {
		return "", false
	}
	return options[i].text(), true
}

// leaf is the path of the command that was called, and its options.
func leaf(data interactionData) (path string, options []option) {
	path, options = data.Name, data.Options
	for len(options) == 1 && (options[0].Type == optionSub || options[0].Type == optionGroup) {
		path += " " + options[0].Name
		options = options[0].Options
	}
	return path, options
}

// text is a value as a person would write it.
func (o option) text() string {
	var s string
	if json.Unmarshal(o.Value, &s) == nil {
		return s
	}
	return strings.TrimSpace(string(o.Value))
}

// missingText is the long text that a command needs and was not given, nor
// anything that may be given instead: it is asked for by a form, in which a text
// may have several lines.
func (c *Chat) missingText(r bot.Request, files []enclosed) (asking, bool) {
	d := find(c.o.Commands, r.Command)
	if d == nil || d.path() != r.Command {
		return asking{}, false
	}
	given := func(name string) bool {
		return strings.TrimSpace(r.Values[name]) != "" || slices.ContainsFunc(files, func(f enclosed) bool { return f.For == name })
	}
	for _, p := range d.Params {
		if p.Kind == bot.LongText && (p.Required || len(p.Unless) > 0) && !slices.ContainsFunc(append(slices.Clone(p.Unless), p.Name), given) {
			return asking{Title: cut(oneLine(c.say(d.key())), maxFormTitle), Command: r.Command, Values: r.Values, Files: files, Fields: []string{p.Name}}, true
		}
	}
	return asking{}, false
}

// written is the request of a direct message.
func (c *Chat) written(m *received) bot.Request {
	return bot.Request{
		ID: m.ID, From: bot.Account{Chat: ChatName, User: m.Author.ID}, In: bot.Place{Chat: ChatName, Room: m.ChannelID},
		Direct: true, At: madeAt(m.ID), Name: m.Author.name(), Line: m.Content, Attached: c.attached(m.Attachments),
	}
}
