package discord

import (
	"strings"
	"unicode"

	"golang.org/x/text/width"

	"weftroom/bot"
)

// phoneWidth is how many columns of even type a phone shows without breaking
// the line (common practice, no source).
const phoneWidth = 40

// tableUnits sets a table in columns where a phone can show it, and else row by
// row, which also reads well aloud. In columns instants could not be shown by
// the reader's clock, so a table that names any is set row by row.
func (w words) tableUnits(t bot.Table) []string {
	widths, total := columns(t)
	if total > phoneWidth || w.tellsTime(t) {
		return w.rows(t)
	}
	var lines []string
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		if len(row) > 0 {
			lines = append(lines, inColumns(t, row, widths))
		}
	}
	if len(lines) == 0 {
		return nil
	}
	if len(t.Head) > 0 {
		lines = append(lines[:1], append([]string{strings.Repeat("─", total)}, lines[1:]...)...)
	}
	return blocks(lines)
}

// blocks sets lines in as few blocks of code as messages can hold.
func blocks(lines []string) []string {
	const most = maxContent - 200
	var out []string
	begin, n := 0, 0
	for i, l := range lines {
		if n+size(l)+1 > most && i > begin {
			out = append(out, codeBlock(lines[begin:i]))
			begin, n = i, 0
		}
		n += size(l) + 1
	}
	return append(out, codeBlock(lines[begin:]))
}

func columns(t bot.Table) (widths []int, total int) {
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], wide(oneLine(cell)))
		}
	}
	for _, w := range widths {
		total += w + 2
	}
	return widths, max(total-2, 0)
}

func inColumns(t bot.Table, row []string, widths []int) string {
	var b strings.Builder
	for i, cell := range row {
		cell = oneLine(cell)
		room := strings.Repeat(" ", widths[i]-wide(cell))
		if i > 0 {
			b.WriteString("  ")
		}
		if numbers(t, i) {
			b.WriteString(room + cell)
		} else {
			b.WriteString(cell + room)
		}
	}
	return strings.TrimRight(b.String(), " ")
}

// rows sets each row as an item: its first cell, and what the others say behind
// the heads of their columns. A single other column needs no head.
func (w words) rows(t bot.Table) []string {
	var out []string
	for _, row := range t.Rows {
		var parts []string
		for i, cell := range row {
			said := w.say(oneLine(cell))
			switch {
			case said == "":
				continue
			case i == 0 && !numbers(t, 0) && len(row) > 1:
				said = bold(said)
			case i < len(t.Head) && oneLine(t.Head[i]) != "" && (len(t.Head) > 2 || numbers(t, 0)):
				said = w.say(oneLine(t.Head[i])) + ": " + said
			}
			parts = append(parts, said)
		}
		between := " · "
		if len(row) == 2 && !numbers(t, 0) {
			between = ": "
		}
		switch item := "- " + strings.Join(parts, between); {
		case len(parts) == 0:
		case size(item) > longItem:
			out = append(out, w.cells(row)...)
		default:
			out = append(out, item)
		}
	}
	if head := w.say(oneLine(strings.Join(t.Head, " · "))); head != "" && (len(out) == 0 || len(t.Head) == 1) {
		out = append([]string{head}, out...)
	}
	return out
}

// longItem is the most letters of a row that is set as one item.
const longItem = maxContent / 2

// cells sets each cell of a row by itself, since together they are too long.
func (w words) cells(row []string) []string {
	var out []string
	start := "- "
	for _, cell := range row {
		for _, part := range w.chunks(oneLine(cell), longItem) {
			out = append(out, start+part)
			start = "  "
		}
	}
	return out
}

func numbers(t bot.Table, column int) bool { return column < len(t.Numbers) && t.Numbers[column] }

// wide is how many columns a text takes in type of even width: none for what is
// drawn over the letter before it, two for East Asian letters and pictographs.
func wide(s string) int {
	n := 0
	for _, r := range s {
		switch {
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		case width.LookupRune(r).Kind() == width.EastAsianWide || width.LookupRune(r).Kind() == width.EastAsianFullwidth:
			n += 2
		default:
			n++
		}
	}
	return n
}
