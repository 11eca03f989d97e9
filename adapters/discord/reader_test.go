package discord

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// reading is what a person sees of a message's content, and the marks in it that
// are more than plain letters.
type reading struct {
	text  string
	marks []string
}

// The rules of Discord's text, written down here a second time and from the
// other side: what a client makes of it. Source: Discord's help page on text
// formatting and the developers' reference on message formatting; that a bare
// :name: is an emoji, and that a backslash takes any punctuation, is common
// practice, no source.
var (
	readBlock   = regexp.MustCompile("(?s)^```(?:[a-z]*\n)?(.*?)\n?```")
	readCode    = regexp.MustCompile("(?s)^(`+)(.*?[^`])(`+)")
	readEscape  = regexp.MustCompile(`^\\([^0-9A-Za-z\s])`)
	readAngled  = regexp.MustCompile(`^<((?:https?|mailto|tel|discord|steam):[^\s>]+)>`)
	readURL     = regexp.MustCompile(`^(?:https?|steam|discord)://[^\s<]+`)
	readInvite  = regexp.MustCompile(`(?i)^discord(?:app)?\.(?:gg|com/invite)/[a-z0-9-]+`)
	readMasked  = regexp.MustCompile(`(?s)^\[[^\]]+\]\([^)]+\)`)
	readMention = regexp.MustCompile(`^<(?:@!?[0-9]+|@&[0-9]+|#[0-9]+|/[^>]+:[0-9]+|a?:[A-Za-z0-9_]+:[0-9]+|id:[a-z]+)>`)
	readTime    = regexp.MustCompile(`^<t:-?[0-9]+(?::[tTdDfFR])?>`)
	readAll     = regexp.MustCompile(`^@(?:everyone|here)`)
	readEmoji   = regexp.MustCompile(`^:(?:\+1|-1|100|1234|[0-9_+-]*[A-Za-z][A-Za-z0-9_+-]*):`)
	readPairs   = []*regexp.Regexp{
		regexp.MustCompile(`(?s)^\*\*(.+?)\*\*`), regexp.MustCompile(`(?s)^__(.+?)__`), regexp.MustCompile(`(?s)^~~(.+?)~~`),
		regexp.MustCompile(`(?s)^\|\|(.+?)\|\|`), regexp.MustCompile(`(?s)^\*([^\s*].*?)\*`), regexp.MustCompile(`(?s)^_(.+?)_`),
	}
	readStart = []*regexp.Regexp{
		regexp.MustCompile(`^ *#{1,3} +`), regexp.MustCompile(`^ *-# +`), regexp.MustCompile(`^ *>(?:>>)? `),
		regexp.MustCompile(`^ *[-*+] +`), regexp.MustCompile(`^ *[0-9]+[.)] +`),
	}
)

// read reads a content as a client does.
func read(content string) reading {
	var r reading
	r.read(content)
	return r
}

func (r *reading) read(s string) {
	start := true
	for s != "" {
		if start {
			start = false
			if n := r.lineMark(s); n > 0 {
				s = s[n:]
				continue
			}
		}
		n := r.one(s)
		if n == 0 {
			c, size := utf8.DecodeRuneInString(s)
			r.text += string(c)
			start = c == '\n'
			n = size
		}
		s = s[n:]
	}
}

func (r *reading) lineMark(s string) int {
	for _, form := range readStart {
		if m := form.FindString(s); m != "" {
			r.marks = append(r.marks, m)
			return len(m)
		}
	}
	return 0
}

// one reads the mark that s begins with, and tells how long it is.
func (r *reading) one(s string) int {
	if m := readEscape.FindStringSubmatch(s); m != nil {
		r.text += m[1]
		return len(m[0])
	}
	if m := readBlock.FindStringSubmatch(s); m != nil {
		r.marks, r.text = append(r.marks, "```"), r.text+m[1]
		return len(m[0])
	}
	if m := readCode.FindStringSubmatch(s); m != nil && len(m[1]) == len(m[3]) {
		r.marks, r.text = append(r.marks, "`"), r.text+m[2]
		return len(m[0])
	}
	if m := readAngled.FindStringSubmatch(s); m != nil {
		r.marks, r.text = append(r.marks, m[0]), r.text+m[1]
		return len(m[0])
	}
	for _, form := range []*regexp.Regexp{readURL, readInvite, readMasked, readMention, readTime, readAll, readEmoji} {
		if m := form.FindString(s); m != "" {
			r.marks, r.text = append(r.marks, m), r.text+m
			return len(m)
		}
	}
	for _, form := range readPairs {
		if m := form.FindStringSubmatch(s); m != nil {
			r.marks = append(r.marks, strings.Trim(m[0][:2], " "))
			r.read(m[1])
			return len(m[0])
		}
	}
	return 0
}
