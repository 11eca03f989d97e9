package bot

import (
	"strings"
	"unicode"
)

// PlainWidth is the column at which plain text is wrapped.
const PlainWidth = 78

// Plain renders a Reply as plain text: what `ask` prints, what a screen reader
// reads, and the body beside every richer rendering. It ends with one line
// break, has no blanks at the end of a line, no two blank lines together, and
// no character that could steer a terminal or turn the reading direction.
func Plain(r Reply) string {
	if r.Problem != nil {
		return tidy(r.Problem.Sentence())
	}
	parts := []string{wrap(oneLine(r.Title), "", "")}
	for _, block := range r.Body {
		parts = append(parts, PlainBlock(block))
	}
	var buttons strings.Builder
	for _, b := range r.Buttons {
		buttons.WriteString("  " + oneLine(b.Label) + ": " + oneLine(b.Line) + "\n")
	}
	return tidy(strings.Join(append(parts, buttons.String()), "\n"))
}

// Sentence is the whole of a problem: what is wrong, what is allowed, an example.
func (p *Problem) Sentence() string {
	message := oneLine(p.Message)
	switch {
	case p.Hint != "":
		return visible(message + ", for example `" + oneLine(p.Hint) + "`.")
	case strings.HasSuffix(message, ".") || strings.HasSuffix(message, "?") || strings.HasSuffix(message, "!"):
		return visible(message)
	}
	return visible(message + ".")
}

// PlainBlock renders one block, ending in a line break.
func PlainBlock(block Block) string {
	var text string
	switch block := block.(type) {
	case Paragraph:
		text = wrap(string(block), "", "")
	case Heading:
		text = wrap(oneLine(string(block)), "", "")
	case List:
		for _, item := range block {
			text += wrap(item, "- ", "  ")
		}
	case Table:
		text = plainTable(block)
	case Steps:
		text = plainSteps(block)
	case Picture:
		text = wrap("["+oneLine(block.Alt)+"]", "", "")
	}
	return tidy(text)
}

// tidy is the last thing done to every plain text.
func tidy(text string) string {
	var b strings.Builder
	blank := true // no blank line at the beginning
	for line := range strings.SplitSeq(visible(text), "\n") {
		line = strings.TrimRightFunc(line, unicode.IsSpace)
		if line == "" && blank {
			continue
		}
		blank = line == ""
		b.WriteString(line + "\n")
	}
	return strings.TrimRight(b.String(), "\n") + "\n"
}

// visible takes out of a text what is not meant for reading: control
// characters and direction marks, which could come from what someone wrote.
// Line breaks stay, other blanks become plain ones but for the unbreakable.
func visible(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case ' ' <= r && r <= '~', r == '\n', unicode.Is(unicode.Zs, r):
			return r
		case unicode.IsSpace(r):
			return ' '
		case invisible(r):
			return -1
		}
		return r
	}, text)
}

// oneLine is a text without line breaks, for a place where they would break a layout.
func oneLine(s string) string { return strings.Join(unbroken(s), " ") }

// unbroken cuts a text at its blanks, but not at one that is unbreakable.
func unbroken(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f' })
}

// wrap breaks text at PlainWidth, the first line after first, the others after rest.
func wrap(text, first, rest string) string {
	var b strings.Builder
	for line := range strings.SplitSeq(text, "\n") {
		for _, l := range fill(line, PlainWidth-width(rest)) {
			b.WriteString(first + l + "\n")
			first = rest
		}
	}
	return b.String()
}

// fill breaks a text between words into lines of at most most columns; a longer
// word has a line of its own. There is always one line.
func fill(text string, most int) []string {
	lines, column := []string{""}, 0
	for _, w := range unbroken(text) {
		last, n := len(lines)-1, width(w)
		switch {
		case column == 0:
			lines[last] += w
			column = n
		case column+1+n > most:
			lines = append(lines, w)
			column = n
		default:
			lines[last] += " " + w
			column += 1 + n
		}
	}
	return lines
}

// leastText is how narrow the words of steps may become beside their short forms.
const leastText = 24

// plainSteps sets the short forms in a column of their own, and below the words
// where those would become too narrow.
func plainSteps(steps Steps) string {
	label, text, short := 0, 0, 0
	for _, s := range steps {
		label, text, short = max(label, width(s.Label)), max(text, width(s.Text)), max(short, width(s.Short))
	}
	room := PlainWidth - label - short - 6
	beside := room >= leastText
	if !beside {
		room = PlainWidth - label - 4
	}
	text = min(text, max(room, leastText))
	var b strings.Builder
	for _, s := range steps {
		lines := fill(s.Text, text)
		if s.Short != "" && beside && width(lines[0]) <= text {
			lines[0] = pad(lines[0], text) + "  " + s.Short
		} else if s.Short != "" {
			lines = append(lines, s.Short)
		}
		head := "  " + strings.Repeat(" ", label-width(s.Label)) + s.Label + "  "
		for _, l := range lines {
			b.WriteString(head + l + "\n")
			head = strings.Repeat(" ", label+4)
		}
	}
	return b.String()
}

// pad fills a text up with blanks to n columns.
func pad(s string, n int) string { return s + strings.Repeat(" ", max(n-width(s), 0)) }
