package discordtest

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Values are what a person gives for the options of a command or the questions
// of a form. A File is attached, a *User named.
type Values map[string]any

// Slash has u run a command, "class open" for one with a subcommand. It is an
// error when her client would not let her: the command is not shown to her, or
// a value is not allowed.
func (u *User) Slash(c *Channel, name string, values Values) (*Interaction, error) {
	s := u.srv
	s.mu.Lock()
	defer s.mu.Unlock()
	cmd, options, err := u.offered(c, name)
	if err != nil {
		return nil, err
	}
	resolved := object{}
	given, err := s.give(c, options, values, resolved)
	if err != nil {
		return nil, fmt.Errorf("/%s: %w", name, err)
	}
	data := cmd.data(c, name, given)
	if len(resolved) > 0 {
		data["resolved"] = resolved
	}
	return s.begin(&Interaction{kind: kindCommand, user: u, in: c, data: data}), nil
}

// Force runs a command as a client could that keeps to none of the bot's
// declarations but its names: shown to her or not, with nothing filled in.
func (u *User) Force(c *Channel, name string) (*Interaction, error) {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	first, _, _ := strings.Cut(name, " ")
	for _, cmd := range u.srv.known(c) {
		if cmd.Name == first {
			return u.srv.begin(&Interaction{kind: kindCommand, user: u, in: c, data: cmd.data(c, name, nil)}), nil
		}
	}
	return nil, fmt.Errorf("there is no command /%s here", name)
}

// Complete has u type the beginning of an option's value. The other values are
// those that stand there already.
func (u *User) Complete(c *Channel, name, opt, begun string, values Values) (*Interaction, error) {
	s := u.srv
	s.mu.Lock()
	defer s.mu.Unlock()
	cmd, options, err := u.offered(c, name)
	if err != nil {
		return nil, err
	}
	var given []object
	for _, o := range options {
		switch v, ok := values[o.Name]; {
		case o.Name == opt && !o.Autocomplete:
			return nil, fmt.Errorf("/%s: %s is not completed", name, opt)
		case o.Name == opt:
			given = append(given, object{"name": o.Name, "type": o.Type, "value": begun, "focused": true})
		case ok:
			given = append(given, object{"name": o.Name, "type": o.Type, "value": v})
		}
	}
	if !slices.ContainsFunc(given, func(o object) bool { return o["focused"] != nil }) {
		return nil, fmt.Errorf("/%s has no option %s", name, opt)
	}
	return s.begin(&Interaction{kind: kindComplete, user: u, in: c, data: cmd.data(c, name, given)}), nil
}

// Offered lists the commands, subcommands each, that u's client shows in c.
func (u *User) Offered(c *Channel) []string {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	var out []string
	for _, cmd := range u.srv.known(c) {
		if u.shown(c, cmd) != nil {
			continue
		}
		subs := 0
		for _, o := range cmd.Options {
			switch o.Type {
			case optSub:
				out = append(out, cmd.Name+" "+o.Name)
				subs++
			case optGroup:
				for _, p := range o.Options {
					out = append(out, cmd.Name+" "+o.Name+" "+p.Name)
				}
				subs++
			}
		}
		if subs == 0 {
			out = append(out, cmd.Name)
		}
	}
	return out
}

func (s *Server) known(c *Channel) []*command {
	out := slices.Clone(s.commands[""])
	if c.guild != nil {
		out = append(out, s.commands[c.guild.ID]...)
	}
	return out
}

// offered finds the command that u means, with the options of its subcommand.
func (u *User) offered(c *Channel, name string) (*command, []option, error) {
	if !c.sees(u) {
		return nil, nil, fmt.Errorf("%s does not see the channel", u.Name)
	}
	words := strings.Fields(name)
	for _, cmd := range u.srv.known(c) {
		if len(words) == 0 || cmd.Name != words[0] {
			continue
		}
		if err := u.shown(c, cmd); err != nil {
			return nil, nil, err
		}
		options := cmd.Options
		for _, w := range words[1:] {
			n := slices.IndexFunc(options, func(o option) bool { return o.Name == w && (o.Type == optSub || o.Type == optGroup) })
			if n < 0 {
				return nil, nil, fmt.Errorf("/%s has no subcommand %s", cmd.Name, w)
			}
			options = options[n].Options
		}
		if slices.ContainsFunc(options, func(o option) bool { return o.Type == optSub || o.Type == optGroup }) {
			return nil, nil, fmt.Errorf("/%s wants a subcommand", name)
		}
		return cmd, options, nil
	}
	return nil, nil, fmt.Errorf("there is no command /%s here", name)
}

// shown tells why a client does not show a command, nil when it does.
func (u *User) shown(c *Channel, cmd *command) error {
	context, install := 1, 0
	if c.guild != nil {
		context = 0
		if c.guild.absent {
			install = 1
		}
	}
	if cmd.Contexts != nil && !slices.Contains(*cmd.Contexts, context) {
		return fmt.Errorf("/%s is not offered in this kind of channel", cmd.Name)
	}
	if c.guild == nil {
		return nil
	}
	if cmd.Types == nil && install == 1 || cmd.Types != nil && !slices.Contains(*cmd.Types, install) {
		return fmt.Errorf("/%s is not offered to whoever has installed it so", cmd.Name)
	}
	has := all(c.guild.members[u.ID])
	switch yes, said := c.guild.overrides[cmd.Name+" "+u.ID]; {
	case has&UseCommands == 0:
		return fmt.Errorf("%s may not use commands here", u.Name)
	case said && yes, has&Administrator != 0:
		return nil
	case said:
		return fmt.Errorf("/%s is hidden from %s", cmd.Name, u.Name)
	case cmd.Permissions != nil && (cmd.perms == 0 || has&cmd.perms != cmd.perms):
		return fmt.Errorf("/%s is not shown to %s, who lacks permission", cmd.Name, u.Name)
	}
	return nil
}

// data is a command with its values as the bot gets it.
func (cmd *command) data(c *Channel, name string, given []object) object {
	words := strings.Fields(name)[1:]
	for n, w := range slices.Backward(words) {
		typ := optSub
		if len(words) == 2 && n == 0 {
			typ = optGroup
		}
		sub := object{"name": w, "type": typ}
		if given != nil {
			sub["options"] = given
		}
		given = []object{sub}
	}
	data := object{"id": cmd.ID, "name": cmd.Name, "type": 1}
	if c.guild != nil {
		data["guild_id"] = c.guild.ID
	}
	if given != nil {
		data["options"] = given
	}
	return data
}

// give checks values as a client does before it sends them.
func (s *Server) give(c *Channel, options []option, values Values, resolved object) ([]object, error) {
	var out []object
	for _, o := range options {
		v, ok := values[o.Name]
		if !ok {
			if o.Required {
				return nil, fmt.Errorf("%s is required", o.Name)
			}
			continue
		}
		v, err := s.value(c, o, v, resolved)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", o.Name, err)
		}
		out = append(out, object{"name": o.Name, "type": o.Type, "value": v})
	}
	for name := range values {
		if !slices.ContainsFunc(options, func(o option) bool { return o.Name == name }) {
			return nil, fmt.Errorf("there is no option %s", name)
		}
	}
	return out, nil
}

func (s *Server) value(c *Channel, o option, v any, resolved object) (any, error) {
	switch o.Type {
	case optString:
		text, ok := v.(string)
		if !ok {
			return nil, fmt.Errorf("%v is no text", v)
		}
		low, high := 0, 6000
		if o.MinLength != nil {
			low = *o.MinLength
		}
		if o.MaxLength != nil {
			high = *o.MaxLength
		}
		if n := units(text); n < low || n > high {
			return nil, fmt.Errorf("a text of %d to %d characters", low, high)
		}
		return text, o.chosen(text)
	case optInteger, optNumber:
		f, ok := float(v)
		if !ok || o.Type == optInteger && f != math.Trunc(f) || math.Abs(f) > 1<<53 {
			return nil, fmt.Errorf("%v is no number of this kind", v)
		}
		if o.Min != nil && f < *o.Min || o.Max != nil && f > *o.Max {
			return nil, fmt.Errorf("%v is out of bounds", v)
		}
		return f, o.chosen(f)
	case optBoolean:
		if _, ok := v.(bool); !ok {
			return nil, fmt.Errorf("%v is neither true nor false", v)
		}
		return v, nil
	case optUser:
		u, ok := v.(*User)
		if !ok {
			return nil, fmt.Errorf("%v is nobody", v)
		}
		sub(resolved, "users")[u.ID] = u.object()
		return u.ID, nil
	case optAttachment:
		f, ok := v.(File)
		if !ok {
			return nil, fmt.Errorf("%v is no file", v)
		}
		kept := s.keepFile(f, c.ID, true)
		sub(resolved, "attachments")[kept.ID] = kept.resolved()
		return kept.ID, nil
	}
	return nil, fmt.Errorf("this server gives no values for options of type %d", o.Type)
}

// chosen refuses a value that is not among the choices, when there are any.
func (o option) chosen(v any) error {
	if len(o.Choices) == 0 || slices.ContainsFunc(o.Choices, func(c choice) bool { return c.Value == v }) {
		return nil
	}
	return fmt.Errorf("%v is none of the choices", v)
}

func float(v any) (float64, bool) {
	switch n := v.(type) {
	case int:
		return float64(n), true
	case float64:
		return n, true
	}
	return 0, false
}

func sub(o object, key string) object {
	if o[key] == nil {
		o[key] = object{}
	}
	return o[key].(object)
}
