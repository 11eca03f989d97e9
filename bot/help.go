package bot

import (
	"context"
	"strings"

	"weftroom/calc"
)

// Sentences of help.
const (
	KeyHelpTitle   calc.Key = "help.title"
	KeyHelpIntro   calc.Key = "help.intro"
	KeyHelpMore    calc.Key = "help.more"
	KeyHelpExample calc.Key = "help.examples"
	KeyHelpNone    calc.Key = "help.none"  // the command
	KeyHelpLines   calc.Key = "help.lines" // the argument, how a text of several lines is written here
)

// Help makes the help command from the declarations that commands() gives; it
// is asked late, so that help can list itself. A greeting is answered with the
// overview, whatever else it says.
func Help(commands func() []*Command) *Command {
	return &Command{
		Name:    "help",
		Aliases: []string{"hello", "hi", "hallo"},
		Params: []Param{{Name: "command", Kind: Words, First: true, Max: "40", Suggest: func(_ context.Context, r Request) ([]string, error) {
			return paths(usable(commands(), r.Role), r.Role), nil
		}}},
		Examples: []string{"help", "help row"},
		Run: func(_ context.Context, c *Call) (Reply, error) {
			all, asked := commands(), lead(c.Args.Text("command"))
			found, taken := walk(all, asked)
			switch {
			case len(asked) == 0:
				return overview(c, all), nil
			case taken == len(asked):
				return found.help(c), nil
			case c.greets():
				return overview(c, all), nil
			}
			f := &calc.Fault{Code: calc.BadValue, Key: KeyHelpNone, Field: "command", Args: []any{clip(c.Args.Text("command"))}, Example: "help"}
			if near := Nearest(asked[0], names(all), 1); len(near) > 0 {
				f.Example = "help " + near[0]
			}
			return Reply{}, f
		},
	}
}

// paths are the names of commands and of the subcommands that a role may use.
func paths(commands []*Command, role Role) []string {
	var out []string
	for _, c := range commands {
		out = append(out, c.path())
		out = append(out, paths(usable(c.Subs, role), role)...)
	}
	return out
}

// greets tells that help was called by one of its other names.
func (c *Call) greets() bool {
	first := lead(plainLine(c.Request.Line))
	return len(first) > 0 && first[0] != "help"
}

func overview(c *Call, commands []*Command) Reply {
	t := Table{Head: []string{c.Say("help.head.command"), c.Say("help.head.what")}}
	for _, cmd := range usable(commands, c.Role) {
		t.Rows = append(t.Rows, []string{cmd.path(), c.Say(cmd.summaryKey())})
	}
	return Reply{
		Title: c.Say(KeyHelpTitle),
		Body:  []Block{Paragraph(c.Say(KeyHelpIntro)), t, Paragraph(c.Say(KeyHelpMore))},
	}
}

// help is one command's page, made from its declaration.
func (cmd *Command) help(c *Call) Reply {
	r := Reply{Title: cmd.path(), Body: []Block{Paragraph(c.Say(cmd.summaryKey()))}}
	if who := cmd.least(); who > c.Role {
		r.Body = append(r.Body, Paragraph(c.Say(KeyRole, cmd.path(), roleKey(who))+"."))
	}
	if shown := cmd.Shown(); len(shown) > 0 {
		t := Table{Head: []string{c.Say("help.head.argument"), c.Say("help.head.takes"), c.Say("help.head.default"), c.Say("help.head.what")}}
		for i := range shown {
			t.Rows = append(t.Rows, cmd.helpRow(c, &shown[i]))
		}
		r.Body = append(r.Body, t)
	}
	if c.Request.Several != "" {
		for _, p := range cmd.Shown() {
			if p.Kind == LongText {
				r.Body = append(r.Body, Paragraph(c.Say(KeyHelpLines, p.Name, c.Request.Several)+"."))
			}
		}
	}
	for _, p := range cmd.fileParams() {
		r.Body = append(r.Body, Paragraph(c.Say(KeyFileHelp, p.Name, c.Request.enclosing())+"."))
	}
	if len(cmd.Subs) > 0 {
		t := Table{Head: []string{c.Say("help.head.command"), c.Say("help.head.what")}}
		for _, sub := range cmd.Subs {
			t.Rows = append(t.Rows, []string{sub.path(), c.Say(sub.summaryKey())})
		}
		r.Body = append(r.Body, t)
	}
	if len(cmd.Examples) > 0 {
		r.Body = append(r.Body, Paragraph(c.Say(KeyHelpExample)), List(cmd.Examples))
	}
	return r
}

func (cmd *Command) helpRow(c *Call, p *Param) []string {
	value := p.Default
	if p.Required {
		value = c.Say("help.required")
	}
	return []string{p.Name, p.takes(c), value, c.Say(cmd.paramKey(c.Texts, p))}
}

var kindKeys = map[Kind]calc.Key{
	Count: "kind.count", Length: "kind.length", Density: "kind.density", Share: "kind.share", Yarn: "kind.yarn",
	Choice: "kind.choice", Words: "kind.words", LongText: "kind.longtext", Money: "kind.money",
	Enclosed: "kind.file",
}

// takes says in words what may be written for an argument.
func (p *Param) takes(c *Call) string {
	if p.Kind == Choice {
		return strings.Join(p.Choices, ", ")
	}
	if p.Kind == Enclosed {
		return c.Say(kindKeys[Enclosed], megabytes(MaxFile))
	}
	kind := c.Say(kindKeys[p.Kind])
	if p.free() || p.Max == "" {
		return kind
	}
	least := p.Min
	if least == "" {
		least = "0"
	}
	return kind + ", " + least + "–" + p.Max
}

// keyPath is a command's path as it stands in keys: "class.open".
func (cmd *Command) keyPath() calc.Key {
	return calc.Key(strings.ReplaceAll(cmd.path(), " ", "."))
}

func (cmd *Command) summaryKey() calc.Key { return "cmd." + cmd.keyPath() }

// paramKey is the key of an argument's meaning: its own in this command, or the
// one shared by all commands.
func (cmd *Command) paramKey(t Texts, p *Param) calc.Key {
	if own := calc.Key("arg." + string(cmd.keyPath()) + "." + p.Name); t.has(own) {
		return own
	}
	return calc.Key("arg." + p.Name)
}

// Missing lists the keys that the commands need and t does not have, so that a
// test can hold the catalogue complete.
func (t Texts) Missing(commands []*Command, others ...calc.Key) []calc.Key {
	adopt(nil, commands)
	var missing []calc.Key
	for _, keys := range [][]calc.Key{Keys, others, t.declared(commands)} {
		for _, k := range keys {
			if !t.has(k) {
				missing = append(missing, k)
			}
		}
	}
	return missing
}

// declared are the keys that declarations need.
func (t Texts) declared(commands []*Command) []calc.Key {
	var keys []calc.Key
	for _, cmd := range commands {
		keys = append(keys, cmd.summaryKey())
		for _, p := range cmd.Shown() {
			keys = append(keys, cmd.paramKey(t, &p))
		}
		keys = append(keys, t.declared(cmd.Subs)...)
	}
	return keys
}

// Keys are the sentences that the core itself needs.
var Keys = []calc.Key{
	KeyTooLong, KeyNotText, KeyInvisible, KeyOpenQuote, KeyUnknown, KeyMeant, KeyNoCommand, KeySub,
	KeyArgument, KeyMeantArg, KeyNoArgs, KeyTwice, KeyEmpty, KeyMissing,
	KeyNotCount, KeyCountRange, KeyNotChoice, KeyNotMoney, KeyValueRange, KeyUnreadable, KeyBareDensity, KeyTextTooLong,
	KeyInternal, KeyBusy, KeyRole, KeyUnsure,
	KeyHelpTitle, KeyHelpIntro, KeyHelpMore, KeyHelpExample, KeyHelpNone, KeyHelpLines,
	"help.head.command", "help.head.what", "help.head.argument", "help.head.takes", "help.head.default", "help.required",
	"kind.count", "kind.length", "kind.density", "kind.share", "kind.yarn", "kind.choice", "kind.words", "kind.longtext", "kind.money", "kind.file",
	KeyFileNeeded, KeyFileWords, KeyFileTooLarge, KeyFilesTooMany, KeyFileLost, KeyFileAttach, KeyFileHelp,
	"role.anyone", "role.student", "role.helper", "role.teacher",
}
