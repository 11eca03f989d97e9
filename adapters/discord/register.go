package discord

import (
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/calc"
)

// What Discord allows in the declaration of commands.
const (
	maxCommands    = 100
	maxDescription = 100
	maxText        = 6000 // letters in an option
	usualText      = 400  // letters of a value that is no text
	optionSub      = 1
	optionGroup    = 2
	optionText     = 3
	optionInteger  = 4
	optionFile     = 11
)

// lineCommand takes any command as one line, as the examples are written. It is
// left out when a command has that name.
const lineCommand = "ask"

// command is an application command. It works in servers, in direct messages
// and for users who have installed the app for themselves.
type command struct {
	Name         string            `json:"name"`
	NameIn       map[string]string `json:"name_localizations,omitempty"`
	Description  string            `json:"description"`
	DescribedIn  map[string]string `json:"description_localizations,omitempty"`
	Type         int               `json:"type"`
	Options      []parameter       `json:"options,omitempty"`
	Permissions  *string           `json:"default_member_permissions,omitempty"`
	Contexts     []int             `json:"contexts"`
	Integrations []int             `json:"integration_types"`
}

// parameter is an option or a subcommand.
type parameter struct {
	Type         int               `json:"type"`
	Name         string            `json:"name"`
	NameIn       map[string]string `json:"name_localizations,omitempty"`
	Description  string            `json:"description"`
	DescribedIn  map[string]string `json:"description_localizations,omitempty"`
	Required     bool              `json:"required,omitempty"`
	Options      []parameter       `json:"options,omitempty"`
	Choices      []choice          `json:"choices,omitempty"`
	Autocomplete bool              `json:"autocomplete,omitempty"`
	MinValue     *int64            `json:"min_value,omitempty"`
	MaxValue     *int64            `json:"max_value,omitempty"`
	MaxLength    int               `json:"max_length,omitempty"`
}

type choice struct {
	Name  string `json:"name"`
	Value any    `json:"value"`
}

// named is what a command or an argument is called in other languages: what
// their catalogues say under "name." and the rest of key, when Discord takes it.
func (c *Chat) named(key calc.Key) map[string]string {
	_, rest, _ := strings.Cut(string(key), ".")
	return c.elsewhere(func(t bot.Texts) string {
		if name := t[calc.Key("name."+rest)]; nameForm().MatchString(name) && name == strings.ToLower(name) {
			return name
		}
		return ""
	})
}

// explained is what it means, in other languages.
func (c *Chat) explained(key calc.Key) map[string]string {
	return c.elsewhere(func(t bot.Texts) string { return cut(oneLine(t[key]), maxDescription) })
}

func (c *Chat) elsewhere(say func(bot.Texts) string) map[string]string {
	var out map[string]string
	for locale, t := range c.o.Tongues {
		if said := say(t); said != "" {
			if out == nil {
				out = map[string]string{}
			}
			out[locale] = said
		}
	}
	return out
}

// nameForm are the names that Discord takes (documentation, Application Command
// Naming).
var nameForm = pattern(`^[-_'\p{L}\p{N}\p{Devanagari}\p{Thai}]{1,32}$`)

// commands are the application commands of the declarations.
func (c *Chat) commands() []command {
	var out []command
	own := true
	for _, d := range c.o.Commands {
		out = append(out, c.command(declare(nil, d)))
		own = own && d.Name != lineCommand
	}
	if own {
		out = append(out, c.anyCommand())
	}
	return out[:min(len(out), maxCommands)]
}

// anyCommand takes any command as one line, and a file beside it where there is
// a command that takes one.
func (c *Chat) anyCommand() command {
	out := command{
		Name: lineCommand, Type: 1, Description: cut(c.say(bot.KeyLine), maxDescription), Contexts: everywhere, Integrations: anyhow,
		Options: []parameter{{
			Type: optionText, Name: "line", Required: true, MaxLength: bot.MaxLine,
			Description: cut(c.say(bot.KeyLineArg), maxDescription),
		}},
	}
	if enclose(c.o.Commands) {
		out.Options = append(out.Options, parameter{Type: optionFile, Name: "file", Description: cut(c.say(bot.KeyLineFile), maxDescription)})
	}
	return out
}

// enclose tells that one of the commands takes a file.
func enclose(commands []*bot.Command) bool {
	return slices.ContainsFunc(commands, func(c *bot.Command) bool { return c.Encloses() || enclose(c.Subs) })
}

// Servers, direct messages with the bot, other private channels; installed for
// a server, or for a user.
var everywhere, anyhow = []int{0, 1, 2}, []int{0, 1}

func (c *Chat) command(d *declared) command {
	out := command{
		Name: d.Name, NameIn: c.named(d.key()), Type: 1, Contexts: everywhere, Integrations: anyhow,
		Description: c.described(c.say(d.key()), d.Name), DescribedIn: c.explained(d.key()),
		Options: c.parameters(d),
	}
	if least(d.Command) >= bot.Helper { // a server may give it to others, as it likes
		p := strconv.Itoa(manageEvents)
		out.Permissions = &p
	}
	return out
}

// least is the least role that has any use for a command: Discord shows it, or
// does not, with all its subcommands.
func least(c *bot.Command) bot.Role {
	if len(c.Subs) == 0 {
		return c.Who
	}
	role := bot.Teacher
	for _, sub := range c.Subs {
		role = min(role, least(sub))
	}
	return max(role, c.Who)
}

// parameters are the subcommands, or the options with the required ones first.
func (c *Chat) parameters(d *declared) []parameter {
	var out []parameter
	for _, sub := range d.Subs {
		s := declare(d, sub)
		kind := optionSub
		if len(sub.Subs) > 0 {
			kind = optionGroup
		}
		out = append(out, parameter{
			Type: kind, Name: sub.Name, NameIn: c.named(s.key()),
			Description: c.described(c.say(s.key()), sub.Name), DescribedIn: c.explained(s.key()), Options: c.parameters(s),
		})
	}
	for _, p := range d.Shown() {
		out = append(out, c.parameter(d, p))
	}
	slices.SortStableFunc(out, func(a, b parameter) int {
		switch {
		case a.Required == b.Required:
			return 0
		case a.Required:
			return -1
		}
		return 1
	})
	return out[:min(len(out), maxOptions)]
}

// parameter is one argument. A long text that is required is not required here:
// who leaves it out is shown a form with room for several lines.
func (c *Chat) parameter(d *declared, p bot.Param) parameter {
	key := c.argumentKey(d, p.Name)
	out := parameter{
		Type: optionText, Name: p.Name, NameIn: c.named(key), DescribedIn: c.explained(key), Required: p.Required && p.Kind != bot.LongText,
		Description: c.described(c.argument(d, p.Name), p.Name),
	}
	switch {
	case p.Kind == bot.Enclosed:
		out.Type = optionFile
	case p.Kind == bot.Count:
		out.Type = optionInteger
		out.MinValue, out.MaxValue = whole(p.Min), whole(p.Max)
	case p.Kind == bot.Choice && len(p.Choices) <= maxOptions:
		for _, value := range p.Choices {
			out.Choices = append(out.Choices, choice{cut(value, maxOptionLabel), value})
		}
	default:
		out.MaxLength = lengthOf(p)
	}
	out.Autocomplete = len(out.Choices) == 0 && (p.Suggest != nil || p.Kind == bot.Choice)
	return out
}

// whole is a bound of a count, nil for none.
func whole(s string) *int64 {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return nil
	}
	return &n
}

// lengthOf is how many letters an argument may have.
func lengthOf(p bot.Param) int {
	n := whole(p.Max)
	switch {
	case p.Kind != bot.Words && p.Kind != bot.LongText:
		return usualText
	case n == nil || *n < 1:
		return min(bot.MaxLine, maxText)
	}
	return int(min(*n, maxText))
}

// described is a description within bounds, and never empty.
func (c *Chat) described(said, name string) string {
	if said = oneLine(said); said == "" {
		said = name
	}
	return cut(said, maxDescription)
}

// declared is a command that knows what it is part of.
type declared struct {
	*bot.Command
	parent *declared
}

func declare(parent *declared, c *bot.Command) *declared { return &declared{c, parent} }

// path is the whole name: "class open".
func (d *declared) path() string {
	if d.parent == nil {
		return d.Name
	}
	return d.parent.path() + " " + d.Name
}

// key is that of the summary.
func (d *declared) key() calc.Key {
	return calc.Key("cmd." + strings.ReplaceAll(d.path(), " ", "."))
}

// argument says what an argument means.
func (c *Chat) argument(d *declared, name string) string {
	if said, ok := c.o.Texts[c.argumentKey(d, name)]; ok {
		return said
	}
	return name
}

// argumentKey is that of an argument in this command, or in all.
func (c *Chat) argumentKey(d *declared, name string) calc.Key {
	own := calc.Key("arg." + strings.ReplaceAll(d.path(), " ", ".") + "." + name)
	if _, ok := c.o.Texts[own]; ok {
		return own
	}
	return calc.Key("arg." + name)
}

// find is the command that a line begins with, as far as it goes; nil for none.
func find(commands []*bot.Command, line string) *declared {
	var found *declared
	for _, word := range strings.Fields(strings.ToLower(line)) {
		i := slices.IndexFunc(commands, func(c *bot.Command) bool { return c.Name == word || slices.Contains(c.Aliases, word) })
		if i < 0 {
			break
		}
		found = declare(found, commands[i])
		commands = commands[i].Subs
	}
	return found
}

// registered is which commands Discord has from us.
type registered struct {
	App    string `json:"app"`
	Digest string `json:"digest"`
}

// register tells Discord the commands, unless it has them already.
func (c *Chat) register(ctx context.Context, app string) error {
	commands := c.commands()
	raw, err := json.Marshal(commands)
	if err != nil {
		return err
	}
	want := registered{app, digest(string(raw))}
	var have registered
	if _, err := c.notes.read(ctx, "commands", &have); err != nil {
		return err
	}
	if have == want {
		return nil
	}
	err = c.rest.do(ctx, call{method: http.MethodPut, path: "/applications/" + app + "/commands", body: commands, again: true})
	if err != nil {
		return err
	}
	c.o.Log.Info("commands registered", "chat", ChatName, "commands", len(commands))
	return c.notes.write(context.WithoutCancel(ctx), "commands", "", want, time.Time{}) // Discord has them, whether we go on or not
}

// keepRegistering registers until it goes well.
func (c *Chat) keepRegistering(ctx context.Context, app string) {
	for wait := 30 * time.Second; ctx.Err() == nil; wait = min(2*wait, time.Hour) {
		err := c.register(ctx, app)
		if err == nil || ctx.Err() != nil {
			return
		}
		c.o.Log.Error("the commands could not be registered", "chat", ChatName, "err", err, "again in", wait)
		if pause(ctx, wait) != nil {
			return
		}
	}
}
