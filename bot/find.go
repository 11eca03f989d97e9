package bot

import (
	"slices"
	"strings"

	"weftroom/calc"
)

// KeySub asks for the word that a command with subcommands needs: the command, its subcommands.
const KeySub calc.Key = "dispatch.sub"

// adopt tells subcommands whose they are.
func adopt(parent *Command, commands []*Command) {
	for _, c := range commands {
		c.parent = parent
		adopt(c, c.Subs)
	}
}

// path is the whole name of a command: "class open".
func (c *Command) path() string {
	if c.parent == nil {
		return c.Name
	}
	return c.parent.path() + " " + c.Name
}

// depth is how many words path has.
func (c *Command) depth() int {
	if c.parent == nil {
		return 1
	}
	return c.parent.depth() + 1
}

// least is the least role that may use the command; a subcommand is never open
// to more people than the command that it is part of.
func (c *Command) least() Role {
	if c.parent == nil {
		return c.Who
	}
	return max(c.Who, c.parent.least())
}

// find looks a command up by name or alias, both in lower case.
func find(commands []*Command, name string) *Command {
	for _, c := range commands {
		if c.Name == name || slices.Contains(c.Aliases, name) {
			return c
		}
	}
	return nil
}

// walk finds the command that path leads to, and how many of its words it took.
// What it finds may still have subcommands.
func walk(commands []*Command, path []string) (found *Command, taken int) {
	for _, name := range path {
		c := find(commands, strings.ToLower(name))
		if c == nil {
			break
		}
		found, commands = c, c.Subs
		taken++
	}
	return found, taken
}

// usable are the commands that a role may use.
func usable(commands []*Command, role Role) []*Command {
	var out []*Command
	for _, c := range commands {
		if c.least() <= role {
			out = append(out, c)
		}
	}
	return out
}

// unknownCommand refuses a word that no command has for its name.
func unknownCommand(commands []*Command, name string) error {
	f := &calc.Fault{Code: UnknownCommand, Key: KeyUnknown, Args: []any{clip(name)}, Example: "help"}
	if near := Nearest(name, names(commands), 1); len(near) > 0 {
		f.Key, f.Args = KeyMeant, []any{clip(name), near[0]}
		f.Example = find(commands, near[0]).sample()
	}
	return f
}

// incomplete asks for one of the subcommands of c; word is what stood in its
// place, if anything.
func (c *Command) incomplete(subs []*Command, word string) error {
	f := &calc.Fault{Code: MissingArgument, Key: KeySub, Args: []any{c.path(), names(subs)}, Example: c.sample()}
	if len(subs) > 0 {
		f.Example = subs[0].sample()
	}
	if near := Nearest(word, names(subs), 1); len(near) > 0 {
		f.Example = find(subs, near[0]).sample()
	}
	return f
}

// sample is a line that would be right.
func (c *Command) sample() string {
	switch {
	case len(c.Examples) > 0:
		return c.Examples[0]
	case len(c.Subs) > 0:
		return "help " + c.path()
	}
	return c.path()
}

func names(commands []*Command) []string {
	var out []string
	for _, c := range commands {
		out = append(out, c.Name)
	}
	return out
}
