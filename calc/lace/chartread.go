package lace

import (
	"strings"
	"unicode"

	"weftroom/calc"
)

// Sentences about charts as they are typed. Counts in Args are ints.
const (
	// KeyChartEmpty: no arguments.
	KeyChartEmpty calc.Key = "lace.chart_empty"
	// KeyChartSign: the sign that is none of a chart, as text, its row and its place in the row, from 1.
	KeyChartSign calc.Key = "lace.chart_sign"
	// KeyChartRagged: the number of the row, its places, those of the first row.
	KeyChartRagged calc.Key = "lace.chart_ragged"
	// KeyChartLong: the rows given and the most, the places of the longest row and the most.
	KeyChartLong calc.Key = "lace.chart_long"
)

// ParseChart reads a chart as it is typed: a dot is a place without a hole, o is
// one with a hole, rows stand on lines of their own or between slashes or bars,
// and the first row is the first woven. It takes what phones and chats make of
// that: a capital O, three dots become one sign, blanks around a row, empty
// lines, and the backticks that fence a code block. The error is a *calc.Fault
// about the argument chart.
//
// A nought is refused: to some it is a hole, to others none.
func ParseChart(text string) (Chart, error) {
	var chart Chart
	longest := 0
	for line := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == '\n' || r == '/' || r == '|' }) {
		line, ok := unfenced(strings.TrimSpace(line))
		if !ok {
			continue
		}
		row, fault := parsePlaces(line, len(chart)+1)
		if fault != nil {
			return nil, fault
		}
		chart = append(chart, row)
		longest = max(longest, len(row))
		if len(chart) > MaxChartRows || longest > MaxChartColumns {
			return nil, chartFault(calc.OutOfRange, KeyChartLong, len(chart), MaxChartRows, longest, MaxChartColumns)
		}
	}
	if err := checkShape(chart); err != nil {
		return nil, err
	}
	return chart, nil
}

// unfenced takes the backticks from a line; without them it may be no row at
// all, or the name of a language behind a fence.
func unfenced(line string) (string, bool) {
	row := strings.TrimSpace(strings.Trim(line, "`"))
	if strings.HasPrefix(line, "```") && strings.Trim(row, ".oO…") != "" {
		return "", false
	}
	return row, row != ""
}

func parsePlaces(line string, number int) ([]bool, *calc.Fault) {
	row := make([]bool, 0, len(line))
	for _, sign := range line {
		switch sign {
		case '.':
			row = append(row, false)
		case 'o', 'O':
			row = append(row, true)
		case '…':
			row = append(row, false, false, false)
		default:
			if !unicode.IsGraphic(sign) {
				sign = unicode.ReplacementChar
			}
			return nil, chartFault(calc.BadValue, KeyChartSign, string(sign), number, len(row)+1)
		}
	}
	return row, nil
}

// checkShape wants rows, all equally long.
func checkShape[T any](rows [][]T) error {
	if len(rows) == 0 || len(rows[0]) == 0 {
		return chartFault(calc.BadValue, KeyChartEmpty)
	}
	for i, row := range rows {
		if len(row) != len(rows[0]) {
			return chartFault(calc.BadValue, KeyChartRagged, i+1, len(row), len(rows[0]))
		}
	}
	return nil
}

func chartFault(code calc.Code, key calc.Key, args ...any) *calc.Fault {
	return &calc.Fault{Code: code, Key: key, Field: "chart", Args: args, Example: `chart:"..o../.o.o./..o.."`}
}
