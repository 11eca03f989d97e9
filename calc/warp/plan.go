package warp

import (
	"errors"
	"math"

	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/yarn"
)

// Result is a warp plan. Nothing in it is rounded but the counts.
type Result struct {
	OnLoomWidth measure.Length // at the fell, before shrinkage
	ReedWidth   measure.Length // what the formula wants; the ends as they come out fill Width(Ends, Sett)
	Sett        measure.Sett   // ends, as used
	Ends        int
	Sley        []int // ends in each dent until it repeats; empty without a Heddle, or where no order gives Sett

	OnLoomLength measure.Length // one item with its hems, before shrinkage
	TakeUp       measure.Ratio  // as given or as found
	WarpCrimp    measure.Ratio  // with Auto only
	WeftCrimp    measure.Ratio  // with Auto only
	WarpLength   measure.Length
	WarpYarn     measure.Length

	Picks    float64        // of all items, unrounded; 0 when no picks per inch were given
	WeftYarn measure.Length // every strand counted; 0 when no picks per inch were given

	WarpMass, WeftMass measure.Mass // 0 when the yarn, or the weft, is not known

	Lines []Line // the whole way, in the order in which it is reckoned
	Notes []Note
}

// Line is one step of the reckoning. Value is a measure.Length, Mass, Sett or
// Ratio, or an int, so that whoever shows it can choose the units.
type Line struct {
	Label calc.Key
	Value any
	How   calc.Key // where the value comes from; empty when the label says it all
}

// Note is something worth saying beside the numbers.
type Note struct {
	Key  calc.Key
	Args []any // as described at the key
}

// Plan reckons a warp.
//
// On the loom a size is finished/(1−shrink); the reed width is that over
// (1−draw-in); ends are reed width × sett, to the nearest whole. The warp is
//
//	Σ items [ (long + 2·hem)/(1−shrink)/(1−take-up) + 2·fringe ] + header + sample + waste
//
// and its yarn ends × that length. Picks are ppi × the on-loom length of all
// items; their yarn is picks × reed width × strands (the mill rule; Taylor,
// Cotton Weaving and Designing, 6th ed.) or, with the geometry, picks × reed
// width × (1−draw-in) × (1+weft crimp) × strands: crimp lives in the drawn-in
// width. The weft of header and sample is not counted.
//
// Errors are *calc.Fault: OutOfRange for a value outside the bounds that Order
// gives and for totals that no loom holds (2 to 20,000 ends, 10 m in the reed,
// 1 km of warp), Conflict for a jammed pair of setts, MissingArgument for what is not said.
func Plan(o Order) (*Result, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	r := &Result{TakeUp: o.TakeUp}
	if o.Auto {
		if err := r.bend(o); err != nil {
			return nil, err
		}
	}
	if err := r.acrossTheLoom(o); err != nil {
		return nil, err
	}
	if err := r.alongTheWarp(o); err != nil {
		return nil, err
	}
	r.weft(o)
	r.weigh(o)
	r.sley(o)
	r.notes(o)
	return r, nil
}

func (r *Result) add(label calc.Key, value any, how ...calc.Key) {
	l := Line{Label: label, Value: value}
	if len(how) > 0 {
		l.How = how[0]
	}
	r.Lines = append(r.Lines, l)
}

// bend finds the take-up from the yarn. The ends are spaced as in the reed and
// the picks as woven; the strands of the weft lie together as one yarn.
func (r *Result) bend(o Order) error {
	weft := o.Weft
	if weft == 0 {
		weft = o.Warp
	}
	sett, name := o.ends()
	var err error
	r.WarpCrimp, r.WeftCrimp, err = Geometry{
		Warp: yarn.Diameter(o.Warp), Weft: yarn.Diameter(yarn.Strands(weft, o.Strands)),
		Ends: sett, Picks: o.PPI, F: Balanced,
	}.Crimp()
	if f, ok := errors.AsType[*calc.Fault](err); ok && f.Field == "sett" && name == "heddle" {
		f.Field, f.Example = name, name+f.Example[len("sett"):]
	}
	if err != nil {
		return err
	}
	r.TakeUp = TakeUp(r.WarpCrimp)
	return nil
}

func (r *Result) acrossTheLoom(o Order) error {
	r.Sett, _ = o.ends()
	r.OnLoomWidth = o.Wide / measure.Length(1-o.Shrink)
	r.ReedWidth = r.OnLoomWidth / measure.Length(1-o.DrawIn)
	r.Ends = Ends(r.ReedWidth, r.Sett)
	r.add(KeyLineOnLoomWidth, r.OnLoomWidth)
	r.add(KeyLineReedWidth, r.ReedWidth)
	r.add(KeyLineEnds, r.Ends)
	r.add(KeyLineEndsWidth, Width(r.Ends, r.Sett))
	return checkWarp("wide", r.Ends, r.ReedWidth, r.Sett)
}

func (r *Result) alongTheWarp(o Order) error {
	items := measure.Length(o.Items)
	r.OnLoomLength = (o.Long + 2*o.Hem) / measure.Length(1-o.Shrink)
	itemWarp := r.OnLoomLength / measure.Length(1-r.TakeUp)
	all := items * (itemWarp + 2*o.Fringe)
	r.WarpLength = all + o.Header + o.Sample + o.Waste
	r.WarpYarn = measure.Length(r.Ends) * r.WarpLength

	r.add(KeyLineOnLoomLength, r.OnLoomLength)
	if o.Auto {
		r.add(KeyLineWarpCrimp, r.WarpCrimp, KeyHowGeometry)
		r.add(KeyLineTakeUp, r.TakeUp, KeyHowGeometry)
	} else {
		r.add(KeyLineTakeUp, r.TakeUp, KeyHowGiven)
	}
	r.add(KeyLineItemWarp, itemWarp)
	r.add(KeyLineItemFringe, 2*o.Fringe)
	r.add(KeyLineItems, o.Items)
	r.add(KeyLineAllItems, all)
	r.add(KeyLineHeader, o.Header)
	r.add(KeyLineSample, o.Sample)
	r.add(KeyLineWaste, o.Waste)
	r.add(KeyLineWarpLength, r.WarpLength)
	r.add(KeyLineWarpYarn, r.WarpYarn)
	if r.WarpLength > maxWarpLength {
		return outOfRange2(KeyWarpTooLong, "long", r.WarpLength, maxWarpLength, "long:72in")
	}
	return nil
}

func (r *Result) weft(o Order) {
	if o.PPI == 0 {
		return
	}
	r.Picks = float64(o.PPI) * float64(o.Items) * float64(r.OnLoomLength)
	each := r.ReedWidth
	how := KeyHowMillRule
	if o.Auto {
		each = r.ReedWidth * measure.Length(1-o.DrawIn) * measure.Length(1+r.WeftCrimp)
		how = KeyHowGeometry
		r.add(KeyLineWeftCrimp, r.WeftCrimp, how)
	}
	r.WeftYarn = WeftYarn(r.Picks, each, o.Strands)
	r.add(KeyLinePicks, wholePicks(r.Picks))
	r.add(KeyLineStrands, o.Strands)
	r.add(KeyLineWeftYarn, r.WeftYarn, how)
}

// wholePicks is how a number of picks is shown; the yarn is reckoned from the
// unrounded one.
func wholePicks(picks float64) int { return int(math.Round(picks)) }

// WeftYarn is the yarn of so many picks, each a given length of each strand.
func WeftYarn(picks float64, each measure.Length, strands int) measure.Length {
	return measure.Length(picks*float64(strands)) * each
}

func (r *Result) weigh(o Order) {
	if o.Warp != 0 {
		r.WarpMass = Weight(r.WarpYarn, o.Warp)
		r.add(KeyLineWarpMass, r.WarpMass)
	}
	if o.PPI != 0 && o.Weft != 0 {
		r.WeftMass = Weight(r.WeftYarn, o.Weft)
		r.add(KeyLineWeftMass, r.WeftMass)
	}
}

// Weight is the mass of a length of yarn; tex is grams per kilometre.
func Weight(l measure.Length, t measure.Tex) measure.Mass {
	return measure.Mass(float64(l) * float64(t) / 1000)
}

func (r *Result) note(key calc.Key, args ...any) {
	r.Notes = append(r.Notes, Note{key, args})
}

func (r *Result) notes(o Order) {
	if o.Fringe > 0 {
		r.note(KeyNoteFringeCounted, measure.Length(2*o.Items)*o.Fringe)
	}
	if o.Loom == RigidHeddle {
		switch saved := min(2*o.Fringe, o.Waste); {
		case o.Fringe == 0:
			r.note(KeyNoteNoFringe)
		case saved > 0:
			r.note(KeyNoteFringeInWaste, saved)
		}
	}
	if usual, ok := UsualWaste(o.Loom); ok && o.Waste < usual.Low*(1-tiny) {
		r.note(KeyNoteWasteLow, o.Waste, usual.Low, usual.High)
	}
	if o.PPI != 0 && o.Header+o.Sample > 0 {
		r.note(KeyNoteWeftItemsOnly, o.Header, o.Sample)
	}
}
