package lace

import (
	"fmt"

	"weftroom/calc"
)

// Sentences about a design on a warp. Counts in Args are ints.
const (
	// KeyChartTall: the rows of the design, the most that would do, the ends of the warp, the passes.
	KeyChartTall calc.Key = "lace.chart_tall"
	// KeyChartWide: the places of the design, the ends that it needs, the pairs
	// from place to place with which it needs them, the ends of the warp, the
	// places that this warp has room for, the pairs from place to place of those,
	// the panels that the design can be cut into, the most places of a panel.
	KeyChartWide calc.Key = "lace.chart_wide"
	// KeyCellWide: the pairs from place to place given, the places of the design, the
	// ends that it needs so, the ends of the warp, the most pairs that would do.
	KeyCellWide calc.Key = "lace.cell_wide"
	// KeyCellRange: the pairs given, the fewest (0), the most, the ends of the warp.
	KeyCellRange calc.Key = "lace.cell_range"
	// KeyAcrossRange: the repeats given, the fewest (0), the most, the ends of the
	// warp, the places of one repeat.
	KeyAcrossRange calc.Key = "lace.across_range"
	// KeyMarginRange: the pairs given, the fewest (0), the most, the ends of the warp.
	KeyMarginRange calc.Key = "lace.margin_range"
	// KeyPanelRange: the number of the panel, that of the last one.
	KeyPanelRange calc.Key = "lace.panel_range"
)

// Fit lays the design out on the warp and changes what does not hold. The error is
// a *calc.Fault about the first argument that is wrong; a Way, a Side or a share
// of a hole that does not exist is a plain error, since no weaver can say one.
//
// Rows are settled one after the other from the first woven up. Each is, of all
// rows of holes that hold on the rows below it, the one whose difference from
// what was asked is least: the sum over its places of |hole − asked|, taken to a
// hundred-thousandth. Of several it is the one that keeps the most of the holes
// asked for, those of more than a half; then the one whose other holes lie nearest
// to these, each counted by its places to the next; and then the one that has a
// hole at the first place, from the left, where they differ. A row that would make
// the fell slope is woven plain instead.
//
// What holds is told in motifholds.go. Time grows with rows × places.
func (m Motif) Fit() (Fitted, error) {
	if err := m.check(); err != nil {
		return Fitted{}, err
	}
	l, fault := m.layOut()
	if fault != nil {
		return Fitted{}, fault
	}
	return m.settle(l), nil
}

// settle weaves the design into rows, row by row.
func (m Motif) settle(l motifLayout) Fitted {
	f := Fitted{
		Pattern: Pattern{Ends: m.Ends, Passes: m.Passes, Way: m.Way, From: m.From, Rows: m.wovenRows()},
		Cell:    l.cell, Repeats: l.repeats, MarginLeft: l.left, MarginRight: l.right,
		Panels: l.panels, First: l.first, Last: l.first + len(l.columns) - 1,
	}
	differs := 0.0
	s := newSettling(m, l)
	for i := 0; len(f.Chart) < f.Pattern.Rows; i++ {
		asked := m.Asked[i%len(m.Asked)]
		row := s.settleRow(len(f.Chart)+1, asked)
		f.Pattern.Listed = append(f.Pattern.Listed, l.groups(m.From, row))
		for journey := 0; journey < m.Way.journeys() && len(f.Chart) < f.Pattern.Rows; journey++ {
			f.Chart = append(f.Chart, row)
			differs += l.difference(row, asked)
		}
	}
	f.Changes, f.Doubts = s.changes, s.doubts
	f.Agreement = 1 - differs/float64(len(f.Chart)*len(l.columns))
	return f
}

// wovenRows is how many rows the piece has.
func (m Motif) wovenRows() int {
	if m.Rows == 0 {
		return len(m.Asked) * m.Way.journeys()
	}
	return m.Rows
}

// check holds each number to its bounds before any two are multiplied.
func (m Motif) check() error {
	p := Pattern{Ends: m.Ends, From: m.From, Way: m.Way, Passes: m.Passes, Rows: m.Rows}
	for _, check := range []func() *calc.Fault{p.checkEnds, p.checkPasses} {
		if fault := check(); fault != nil {
			return fault
		}
	}
	if err := p.checkChoices(); err != nil {
		return err
	}
	if err := m.checkAsked(); err != nil {
		return err
	}
	for _, check := range []func() *calc.Fault{m.checkRows, m.checkCell, m.checkAcross, m.checkMargin} {
		if fault := check(); fault != nil {
			return fault
		}
	}
	return nil
}

func (m Motif) checkAsked() error {
	if err := checkShape(m.Asked); err != nil {
		return err
	}
	if rows, columns := len(m.Asked), len(m.Asked[0]); rows > MaxChartRows || columns > MaxChartColumns {
		return chartFault(calc.OutOfRange, KeyChartLong, rows, MaxChartRows, columns, MaxChartColumns)
	}
	if m.Apart < 0 || m.Apart > MaxChartColumns {
		return fmt.Errorf("lace: repeats %d places apart", m.Apart)
	}
	for _, row := range m.Asked {
		for _, share := range row {
			if !(share >= 0 && share <= 1) {
				return fmt.Errorf("lace: a place of %v holes", share)
			}
		}
	}
	return nil
}

func (m Motif) checkRows() *calc.Fault {
	if m.Rows != 0 {
		return Pattern{Ends: m.Ends, Passes: m.Passes, Rows: m.Rows}.checkRows()
	}
	most := min(MaxRows, MaxWork/(m.Ends*m.Passes)) / m.Way.journeys()
	if len(m.Asked) <= most {
		return nil
	}
	return outOfRange("rows", KeyChartTall, most*m.Way.journeys(), len(m.Asked), most, m.Ends, m.Passes)
}

func (m Motif) checkCell() *calc.Fault {
	if m.Cell >= 0 && m.Cell <= m.Ends/2 {
		return nil
	}
	return outOfRange("cell", KeyCellRange, usualCells[0], m.Cell, 0, m.Ends/2, m.Ends)
}

// checkAcross allows what the widest warp could hold; layOut holds it to this one.
func (m Motif) checkAcross() *calc.Fault {
	most := m.repeatsIn(MaxChartColumns)
	if m.Across >= 0 && m.Across <= most {
		return nil
	}
	return outOfRange("across", KeyAcrossRange, 1, m.Across, 0, most, m.Ends, len(m.Asked[0]))
}

func (m Motif) checkMargin() *calc.Fault {
	if m.Margin >= -1 && m.Margin <= m.Ends/4 {
		return nil
	}
	return outOfRange("margin", KeyMarginRange, MinRaised, m.Margin, 0, m.Ends/4, m.Ends)
}
