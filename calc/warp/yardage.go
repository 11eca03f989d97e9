package warp

import "weftroom/calc/measure"

// Yards asks how much yarn a warp of known length takes, and its weft when a
// woven length is given too.
type Yards struct {
	Ends  int            // 2 to 20,000; 0: found from Width and Sett
	Warp  measure.Length // the length of the warp with all its waste, 1 cm to 1 km
	Width measure.Length // in the heddle or reed, 1 cm to 10 m; 0: found from Ends and Sett
	Sett  measure.Sett   // 0.5 to 200 per inch; 0: unknown

	PPI     measure.Sett   // picks as woven, 0.5 to 200 per inch; 0: no weft
	Cloth   measure.Length // woven length on the loom, 1 cm to 1 km; 0: no weft
	Strands int            // of weft, wound together, 1 to 12; not looked at without PPI

	WarpYarn, WeftYarn measure.Tex // one strand; 0: unknown, no mass
}

// Yardage is the answer to Yards, unrounded. The weft's values are 0 where no
// weft was asked for, the masses where the yarn is not known.
type Yardage struct {
	Ends               int
	Width              measure.Length // 0 when neither given nor needed
	WarpYarn, WeftYarn measure.Length
	WarpMass, WeftMass measure.Mass
	Picks              float64
	Lines              []Line
}

// Reckon gives ends × warp length, and for the weft picks over the cloth ×
// width × strands (the mill rule; Taylor).
//
// Errors are *calc.Fault: OutOfRange for a value outside the bounds of Yards,
// Conflict when ends and width disagree (see Agree), MissingArgument when
// something needed is not given.
func (y Yards) Reckon() (*Yardage, error) {
	if err := y.check(); err != nil {
		return nil, err
	}
	a := &Yardage{Ends: y.Ends, Width: y.Width}
	if a.Ends == 0 {
		a.Ends = Ends(y.Width, y.Sett)
	}
	if a.Width == 0 && y.Sett != 0 {
		a.Width = Width(a.Ends, y.Sett)
	}
	if err := checkWarp(y.said(), a.Ends, a.Width, y.Sett); err != nil {
		return nil, err
	}
	a.warp(y)
	if y.PPI == 0 {
		return a, nil
	}
	if a.Width == 0 {
		return nil, lacking(KeyNeedWidth, "width", "width:15in")
	}
	a.weft(y)
	return a, nil
}

// said is the argument that a wrong number of ends is blamed on.
func (y Yards) said() string {
	if y.Ends == 0 {
		return "width"
	}
	return "ends"
}

func (a *Yardage) warp(y Yards) {
	a.WarpYarn = measure.Length(a.Ends) * y.Warp
	a.Lines = append(a.Lines,
		Line{Label: KeyLineEnds, Value: a.Ends},
		Line{Label: KeyLineWarpLength, Value: y.Warp},
		Line{Label: KeyLineWarpYarn, Value: a.WarpYarn})
	if y.WarpYarn != 0 {
		a.WarpMass = Weight(a.WarpYarn, y.WarpYarn)
		a.Lines = append(a.Lines, Line{Label: KeyLineWarpMass, Value: a.WarpMass})
	}
}

func (a *Yardage) weft(y Yards) {
	a.Picks = float64(y.PPI) * float64(y.Cloth)
	a.WeftYarn = WeftYarn(a.Picks, a.Width, y.Strands)
	a.Lines = append(a.Lines,
		Line{Label: KeyLineReedWidth, Value: a.Width},
		Line{Label: KeyLinePicks, Value: wholePicks(a.Picks)},
		Line{Label: KeyLineStrands, Value: y.Strands},
		Line{Label: KeyLineWeftYarn, Value: a.WeftYarn, How: KeyHowMillRule})
	if y.WeftYarn != 0 {
		a.WeftMass = Weight(a.WeftYarn, y.WeftYarn)
		a.Lines = append(a.Lines, Line{Label: KeyLineWeftMass, Value: a.WeftMass})
	}
}

func (y Yards) check() error {
	if err := y.checkAcross(); err != nil {
		return err
	}
	if err := (limits{"warp", y.Warp, measure.Centimetre, maxWarpLength, "warp:4yd"}).check(); err != nil {
		return err
	}
	if err := y.checkWeft(); err != nil {
		return err
	}
	for _, t := range []measure.Tex{y.WarpYarn, y.WeftYarn} {
		if t == 0 {
			continue
		}
		if err := checkTex(t); err != nil {
			return err
		}
	}
	return nil
}

func (y Yards) checkAcross() error {
	if y.Ends == 0 && (y.Width == 0 || y.Sett == 0) {
		return lacking(KeyNeedEnds, "ends", "ends:528")
	}
	if y.Ends != 0 {
		if err := checkCount("ends", y.Ends, minEnds, maxEnds); err != nil {
			return err
		}
	}
	if y.Width != 0 {
		if err := (limits{"width", y.Width, measure.Centimetre, maxReedWidth, "width:15in"}).check(); err != nil {
			return err
		}
	}
	if y.Sett != 0 {
		if err := checkSett("sett", y.Sett); err != nil {
			return err
		}
	}
	if y.Ends != 0 && y.Width != 0 && y.Sett != 0 {
		return Agree(y.Ends, y.Width, y.Sett)
	}
	return nil
}

func (y Yards) checkWeft() error {
	if y.PPI == 0 && y.Cloth == 0 {
		return nil
	}
	if y.PPI == 0 {
		return lacking(KeyNeedPicks, "ppi", "ppi:10")
	}
	if y.Cloth == 0 {
		return lacking(KeyNeedCloth, "cloth", "cloth:3yd")
	}
	if err := checkSett("ppi", y.PPI); err != nil {
		return err
	}
	if err := (limits{"cloth", y.Cloth, measure.Centimetre, maxWarpLength, "cloth:3yd"}).check(); err != nil {
		return err
	}
	return checkCount("strands", y.Strands, 1, maxStrands)
}
