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
	KeyHelpNone    calc.Key = "help.none" // the command
)

// Help makes the help command from the declarations that commands() gives; it
// is asked late, so that help can list itself.
func Help(commands func() []*Command) *Command {
	return &Command{
		Name:     "help",
		Aliases:  []string{"hello", "hi", "hallo"},
		Params:   []Param{{Name: "command", Kind: Words, First: true, Max: "40"}},
		Examples: []string{"help", "help row"},
		Run: func(_ context.Context, c *Call) (Reply, error) {
			name := strings.ToLower(c.Args.Text("command"))
			if name == "" {
				return overview(c, commands()), nil
			}
			found := find(commands(), name)
			if found == nil {
				f := &calc.Fault{Code: BadValue, Key: KeyHelpNone, Field: "command", Args: []any{clip(name)}, Example: "help"}
				if near := Nearest(name, names(commands()), 1); len(near) > 0 {
					f.Example = "help " + near[0]
				}
				return Reply{}, f
			}
			return found.help(c), nil
		},
	}
}

// BadValue is calc's, for the core's own refusals.
const BadValue = calc.BadValue

func overview(c *Call, commands []*Command) Reply {
	t := Table{Head: []string{c.Say("help.head.command"), c.Say("help.head.what")}}
	for _, cmd := range commands {
		if cmd.Who <= c.Request.Role {
			t.Rows = append(t.Rows, []string{cmd.Name, c.Say(cmd.summaryKey())})
		}
	}
	return Reply{
		Title: c.Say(KeyHelpTitle),
		Body:  []Block{Paragraph(c.Say(KeyHelpIntro)), t, Paragraph(c.Say(KeyHelpMore))},
	}
}

// help is one command's page, made from its declaration.
func (cmd *Command) help(c *Call) Reply {
	r := Reply{Title: cmd.Name, Body: []Block{Paragraph(c.Say(cmd.summaryKey()))}}
	if len(cmd.Params) > 0 {
		t := Table{Head: []string{c.Say("help.head.argument"), c.Say("help.head.takes"), c.Say("help.head.default"), c.Say("help.head.what")}}
		for i := range cmd.Params {
			t.Rows = append(t.Rows, cmd.helpRow(c.Texts, &cmd.Params[i]))
		}
		r.Body = append(r.Body, t)
	}
	for _, sub := range cmd.Subs {
		r.Body = append(r.Body, Paragraph(cmd.Name+" "+sub.Name+": "+c.Say(sub.summaryKey())))
	}
	if len(cmd.Examples) > 0 {
		r.Body = append(r.Body, Paragraph(c.Say(KeyHelpExample)), List(cmd.Examples))
	}
	return r
}

func (cmd *Command) helpRow(t Texts, p *Param) []string {
	value := p.Default
	if p.Required {
		value = t.Say(0, "help.required")
	}
	return []string{p.Name, p.takes(t), value, t.Say(0, cmd.paramKey(t, p))}
}

// takes says in words what may be written for an argument.
func (p *Param) takes(t Texts) string {
	if p.Kind == Choice {
		return strings.Join(p.Choices, ", ")
	}
	kind := t.Say(0, [...]calc.Key{"kind.count", "kind.length", "kind.density", "kind.share", "kind.yarn", "kind.choice", "kind.words", "kind.longtext", "kind.money"}[p.Kind])
	if p.Kind == Count && p.Min != "" && p.Max != "" {
		return kind + " " + p.Min + "–" + p.Max
	}
	return kind
}

func (cmd *Command) summaryKey() calc.Key { return calc.Key("cmd." + cmd.Name) }

// paramKey is the key of an argument's meaning: its own in this command, or the
// one shared by all commands.
func (cmd *Command) paramKey(t Texts, p *Param) calc.Key {
	if own := calc.Key("arg." + cmd.Name + "." + p.Name); t.has(own) {
		return own
	}
	return calc.Key("arg." + p.Name)
}

// Missing lists the keys that the commands need and t does not have, so that a
// test can hold the catalogue complete.
func (t Texts) Missing(commands []*Command, others ...calc.Key) []calc.Key {
	var missing []calc.Key
	need := func(k calc.Key) {
		if !t.has(k) {
			missing = append(missing, k)
		}
	}
	for _, k := range append(Keys, others...) {
		need(k)
	}
	for _, cmd := range commands {
		need(cmd.summaryKey())
		for i := range cmd.Params {
			need(cmd.paramKey(t, &cmd.Params[i]))
		}
		missing = append(missing, t.Missing(cmd.Subs)...)
	}
	return missing
}

// Keys are the sentences that the core itself needs.
var Keys = []calc.Key{
	KeyTooLong, KeyNotText, KeyInvisible, KeyOpenQuote, KeyUnknown, KeyMeant, KeyNoCommand, KeyArgument, KeyMeantArg, KeyTwice, KeyEmpty, KeyMissing,
	KeyNotCount, KeyCountRange, KeyNotChoice, KeyNotMoney, KeyValueRange, KeyUnreadable, KeyTextTooLong,
	KeyInternal, KeyBusy, KeyRole, KeySub, KeyUnsure,
	KeyHelpTitle, KeyHelpIntro, KeyHelpMore, KeyHelpExample, KeyHelpNone,
	"help.head.command", "help.head.what", "help.head.argument", "help.head.takes", "help.head.default", "help.required",
	"kind.count", "kind.length", "kind.density", "kind.share", "kind.yarn", "kind.choice", "kind.words", "kind.longtext", "kind.money",
	"role.anyone", "role.student", "role.helper", "role.teacher",
}
