package lace

import "weftroom/calc/measure"

// Weft is the length of weft that a plan takes, all strands together, counted
// along the simulated weaver's own path: every pass over w of reed width takes
// w of each strand (the mill rule; Taylor, Cotton Weaving and Designing), so a
// group worked p times takes p·w. With the picks per length known, each move to
// the next group adds its drop from the top of the finished group to the foot
// of the next, about (p−1)/ppi; a ppi of 0 leaves the drops out.
//
// The sett is that of the ends in the heddle or reed; sett and strands must be
// positive.
func Weft(p *Plan, sett, ppi measure.Sett, strands int) (measure.Length, error) {
	ends, drops := 0, 0
	for _, row := range p.Rows {
		drops += len(row.Groups) - 1
	}
	err := Walk(p.Design.Ends, p.Design.From, p.Rows, func(pass Pass) error {
		ends += pass.High - pass.Low
		return nil
	})
	if err != nil {
		return 0, err
	}
	weft := measure.Length(ends) * sett.Spacing()
	if ppi > 0 {
		weft += measure.Length(drops*(p.Design.Passes-1)) * ppi.Spacing()
	}
	return weft * measure.Length(strands), nil
}
