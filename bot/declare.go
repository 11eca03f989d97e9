package bot

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"weftroom/calc/measure"
)

// Check finds what is wrong with declarations, so that a test can hold them
// right: names that cannot be written or mean two things, defaults and bounds
// that cannot be read, examples that would be refused.
func Check(commands []*Command) []error {
	adopt(nil, commands)
	return checkCommands(commands)
}

func checkCommands(commands []*Command) []error {
	var wrong []error
	seen := map[string]bool{}
	for _, c := range commands {
		for _, name := range append([]string{c.Name}, c.Aliases...) {
			if seen[name] || !isName(name) {
				wrong = append(wrong, fmt.Errorf("%s: the name %q is taken or no lower-case word", c.path(), name))
			}
			seen[name] = true
		}
		if (c.Run == nil) != (len(c.Subs) > 0) || len(c.Subs) > 0 && len(c.Params) > 0 {
			wrong = append(wrong, fmt.Errorf("%s: a command either runs or has subcommands", c.path()))
		}
		if c.Changes && c.Encloses() {
			wrong = append(wrong, fmt.Errorf("%s: what changes anything is a transaction, in which no file can be waited for", c.path()))
		}
		wrong = append(wrong, c.checkParams()...)
		wrong = append(wrong, c.checkExamples()...)
		wrong = append(wrong, checkCommands(c.Subs)...)
	}
	return wrong
}

// isName tells whether a name can be told from other words of a line.
func isName(s string) bool {
	return s != "" && s == strings.ToLower(s) && !strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && r != '-' && r != '_' })
}

func (c *Command) checkParams() []error {
	var wrong []error
	add := func(p *Param, format string, args ...any) {
		wrong = append(wrong, fmt.Errorf("%s %s: "+format, append([]any{c.path(), p.Name}, args...)...))
	}
	for i := range c.Params {
		p := &c.Params[i]
		if !isName(p.Name) || c.param(p.Name) != p {
			add(p, "the name is taken or no lower-case word")
		}
		if p.First && c.first() != p {
			add(p, "another argument comes first")
		}
		if first := c.first(); p.Second && (!p.free() && p.Kind != Count || c.second() != p || first == nil || first.Kind != Count) {
			add(p, "only a text or a number comes second, behind a number that comes first")
		}
		if p.Pressed && (p.First || p.Second || p.Required) {
			add(p, "what only buttons say is said by its name, and not needed")
		}
		if p.Kind == Enclosed && (p.First || p.Second || p.Pressed || p.Default != "" || p.Min != "" || p.Max != "" || p.Suggest != nil) {
			add(p, "a file is not written: it has a name and may be required, and nothing else")
		}
		if len(p.Unless) > 0 && (p.Kind != LongText || slices.ContainsFunc(p.Unless, func(name string) bool { return name == p.Name || c.param(name) == nil })) {
			add(p, "only a text of several lines may have others in its place, and those are its command's")
		}
		if p.Required && p.Default != "" {
			add(p, "what is required has no default")
		}
		if (p.Kind == Choice) != (len(p.Choices) > 0) {
			add(p, "a choice has choices, and nothing else has")
		}
		if len(p.Units) > 0 && len(p.Units) != len(p.Choices) {
			add(p, "each choice of units has its system")
		}
		for _, choice := range p.Choices {
			if got, err := p.choice(choice); err != nil || got != choice {
				add(p, "the choice %q is read as %v", choice, got)
			}
		}
		if p.Min != "" && p.Max == "" && p.Kind != Count {
			add(p, "a least needs a most, to be told with it")
		}
		for _, text := range []string{p.Default, p.bound(p.Min), p.bound(p.Max)} {
			if _, err := p.value(text, measure.Unset); text != "" && err != nil {
				add(p, "%q cannot be read: %v", text, err)
			}
		}
	}
	return wrong
}

// bound is a bound that is a value of the argument, not a number of letters.
func (p *Param) bound(text string) string {
	if p.free() {
		return ""
	}
	return text
}

func (c *Command) checkExamples() []error {
	var wrong []error
	for _, e := range c.Examples {
		if err := c.accepts(e); err != nil {
			wrong = append(wrong, fmt.Errorf("%s: the example %q is refused: %w", c.path(), e, err))
		}
	}
	for _, p := range c.Params {
		if !p.free() && !p.Pressed && p.Kind != Enclosed && !strings.HasPrefix(c.example(p.Name), p.Name+":") {
			wrong = append(wrong, fmt.Errorf("%s %s: no example shows it", c.path(), p.Name))
		}
	}
	return wrong
}

// accepts tells why a line would be refused.
func (c *Command) accepts(line string) error {
	found, taken := walk([]*Command{c.top()}, lead(line))
	if found != c {
		return errors.New("it is not of this command")
	}
	words, err := split(line)
	if err != nil {
		return err
	}
	given, err := c.assign(line, words[taken:])
	if err != nil {
		return err
	}
	_, err = c.read(given, measure.Unset)
	return err
}

// top is the command that c is part of.
func (c *Command) top() *Command {
	for c.parent != nil {
		c = c.parent
	}
	return c
}
