package bot

import (
	"context"
	"io"
	"log/slog"
	"regexp"
	"strings"
	"testing"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// The commands and sentences that the tests of this package share: small, but
// with every kind of argument and in the shapes that the real ones have.

// echo answers with nothing but what it was given.
func echo(_ context.Context, c *Call) (Reply, error) { return Reply{Title: "done", Data: c.Args}, nil }

func testCommands() []*Command {
	var all []*Command
	all = []*Command{
		{
			Name: "row", Aliases: []string{"rows"}, Run: echo,
			Params: []Param{
				{Name: "ends", Kind: Count, First: true, Min: "8", Max: "4000"},
				{Name: "raised", Kind: Count, Default: "3", Min: "2", Max: "2000"},
				{Name: "passes", Kind: Count, Default: "3", Min: "3", Max: "99"},
				{Name: "from", Kind: Choice, Default: "right", Choices: []string{"right", "left"}},
				{Name: "rows", Kind: Count, Default: "1", Min: "1", Max: "1000"},
				{Name: "rightmost", Kind: Choice, Choices: []string{"hole", "slot", "shaft1", "shaft2"}},
			},
			Examples: []string{"row ends:97 raised:3 passes:5 rows:2 from:left rightmost:hole"},
		},
		{
			Name: "loom", Changes: true, Run: echo,
			Params: []Param{
				{Name: "kind", Kind: Choice, Choices: []string{"rigid heddle", "table loom", "floor loom"}},
				{Name: "width", Kind: Length, Min: "1cm", Max: "5m"},
				{Name: "heddle", Kind: Density, Min: "0.5", Max: "200"},
				{Name: "ends", Kind: Count, Min: "8", Max: "4000"},
				{Name: "clear", Kind: Choice, Choices: []string{"yes"}},
			},
			Examples: []string{`loom kind:"rigid heddle" width:15in heddle:10 ends:150`},
		},
		{
			Name: "warp", Run: echo,
			Params: []Param{
				{Name: "wide", Kind: Length, Required: true, Min: "1cm", Max: "5m"},
				{Name: "long", Kind: Length, Required: true, Min: "1cm", Max: "200m"},
				{Name: "hem", Kind: Length, Default: "0", Max: "1m"},
				{Name: "takeup", Kind: Words, Default: "10%", Max: "20"},
				{Name: "shrink", Kind: Share, Default: "10%", Max: "60%"},
				{Name: "yarn", Kind: Yarn},
				{Name: "skein", Kind: Words, Max: "30"},
				{Name: "price", Kind: Money},
			},
			Examples: []string{`warp wide:12in long:72in hem:1in yarn:"8/2 cotton" shrink:8% skein:100g price:9.50`},
		},
		{
			Name: "sett", Run: echo,
			Params: []Param{
				{Name: "yarn", Kind: Yarn, Required: true},
				{Name: "weave", Kind: Choice, Default: "plain", Choices: []string{"plain", "twill", "lace"}},
			},
			Examples: []string{`sett yarn:"8/2 cotton" weave:plain`},
		},
		{
			Name: "word", Run: echo,
			Params:   []Param{{Name: "name", Kind: Words, First: true, Max: "60"}},
			Examples: []string{"word heddle"},
		},
		{
			Name: "note", Run: echo,
			Params: []Param{
				{Name: "text", Kind: LongText, First: true, Max: "2000"},
				{Name: "ends", Kind: Count},
			},
			Examples: []string{`note text:"bring a comb" ends:20`},
		},
		{
			Name: "class", Who: Helper,
			Subs: []*Command{
				{Name: "open", Who: Teacher, Run: echo, Examples: []string{`class open name:"Lace on Mondays"`},
					Params: []Param{{Name: "name", Kind: Words, First: true, Required: true, Max: "60"}}},
				{Name: "roll", Run: echo},
			},
		},
		Help(func() []*Command { return all }),
	}
	return all
}

// testTexts says what each sentence is told, so that a test sees it.
func testTexts() Texts {
	t := Texts{
		"line.too_long":         "That is %d bytes; up to %d are read",
		"line.not_text":         "That is not readable text",
		"line.invisible":        "There is an invisible character (%s); type it again without",
		"line.open_quote":       "The quote that opens at %s is never closed",
		"line.unknown_command":  "I do not know “%s”; please ask for the list",
		"line.meant_command":    "I do not know “%s”; did you mean %s",
		"line.no_command":       "Please begin with a command",
		"line.unknown_argument": "“%s” is nothing that %s understands; it takes %s",
		"line.meant_argument":   "“%s” is nothing that %s understands; did you mean %s",
		"line.no_arguments":     "“%s” is one word too many; %s takes no arguments",
		"line.twice":            "“%s” is given twice; give it once",
		"line.empty_value":      "“%s” has no value; write it after the colon",
		"line.missing":          "“%s” is needed for %s",

		"arg.not_count":      "%s: “%s” is not a whole number in digits",
		"arg.count_range":    "%s: %s is outside what is allowed, %d to %d",
		"arg.not_choice":     "%s: “%s” is not one of %s",
		"arg.not_money":      "%s: “%s” is not a price",
		"arg.quantity_range": "%s: %s is outside what is allowed, %s to %s",
		"arg.unreadable":     "%s: %s",
		"arg.bare_density":   "%s: “%s” may be per inch or per 10 cm",
		"arg.text_too_long":  "%s is %d letters long; up to %d are allowed",

		"dispatch.internal": "Something went wrong on my side; reference %s",
		"dispatch.busy":     "There is a lot to answer just now; please ask again in a moment",
		"dispatch.role":     "%s is for %s",
		"dispatch.sub":      "%s needs one more word: %s",
		"dispatch.unsure":   "?|i don't know|don't know|no idea",

		"help.title": "What I can do", "help.intro": "Begin with: loom", "help.more": "Type help row", "help.examples": "For example:", "help.lines": "%s has lines: %s",
		"help.none": "There is no command “%s” to explain", "help.head.command": "command", "help.head.what": "what it does",
		"help.head.argument": "argument", "help.head.takes": "takes", "help.head.default": "if you say nothing", "help.required": "(needed)",

		"kind.count": "a whole number", "kind.length": "a length", "kind.density": "per inch", "kind.share": "a percentage",
		"kind.yarn": "a yarn", "kind.choice": "a choice", "kind.words": "a few words", "kind.longtext": "a text", "kind.money": "a price", "kind.file": "a file of up to %s MB",

		"file.needed": "%[2]s needs a file for %[1]s: %[3]s", "file.words": "%[1]s is a file: %[2]s", "file.too_large": "%s has %s MB, up to %s are allowed",
		"file.too_many": "%d files came, %s takes %d", "file.lost": "I could not load %s", "file.attach": "attach it", "file.help": "%s: %s",

		"role.anyone": "everyone", "role.student": "members", "role.helper": "the teacher and her helpers", "role.teacher": "the teacher",
	}
	for _, c := range []string{"row", "loom", "warp", "sett", "word", "note", "class", "class.open", "class.roll", "help"} {
		t[calc.Key("cmd."+c)] = "what " + c + " does"
	}
	for _, a := range []string{"ends", "raised", "passes", "from", "rows", "rightmost", "kind", "width", "heddle", "clear", "wide", "long", "hem",
		"takeup", "shrink", "yarn", "skein", "price", "weave", "name", "text", "command", "class.open.name"} {
		t[calc.Key("arg."+a)] = "the " + a
	}
	for _, k := range []calc.Key{measure.KeyEmpty, measure.KeyTooLong, measure.KeyEncoding, measure.KeyHidden, measure.KeyNumber, measure.KeyNegative,
		measure.KeyExponent, measure.KeyFraction, measure.KeyComma, measure.KeyNoUnit, measure.KeyUnknownUnit, measure.KeyUnitOrder, measure.KeyUnexpected,
		measure.KeyTooLarge, measure.KeyTooSmall, measure.KeyPercent, measure.KeyYarnSystem, measure.KeyYarnSystems, measure.KeyYarnNumber,
		measure.KeyYarnRange, measure.KeyYarnPlies, measure.KeyYarnDirect, measure.KeyYarnPerMass} {
		t[k] = "“%[1]s” cannot be read (" + string(k) + ")"
	}
	return t
}

// everyone has the same units and never fails to be found.
type everyone measure.Units

func (e everyone) Asker(context.Context, Request) (Asker, error) {
	return Asker{Units: measure.Units(e)}, nil
}

func testDispatcher(commands ...*Command) *Dispatcher {
	return NewDispatcher(append(testCommands(), commands...), everyone(measure.Unset), testTexts(), slog.New(slog.NewTextHandler(io.Discard, nil)))
}

var (
	ana  = Account{Chat: "test", User: "ana"}
	hall = Place{Chat: "test", Room: "hall"}
)

// ask is one line of the teacher's, who may use everything.
func ask(d *Dispatcher, line string) Reply {
	return d.Handle(context.Background(), Request{ID: "1", From: ana, In: hall, Role: Teacher, Line: line})
}

// quotedBack is what of the asker's own words a refusal repeats.
var quotedBack = regexp.MustCompile(`“.*”|: .* is outside|opens at .* is never`)

// wantOneSentence holds a refusal to its form: one sentence, and an example
// that is right.
func wantOneSentence(t *testing.T, d *Dispatcher, line string, r Reply) {
	t.Helper()
	if r.Problem == nil || r.Problem.Code == "" || r.Problem.Message == "" {
		t.Fatalf("%.60q is not refused with a code and a message: %+v", line, r.Problem)
	}
	if r.Problem.Code == Internal || r.Problem.Code == Busy || r.Problem.Code == NotAllowed {
		return
	}
	s := r.Problem.Sentence()
	end := strings.LastIndex(s, ", for example `")
	if end < 0 {
		t.Fatalf("%.60q: no example: %s", line, s)
	}
	example, closed := strings.CutSuffix(s[end+len(", for example `"):], "`.")
	if ours := quotedBack.ReplaceAllString(s[:end], ""); !closed || strings.Contains(ours, ". ") || strings.Contains(ours, "%!") || strings.Contains(s, "\n") {
		t.Errorf("%.60q: not one sentence with an example: %s", line, s)
	}
	if !isRight(d, r.Command, example) {
		t.Errorf("%.60q: the example is itself wrong: %s", line, s)
	}
}

// isRight tells whether an example is a whole line, or an argument of the
// command, that is read.
func isRight(d *Dispatcher, command, example string) bool {
	if ask(NewDispatcher(d.commands, d.people, d.texts, d.log), example).Problem == nil {
		return true
	}
	c, _ := walk(d.commands, strings.Fields(command))
	if c == nil {
		return false
	}
	words, err := split(example)
	if err != nil {
		return false
	}
	given, err := c.assign(example, words)
	if err != nil || len(given) != 1 {
		return false
	}
	for name, text := range given {
		if _, err := c.param(name).value(text, measure.Unset); err != nil {
			return false
		}
	}
	return true
}
