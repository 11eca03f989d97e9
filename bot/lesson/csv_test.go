package lesson

import (
	"encoding/csv"
	"strings"
	"testing"

	"weftroom/bot"
)

// A spreadsheet takes a cell that begins with = + - @ for a formula, also behind
// blanks, a tab or a line break (OWASP, "CSV Injection", cited).
func TestCellsAreHarmless(t *testing.T) {
	for _, c := range []struct{ name, cell, want string }{
		{"plain", "eyelets", "eyelets"},
		{"a number", "12.5", "12.5"},
		{"a formula", "=1+2", "'=1+2"},
		{"plus", "+49 30", "'+49 30"},
		{"minus", "-3", "'-3"},
		{"at", "@SUM(A1)", "'@SUM(A1)"},
		{"behind blanks", "  =1", "'  =1"},
		{"behind a tab", "\t=1", "' =1"},
		{"behind a carriage return", "\r=1", "' =1"},
		{"full width", "＝1", "'＝1"},
		{"a sign later on", "a=b", "a=b"},
		{"empty", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := harmless(c.cell); got != c.want {
				t.Errorf("%q becomes %q, want %q", c.cell, got, c.want)
			}
		})
	}
}

func TestReportCSVReadsBack(t *testing.T) {
	raw := reportCSV(bot.Table{Head: []string{"no.", "topic"}, Rows: [][]string{{"1", "half-drop, \"slow\"\nand =SUM"}}}, "=CREDIT()")
	text, marked := strings.CutPrefix(string(raw), "\ufeff")
	if !marked || !strings.Contains(text, "\r\n") {
		t.Errorf("%q has no mark or other line ends", raw)
	}
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 3 || rows[1][1] != "half-drop, \"slow\"\nand =SUM" || rows[2][0] != "'=CREDIT()" {
		t.Errorf("%q", rows)
	}
}
