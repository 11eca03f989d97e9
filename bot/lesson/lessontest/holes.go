package lessontest

import (
	"slices"

	"weftroom/calc/lace"
)

// Holes weaves rows in simulation, on so many ends from a side, and gives for each
// row where the holes are in the cloth: the places within the warp at which the
// weft turned, as ends to the right of each, in order. The error is that of
// lace.Weave.
func Holes(ends int, from lace.Side, rows []lace.Row) ([][]int, error) {
	cloth, err := lace.Weave(ends, from, rows)
	if err != nil {
		return nil, err
	}
	holes := make([][]int, len(cloth.Rows))
	for i, row := range cloth.Rows {
		for _, turn := range row.Turns {
			if turn.At > 0 && turn.At < ends {
				holes[i] = append(holes[i], turn.At)
			}
		}
		slices.Sort(holes[i])
		holes[i] = slices.Compact(holes[i])
	}
	return holes, nil
}
