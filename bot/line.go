package bot

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
)

// MaxLine is the most bytes that one request may hold.
const MaxLine = 4000

// Sentences of the line reader.
const (
	KeyTooLong   calc.Key = "line.too_long"         // bytes given, bytes allowed
	KeyNotText   calc.Key = "line.not_text"         // no arguments: the bytes are not UTF-8
	KeyInvisible calc.Key = "line.invisible"        // the code point, as U+202E
	KeyOpenQuote calc.Key = "line.open_quote"       // the text from the quote on
	KeyUnknown   calc.Key = "line.unknown_command"  // the word, what is known
	KeyMeant     calc.Key = "line.meant_command"    // the word, the command that it is nearest to
	KeyNoCommand calc.Key = "line.no_command"       // no arguments
	KeyArgument  calc.Key = "line.unknown_argument" // the word, the command, what it takes
	KeyMeantArg  calc.Key = "line.meant_argument"   // the word, the command, the argument that it is nearest to
	KeyTwice     calc.Key = "line.twice"            // the argument
	KeyEmpty     calc.Key = "line.empty_value"      // the argument
	KeyMissing   calc.Key = "line.missing"          // the argument, the command
)

// word is a piece of a line. A name is what stood before a colon or an equals
// sign; the offsets are bytes of the line and include quotes.
type word struct {
	text       string
	name       bool
	quoted     bool
	start, end int
}

// checkLine refuses what is not plain text of a sane size, before any work.
func checkLine(line string) error {
	if len(line) > MaxLine {
		return &calc.Fault{Code: calc.OutOfRange, Key: KeyTooLong, Args: []any{len(line), MaxLine}, Example: "help"}
	}
	if !utf8.ValidString(line) {
		return &calc.Fault{Code: calc.BadValue, Key: KeyNotText, Example: "row ends:97"}
	}
	for _, r := range line {
		if unicode.Is(unicode.Bidi_Control, r) || (unicode.IsControl(r) && !unicode.IsSpace(r)) || r == '\uFEFF' {
			return &calc.Fault{Code: calc.BadValue, Key: KeyInvisible, Args: []any{codePoint(r)}, Example: "row ends:97"}
		}
	}
	return nil
}

func codePoint(r rune) string {
	const digits = "0123456789ABCDEF"
	out := []byte("U+")
	for shift := 20; shift >= 0; shift -= 4 {
		d := r >> shift & 15
		if d == 0 && len(out) == 2 && shift >= 16 {
			continue
		}
		out = append(out, digits[d])
	}
	return string(out)
}

const (
	doubleQuotes = "\"“”„«»"
	singleQuotes = "'‘’‚"
)

// split cuts a line into words. A quote straight after a digit, or standing
// alone, is the mark for inches or feet; elsewhere it opens a quoted text only
// at the beginning of a word, so that apostrophes are left alone.
func split(line string) ([]word, error) {
	var words []word
	s := scanner{line: line}
	for s.skipSpace() {
		if s.opensQuote(words) {
			w, err := s.quoted()
			if err != nil {
				return nil, err
			}
			words = append(words, w)
			continue
		}
		words = append(words, s.plain())
	}
	return words, nil
}

type scanner struct {
	line string
	pos  int
}

func (s *scanner) peek() (rune, int) { return utf8.DecodeRuneInString(s.line[s.pos:]) }

func (s *scanner) skipSpace() (more bool) {
	for s.pos < len(s.line) {
		r, n := s.peek()
		if !unicode.IsSpace(r) {
			return true
		}
		s.pos += n
	}
	return false
}

func (s *scanner) opensQuote(before []word) bool {
	r, n := s.peek()
	if !strings.ContainsRune(doubleQuotes+singleQuotes, r) {
		return false
	}
	afterName := len(before) > 0 && before[len(before)-1].name && before[len(before)-1].end == s.pos
	rest := s.line[s.pos+n:]
	next, _ := utf8.DecodeRuneInString(rest)
	alone := rest == "" || unicode.IsSpace(next)
	return !alone || (afterName && rest != "")
}

func (s *scanner) quoted() (word, error) {
	start := s.pos
	open, n := s.peek()
	s.pos += n
	closers := doubleQuotes
	if strings.ContainsRune(singleQuotes, open) {
		closers = singleQuotes
	}
	inner, last := s.pos, open
	for s.pos < len(s.line) {
		r, n := s.peek()
		if strings.ContainsRune(closers, r) && !s.marksInches(last, n, closers) {
			text := s.line[inner:s.pos]
			s.pos += n
			return word{text: strings.TrimSpace(text), quoted: true, start: start, end: s.pos}, nil
		}
		last = r
		s.pos += n
	}
	return word{}, &calc.Fault{Code: calc.BadValue, Key: KeyOpenQuote, Args: []any{clip(s.line[start:])}, Example: `yarn:"8/2 cotton"`}
}

// marksInches tells the first of two quotes in `"15 1/2""`: it follows a digit
// and another quote follows it.
func (s *scanner) marksInches(last rune, width int, closers string) bool {
	next, n := utf8.DecodeRuneInString(s.line[s.pos+width:])
	return n > 0 && (unicode.IsDigit(last) || unicode.IsNumber(last)) && strings.ContainsRune(closers, next)
}

// plain reads up to the next space, or up to and with a colon or an equals sign
// that ends a name.
func (s *scanner) plain() word {
	start := s.pos
	letters := true
	for s.pos < len(s.line) {
		r, n := s.peek()
		if unicode.IsSpace(r) {
			break
		}
		if letters && s.pos > start && (r == ':' || r == '=' || r == '：') {
			name := s.line[start:s.pos]
			s.pos += n
			return word{text: strings.ToLower(name), name: true, start: start, end: s.pos}
		}
		if !unicode.IsLetter(r) && r != '-' && r != '_' {
			letters = false
		}
		s.pos += n
	}
	return word{text: s.line[start:s.pos], start: start, end: s.pos}
}

// clip shortens a text that is quoted back to its writer.
func clip(s string) string {
	const most = 40
	s = strings.Join(strings.Fields(s), " ")
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}

// assign gives each argument its text. Words before any name belong to the
// argument that may come first. A name may also stand bare ("raised 3") where
// something that can be its value follows.
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
	case w.name && p != nil, p != nil && !w.quoted && a.bareName(i):
		if err := a.flush(); err != nil {
			return err
		}
		a.param, a.named, a.n = p, true, 0
		return nil
	case w.name && !a.takesText(), a.param == nil, a.full():
		return a.command.unknownArgument(w.text)
	}
	if a.n == 0 {
		a.from = i
	}
	a.n++
	return nil
}

// takesText tells that the argument being read is free text, in which a word
// before a colon is nothing special.
func (a *assigner) takesText() bool {
	return a.param != nil && (a.param.Kind == Words || a.param.Kind == LongText) && (a.n > 0 || a.named || a.param.First)
}

// full tells that the argument being read has all that its kind can take.
func (a *assigner) full() bool { return a.n > 0 && a.param.Kind == Count }

func (a *assigner) bareName(i int) bool {
	if i+1 >= len(a.words) || a.words[i+1].name || a.takesText() || (a.named && a.n == 0) {
		return false
	}
	return a.command.param(strings.ToLower(a.words[i+1].text)) == nil
}

func (a *assigner) flush() error {
	if a.param == nil || (a.n == 0 && !a.named) {
		return nil
	}
	name := a.param.Name
	if a.n == 0 {
		return &calc.Fault{Code: calc.BadValue, Key: KeyEmpty, Field: name, Args: []any{name}, Example: a.command.example(name)}
	}
	if _, twice := a.values[name]; twice {
		return &calc.Fault{Code: calc.Conflict, Key: KeyTwice, Field: name, Args: []any{name}, Example: a.command.example(name)}
	}
	first, last := a.words[a.from], a.words[a.from+a.n-1]
	value := first.text
	if a.n > 1 {
		value = a.line[first.start:last.end]
	}
	a.values[name] = value
	a.n = 0
	return nil
}

func (c *Command) unknownArgument(name string) error {
	var names []string
	for _, p := range c.Params {
		names = append(names, p.Name)
	}
	f := &calc.Fault{Code: UnknownArgument, Key: KeyArgument, Field: name, Args: []any{clip(name), c.Name, names}}
	if near := Nearest(name, names, 1); len(near) > 0 {
		f.Key, f.Args = KeyMeantArg, []any{clip(name), c.Name, near[0]}
		f.Example = c.example(near[0])
	} else if len(c.Examples) > 0 {
		f.Example = c.Examples[0]
	}
	return f
}

// example finds "name:value" in the command's examples.
func (c *Command) example(name string) string {
	p := c.param(name)
	for _, e := range c.Examples {
		words, err := split(e)
		if err != nil || len(words) == 0 {
			continue
		}
		values, err := c.assign(e, words[1:])
		if err != nil || values[name] == "" {
			continue
		}
		return written(name, values[name])
	}
	switch {
	case p != nil && p.Default != "":
		return written(name, p.Default)
	case p != nil && len(p.Choices) > 0:
		return written(name, p.Choices[0])
	}
	return c.Name
}

// written is an argument as a person would write it.
func written(name, value string) string {
	if strings.ContainsFunc(value, unicode.IsSpace) {
		return name + `:"` + value + `"`
	}
	return name + ":" + value
}
