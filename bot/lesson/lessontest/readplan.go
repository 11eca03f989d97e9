// Package lessontest reads what people are told, as somebody who knows English,
// her loom and nothing else: tests give its rows to the simulated weaver, so that
// not the plan but its text is woven, as it arrived.
package lessontest

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"weftroom/calc/lace"
)

var (
	headingLine = regexp.MustCompile(`^Rows? (.+?), (?:each )?from the (right|left): (\d+) moves$`)
	stepLine    = regexp.MustCompile(`^ +(\d+)(?:–(\d+))?  (\S.*?)(?:   *(\S.*))?$`)
	moveWords   = regexp.MustCompile(`^([a-z0-9 ]+): (back |home )?to the (right|left)( in one plain pick)?, under (\d+)(; draw the turn snug|; leave the turn slack)?$`)
	againWords  = regexp.MustCompile(`^repeat moves (\d+)–(\d+), (\d+) more times?$`)
	moveShort   = regexp.MustCompile(`^([←→]) (\d+) (\S)$`)
	againShort  = regexp.MustCompile(`^↻ (\d+)–(\d+) ×(\d+)$`)
	legendLine  = regexp.MustCompile(`← to the left, → to the right; ([a-z0-9 ]+) is (\S), ([a-z0-9 ]+) is (\S);`)
	startLine   = regexp.MustCompile(`Start at the (right|left) edge\.`)
)

// ReadPlan reads all rows of the plain text of a row plan, once by its words and
// once by its short forms. rightmost is how the rightmost end of her loom sits:
// hole, slot, shaft1, shaft2 or unknown.
func ReadPlan(text, rightmost string) (words, short []lace.Row, err error) {
	blocks, err := readBlocks(text)
	if err != nil {
		return nil, nil, err
	}
	signs, err := readLegend(text)
	if err != nil {
		return nil, nil, err
	}
	told := map[int]block{}
	for _, b := range blocks {
		for _, n := range b.rows {
			if _, twice := told[n]; twice {
				return nil, nil, fmt.Errorf("row %d is told twice", n)
			}
			told[n] = b
		}
	}
	for n := 1; n <= len(told); n++ {
		b, ok := told[n]
		if !ok {
			return nil, nil, fmt.Errorf("row %d is not told", n)
		}
		row, err := b.byWords(rightmost)
		if err != nil {
			return nil, nil, fmt.Errorf("row %d: %w", n, err)
		}
		words = append(words, row)
		if row, err = b.byShort(rightmost, signs); err != nil {
			return nil, nil, fmt.Errorf("row %d: %w", n, err)
		}
		short = append(short, row)
	}
	m := startLine.FindStringSubmatch(unwrapped(text))
	if m == nil || side(m[1]) != words[0].Start {
		return nil, nil, errors.New("the start is not that of the first row")
	}
	return words, short, nil
}

// block is what stands under one heading.
type block struct {
	rows  []int
	start lace.Side
	moves int
	steps []step
}

type step struct {
	from, to     int // the numbers in front of it
	words, short string
}

func readBlocks(text string) ([]block, error) {
	var blocks []block
	for _, line := range strings.Split(text, "\n") {
		if m := headingLine.FindStringSubmatch(line); m != nil {
			rows, err := readRows(m[1])
			if err != nil {
				return nil, err
			}
			blocks = append(blocks, block{rows: rows, start: side(m[2]), moves: number(m[3])})
			continue
		}
		if len(blocks) == 0 {
			continue
		}
		b := &blocks[len(blocks)-1]
		if m := stepLine.FindStringSubmatch(line); m != nil {
			s := step{from: number(m[1]), to: number(m[1]), words: m[3], short: m[4]}
			if m[2] != "" {
				s.to = number(m[2])
			}
			b.steps = append(b.steps, s)
		} else if n := len(b.steps); n > 0 && strings.HasPrefix(line, "     ") {
			b.steps[n-1].words += " " + strings.TrimSpace(line)
		}
	}
	if len(blocks) == 0 {
		return nil, errors.New("no rows")
	}
	return blocks, nil
}

// readRows reads "1–3, 7" and "1, 3 … 99".
func readRows(text string) ([]int, error) {
	if list, last, ok := strings.Cut(text, " … "); ok {
		first, second, ok := strings.Cut(list, ", ")
		if !ok {
			return nil, fmt.Errorf("rows %q", text)
		}
		var rows []int
		by := number(second) - number(first)
		for n := number(first); n <= number(last); n += by {
			rows = append(rows, n)
		}
		if rows[len(rows)-1] != number(last) {
			return nil, fmt.Errorf("rows %q do not come out", text)
		}
		return rows, nil
	}
	var rows []int
	for _, part := range strings.Split(text, ", ") {
		from, to, ok := strings.Cut(part, "–")
		if !ok {
			to = from
		}
		for n := number(from); n <= number(to); n++ {
			rows = append(rows, n)
		}
	}
	return rows, nil
}

// readLegend is what each sign stands for.
func readLegend(text string) (map[string]string, error) {
	m := legendLine.FindStringSubmatch(unwrapped(text))
	if m == nil {
		return nil, errors.New("no legend")
	}
	return map[string]string{m[2]: m[1], m[4]: m[3]}, nil
}

func (b block) byWords(rightmost string) (lace.Row, error) {
	return b.row(func(s step) (lace.Move, []int, error) {
		if m := againWords.FindStringSubmatch(s.words); m != nil {
			return lace.Move{}, []int{number(m[1]), number(m[2]), number(m[3])}, nil
		}
		m := moveWords.FindStringSubmatch(s.words)
		if m == nil {
			return lace.Move{}, nil, fmt.Errorf("%q cannot be read", s.words)
		}
		shed, err := shedOf(m[1], rightmost)
		move := lace.Move{Shed: shed, Toward: side(m[3]), Under: number(m[5])}
		if back := move.Toward == b.start; back != (m[2] != "") {
			return move, nil, fmt.Errorf("%q is not the way back", s.words)
		}
		if (m[2] == "home ") != (m[4] != "") {
			return move, nil, fmt.Errorf("%q: home is one plain pick", s.words)
		}
		if m[2] == "home " {
			move.Kind = lace.HomePick
		}
		switch m[6] {
		case "; draw the turn snug":
			move.Turn = lace.Snug
		case "; leave the turn slack":
			move.Turn = lace.Slack
		}
		return move, nil, err
	})
}

func (b block) byShort(rightmost string, signs map[string]string) (lace.Row, error) {
	return b.row(func(s step) (lace.Move, []int, error) {
		if m := againShort.FindStringSubmatch(s.short); m != nil {
			return lace.Move{}, []int{number(m[1]), number(m[2]), number(m[3])}, nil
		}
		m := moveShort.FindStringSubmatch(s.short)
		if m == nil {
			return lace.Move{}, nil, fmt.Errorf("%q cannot be read", s.short)
		}
		shed, err := shedOf(signs[m[3]], rightmost)
		toward := lace.Right
		if m[1] == "←" {
			toward = lace.Left
		}
		return lace.Move{Shed: shed, Toward: toward, Under: number(m[2])}, nil, err
	})
}

// row unfolds the steps, keeping to their numbers.
func (b block) row(read func(step) (move lace.Move, again []int, err error)) (lace.Row, error) {
	row := lace.Row{Start: b.start}
	for _, s := range b.steps {
		move, again, err := read(s)
		if err != nil {
			return row, err
		}
		if s.from != len(row.Moves)+1 {
			return row, fmt.Errorf("step %d comes after move %d", s.from, len(row.Moves))
		}
		if again == nil {
			row.Moves = append(row.Moves, move)
			continue
		}
		from, to, times := again[0], again[1], again[2]
		if from < 1 || to < from || to != len(row.Moves) {
			return row, fmt.Errorf("step %d repeats %d–%d", s.from, from, to)
		}
		unit := row.Moves[from-1 : to]
		for range times {
			row.Moves = append(row.Moves, unit...)
		}
		if s.to != len(row.Moves) {
			return row, fmt.Errorf("step %d–%d ends at move %d", s.from, s.to, len(row.Moves))
		}
	}
	if len(row.Moves) != b.moves {
		return row, fmt.Errorf("%d moves, the heading says %d", len(row.Moves), b.moves)
	}
	return row, nil
}

// shedOf says what opens when she does as she is told. A rigid heddle that goes
// up takes the ends in the holes with it, and one that goes down leaves those
// in the slots on top; holes and slots alternate, and so do the two shafts. So
// the shed that raises the rightmost end raises the odd ones, counted from the
// right.
func shedOf(name, rightmost string) (lace.Shed, error) {
	raises := map[string]string{
		"heddle up": "hole", "heddle down": "slot", "shaft 1": "shaft1", "shaft 2": "shaft2", "shed 1": "rightmost", "shed 2": "the others",
	}[name]
	fits := map[string][]string{
		"hole": {"hole", "slot"}, "slot": {"hole", "slot"}, "shaft1": {"shaft1", "shaft2"}, "shaft2": {"shaft1", "shaft2"},
		"unknown": {"rightmost", "the others"},
	}[rightmost]
	switch {
	case len(fits) == 0 || raises != fits[0] && raises != fits[1]:
		return 0, fmt.Errorf("%q on a loom whose rightmost end is %s", name, rightmost)
	case raises == rightmost, raises == "rightmost":
		return lace.Shed1, nil
	}
	return lace.Shed2, nil
}

// side is Right for what is not left.
func side(name string) lace.Side {
	if name == "left" {
		return lace.Left
	}
	return lace.Right
}

// number is 0 for what is none.
func number(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// unwrapped is a text in one line.
func unwrapped(text string) string { return strings.Join(strings.Fields(text), " ") }
