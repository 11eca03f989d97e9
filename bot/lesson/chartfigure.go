package lesson

import (
	"slices"
	"strings"

	"weftroom/bot/paper"
	"weftroom/calc/lace"
)

// mostChartAlt is how many letters of holes, row by row, stand in for a chart; a
// longer list helps nobody who hears it (our own bound).
const mostChartAlt = 700

// hasChart tells that there is more to see in a chart than one row after another.
func (t rowText) hasChart() bool { return t.chart != nil && t.chart.rowsDiffer() }

// chartFigure is the chart of the whole piece.
func (t rowText) chartFigure() figure {
	c := paper.Chart{Holes: t.chart.chart, From: t.pattern.From, Way: t.pattern.Way}
	part := c.Part()
	notes := []string{t.say("picture.chart.foot"), t.placesSaid()}
	alt := t.chartAlt()
	if !part.Whole() {
		said := t.say("picture.chart.part", part.Columns, part.OfColumns, sideKey(t.pattern.From), part.Rows, part.OfRows)
		notes, alt = append([]string{said}, notes...), alt+" "+said
	}
	c.Words = paper.ChartWords{
		Title: t.say("picture.chart.title"), Begin: t.say("picture.look.start"),
		Hole: t.say("picture.chart.hole"), Plain: t.say("picture.chart.plain"), Notes: notes,
	}
	draw := func() (*paper.Sheet, error) { return c.Sheet(), nil }
	return figure{name: "chart", alt: alt, sheet: draw}
}

// placesSaid says how far the places of the chart are from each other and from
// the edges. The end over of an odd warp is at the edge where the piece does not
// begin.
func (t rowText) placesSaid() string {
	left, right := 2*t.chart.left, 2*t.chart.right
	switch over := t.pattern.Ends % 2; {
	case t.pattern.From == lace.Right:
		left += over
	default:
		right += over
	}
	if t.chart.chart.Columns() == 1 {
		return t.say("picture.chart.place", left, right)
	}
	return t.say("picture.chart.places", 2*t.chart.cell, left, right)
}

// chartAlt is the chart in words: how large it is, how many holes it has and,
// where that is no long list, where they are.
func (t rowText) chartAlt() string {
	chart := t.chart.chart
	alt := t.say("picture.chart.alt", t.count("row.rows", len(chart)), chart.Columns(), t.count("picture.chart.holes", t.chart.holes()))
	holes := strings.Join(t.holesSaid(), "; ")
	if len(holes) > mostChartAlt {
		return alt
	}
	return alt + " " + t.say("picture.chart.alt_rows", holes)
}

// holesSaid are the places of the holes, rows alike told once; no more of them than
// are of use.
func (t rowText) holesSaid() []string {
	var said []string
	var told [][]bool
	length := 0
	for i, row := range t.chart.chart {
		if slices.ContainsFunc(told, func(r []bool) bool { return slices.Equal(r, row) }) {
			continue
		}
		told = append(told, row)
		alike := []int{i + 1}
		for j := i + 1; j < len(t.chart.chart); j++ {
			if slices.Equal(t.chart.chart[j], row) {
				alike = append(alike, j+1)
			}
		}
		places := t.say("picture.chart.none")
		if at := placesOf(row); len(at) > 0 {
			places = rowNumbers(at)
		}
		said = append(said, t.count("picture.chart.row", len(alike), rowNumbers(alike), places))
		if length += len(said[len(said)-1]); length > mostChartAlt {
			break
		}
	}
	return said
}

// placesOf are the numbers of the holes of a row, from 1 at the left.
func placesOf(row []bool) (places []int) {
	for i, hole := range row {
		if hole {
			places = append(places, i+1)
		}
	}
	return places
}
