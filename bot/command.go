package bot

import (
	"context"
	"slices"
	"strings"
	"time"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Command is declared once; parsing, permissions, help, completion, the README
// and each chat's native commands all come from the declaration.
//
// Its words are in the Texts: "cmd.NAME" is the one-line summary,
// "arg.NAME.PARAM" or "arg.PARAM" what an argument means; the NAME of a
// subcommand is "class.open".
type Command struct {
	Name     string
	Aliases  []string
	Who      Role // the least role that may use it
	Changes  bool // it changes what is kept
	Soon     bool // of Changes: it changes nothing of who asks, and can be said again at once, so no answer waits for the disk
	Private  bool // its answer tells of others, so in a room it goes to the asker by direct message
	Params   []Param
	Subs     []*Command // instead of Params and Run
	Examples []string
	Run      func(ctx context.Context, c *Call) (Reply, error)

	parent *Command // of a subcommand, once a Dispatcher has it
}

// Param declares one argument.
type Param struct {
	Name     string
	Kind     Kind
	Required bool
	First    bool     // may come first in the line, without its name
	Second   bool     // a text or a Count that may follow the First, a Count, without its name
	Pressed  bool     // only buttons say it: people are not told of it, and no chat offers it
	Stamp    bool     // it says from which state a request is; the command does nothing to any other
	Default  string   // as a person would write it; "" for none
	Choices  []string // for Choice: what may be written
	Min, Max string   // inclusive bounds, as a person would write them; "" for none

	// Unless are, for a LongText, the arguments that may be given instead of it.
	// With none of them given, a chat that has forms asks for it in one; elsewhere
	// it is the command that says what it needs.
	Unless []string

	// Units are, for a Choice among systems of units, that of each choice. Said
	// in a line, it is how the bare numbers of that line are meant.
	Units []measure.Units

	// Suggest, when there is one, lists what may well be written here, likeliest
	// first, for a chat that completes arguments; the Role of r is what the asker
	// may do in all. It may block on storage.
	Suggest func(ctx context.Context, r Request) ([]string, error)
}

// Kind is the kind of value that an argument takes.
type Kind int

// The kinds of argument.
const (
	Count    Kind = iota // a whole number
	Length               // measure.Length, with a unit
	Density              // measure.Sett: threads, picks or dents per length
	Share                // measure.Ratio, as a percentage
	Yarn                 // measure.Yarn
	Choice               // one of Choices
	Words                // a short text
	LongText             // several lines: a modal on one chat, a code block on another
	Money                // a price such as 6.50, in hundredths
	Enclosed             // a file that comes with the request; no words stand for it
)

// Call is one run of a Command.
type Call struct {
	Request Request
	Role    Role // the asker's
	Args    Args
	Units   measure.Units // the asker's, or those of what she wrote, or imperial
	Texts   Texts

	// Known is the Known of the Asker, so that a command need not look again. It is nil
	// for one that may change who asks, which would look at what was.
	Known any

	moments []Moment
}

// Tell notes that the words of the answer may name an instant as text, which it
// gives back.
func (c *Call) Tell(text string, at time.Time) string {
	if m := (Moment{Text: text, At: at.UTC()}); !slices.Contains(c.moments, m) {
		c.moments = append(c.moments, m)
	}
	return text
}

// Told are those of the instants that stand in the words of r, in the order of
// telling. The Dispatcher adds them to its replies.
func (c *Call) Told(r Reply) []Moment {
	if len(c.moments) == 0 {
		return nil
	}
	words := oneLine(Plain(r))
	var out []Moment
	for _, m := range c.moments {
		if strings.Contains(words, oneLine(m.Text)) {
			out = append(out, m)
		}
	}
	return out
}

// Say renders the sentence of key in the asker's units.
func (c *Call) Say(key calc.Key, args ...any) string { return c.Texts.Say(c.Units, key, args...) }

// Shown are the arguments that people are told of.
func (c *Command) Shown() []Param {
	return slices.DeleteFunc(slices.Clone(c.Params), func(p Param) bool { return p.Pressed })
}

// stamped tells that the arguments say from which state they are.
func (c *Command) stamped(given map[string]string) bool {
	return slices.ContainsFunc(c.Params, func(p Param) bool { return p.Stamp && given[p.Name] != "" })
}

func (c *Command) param(name string) *Param {
	for i := range c.Params {
		if c.Params[i].Name == name {
			return &c.Params[i]
		}
	}
	return nil
}

func (c *Command) second() *Param {
	for i := range c.Params {
		if c.Params[i].Second {
			return &c.Params[i]
		}
	}
	return nil
}

func (c *Command) first() *Param {
	for i := range c.Params {
		if c.Params[i].First {
			return &c.Params[i]
		}
	}
	return nil
}
