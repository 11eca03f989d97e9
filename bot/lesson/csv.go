package lesson

import (
	"bytes"
	"encoding/csv"
	"strings"

	"weftroom/bot"
)

// reportCSV is a table for a spreadsheet, UTF-8 with a mark so that all of them
// know, lines ending as RFC 4180 says, and the credit line last.
func reportCSV(t bot.Table, credit string) []byte {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	rows := append([][]string{t.Head}, t.Rows...)
	if credit != "" {
		rows = append(rows, []string{credit})
	}
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = harmless(cell)
		}
		_ = w.Write(cells) // into memory
	}
	w.Flush()
	return b.Bytes()
}

// harmless keeps a cell from being taken for a formula by the program that
// opens the file: one that begins with = + - @, or with white space or a
// control character before it, gets an apostrophe in front.
func harmless(cell string) string {
	cell = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' || r == 0x7f {
			return ' '
		}
		return r
	}, cell)
	if strings.IndexAny(strings.TrimSpace(cell), "=+-@＝＋－＠") == 0 {
		return "'" + cell
	}
	return cell
}
