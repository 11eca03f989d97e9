package bot

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
)

// word is a piece of a line. A name is what stood before a colon or an equals
// sign; the offsets are bytes of the line and include quotes and that sign.
type word struct {
	text       string // without quotes; a name in lower case
	name       bool
	quoted     bool
	start, end int
}

// The quotes of phones and of several languages. Any double one closes any
// double one, since keyboards mix them, and any single one any single one.
const (
	doubleQuotes = "\"“”„«»＂"
	singleQuotes = "'‘’‚‹›"
	nameSigns    = ":=：＝"
)

// split cuts a line into words.
//
// A quote opens a quoted text only at the beginning of a word, and not when it
// stands alone after a number, so that 15", 15 1/2 " and apostrophes are left
// alone. The quote that closes it is the first with nothing but a blank or
// punctuation behind it, so that "15 1/2"" and 'don't know' are read as they
// are meant. In a quoted text a backslash takes a quote or a backslash as it
// stands.
func split(line string) ([]word, error) {
	var words []word
	s := scanner{line: line, dry: map[string]bool{}}
	for s.skipSpace() {
		afterName := len(words) > 0 && words[len(words)-1].name
		if !s.opensQuote(afterName) {
			words = append(words, s.plain())
			continue
		}
		w, ok := s.quoted()
		switch r, _ := s.peek(); {
		case ok:
		case strings.ContainsRune(singleQuotes, r) && !afterName: // 'tis an apostrophe
			w = s.plain()
		default:
			return nil, &calc.Fault{Code: calc.BadValue, Key: KeyOpenQuote, Args: []any{clip(line[s.pos:])}}
		}
		words = append(words, w)
	}
	return words, nil
}

type scanner struct {
	line string
	pos  int
	dry  map[string]bool // kinds of quotes of which none that closes stands further on
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

func (s *scanner) opensQuote(afterName bool) bool {
	r, n := s.peek()
	if !strings.ContainsRune(doubleQuotes+singleQuotes, r) {
		return false
	}
	rest := s.line[s.pos+n:]
	next, _ := utf8.DecodeRuneInString(rest)
	alone := rest == "" || unicode.IsSpace(next)
	return !alone || afterName
}

// quoted reads a quoted text, and moves on only if it is closed: by a quote that
// closes or else, as in "8/2 cotton"weave:lace, by the first double quote.
func (s *scanner) quoted() (w word, ok bool) {
	open, n := s.peek()
	kind := doubleQuotes
	if strings.ContainsRune(singleQuotes, open) {
		kind = singleQuotes
	}
	from, at := s.pos+n, -1
	if !s.dry[kind] {
		at = s.quote(kind, from, closes)
		s.dry[kind] = at < 0
	}
	if at < 0 && kind == doubleQuotes {
		at = s.quote(kind, from, func(string) bool { return true })
	}
	if at < 0 {
		return word{}, false
	}
	_, size := utf8.DecodeRuneInString(s.line[at:])
	w = word{text: strings.TrimSpace(unescape(s.line[from:at])), quoted: true, start: s.pos, end: at + size}
	s.pos = w.end
	return w, true
}

// quote finds the next quote of a kind, but for one after a backslash, that is
// right by what stands behind it.
func (s *scanner) quote(kind string, at int, right func(rest string) bool) int {
	for at < len(s.line) {
		r, size := utf8.DecodeRuneInString(s.line[at:])
		switch {
		case r == '\\' && escapes(s.line[at+size:]):
			_, next := utf8.DecodeRuneInString(s.line[at+size:])
			size += next
		case strings.ContainsRune(kind, r) && right(s.line[at+size:]):
			return at
		}
		at += size
	}
	return -1
}

// closes tells whether a quote before rest can be the end of a quoted text.
func closes(rest string) bool {
	rest = strings.TrimLeft(rest, ",;.!?)")
	next, _ := utf8.DecodeRuneInString(rest)
	return rest == "" || unicode.IsSpace(next)
}

func escapes(rest string) bool {
	next, _ := utf8.DecodeRuneInString(rest)
	return strings.ContainsRune(doubleQuotes+singleQuotes+`\`, next)
}

func unescape(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && escapes(s[i+1:]) {
			_, n := utf8.DecodeRuneInString(s[i+1:])
			b.WriteString(s[i+1 : i+1+n])
			i += n
			continue
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

// plain reads up to the next space, or a name up to and with its colon or
// equals sign, before which some keyboards put a space.
func (s *scanner) plain() word {
	start, letters := s.pos, true
	for s.pos < len(s.line) {
		r, n := s.peek()
		if letters && s.pos > start {
			if sign := s.nameSign(); sign > 0 {
				name := s.line[start:s.pos]
				s.pos += sign
				return word{text: strings.ToLower(name), name: true, start: start, end: s.pos}
			}
		}
		if unicode.IsSpace(r) {
			break
		}
		letters = letters && (unicode.IsLetter(r) || r == '-' || r == '_')
		s.pos += n
	}
	return word{text: s.line[start:s.pos], start: start, end: s.pos}
}

// nameSign is how many bytes of blanks and a sign stand here, 0 for no sign.
func (s *scanner) nameSign() int {
	rest := strings.TrimLeftFunc(s.line[s.pos:], unicode.IsSpace)
	r, n := utf8.DecodeRuneInString(rest)
	if rest == "" || !strings.ContainsRune(nameSigns, r) {
		return 0
	}
	return len(s.line) - s.pos - len(rest) + n
}
