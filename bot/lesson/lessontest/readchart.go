package lessontest

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// What the answer about a design says of where its holes are: its chart, as the
// words that stand in for the picture tell it, and how it lies on her warp.
var (
	chartSize    = regexp.MustCompile(`the chart, (\d+) rows? of (\d+) places, with (\d+) holes?, row 1 at the foot\.`)
	chartHoles   = regexp.MustCompile(`Holes, by places from the left: ([^.]+)\.`)
	chartRow     = regexp.MustCompile(`^rows? ([^:]+): (.+)$`)
	chartCell    = regexp.MustCompile(`(?:From one place to the next (?:is|are) |Pairs of ends from one place to the next: )(\d+)`)
	chartMargins = regexp.MustCompile(`Pairs of ends from the selvedge to the nearest place: (\d+) at the left, (\d+) at the right\.`)
	chartOver    = regexp.MustCompile(`The single end left over in your odd warp comes on top, at the (right|left)\.`)
)

// Chart is where the holes of a design are, as its answer tells it.
type Chart struct {
	Rows   [][]int // of each, the first woven row first, the places with a hole, from 1 at the left
	Places int     // that a row has

	cell, left, right int    // pairs of ends
	over              string // the side where an odd warp has its end over
}

// ReadChart reads the chart of a design from the text of the answer, as a chat
// showed it, and the words of its picture.
func ReadChart(text, alt string) (Chart, error) {
	text, alt = unwrapped(marks.Replace(text)), unwrapped(alt)
	size, holes := chartSize.FindStringSubmatch(alt), chartHoles.FindStringSubmatch(alt)
	cell, margins := chartCell.FindStringSubmatch(text), chartMargins.FindStringSubmatch(text)
	if size == nil || holes == nil || cell == nil || margins == nil {
		return Chart{}, fmt.Errorf("no chart in %q with the picture %q", text, alt)
	}
	c := Chart{Rows: make([][]int, number(size[1])), Places: number(size[2]), cell: number(cell[1]), left: number(margins[1]), right: number(margins[2])}
	if over := chartOver.FindStringSubmatch(text); over != nil {
		c.over = over[1]
	}
	told, all := 0, 0
	for part := range strings.SplitSeq(holes[1], "; ") {
		m := chartRow.FindStringSubmatch(part)
		if m == nil {
			return c, fmt.Errorf("%q tells of no row", part)
		}
		rows, places, err := readHoles(m[1], m[2])
		if err != nil {
			return c, err
		}
		for _, row := range rows {
			if row < 1 || row > len(c.Rows) || c.Rows[row-1] != nil {
				return c, fmt.Errorf("row %d is told twice or is none", row)
			}
			c.Rows[row-1] = places
			told, all = told+1, all+len(places)
		}
	}
	if told != len(c.Rows) || all != number(size[3]) {
		return c, fmt.Errorf("%d rows of %d and %d holes of %s are told", told, len(c.Rows), all, size[3])
	}
	return c, nil
}

// readHoles reads "1, 3" and "2–4, 6" as rows and places. A row without holes has
// places, but none.
func readHoles(rows, places string) (numbers, holes []int, err error) {
	if numbers, err = readRows(rows); err != nil {
		return nil, nil, err
	}
	if places == "none" {
		return numbers, []int{}, nil
	}
	holes, err = readRows(places)
	return numbers, holes, err
}

// On is where the holes are on a warp of so many ends: of each row the boundaries
// between two ends, by how many ends are to the right of them, the rightmost
// first. It counts from both selvedges, which must come out alike.
func (c Chart) On(ends int) ([][]int, error) {
	left, right := 2*c.left, 2*c.right
	switch {
	case (ends%2 == 1) != (c.over != ""):
		return nil, errors.New("whether there is an end over does not fit the warp")
	case c.over == "left":
		left++
	case c.over == "right":
		right++
	}
	if wide := left + 2*c.cell*(c.Places-1) + right; wide != ends {
		return nil, fmt.Errorf("the chart and its margins are %d ends wide, and the warp %d", wide, ends)
	}
	rows := make([][]int, len(c.Rows))
	for i, places := range c.Rows {
		for _, place := range places {
			if place > c.Places {
				return nil, fmt.Errorf("row %d has a place %d of %d", i+1, place, c.Places)
			}
			rows[i] = append(rows[i], right+2*c.cell*(c.Places-place))
		}
		slices.Sort(rows[i])
	}
	return rows, nil
}
