package lace

// What holds in cloth. None of these bounds has a published source: they are
// common practice, chosen for usual yarns at usual setts, and Motif.AsIs sets
// them aside.
const (
	// MaxSlit is how many picks high a column of holes one above the other may
	// be: about 2 in or 5 cm at 15 picks per inch. Beyond that the two sides hang
	// beside each other by themselves, and the slit gapes. The pick home of a
	// one-way row crosses it, but is no more than one loose thread in it: each row
	// counts its passes, two-way both journeys. One row of the design is always
	// allowed, however many passes it has.
	MaxSlit = 30

	// MaxDrawn is how many raised ends a group may have and still be drawn
	// together by its weft: eight of the usual groups of three, 3 in or 7.5 cm at
	// 16 ends per inch. In a wider one the pull of a turn is spent on the ends next
	// to it. So the tip of a small figure still opens in the middle of a narrow
	// warp, and the stem of a letter beside that of the next. A hole opens when the
	// group on one side of it, at least, is drawn away; one between two wide groups
	// is given another hole within reach, or is left out where that is nearer to
	// what was asked.
	MaxDrawn = 24

	// MaxSlope is how many rows running some ends may lie in drawn groups while
	// others lie in a group wider than MaxDrawn. All have the same number of
	// picks, so the fell is level by count; but passes pressed into a drawn group
	// lie closer. At a twentieth closer, 18 rows of three passes are short of their
	// neighbours by almost the height of a row: enough to see. A row woven plain,
	// and beaten across the whole warp, sets the fell straight.
	MaxSlope = 18
)

// settling is a design on its way to rows that hold: what the next row must know
// of the rows below it.
type settling struct {
	motifLayout
	asIs bool

	journeys  int // rows of the plan for each row of the design
	mostSlit  int // rows of the design
	mostSlope int // rows of the design

	slit   []int // by place: for how many rows running it has been a hole
	drawn  []int // by stretch: for how many rows running it has lain in a drawn group
	wide   []int // by stretch: for how many rows running it has lain in a wider one
	slopes bool  // the row before made the fell slope, as it was asked to
	choose chooser
	ask    []int64 // by place: what a hole costs in this row
	barred []bool  // by place: no hole can be there in this row

	changes, doubts []Alteration
}

// Stretch i of a warp lies between place i-1 and place i; the outermost reach to
// the selvedges. No border of any row lies inside one.

func newSettling(m Motif, l motifLayout) *settling {
	n := len(l.columns)
	return &settling{
		motifLayout: l, asIs: m.AsIs,
		journeys:  m.Way.journeys(),
		mostSlit:  max(1, MaxSlit/(m.Passes*m.Way.journeys())),
		mostSlope: MaxSlope / m.Way.journeys(),
		slit:      make([]int, n), drawn: make([]int, n+1), wide: make([]int, n+1),
		choose: newChooser(l, m.AsIs),
		ask:    make([]int64, n), barred: make([]bool, n),
	}
}

// settleRow chooses the next row, whose number in the plan is given, and notes
// what it changes.
func (s *settling) settleRow(number int, asked []float64) []bool {
	holeCosts(s.ask, func(place int) float64 { return shareAt(asked, s.columns[place]) })
	for place := range s.columns {
		s.barred[place] = s.atEdge(place) || s.slitFull(place)
	}
	row := s.choose.row(s.ask, s.barred)
	plain := !s.asIs && s.slope(row)
	s.noteChanges(number, row, plain)
	if plain {
		clear(row)
	}
	if s.asIs {
		s.noteDoubts(number, row)
	}
	s.goOn(row)
	return row
}

// slitFull tells whether one more hole at a place makes its slit too long.
func (s *settling) slitFull(place int) bool { return !s.asIs && s.slit[place] >= s.mostSlit }

// noteChanges notes each place of a row that is not as asked, with what would be
// broken if it alone were put right; for a row that is to be woven plain, the
// slope that its holes would make.
func (s *settling) noteChanges(number int, row []bool, plain bool) {
	for place, hole := range row {
		wanted := s.ask[place] < 0
		woven := hole && !plain
		if woven == wanted {
			continue
		}
		s.changes = append(s.changes, Alteration{number, place + 1, s.reason(row, place)})
	}
}

func (s *settling) reason(row []bool, place int) Why {
	beside := func(p int) bool { return p >= 0 && p < len(row) && row[p] }
	wanted := s.ask[place] < 0
	switch {
	case wanted && row[place]:
		return Slope
	case s.atEdge(place):
		return AtEdge
	case wanted && s.cell < MinRaised && (beside(place-1) || beside(place+1)):
		return OnePair
	case wanted && s.slitFull(place):
		return Slit
	}
	return Wide
}

// noteDoubts notes what of a row holds badly.
func (s *settling) noteDoubts(number int, row []bool) {
	sloped := s.slopes
	s.slopes = s.slope(row)
	before := 0 // pairs of the group to the left
	s.eachGroup(row, func(low, high, pairs int) {
		place := low - 1 // at the left of this group
		if place >= 0 {
			if before > MaxDrawn && pairs > MaxDrawn {
				s.doubts = append(s.doubts, Alteration{number, place + 1, Wide})
			}
			if s.slit[place] == s.mostSlit {
				s.doubts = append(s.doubts, Alteration{number, place + 1, Slit})
			}
			if s.slopes && !sloped {
				s.doubts = append(s.doubts, Alteration{number, place + 1, Slope})
				sloped = true
			}
		}
		before = pairs
	})
}

// slope tells whether a row, on those below it, makes the fell slope.
func (s *settling) slope(row []bool) bool {
	drawn, wide := false, false
	s.eachGroup(row, func(low, high, pairs int) {
		for i := low; i < high; i++ {
			if pairs <= MaxDrawn {
				drawn = drawn || s.drawn[i] >= s.mostSlope
			} else {
				wide = wide || s.wide[i] >= s.mostSlope
			}
		}
	})
	return drawn && wide
}

// goOn takes a row into account for the next one. A row without holes is beaten
// straight: after it, nothing slopes.
func (s *settling) goOn(row []bool) {
	plain := true
	for place, hole := range row {
		if hole {
			s.slit[place]++
			plain = false
		} else {
			s.slit[place] = 0
		}
	}
	if plain {
		clear(s.drawn)
		clear(s.wide)
		return
	}
	s.eachGroup(row, func(low, high, pairs int) {
		for i := low; i < high; i++ {
			if pairs <= MaxDrawn {
				s.drawn[i], s.wide[i] = s.drawn[i]+1, 0
			} else {
				s.drawn[i], s.wide[i] = 0, s.wide[i]+1
			}
		}
	})
}

// eachGroup calls visit for each group of a row, from the left, with the stretches
// low to high-1 that it is made of and its pairs.
func (s *settling) eachGroup(row []bool, visit func(low, high, pairs int)) {
	low, before := 0, 0
	for place, hole := range row {
		if hole {
			visit(low, place+1, s.fromLeft(place)-before)
			low, before = place+1, s.fromLeft(place)
		}
	}
	visit(low, len(row)+1, s.pairs()-before)
}
