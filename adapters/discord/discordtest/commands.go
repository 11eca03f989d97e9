package discordtest

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Types of options ("Application Commands").
const (
	optSub        = 1
	optGroup      = 2
	optString     = 3
	optInteger    = 4
	optBoolean    = 5
	optUser       = 6
	optChannel    = 7
	optRole       = 8
	optMention    = 9
	optNumber     = 10
	optAttachment = 11
)

// command is an application command as a bot registers it.
type command struct {
	ID          string            `json:"id"`
	Type        int               `json:"type"`
	Name        string            `json:"name"`
	NameLocal   map[string]string `json:"name_localizations"`
	Description string            `json:"description"`
	DescLocal   map[string]string `json:"description_localizations"`
	Options     []option          `json:"options"`
	Permissions *string           `json:"default_member_permissions"`
	Contexts    *[]int            `json:"contexts"`
	Types       *[]int            `json:"integration_types"`
	NSFW        bool              `json:"nsfw"`

	perms int64
	sent  json.RawMessage // as the bot sent it
}

type option struct {
	Type         int               `json:"type"`
	Name         string            `json:"name"`
	NameLocal    map[string]string `json:"name_localizations"`
	Description  string            `json:"description"`
	DescLocal    map[string]string `json:"description_localizations"`
	Required     bool              `json:"required"`
	Options      []option          `json:"options"`
	Choices      []choice          `json:"choices"`
	Autocomplete bool              `json:"autocomplete"`
	Min          *float64          `json:"min_value"`
	Max          *float64          `json:"max_value"`
	MinLength    *int              `json:"min_length"`
	MaxLength    *int              `json:"max_length"`
}

type choice struct {
	Name      string            `json:"name"`
	NameLocal map[string]string `json:"name_localizations"`
	Value     any               `json:"value"`
}

// putCommands registers all commands at once, in place of what was registered.
func (s *Server) putCommands(r *http.Request, b *body) (answer, error) {
	guild := r.PathValue("guild")
	if err := s.ours(r, guild); err != nil {
		return answer{}, err
	}
	var sent []json.RawMessage
	if err := b.into(&sent); err != nil {
		return answer{}, err
	}
	var all []*command
	for i, one := range sent {
		c := &command{Type: 1, sent: one}
		if err := (&body{raw: one}).into(c); err != nil {
			if no, ok := err.(*refusal); ok && no.where != "" {
				return answer{}, form(fmt.Sprintf("%d.%s", i, no.where), "%s", no.message)
			}
			return answer{}, err
		}
		if err := c.check(strconv.Itoa(i)); err != nil {
			return answer{}, err
		}
		if slices.ContainsFunc(all, func(o *command) bool { return o.Name == c.Name && o.Type == c.Type }) {
			return answer{}, form(fmt.Sprintf("%d.name", i), "Application command names must be unique")
		}
		all = append(all, c)
	}
	if len(all) > 100 {
		return answer{}, &refusal{400, 30032, "Maximum number of application commands reached (100)", ""}
	}
	for _, c := range all {
		c.ID = s.newID()
		for _, old := range s.commands[guild] {
			if old.Name == c.Name {
				c.ID = old.ID // a command of the same name is the same one, changed
			}
		}
	}
	s.commands[guild] = all
	s.puts++
	s.touch()
	return answer{200, s.commandObjects(guild)}, nil
}

func (s *Server) getCommands(r *http.Request, _ *body) (answer, error) {
	guild := r.PathValue("guild")
	if err := s.ours(r, guild); err != nil {
		return answer{}, err
	}
	return answer{200, s.commandObjects(guild)}, nil
}

func (s *Server) ours(r *http.Request, guild string) error {
	if r.PathValue("app") != s.AppID {
		return &refusal{403, 20012, "You are not authorized to perform this action on this application", ""}
	}
	if guild != "" && (s.guilds[guild] == nil || s.guilds[guild].absent) {
		return errNoAccess
	}
	return nil
}

func (s *Server) commandObjects(guild string) []object {
	out := []object{}
	for _, c := range s.commands[guild] {
		o := object{}
		_ = json.Unmarshal(c.sent, &o) // it was read before
		o["id"], o["application_id"], o["version"], o["type"] = c.ID, s.AppID, c.ID, c.Type
		if guild != "" {
			o["guild_id"] = guild
		}
		for _, k := range []string{"name_localizations", "description_localizations", "default_member_permissions"} {
			if _, ok := o[k]; !ok {
				o[k] = nil
			}
		}
		out = append(out, o)
	}
	return out
}

// Registered gives the commands as the bot registered them for everywhere, and
// how often it has registered any.
func (s *Server) Registered() (commands []json.RawMessage, times int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, c := range s.commands[""] {
		commands = append(commands, c.sent)
	}
	return commands, s.puts
}

// AwaitCommands waits until the bot has registered commands.
func (s *Server) AwaitCommands(ctx context.Context) error {
	return s.await(ctx, func() bool { return s.puts > 0 })
}

// commandName is the rule of the documentation for the names of commands and
// options: letters, digits, hyphen, underscore, apostrophe, no capitals.
var commandName = regexp.MustCompile(`^[-_'\p{L}\p{N}\p{Devanagari}\p{Thai}]{1,32}$`)

func checkName(where, name string) error {
	if !commandName.MatchString(name) || strings.ContainsFunc(name, unicode.IsUpper) {
		return form(where+".name", "Command name is invalid: %q", name)
	}
	return nil
}

func checkLocal(where string, names, descriptions map[string]string) error {
	for l, n := range names {
		if err := checkName(where+".name_localizations."+l, n); err != nil {
			return err
		}
	}
	for l, d := range descriptions {
		if err := length(where+".description_localizations."+l, d, 1, 100); err != nil {
			return err
		}
	}
	return nil
}

func (c *command) check(where string) error {
	if c.Type != 1 {
		return form(where+".type", "this server knows commands of type 1 only")
	}
	if err := checkName(where, c.Name); err != nil {
		return err
	}
	if err := length(where+".description", c.Description, 1, 100); err != nil {
		return err
	}
	if err := checkLocal(where, c.NameLocal, c.DescLocal); err != nil {
		return err
	}
	for _, list := range []struct {
		name string
		of   *[]int
		most int
	}{{"contexts", c.Contexts, 2}, {"integration_types", c.Types, 1}} {
		if list.of == nil {
			continue
		}
		if len(*list.of) == 0 {
			return form(where+"."+list.name, "Must be 1 or more in length.")
		}
		for i, v := range *list.of {
			if v < 0 || v > list.most || slices.Contains((*list.of)[:i], v) {
				return form(where+"."+list.name, "each from 0 to %d, and once", list.most)
			}
		}
	}
	if c.Permissions != nil {
		p, err := strconv.ParseInt(*c.Permissions, 10, 64)
		if err != nil {
			return form(where+".default_member_permissions", "Value %q is not int.", *c.Permissions)
		}
		c.perms = p
	}
	if err := checkOptions(where, c.Options, 0); err != nil {
		return err
	}
	if n := c.size(); n > 8000 {
		return form(where, "Command exceeds maximum size (8000): %d", n)
	}
	return nil
}

// size is what counts towards the 8,000 characters of one command: names,
// descriptions and values, each in its longest translation.
func (c *command) size() int {
	return longest(c.Name, c.NameLocal) + longest(c.Description, c.DescLocal) + sizeOf(c.Options)
}

func sizeOf(options []option) int {
	n := 0
	for _, o := range options {
		n += longest(o.Name, o.NameLocal) + longest(o.Description, o.DescLocal) + sizeOf(o.Options)
		for _, ch := range o.Choices {
			n += longest(ch.Name, ch.NameLocal) + units(fmt.Sprint(ch.Value))
		}
	}
	return n
}

func longest(s string, others map[string]string) int {
	n := units(s)
	for _, o := range others {
		n = max(n, units(o))
	}
	return n
}

// checkOptions checks the options of a command, or at depth 1 and 2 those of a
// subcommand or group.
func checkOptions(where string, options []option, depth int) error {
	if len(options) > 25 {
		return form(where+".options", "Must be 25 or fewer in length.")
	}
	names := map[string]bool{}
	optional, subs := false, 0
	for i, o := range options {
		at := fmt.Sprintf("%s.options.%d", where, i)
		if err := checkName(at, o.Name); err != nil {
			return err
		}
		if names[o.Name] {
			return form(at+".name", "Option name is already used")
		}
		names[o.Name] = true
		if err := length(at+".description", o.Description, 1, 100); err != nil {
			return err
		}
		if err := checkLocal(at, o.NameLocal, o.DescLocal); err != nil {
			return err
		}
		if o.Type == optSub || o.Type == optGroup {
			subs++
			if depth > 1 || depth == 1 && o.Type == optGroup {
				return form(at+".type", "subcommands cannot be nested so")
			}
			next := depth + 1
			if o.Type == optSub {
				next = 2
			}
			if err := checkOptions(at, o.Options, next); err != nil {
				return err
			}
			continue
		}
		if o.Required && optional {
			return form(at+".required", "Required options must be placed before non-required options")
		}
		optional = optional || !o.Required
		if err := checkOption(at, o); err != nil {
			return err
		}
	}
	if subs > 0 && subs != len(options) {
		return form(where+".options", "a command has subcommands or options, not both")
	}
	return nil
}

func checkOption(at string, o option) error {
	number := o.Type == optInteger || o.Type == optNumber
	switch {
	case o.Type < optString || o.Type > optAttachment:
		return form(at+".type", "Value must be from 1 to 11.")
	case len(o.Options) > 0:
		return form(at+".options", "only subcommands have options")
	case o.Autocomplete && len(o.Choices) > 0:
		return form(at+".autocomplete", "Autocomplete cannot be set with choices")
	case o.Autocomplete && o.Type != optString && !number:
		return form(at+".autocomplete", "Only strings and numbers can be completed")
	case (o.Min != nil || o.Max != nil) && !number:
		return form(at+".min_value", "only numbers have bounds")
	case (o.MinLength != nil || o.MaxLength != nil) && o.Type != optString:
		return form(at+".min_length", "only strings have lengths")
	case o.MinLength != nil && (*o.MinLength < 0 || *o.MinLength > 6000), o.MaxLength != nil && (*o.MaxLength < 1 || *o.MaxLength > 6000):
		return form(at+".max_length", "from 1 to 6000")
	case len(o.Choices) > 25:
		return form(at+".choices", "Must be 25 or fewer in length.")
	}
	seen := map[string]bool{}
	for j, ch := range o.Choices {
		where := fmt.Sprintf("%s.choices.%d", at, j)
		if err := length(where+".name", ch.Name, 1, 100); err != nil {
			return err
		}
		if err := checkLocal(where, nil, nil); err != nil {
			return err
		}
		text, isText := ch.Value.(string)
		_, isNumber := ch.Value.(float64)
		if isText != (o.Type == optString) || isNumber != number || isText && (text == "" || units(text) > 100) {
			return form(where+".value", "a value of the option's type, of up to 100 characters")
		}
		if seen[ch.Name] {
			return form(where+".name", "Option choices must be unique")
		}
		seen[ch.Name] = true
	}
	return nil
}
