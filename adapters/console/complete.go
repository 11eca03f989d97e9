package console

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/bot"
)

// completer completes command lines from their declarations.
type completer struct {
	commands []*bot.Command
	leave    []string // words that are no commands
}

// complete gives what the word before the cursor may become. pos counts
// characters, as the line editor does.
func (c completer) complete(line string, pos int) (head string, list []string, tail string) {
	runes := []rune(line)
	before := string(runes[:pos])
	words := split(before)
	last := words[len(words)-1]
	return strings.TrimSuffix(before, last), c.candidates(words[:len(words)-1], last), string(runes[pos:])
}

// split cuts at blanks that are not between quotes. The last word is the one
// that is being written, and may be empty.
func split(s string) []string {
	var words []string
	start, quoted := 0, false
	for i, r := range s {
		switch {
		case r == '"' && (quoted || mayOpen(s[start:i])):
			quoted = !quoted
		case unicode.IsSpace(r) && !quoted:
			if start < i {
				words = append(words, s[start:i])
			}
			start = i + utf8.RuneLen(r)
		}
	}
	return append(words, s[start:])
}

// mayOpen tells a quote that opens a text, at the beginning of a value, from
// one that means inches.
func mayOpen(word string) bool {
	return word == "" || strings.HasSuffix(word, ":") || strings.HasSuffix(word, "=")
}

func (c completer) candidates(before []string, word string) []string {
	if len(before) == 0 {
		return beginning(word, append(names(c.commands), c.leave...), " ")
	}
	command := called(c.commands, before[0])
	before = before[1:]
	if command != nil && len(command.Subs) > 0 {
		if len(before) == 0 {
			return beginning(word, names(command.Subs), " ")
		}
		command, before = called(command.Subs, before[0]), before[1:]
	}
	if command == nil {
		return nil
	}
	return arguments(command, before, word)
}

// arguments completes after a command: the choices of the argument that is
// being written, or the names of those that are not given yet.
func arguments(command *bot.Command, before []string, word string) []string {
	if strings.HasPrefix(word, sign) && command.Encloses() {
		return fileNames(word)
	}
	if i := strings.IndexAny(word, ":="); i >= 0 {
		return choices(param(command, word[:i]), word[:i+1], word[i+1:])
	}
	if len(before) > 0 {
		last := before[len(before)-1]
		if p := param(command, strings.TrimRight(last, ":=")); p != nil && (p.Name != last || p.Kind == bot.Choice) {
			return choices(p, "", word)
		}
	}
	var list, free []string
	for _, shown := range command.Shown() {
		p := &shown
		if p.First && len(before) == 0 {
			list = choices(p, "", word)
		}
		if p.Kind == bot.Enclosed {
			continue
		}
		if !given(before, p.Name) {
			free = append(free, p.Name)
		}
	}
	if list = append(list, beginning(word, free, ":")...); command.Encloses() && word == "" {
		list = append(list, sign)
	}
	return list
}

func choices(p *bot.Param, head, word string) []string {
	if p == nil || p.Kind != bot.Choice {
		return nil
	}
	var list []string
	for _, choice := range beginning(strings.TrimPrefix(word, `"`), p.Choices, "") {
		if strings.Contains(choice, " ") {
			choice = `"` + choice + `"`
		}
		list = append(list, head+choice+" ")
	}
	return list
}

// beginning gives the candidates that begin with word, each with an end.
func beginning(word string, candidates []string, end string) []string {
	var list []string
	for _, c := range candidates {
		if len(word) <= len(c) && strings.EqualFold(c[:len(word)], word) {
			list = append(list, c+end)
		}
	}
	return list
}

func given(words []string, name string) bool {
	for _, w := range words {
		if i := strings.IndexAny(w, ":="); i >= 0 {
			w = w[:i]
		}
		if strings.EqualFold(w, name) {
			return true
		}
	}
	return false
}

func names(commands []*bot.Command) []string {
	var list []string
	for _, c := range commands {
		list = append(list, c.Name)
	}
	return list
}

// called finds a command by its name or another that it has.
func called(commands []*bot.Command, name string) *bot.Command {
	for _, c := range commands {
		for _, n := range append([]string{c.Name}, c.Aliases...) {
			if strings.EqualFold(n, name) {
				return c
			}
		}
	}
	return nil
}

func param(command *bot.Command, name string) *bot.Param {
	for i := range command.Params {
		if strings.EqualFold(command.Params[i].Name, name) {
			return &command.Params[i]
		}
	}
	return nil
}
