package lace

import "fmt"

// Interlacing is a piece as it lies, crossing by crossing: which pass lies over
// or under each end at each height, and at which heights each pass runs. It is
// what a picture of the cloth is drawn from, and it comes from the simulated
// weaver alone.
//
// The level of a pass over an end is the number of passes that the end had
// before: the first pass over any end lies at level 0. A pass that goes on from
// a finished group to the next one therefore runs at two levels, and where it
// changes from one to the other is the drop in the slit.
//
// It may be of a part of the warp: nothing is known of ends beyond Low and High.
type Interlacing struct {
	Ends      int // of the whole warp
	From      Side
	Low, High int    // boundaries of the part
	Levels    int    // of the end that had the most passes
	Passes    []Pass // in the order in which they were woven

	at     []int32 // by level and end: the pass there, counted from 1, or 0
	levels []int32 // of all passes in turn, end by end from its Low or that of the part
	first  []int   // where in levels each pass begins
}

// Interlace weaves rows as Walk does and writes down every crossing. Its error is
// that of Weave.
func Interlace(ends int, from Side, rows []Row) (*Interlacing, error) {
	return InterlacePart(ends, from, rows, 0, ends)
}

// InterlacePart weaves rows on the whole warp and writes down the crossings of
// the ends low+1 to high: time grows with all crossings, memory with those (about
// 8 bytes for each) and the passes. Whoever draws a part of a long piece gives the
// rows of that part.
func InterlacePart(ends int, from Side, rows []Row, low, high int) (*Interlacing, error) {
	if err := checkWarp(ends, from); err != nil {
		return nil, err
	}
	if low < 0 || low >= high || high > ends {
		return nil, fmt.Errorf("boundaries %d to %d of %d ends", low, high, ends)
	}
	in := &Interlacing{Ends: ends, From: from, Low: low, High: high}
	had := make([]int32, high-low)
	err := Walk(ends, from, rows, func(p Pass) error {
		in.lay(p, had)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return in, nil
}

// lay adds one pass to what each end of the part had.
func (in *Interlacing) lay(p Pass, had []int32) {
	in.Passes = append(in.Passes, p)
	in.first = append(in.first, len(in.levels))
	wide := in.High - in.Low
	for e := max(p.Low, in.Low) - in.Low; e < min(p.High, in.High)-in.Low; e++ {
		level := int(had[e])
		had[e]++
		in.levels = append(in.levels, int32(level))
		for level >= in.Levels {
			in.at = append(in.at, make([]int32, wide)...)
			in.Levels++
		}
		in.at[level*wide+e] = int32(len(in.Passes))
	}
}

// PassAt is the number in Passes, from 0, of the pass over an end (from 1, from
// the right) at a level, or -1 where there is none or nothing is known.
func (in *Interlacing) PassAt(end, level int) int {
	if end <= in.Low || end > in.High || level < 0 || level >= in.Levels {
		return -1
	}
	return int(in.at[level*(in.High-in.Low)+end-1-in.Low]) - 1
}

// Over tells whether an end lies over the weft at a level: it was up in the shed
// of the pass there. Where there is no pass, nothing is over anything.
func (in *Interlacing) Over(end, level int) bool {
	p := in.PassAt(end, level)
	return p >= 0 && in.Passes[p].Shed.Raises(end)
}

// Tied tells whether the same pass lies straight across a boundary at a level.
// Where it does not, the weft turns there or drops: the boundary is open.
func (in *Interlacing) Tied(boundary, level int) bool {
	p := in.PassAt(boundary, level)
	return p >= 0 && p == in.PassAt(boundary+1, level)
}

// LevelOf is the level at which a pass, by its number in Passes, runs over an
// end of the part that it covers.
func (in *Interlacing) LevelOf(pass, end int) int {
	return int(in.levels[in.first[pass]+end-1-max(in.Passes[pass].Low, in.Low)])
}

// PlainPicks is a row of plain picks across the whole warp, the first from a
// side in a shed, each further one back in the other shed: a header or a hem.
func PlainPicks(ends, picks int, start Side, shed Shed) Row {
	row := Row{Start: start}
	toward := start.Other()
	for range picks {
		row.Moves = append(row.Moves, Move{Kind: HomePick, Shed: shed, Toward: toward, Under: raisedThrough(shed, ends), Turn: Slack})
		shed, toward = shed.Other(), toward.Other()
	}
	return row
}
