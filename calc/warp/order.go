package warp

import "weftroom/calc/measure"

// Order is what is to be woven: finished sizes, and how the loom and the yarn
// behave. The fields are named in Faults as the command's arguments are.
type Order struct {
	Wide, Long measure.Length // of one finished item without fringes: 1 cm to 5 m, 1 cm to 200 m
	Items      int            // 1 to 1000, one after another on the same warp
	Fringe     measure.Length // at each end of each item, up to 2 m
	Hem        measure.Length // turned over at each end of each item, up to 1 m

	Header measure.Length // plain-woven waste at the start, once for the whole warp, up to 5 m
	Sample measure.Length // once for the whole warp, up to 50 m
	Waste  measure.Length // loom waste, once for the whole warp, up to 5 m
	Loom   Loom           // only for the notes; may be unknown

	// Heddle is dents, Sett is ends, each 0.5 to 200 per inch. One of them is
	// enough: with no Sett there is one end to each dent.
	Heddle, Sett measure.Sett

	TakeUp measure.Ratio // of the warp yarn, 0 to 0.6; not looked at when Auto
	Auto   bool          // take-up and weft crimp by the geometry: needs PPI and Warp
	Shrink measure.Ratio // of length and width in the wash, 0 to 0.6
	DrawIn measure.Ratio // of the reed width, at least 0, below 0.4

	PPI     measure.Sett // picks as woven, 0.5 to 200 per inch; 0: no weft is reckoned
	Strands int          // of weft, wound together, 1 to 12; not looked at without PPI

	// Warp and Weft are each one strand of yarn; 0: unknown, no mass. With
	// Auto an unknown Weft is taken to be the Warp's yarn.
	Warp, Weft measure.Tex
}

// ends is the sett of the ends and the name of the argument that said it.
func (o Order) ends() (measure.Sett, string) {
	if o.Sett != 0 {
		return o.Sett, "sett"
	}
	return o.Heddle, "heddle"
}

// check refuses each value outside its bounds, in the order in which a person
// names them. What only shows in the sum is refused on the way.
func (o Order) check() error {
	if err := (limits{"wide", o.Wide, measure.Centimetre, 5 * measure.Metre, "wide:12in"}).check(); err != nil {
		return err
	}
	if err := (limits{"long", o.Long, measure.Centimetre, 200 * measure.Metre, "long:72in"}).check(); err != nil {
		return err
	}
	if err := checkCount("items", o.Items, 1, maxItems); err != nil {
		return err
	}
	if err := o.checkSetts(); err != nil {
		return err
	}
	for _, l := range []limits{
		{"fringe", o.Fringe, 0, 2 * measure.Metre, "fringe:6in"},
		{"hem", o.Hem, 0, measure.Metre, "hem:1in"},
		{"header", o.Header, 0, 5 * measure.Metre, "header:2in"},
		{"sample", o.Sample, 0, 50 * measure.Metre, "sample:10in"},
		{"waste", o.Waste, 0, 5 * measure.Metre, "waste:18in"},
	} {
		if err := l.check(); err != nil {
			return err
		}
	}
	if err := o.checkRatios(); err != nil {
		return err
	}
	return o.checkWeftAndYarn()
}

func (o Order) checkSetts() error {
	if o.Heddle == 0 && o.Sett == 0 {
		return lacking(KeyNeedSett, "heddle", "heddle:10")
	}
	if o.Heddle != 0 {
		if err := checkSett("heddle", o.Heddle); err != nil {
			return err
		}
	}
	if o.Sett != 0 {
		return checkSett("sett", o.Sett)
	}
	return nil
}

func (o Order) checkRatios() error {
	if !o.Auto {
		if err := checkRatio("takeup", o.TakeUp, maxTakeUp); err != nil {
			return err
		}
	}
	if err := checkRatio("shrink", o.Shrink, maxShrink); err != nil {
		return err
	}
	if !(o.DrawIn >= 0 && o.DrawIn < maxDrawIn) {
		return outOfRange(KeyRatioBelow, "drawin", o.DrawIn, measure.Ratio(0), maxDrawIn, "drawin:5%")
	}
	return nil
}

func (o Order) checkWeftAndYarn() error {
	if o.PPI != 0 {
		if err := checkSett("ppi", o.PPI); err != nil {
			return err
		}
		if err := checkCount("strands", o.Strands, 1, maxStrands); err != nil {
			return err
		}
	}
	for _, t := range []measure.Tex{o.Warp, o.Weft} {
		if t == 0 {
			continue
		}
		if err := checkTex(t); err != nil {
			return err
		}
	}
	if !o.Auto {
		return nil
	}
	if o.Warp == 0 {
		return lacking(KeyNeedYarn, "yarn", `yarn:"8/2 cotton"`)
	}
	if o.PPI == 0 {
		return lacking(KeyNeedPicks, "ppi", "ppi:10")
	}
	return nil
}
