package bot

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// assign gives each argument its text. Words before any name belong to the
// argument that may come first. A name may stand bare ("raised 3") where its
// value follows, or where no value can be in its place.
func (c *Command) assign(line string, words []word) (map[string]string, error) {
	a := assigner{command: c, line: line, words: words, values: map[string]string{}, param: c.first()}
	for i := range words {
		if err := a.take(i); err != nil {
			return nil, err
		}
	}
	if err := a.flush(); err != nil {
		return nil, err
	}
	return a.values, nil
}

type assigner struct {
	command *Command
	line    string
	words   []word
	values  map[string]string
	param   *Param // whose value is being read
	named   bool   // its name was written
	from    int    // its first word so far
	n       int    // how many words it has
}

func (a *assigner) take(i int) error {
	w := a.words[i]
	p := a.command.param(strings.ToLower(w.text))
	switch {
	case p != nil && !w.quoted && (w.name || a.bareName(i, p)):
		behind := p == a.param && !a.named && a.n > 0 && !w.name && !a.fits(p, i+1)
		if err := a.flush(); err != nil {
			return err
		}
		if a.param, a.named = p, true; behind { // "row 97 ends raised 3"
			a.param, a.named = nil, false
		}
		return nil
	case !a.belongs(w) && a.follows(w, p):
		if err := a.flush(); err != nil {
			return err
		}
		a.param, a.named = a.command.second(), true
	case !a.belongs(w):
		if p != nil && !w.quoted { // "shrink ten": the name is right, the value is not
			return a.command.unreadable(p, a.words[i+1:])
		}
		return a.command.unknownArgument(w.text)
	}
	if a.n == 0 {
		a.from = i
	}
	a.n++
	return nil
}

// follows tells whether a word begins what may stand behind the first
// argument, and is not the name of another one misspelt. p is the argument that
// it names, if any.
func (a *assigner) follows(w word, p *Param) bool {
	next := a.command.second()
	if next == nil || a.param != a.command.first() || a.named || a.n == 0 || p != nil && !w.quoted {
		return false
	}
	if next.Kind == Count {
		return !w.name && numeric(w.text)
	}
	return !w.name || len(Nearest(w.text, a.command.paramNames(), 1)) == 0
}

// bareName tells whether word i, which is the name of p, names it and is no
// part of the value being read.
func (a *assigner) bareName(i int, p *Param) bool {
	switch {
	case a.param == nil:
		return true
	case a.param.free() && a.n == 0:
		return false
	case a.param.free():
		return a.param.Kind == Words && !p.free() && a.fits(p, i+1)
	case a.n == 0 && a.param.counts(), a.n > 0 && !a.param.wordy():
		return true
	case a.n > 0 && slices.Contains(a.param.Choices, strings.ToLower(a.value())):
		return true
	}
	return a.fits(p, i+1)
}

// fits tells whether the words from i on may begin a value of p.
func (a *assigner) fits(p *Param, i int) bool {
	if i >= len(a.words) || a.words[i].name {
		return false
	}
	switch p.Kind {
	case Words, LongText:
		return true
	case Yarn: // "cotton 8/2": the number need not come first
		for j := i; j < min(i+3, len(a.words)) && !a.words[j].name; j++ {
			if strings.ContainsFunc(a.words[j].text, unicode.IsNumber) {
				return true
			}
		}
		return false
	case Enclosed:
		return false
	case Choice:
		_, err := p.choice(a.words[i].text)
		return err == nil || p.begins(a.words[i].text)
	}
	text := a.words[i].text
	if p.Kind == Money {
		text = withoutCurrency(text)
	}
	return numeric(text)
}

// numeric tells whether a text begins as a number does: 97, 15in, ½, -3, .5.
func numeric(text string) bool {
	text = strings.TrimLeft(text, "+-−–.,")
	r, _ := utf8.DecodeRuneInString(text)
	return unicode.IsNumber(r)
}

// belongs tells whether a word can be part of the value being read.
func (a *assigner) belongs(w word) bool {
	switch {
	case a.param == nil:
		return false
	case a.param.free():
		return true
	case w.name:
		return false
	case !a.named && a.n == 0 && a.param.counts() && !w.quoted:
		return numeric(w.text) // "row rasied 3" has a name misspelt, not a number
	}
	return a.n == 0 || a.param.Kind != Count
}

// free tells that the value is free text, in which a colon is nothing special.
func (p *Param) free() bool { return p.Kind == Words || p.Kind == LongText }

// counts tells that every value begins with a number.
func (p *Param) counts() bool {
	switch p.Kind {
	case Count, Length, Density, Share, Money:
		return true
	}
	return false
}

// wordy tells that the name of an argument can be a word of the value: "20 ends
// per inch", "rigid heddle".
func (p *Param) wordy() bool { return p.Kind == Density || !p.counts() }

// begins tells whether a text is the beginning of a choice or of several.
func (p *Param) begins(text string) bool {
	plain := squeeze(text)
	for _, c := range p.Choices {
		if plain != "" && strings.HasPrefix(squeeze(c), plain) {
			return true
		}
	}
	return false
}

// flush keeps the value that has been read.
func (a *assigner) flush() error {
	if a.param == nil || (a.n == 0 && !a.named) {
		return nil
	}
	name := a.param.Name
	if _, twice := a.values[name]; twice {
		return &calc.Fault{Code: calc.Conflict, Key: KeyTwice, Field: name, Args: []any{name}, Example: a.command.example(name)}
	}
	value := a.value()
	if value == "" && a.param.Kind != Enclosed {
		return a.command.empty(name)
	}
	a.values[name], a.n = value, 0
	return nil
}

// value is the text of the words that were read. Free text is kept as written;
// of anything else only the words matter, and no punctuation behind them.
func (a *assigner) value() string {
	words := a.words[a.from : a.from+a.n]
	switch {
	case len(words) == 0:
		return ""
	case a.param.free() && len(words) == 1 && words[0].quoted:
		return words[0].text
	case a.param.free():
		return a.line[words[0].start:words[len(words)-1].end]
	}
	texts := make([]string, len(words))
	for i, w := range words {
		texts[i] = w.text
	}
	return withoutStop(strings.Join(texts, " "))
}

// withoutStop drops the punctuation that a sentence puts behind a value.
func withoutStop(value string) string { return strings.TrimRight(value, ",;.! ") }

// structured takes the values of a chat that sends arguments apart from each
// other; what was left blank is not given.
func (c *Command) structured(values map[string]string) (map[string]string, error) {
	given := map[string]string{}
	for _, name := range slices.Sorted(maps.Keys(values)) {
		p, value := c.param(name), strings.TrimSpace(values[name])
		if p == nil {
			return nil, c.unknownArgument(name)
		}
		if !p.free() {
			value = withoutStop(value)
		}
		if value != "" {
			given[name] = value
		}
	}
	return given, nil
}

// openQuote gives the Fault of a quote that is never closed an example.
func (c *Command) openQuote(err error) error {
	f, ok := errors.AsType[*calc.Fault](err)
	if !ok {
		return err
	}
	f.Example = c.sample()
	for _, e := range c.Examples {
		if strings.Contains(e, `"`) {
			f.Example = e
			break
		}
	}
	return f
}

// unreadable refuses what follows the name of an argument and is no value of it.
func (c *Command) unreadable(p *Param, rest []word) error {
	if len(rest) == 0 {
		return c.empty(p.Name)
	}
	_, err := p.value(rest[0].text, measure.Unset)
	if err == nil {
		return c.unknownArgument(p.Name)
	}
	return c.blame(p, rest[0].text, measure.Unset, err)
}

func (c *Command) empty(name string) error {
	return &calc.Fault{Code: calc.BadValue, Key: KeyEmpty, Field: name, Args: []any{name}, Example: c.example(name)}
}

// unknownArgument refuses a word that is the name of no argument.
func (c *Command) unknownArgument(name string) error {
	f := &calc.Fault{Code: UnknownArgument, Key: KeyArgument, Field: name, Args: []any{clip(name), c.path(), c.paramNames()}, Example: c.sample()}
	if len(c.Shown()) == 0 {
		f.Key, f.Args = KeyNoArgs, []any{clip(name), c.path()}
		return f
	}
	if near := Nearest(name, c.paramNames(), 1); len(near) > 0 {
		f.Key, f.Args = KeyMeantArg, []any{clip(name), c.path(), near[0]}
		f.Example = c.example(near[0])
	}
	return f
}

// paramNames are those that people are told of.
func (c *Command) paramNames() []string {
	var names []string
	for _, p := range c.Shown() {
		names = append(names, p.Name)
	}
	return names
}

// example is an argument as it is written in the command's examples, or else
// one that would be right.
func (c *Command) example(name string) string {
	for _, e := range c.Examples {
		words, err := split(e)
		if err != nil || len(words) <= c.depth() {
			continue
		}
		values, err := c.assign(e, words[c.depth():])
		if err == nil && values[name] != "" {
			return Written(name, values[name])
		}
	}
	if p := c.param(name); p != nil {
		if sample := p.sample(); sample != "" {
			return Written(name, sample)
		}
	}
	return c.sample()
}

// samples are values of each kind that are short and likely to be right.
var samples = map[Kind]string{Count: "1", Length: "15in", Density: "10/in", Share: "10%", Yarn: "8/2 cotton", Money: "6.50"}

// sample is a value that is right, "" for free text without a default.
func (p *Param) sample() string {
	for _, s := range append([]string{p.Default, samples[p.Kind], p.Min}, p.Choices...) {
		if _, err := p.value(s, measure.Unset); s != "" && err == nil {
			return s
		}
	}
	return ""
}
