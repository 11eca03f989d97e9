package warp

import (
	"errors"
	"math"

	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/yarn"
)

// sameSett is how close two setts are, relatively, that a person means to be
// the same: 40/10 cm written as 10.16 per inch.
const sameSett = 1e-6

// NearestHeddle is the heddle of a list (yarn.ImperialReeds, yarn.MetricReeds or
// the ones that somebody owns) that is nearest to a sett, for a loom on which
// the heddle's number is the sett, and how much closer it is than wanted
// (negative: more open). Of two as near the more open one is taken. It is not ok
// for a sett that is not positive and finite, and where no heddle is listed.
func NearestHeddle(want measure.Sett, heddles []measure.Sett) (heddle, closer measure.Sett, ok bool) {
	if !(want > 0) || math.IsInf(float64(want), 0) {
		return 0, 0, false
	}
	for _, h := range heddles {
		if !ok || nearer(h, heddle, want) {
			heddle, ok = h, true
		}
	}
	if !ok {
		return 0, 0, false
	}
	return heddle, heddle - want, true
}

func nearer(h, than, want measure.Sett) bool {
	d, best := math.Abs(float64(h-want)), math.Abs(float64(than-want))
	if math.Abs(d-best) <= tiny*float64(want) {
		return h < than
	}
	return d < best
}

// sley says how the ends go into the dents, and what to know about it.
func (r *Result) sley(o Order) {
	if o.Heddle == 0 {
		return
	}
	same := math.Abs(float64(r.Sett/o.Heddle)-1) <= sameSett
	if o.Loom == RigidHeddle && !same {
		r.note(KeyNoteNotOneEach, o.Heddle, r.Sett)
	}
	order, err := yarn.SleyOrder(r.Sett, o.Heddle)
	if f, ok := errors.AsType[*calc.Fault](err); ok && f.Key == yarn.KeySley {
		r.note(KeyNoteNoSley, f.Args...)
	}
	r.Sley = order
}
