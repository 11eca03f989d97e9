package lessontest

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"weftroom/calc/lace"
)

// What a row plan says in words, wherever its lines are broken and whatever a
// chat has put around them.
var (
	looseHeading = regexp.MustCompile(`Rows? ([\d–, …]+), (?:each )?from the (right|left): (\d+) moves`)
	looseStep    = regexp.MustCompile(`(\d+)(?:–(\d+))?\W{1,8}(` +
		`(?:heddle|shaft|shed) (?:up|down|1|2): (?:back |home )?to the (?:right|left)(?: in one plain pick)?, under \d+(?:; draw the turn snug|; leave the turn slack)?` +
		`|repeat moves \d+–\d+, \d+ more times?)`)
	looseShort = regexp.MustCompile(`[←→] \d+ \S+|↻ \d+–\d+ ×\d+`)
	marks      = strings.NewReplacer("*", "", "`", "", "_", "", `\`, "", ">", "", "#", "")
)

// ReadWords reads all rows of a row plan by its words alone, from the text as a
// chat showed it: it may be cut into messages, wrapped, and marked up. rightmost
// is as for ReadPlan.
func ReadWords(text, rightmost string) ([]lace.Row, error) {
	text = unwrapped(looseShort.ReplaceAllString(unwrapped(marks.Replace(text)), " "))
	heads := looseHeading.FindAllStringSubmatchIndex(text, -1)
	if len(heads) == 0 {
		return nil, errors.New("no rows")
	}
	told := map[int]lace.Row{}
	for i, at := range heads {
		end := len(text)
		if i+1 < len(heads) {
			end = heads[i+1][0]
		}
		numbers, err := readRows(text[at[2]:at[3]])
		if err != nil {
			return nil, err
		}
		b := block{start: side(text[at[4]:at[5]]), moves: number(text[at[6]:at[7]])}
		for _, m := range looseStep.FindAllStringSubmatch(text[at[1]:end], -1) {
			s := step{from: number(m[1]), to: number(m[1]), words: m[3]}
			if m[2] != "" {
				s.to = number(m[2])
			}
			b.steps = append(b.steps, s)
		}
		row, err := b.byWords(rightmost)
		if err != nil {
			return nil, fmt.Errorf("rows %v: %w", numbers, err)
		}
		for _, n := range numbers {
			if _, twice := told[n]; twice {
				return nil, fmt.Errorf("row %d is told twice", n)
			}
			told[n] = row
		}
	}
	rows := make([]lace.Row, len(told))
	for i := range rows {
		row, ok := told[i+1]
		if !ok {
			return nil, fmt.Errorf("row %d is not told", i+1)
		}
		rows[i] = row
	}
	return rows, nil
}

// One move of a plan that is gone through step by step.
var (
	shownAt   = regexp.MustCompile(`Row (\d+) of \d+, move (\d+) of (\d+)`)
	shownStep = regexp.MustCompile(`(\d+)\W{1,8}` +
		`((?:heddle|shaft|shed) (?:up|down|1|2): (?:back |home )?to the (?:right|left)(?: in one plain pick)?, under \d+(?:; draw the turn snug|; leave the turn slack)?)`)
)

// Shown is one move as it was shown, and where it stands.
type Shown struct {
	Row, Step, Moves int // from 1; how many moves the row has
	Move             lace.Move
}

// ReadMove reads the one move that a text shows, by its words. A row is begun
// at start; rightmost is as for ReadPlan.
func ReadMove(text, rightmost string, start lace.Side) (Shown, error) {
	text = unwrapped(looseShort.ReplaceAllString(unwrapped(marks.Replace(text)), " "))
	at, words := shownAt.FindStringSubmatch(text), shownStep.FindStringSubmatch(text)
	if at == nil || words == nil || number(words[1]) != number(at[2]) {
		return Shown{}, fmt.Errorf("no move in %q", text)
	}
	b := block{start: start, moves: 1, steps: []step{{from: 1, to: 1, words: words[2]}}}
	row, err := b.byWords(rightmost)
	if err != nil {
		return Shown{}, err
	}
	return Shown{Row: number(at[1]), Step: number(at[2]), Moves: number(at[3]), Move: row.Moves[0]}, nil
}
