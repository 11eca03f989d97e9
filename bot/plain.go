package bot

import (
	"strings"
	"unicode/utf8"
)

// PlainWidth is the column at which plain text is wrapped.
const PlainWidth = 78

// Plain renders a Reply as plain text: what `ask` prints, what a screen reader
// reads, and the body beside every richer rendering.
func Plain(r Reply) string {
	var b strings.Builder
	if r.Problem != nil {
		b.WriteString(r.Problem.Sentence() + "\n")
		return b.String()
	}
	if r.Title != "" {
		b.WriteString(r.Title + "\n")
	}
	for _, block := range r.Body {
		b.WriteString("\n")
		b.WriteString(PlainBlock(block))
	}
	for _, button := range r.Buttons {
		b.WriteString("\n  " + button.Label + ": " + button.Line)
	}
	if len(r.Buttons) > 0 {
		b.WriteString("\n")
	}
	return b.String()
}

// Sentence is the whole of a problem: what is wrong, what is allowed, an example.
func (p *Problem) Sentence() string {
	if p.Hint == "" {
		return p.Message + "."
	}
	return p.Message + ", for example `" + p.Hint + "`."
}

// PlainBlock renders one block, ending in a line break.
func PlainBlock(block Block) string {
	switch block := block.(type) {
	case Paragraph:
		return wrap(string(block), "", "")
	case Heading:
		return string(block) + "\n"
	case List:
		var b strings.Builder
		for _, item := range block {
			b.WriteString(wrap(item, "- ", "  "))
		}
		return b.String()
	case Table:
		return plainTable(block)
	case Steps:
		return plainSteps(block)
	case Picture:
		return wrap("["+block.Alt+"]", "", "")
	}
	return ""
}

// wrap breaks text at PlainWidth, the first line after first, the others after rest.
func wrap(text, first, rest string) string {
	var b strings.Builder
	for _, line := range strings.Split(text, "\n") {
		column := width(first)
		b.WriteString(first)
		started := false
		for _, w := range strings.Fields(line) {
			switch {
			case started && column+1+width(w) > PlainWidth:
				b.WriteString("\n" + rest)
				column = width(rest)
			case started:
				b.WriteByte(' ')
				column++
			}
			b.WriteString(w)
			column += width(w)
			started = true
		}
		b.WriteByte('\n')
		first = rest
	}
	return b.String()
}

func width(s string) int { return utf8.RuneCountInString(s) }

func plainTable(t Table) string {
	rows := append([][]string{t.Head}, t.Rows...)
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], width(cell))
		}
	}
	var b strings.Builder
	for n, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			gap := strings.Repeat(" ", widths[i]-width(cell))
			if i > 0 {
				line.WriteString("  ")
			}
			if i < len(t.Numbers) && t.Numbers[i] {
				line.WriteString(gap + cell)
			} else {
				line.WriteString(cell + gap)
			}
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
		if n == 0 {
			total := 2 * (len(widths) - 1)
			for _, w := range widths {
				total += w
			}
			b.WriteString(strings.Repeat("-", total) + "\n")
		}
	}
	return b.String()
}

// plainSteps sets the short forms in a column of their own where the words
// leave room, and under the words where they do not.
func plainSteps(steps Steps) string {
	label, text, short := 0, 0, 0
	for _, s := range steps {
		label, text, short = max(label, width(s.Label)), max(text, width(s.Text)), max(short, width(s.Short))
	}
	text = min(text, PlainWidth-label-short-6)
	indent := strings.Repeat(" ", label+4)
	var b strings.Builder
	for _, s := range steps {
		lines := strings.Split(strings.TrimSuffix(wrapTo(s.Text, text), "\n"), "\n")
		head := "  " + strings.Repeat(" ", label-width(s.Label)) + s.Label + "  " + lines[0]
		if s.Short != "" {
			head += strings.Repeat(" ", text-width(lines[0])+2) + s.Short
		}
		b.WriteString(strings.TrimRight(head, " ") + "\n")
		for _, l := range lines[1:] {
			b.WriteString(indent + l + "\n")
		}
	}
	return b.String()
}

func wrapTo(text string, most int) string {
	var b strings.Builder
	column := 0
	for _, w := range strings.Fields(text) {
		if column > 0 && column+1+width(w) > most {
			b.WriteByte('\n')
			column = 0
		} else if column > 0 {
			b.WriteByte(' ')
			column++
		}
		b.WriteString(w)
		column += width(w)
	}
	return b.String()
}
