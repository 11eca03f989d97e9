package lace

import (
	"math"
	"slices"

	"weftroom/calc"
)

// usualCells are the pairs of ends from place to place that Motif.Fit tries, the
// widest first (common practice, no source: groups of three raised ends are the
// usual ones, and groups of two the narrowest that are worked). One pair is the
// last resort, for a design without two holes side by side: a group of one pair
// is never woven.
var usualCells = []int{3, 2}

// motifLayout is where the places of a design lie on a warp.
type motifLayout struct {
	cell        int   // pairs from place to place
	repeats     int   // across
	columns     []int // of the design, from 0, for each place of the piece from the left; noColumn between repeats
	left, right int   // pairs from each selvedge to the outermost place; the end over of an odd warp is in neither
	panels      int   // that the design is cut into
	first       int   // column of the whole design, from 1, that the first place is
}

// noColumn is the column of a plain place between two repeats.
const noColumn = -1

// shareAt is how much of a hole a row of the design asks for in a column.
func shareAt(asked []float64, column int) float64 {
	if column == noColumn {
		return 0
	}
	return asked[column]
}

// layOut chooses the cell and the repeats, cuts a panel out if one is asked for,
// and shares what is left over between the margins.
func (m Motif) layOut() (motifLayout, *calc.Fault) {
	if m.Panel != 0 {
		return m.layOutPanel()
	}
	repeats := max(m.Across, 1)
	cell, fits := m.chooseCell(m.placesOf(repeats), m.spaced(repeats))
	if !fits {
		return motifLayout{}, m.tooWide(repeats)
	}
	if m.Across == 0 {
		repeats = m.repeatsIn(m.room()/cell + 1)
	}
	l := motifLayout{cell: cell, repeats: repeats, columns: m.columnsOf(repeats), panels: 1, first: 1}
	return m.withMargins(l), nil
}

// layOutPanel cuts the whole design into as many panels as it takes, which differ
// by one place at most, and lays one of them out. All have the same cell.
func (m Motif) layOutPanel() (motifLayout, *calc.Fault) {
	repeats := max(m.Across, 1)
	columns := m.columnsOf(repeats)
	n, widest := m.panels(len(columns))
	if m.Panel < 1 || m.Panel > n {
		return motifLayout{}, outOfRange("panel", KeyPanelRange, 1, m.Panel, n)
	}
	cell, _ := m.chooseCell(widest, false)
	low, high := (m.Panel-1)*len(columns)/n, m.Panel*len(columns)/n
	l := motifLayout{cell: cell, repeats: repeats, columns: columns[low:high], panels: n, first: low + 1}
	return m.withMargins(l), nil
}

// panels is how many panels it takes to carry so many places, and how many
// places the widest of them has. Their cell is the one asked for, or the narrowest
// usual one.
func (m Motif) panels(places int) (n, widest int) {
	room := m.room()/m.panelCell() + 1
	n = (places + room - 1) / room
	return n, (places + n - 1) / n
}

func (m Motif) panelCell() int {
	if m.Cell != 0 {
		return m.Cell
	}
	return usualCells[len(usualCells)-1]
}

// chooseCell is the widest cell at which so many places fit. spaced allows for a
// single pair.
func (m Motif) chooseCell(places int, spaced bool) (cell int, fits bool) {
	cells := usualCells
	switch {
	case m.Cell != 0:
		cells = []int{m.Cell}
	case spaced:
		cells = append(cells[:len(cells):len(cells)], 1)
	}
	for _, cell = range cells {
		if (places-1)*cell <= m.room() {
			return cell, true
		}
	}
	return cell, false
}

// margin is the fewest pairs from a selvedge to a place.
func (m Motif) margin() int {
	if m.Margin < 0 {
		return MinRaised
	}
	return m.Margin
}

// room is how many pairs there are between the margins.
func (m Motif) room() int { return m.Ends/2 - 2*m.margin() }

// step is how many places after the one before it a repeat begins. A mirrored
// repeat begins at the place where the one before it ends, as a point in a
// threading is threaded once.
func (m Motif) step() int {
	columns := len(m.Asked[0])
	if m.Mirror && columns > 1 {
		return columns - 1
	}
	return columns + m.Apart
}

// placesOf is how many places so many repeats have side by side.
func (m Motif) placesOf(repeats int) int { return (repeats-1)*m.step() + len(m.Asked[0]) }

// repeatsIn is how many repeats have room in so many places.
func (m Motif) repeatsIn(places int) int {
	return (places - len(m.Asked[0]) + m.step()) / m.step()
}

// columnsOf lists the columns of the design as so many repeats have them.
func (m Motif) columnsOf(repeats int) []int {
	columns := len(m.Asked[0])
	list := slices.Repeat([]int{noColumn}, m.placesOf(repeats))
	for r := range repeats {
		for c := range columns {
			column := c
			if m.Mirror && r%2 == 1 {
				column = columns - 1 - c
			}
			list[r*m.step()+c] = column
		}
	}
	return list
}

// spaced tells whether so many repeats have no two holes side by side.
func (m Motif) spaced(repeats int) bool {
	columns := m.columnsOf(repeats)
	for _, row := range m.Asked {
		before := false
		for _, c := range columns {
			hole := shareAt(row, c) > 0.5
			if hole && before {
				return false
			}
			before = hole
		}
	}
	return true
}

// withMargins shares the pairs that are over; an odd one goes to the far side.
func (m Motif) withMargins(l motifLayout) motifLayout {
	over := m.room() - (len(l.columns)-1)*l.cell
	near := m.margin() + over/2
	far := near + over%2
	l.left, l.right = near, far
	if m.From == Right {
		l.left, l.right = far, near
	}
	return l
}

// tooWide says what is wrong with repeats that do not fit: they are too many, or
// too far apart from place to place, or not even one has room.
func (m Motif) tooWide(repeats int) *calc.Fault {
	cell := m.panelCell()
	if m.Cell == 0 && m.spaced(repeats) {
		cell = 1
	}
	if most := m.repeatsIn(m.room()/cell + 1); most > 0 {
		return outOfRange("across", KeyAcrossRange, most, m.Across, 0, most, m.Ends, len(m.Asked[0]))
	}
	places := m.placesOf(repeats)
	needs := 2 * (2*m.margin() + (places-1)*cell)
	if most := m.room() / (places - 1); m.Cell != 0 && (most > 1 || most == 1 && m.spaced(repeats)) {
		fault := outOfRange("cell", KeyCellWide, most, m.Cell, places, needs, m.Ends, most)
		fault.Code = calc.Conflict
		return fault
	}
	n, widest := m.panels(places)
	return &calc.Fault{
		Code: calc.Conflict, Key: KeyChartWide, Field: "panel",
		Args:    []any{places, needs, cell, m.Ends, m.room()/m.panelCell() + 1, m.panelCell(), n, widest},
		Example: example("panel", 1),
	}
}

// atEdge tells whether a hole at a place would leave less than a group to a
// selvedge.
func (l motifLayout) atEdge(place int) bool {
	return l.fromLeft(place) < MinRaised || l.fromRight(place) < MinRaised
}

// fromLeft is how many pairs lie to the left of a place.
func (l motifLayout) fromLeft(place int) int { return l.left + place*l.cell }

// fromRight is how many pairs lie to the right of a place, without an end over.
func (l motifLayout) fromRight(place int) int {
	return l.right + (len(l.columns)-1-place)*l.cell
}

// pairs is the whole warp, without an end over.
func (l motifLayout) pairs() int { return l.fromLeft(0) + l.fromRight(0) }

// groups are the groups of a row in working order from a side.
func (l motifLayout) groups(from Side, row []bool) Groups {
	var groups Groups
	before := 0
	for place, hole := range row {
		if hole {
			groups = append(groups, l.fromLeft(place)-before)
			before = l.fromLeft(place)
		}
	}
	groups = append(groups, l.pairs()-before)
	if from == Right {
		groups = reversed(groups)
	}
	return groups
}

// difference is the sum over the places of a row of |hole − asked|.
func (l motifLayout) difference(row []bool, asked []float64) float64 {
	sum := 0.0
	for place, c := range l.columns {
		if row[place] {
			sum += math.Abs(1 - shareAt(asked, c))
		} else {
			sum += shareAt(asked, c)
		}
	}
	return sum
}
