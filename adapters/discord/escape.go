package discord

import (
	"regexp"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

// Discord's text is a dialect of Markdown with marks of its own: <@1> mentions,
// <t:1:F> is an instant, <:a:1> and :a: are emoji, ||x|| hides, -# is small. A
// backslash takes the character of punctuation behind it as it stands
// (documentation, Reference, Message Formatting, for the marks; seen in its
// apps, for the backslash).

// always has a meaning wherever it stands.
const always = "\\*_~|`<>@[]"

var (
	// plainURL is an address that says all of where it leads. It stays one that
	// can be pressed, in the brackets that keep Discord from showing a preview.
	plainURL = pattern(`^https://[A-Za-z0-9.-]+\.[A-Za-z]{2,}(:[0-9]{1,5})?(/[A-Za-z0-9._~/!$&'*+,;=:@%-]*)?(\?[A-Za-z0-9._~/!$&'*+,;=:@%?-]*)?(#[A-Za-z0-9._~/!$&'*+,;=:@%?-]*)?`)

	// emojiName has a letter in it, but for a few; :22: in a time is none.
	emojiName  = pattern(`^:(?:[\p{N}_+~-]*\p{L}[\p{L}\p{N}_+~-]*|100|1234|[+-]1):`)
	listNumber = pattern(`^[0-9]+[.)](?:\s|$)`)
)

// pattern is an expression that is made when it is first wanted: most runs of the
// program speak to no chat, and those of letters are large.
func pattern(expr string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expr) })
}

// plain has the bytes that stay as they are within a line: all but those that have
// a meaning, may begin an address, or end the line.
var plain = func() (is [256]bool) {
	for i := range is {
		is[i] = i >= utf8.RuneSelf || !strings.ContainsRune(always+"h:/\n", rune(i))
	}
	return is
}()

// escape makes a text one that is shown as it stands, and neither calls anybody
// nor looks like anything else. Plain https addresses can be pressed.
func escape(s string) string {
	s = clean(s)
	var b strings.Builder
	b.Grow(len(s) + len(s)/8)
	start := true // of a line, blanks apart
	for i := 0; i < len(s); {
		if !start && plain[s[i]] {
			from := i
			for i < len(s) && plain[s[i]] {
				i++
			}
			b.WriteString(s[from:i])
			continue
		}
		if link := address(s, i); link != "" {
			b.WriteString("<" + link + ">")
			i += len(link)
			start = false
			continue
		}
		if start && '0' <= s[i] && s[i] <= '9' {
			if n := listNumber().FindString(s[i:]); n != "" {
				n = strings.TrimSpace(n)
				b.WriteString(n[:len(n)-1] + `\` + n[len(n)-1:])
				i += len(n)
				start = false
				continue
			}
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		if special(r, s[i:], s[:i], start) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
		start = r == '\n' || start && r == ' '
		i += n
	}
	return b.String()
}

// special tells whether r, which begins rest, must be taken as it stands.
func special(r rune, rest, before string, start bool) bool {
	switch {
	case strings.ContainsRune(always, r):
		return true
	case start && strings.ContainsRune("#-+>", r):
		return true
	case r == ':':
		return strings.HasPrefix(rest, "://") || !strings.HasPrefix(rest, ": ") && emojiName().MatchString(rest)
	case r == '/':
		word := before[strings.LastIndexAny(before, " \n")+1:]
		return strings.Contains(strings.ToLower(word), "discord") // an invitation without https
	}
	return false
}

// address is the plain URL that begins at i, without the punctuation of a
// sentence that ends there.
func address(s string, i int) string {
	if !strings.HasPrefix(s[i:], "https://") {
		return ""
	}
	if before, _ := utf8.DecodeLastRuneInString(s[:i]); i > 0 && !unicode.IsSpace(before) && !strings.ContainsRune("(\"'“‘„«", before) {
		return ""
	}
	link := strings.TrimRight(plainURL().FindString(s[i:]), ".,;:!?'*)")
	after, _ := utf8.DecodeRuneInString(s[i+len(link):])
	if len(link) < len("https://a.bc") || strings.ContainsRune(`@\<>[]|`+"`", after) && after != utf8.RuneError {
		return ""
	}
	return link
}

// clean takes out of a text what steers a screen or turns the reading direction,
// and what is no text. Line breaks stay.
func clean(s string) string {
	if isClean(s) {
		return s
	}
	s = strings.ReplaceAll(strings.ToValidUTF8(s, ""), "\r\n", "\n")
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\u00a0', r == '\u202f':
			return r
		case r == '\u200c', r == '\u200d': // joiners: some scripts and pictographs need them
			return r
		case unicode.IsControl(r) && r != '\t', unicode.Is(unicode.Cf, r):
			return -1
		case unicode.IsSpace(r):
			return ' '
		}
		return r
	}, s)
}

// isClean tells that there is nothing to take out, as of most texts there is not.
func isClean(s string) bool {
	for _, r := range s {
		if r >= ' ' && r < '\u007f' || r == '\n' {
			continue
		}
		steers := r < '\u00a0' || r == utf8.RuneError || unicode.Is(unicode.Cf, r)
		if steers || unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f' {
			return false
		}
	}
	return true
}

// oneLine is a clean text without line breaks.
func oneLine(s string) string {
	s = clean(s)
	if !strings.Contains(s, "\n") && !strings.Contains(s, "  ") {
		return strings.Trim(s, " ")
	}
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' }), " ")
}

// code sets a text in type of even width, where nothing has a meaning but the
// mark that ends it.
func code(s string) string {
	s = strings.ReplaceAll(oneLine(s), "`", "ˋ")
	if s == "" {
		return ""
	}
	return "`" + s + "`"
}

// codeBlock sets lines in type of even width.
func codeBlock(lines []string) string {
	for i, l := range lines {
		lines[i] = strings.ReplaceAll(l, "`", "ˋ")
	}
	return "```\n" + strings.Join(lines, "\n") + "\n```"
}

// bold and heading take what has been escaped.
func bold(escaped string) string {
	if strings.TrimSpace(escaped) == "" {
		return escaped
	}
	return "**" + escaped + "**"
}
