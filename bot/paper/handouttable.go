package paper

import (
	"math"

	"weftroom/bot"
)

// inkBand lies behind every second step, so that the eye keeps its line.
var inkBand = Ink{0xee, 0xee, 0xec}

// mostInCell is how many lines one step or one cell of a table has.
const mostInCell = 30

// steps sets numbered moves: the number, the words, and at the right the short
// form, large enough to be read with the page beside the loom.
func steps(f *flow, all bot.Steps) {
	const gap, pad = 10, 1.5
	label, short := 0.0, 0.0
	all = all[:min(len(all), mostLines)]
	for _, s := range all {
		label = max(label, typeStrong.widthUpTo(s.Label, f.width()/4))
		short = max(short, typeShort.widthUpTo(s.Short, f.width()/3))
	}
	words := f.width() - label - short - 2*gap
	if short == 0 {
		words += gap
	}
	for i, s := range all {
		lines := typeBody.most(mostInCell, s.Text, words)
		high := float64(len(lines))*typeBody.lead + 2*pad
		if !f.room(high) {
			return
		}
		if i%2 == 1 {
			f.page().Rect(pageMargin-4, f.y, f.width()+8, high, inkBand)
		}
		f.text(pageMargin+label, pad, typeStrong, End, Black, typeStrong.cut(s.Label, label))
		for j, line := range lines {
			f.text(pageMargin+label+gap, pad+float64(j)*typeBody.lead, typeBody, Start, Black, line)
		}
		f.text(f.size.W-pageMargin-short, pad, typeShort, Start, Black, typeShort.cut(s.Short, short))
		f.y += high
	}
	f.gap(blockBelow)
}

// table sets rows between thin lines. The head comes again on a new page.
func table(f *flow, t bot.Table) {
	const gap, mostColumns = 12, 20
	t.Rows = t.Rows[:min(len(t.Rows), mostLines)]
	columns := len(t.Head)
	for _, row := range t.Rows {
		columns = max(columns, len(row))
	}
	if columns == 0 {
		return
	}
	columns = min(columns, mostColumns)
	widths := columnWidths(t, columns, f.width()-gap*float64(columns-1))
	head := cells(t.Head, widths, typeStrong)
	set := func(row [][]string, face typeface) {
		x := float64(pageMargin)
		for i, lines := range row {
			for j, line := range lines {
				at, align := x, Start
				if i < len(t.Numbers) && t.Numbers[i] {
					at, align = x+widths[i], End
				}
				f.text(at, 3+float64(j)*face.lead, face, align, Black, line)
			}
			x += widths[i] + gap
		}
		f.y += rowHeight(row, face)
		f.page().Line(pageMargin, f.y, f.size.W-pageMargin, f.y, Pen{Ink: inkFoot, Width: 0.5})
	}
	headHigh := rowHeight(head, typeStrong)
	for i, row := range t.Rows {
		body := cells(row, widths, typeBody)
		high, page := rowHeight(body, typeBody), len(f.pages)
		if i == 0 {
			high += headHigh
		}
		if !f.room(high) {
			return
		}
		if i == 0 || len(f.pages) > page {
			set(head, typeStrong)
		}
		set(body, typeBody)
	}
	f.gap(blockBelow + 2)
}

func cells(row []string, widths []float64, t typeface) [][]string {
	out := make([][]string, len(widths))
	for i := range out {
		if i < len(row) {
			out[i] = t.most(mostInCell, row[i], widths[i])
		}
	}
	return out
}

func rowHeight(row [][]string, t typeface) float64 {
	lines := 1
	for _, cell := range row {
		lines = max(lines, len(cell))
	}
	return float64(lines)*t.lead + 6
}

// columnWidths shares a width among columns: those that need less than their
// share get what they need. The others share what is left by the square root of
// what they need, so that a column of long sentences is wider, and a short one
// does not become a pillar of single words.
func columnWidths(t bot.Table, columns int, width float64) []float64 {
	need := make([]float64, columns)
	for i := range need {
		if i < len(t.Head) {
			need[i] = typeStrong.widthUpTo(t.Head[i], 8*width)
		}
		for _, row := range t.Rows {
			if i < len(row) {
				need[i] = max(need[i], typeBody.widthUpTo(row[i], 8*width))
			}
		}
	}
	out := make([]float64, columns)
	for {
		weight := 0.0
		for i := range need {
			if out[i] == 0 {
				weight += math.Sqrt(need[i])
			}
		}
		settled := false
		for i := range need {
			if out[i] == 0 && need[i] > 0 && need[i] <= width*math.Sqrt(need[i])/weight {
				out[i], settled = need[i], true
				width -= need[i]
				weight -= math.Sqrt(need[i])
			}
		}
		if settled {
			continue
		}
		for i := range need {
			if out[i] == 0 && weight > 0 {
				out[i] = width * math.Sqrt(need[i]) / weight
			}
		}
		return out
	}
}
