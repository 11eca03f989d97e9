package bot

import "strings"

// plainTable sets a table in columns, and one that is wider than PlainWidth
// row by row.
func plainTable(t Table) string {
	widths := columns(t)
	total := 2 * (len(widths) - 1)
	for _, w := range widths {
		total += w
	}
	if total > PlainWidth {
		return stacked(t)
	}
	var b strings.Builder
	if len(t.Head) > 0 {
		b.WriteString(t.line(t.Head, widths) + "\n" + strings.Repeat("─", total) + "\n")
	}
	for _, row := range t.Rows {
		b.WriteString(t.line(row, widths) + "\n")
	}
	return b.String()
}

func columns(t Table) []int {
	var widths []int
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], width(oneLine(cell)))
		}
	}
	return widths
}

func (t Table) line(row []string, widths []int) string {
	cells := make([]string, len(row))
	for i, cell := range row {
		cell = oneLine(cell)
		if t.number(i) {
			cells[i] = strings.Repeat(" ", widths[i]-width(cell)) + cell
		} else {
			cells[i] = pad(cell, widths[i])
		}
	}
	return strings.Join(cells, "  ")
}

// stacked sets each row as an item, its first cell, and under it what the other
// cells say, each behind a dot and after the head of its column: for a narrow screen, and for a
// reader who hears one line after the other. Empty cells are left out, and a
// single other column needs no head.
func stacked(t Table) string {
	var b strings.Builder
	for _, row := range t.Rows {
		if len(t.Head) == 2 && len(row) == 2 && row[1] != "" && !t.number(0) {
			b.WriteString(wrap(t.item(row)+": "+oneLine(row[1]), "", "  "))
			continue
		}
		b.WriteString(wrap(t.item(row), "", "  "))
		for i := 1; i < len(row); i++ {
			if row[i] != "" {
				b.WriteString(wrap(t.headed(i, row[i]), "  · ", "    "))
			}
		}
	}
	return b.String()
}

// item is what a stacked row is about. A number alone would not say so.
func (t Table) item(row []string) string {
	switch {
	case len(row) == 0 || row[0] == "":
		return "–"
	case t.number(0):
		return t.headed(0, row[0])
	}
	return oneLine(row[0])
}

func (t Table) number(column int) bool { return column < len(t.Numbers) && t.Numbers[column] }

func (t Table) headed(i int, cell string) string {
	if i < len(t.Head) && t.Head[i] != "" {
		return oneLine(t.Head[i]) + ": " + oneLine(cell)
	}
	return oneLine(cell)
}
