package lesson

import (
	"slices"
	"strconv"

	"weftroom/calc/lace"
)

// designData is where the holes of a piece lie, for scripts and for its chart: of
// rows that are listed, or of a design that was fitted to the warp.
type designData struct {
	chart       lace.Chart
	cell        int // pairs from place to place
	repeats     int // whole ones, across the warp
	left, right int // pairs from a selvedge to the outermost places
	changes     []lace.Alteration
	doubts      []lace.Alteration
	agreement   float64 // with what was asked for, 0 to 1
}

// whyNames are the reasons of an alteration for scripts.
var whyNames = [...]string{lace.Slit: "slit", lace.Wide: "wide", lace.AtEdge: "edge", lace.OnePair: "one_pair", lace.Slope: "slope"}

// listedDesign is where the holes of listed rows lie. They are woven as they are
// listed, so nothing is changed.
func listedDesign(p lace.Pattern, d lace.Design) *designData {
	data := designData{agreement: 1}
	data.chart, data.cell, data.left, data.right = lace.ChartOf(d)
	for i, row := range p.Listed {
		whole := 0
		for _, g := range row {
			whole += g
		}
		if times := (p.Ends/2 - 2*p.Edge) / whole; i == 0 || times < data.repeats {
			data.repeats = times
		}
	}
	return &data
}

// rowsDiffer tells that not all rows of the chart have the same holes.
func (d *designData) rowsDiffer() bool {
	return slices.ContainsFunc(d.chart, func(row []bool) bool { return !slices.Equal(row, d.chart[0]) })
}

// holes is how many the chart has.
func (d *designData) holes() int {
	n := 0
	for _, row := range d.chart {
		for _, hole := range row {
			if hole {
				n++
			}
		}
	}
	return n
}

// appendJSON writes the members of the design. No text in it needs escaping.
func (d *designData) appendJSON(b []byte) []byte {
	b = append(b, `,"chart":[`...)
	for i, row := range d.chart.Strings() {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, '"'), row...), '"')
	}
	b = append(b, ']')
	for _, member := range []struct {
		name  string
		value int
	}{{"cell", d.cell}, {"repeats", d.repeats}, {"margin_left", d.left}, {"margin_right", d.right}} {
		b = append(b, `,"`+member.name+`":`+strconv.Itoa(member.value)...)
	}
	b = appendAlterations(append(b, `,"changes":`...), d.changes)
	b = appendAlterations(append(b, `,"doubts":`...), d.doubts)
	return strconv.AppendFloat(append(b, `,"agreement":`...), d.agreement, 'f', -1, 64)
}

func appendAlterations(b []byte, all []lace.Alteration) []byte {
	b = append(b, '[')
	for i, a := range all {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, `{"row":`+strconv.Itoa(a.Row)+`,"column":`+strconv.Itoa(a.Column)+`,"why":"`+whyNames[a.Why]+`"}`...)
	}
	return append(b, ']')
}
