package paper

import (
	"sync"

	"weftroom/calc/lace"
)

// bandOfLace is two half-dropped rows of eyelets on the dark cloth, for the head
// of a card. It is woven and settled as any preview is, once.
func bandOfLace(wide, high float64) *Sheet {
	s := NewSheet(wide, high)
	s.Rect(0, 0, wide, high, inkShade)
	c := ornament()
	if c == nil {
		return s
	}
	pitch := wide / float64(c.high-2)
	drawn := *c
	drawn.pitch, drawn.pick = pitch, high/float64(c.levels)
	drawn.right, drawn.foot = wide+pitch, high
	drawn.draw(s)
	return s
}

// ornament is the lace of the band.
var ornament = sync.OnceValue(func() *cloth {
	d, err := lace.Pattern{Ends: 66, Raised: 3, Passes: 3, Rows: 2, Repeat: lace.HalfDrop, Way: lace.OneWay}.Design()
	if err != nil {
		return nil
	}
	plan, err := lace.Make(d)
	if err != nil {
		return nil
	}
	c, err := Preview{Plan: plan}.cloth(Extent{Ends: 66, OfEnds: 66, Rows: 2, OfRows: 2})
	if err != nil {
		return nil
	}
	return c
})
