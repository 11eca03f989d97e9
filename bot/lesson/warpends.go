package lesson

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
)

// Sentences about the warp that a question is about.
const (
	keyNeedEnds   calc.Key = "ends.need"        // no arguments
	keyNeedHeddle calc.Key = "ends.need_heddle" // no arguments
	keyWidthEnds  calc.Key = "ends.width_ends"  // the argument, the width, the sett, the ends that they make, least, most
)

// theWarp is the warp that a question is about: from its arguments, and for
// what they leave out from the loom that the asker has reported.
type theWarp struct {
	ends  int
	sett  measure.Sett // 0: unknown
	width measure.Length
	loom  class.Loom // with what the arguments say laid over it
}

// warpOf is the warp that the arguments describe, on the loom that she has
// reported.
func warpOf(ctx context.Context, c *bot.Call, looms class.Looms) (theWarp, error) {
	loom, err := loomByHand(ctx, looms, c)
	if err != nil {
		return theWarp{}, err
	}
	loom = warpSaid(c.Args, loom)
	if c.Args.Has("rightmost") {
		loom.Rightmost = class.Rightmost(c.Args.Text("rightmost"))
	}
	if c.Args.Has("from") {
		loom.From = c.Args.Text("from")
	}
	return measured(loom)
}

// warpSaid lays ends, width, heddle and sett over a loom. A warp described in
// the question replaces the one on the loom whole: her own count of ends says
// nothing of another width, nor of the same width in another heddle.
func warpSaid(a bot.Args, loom class.Loom) class.Loom {
	if a.Has("ends") || a.Has("width") {
		loom.Ends, loom.Width = a.Count("ends"), a.Length("width")
	} else if loom.Width > 0 && (a.Has("heddle") || a.Has("sett")) {
		loom.Ends = 0
	}
	if a.Has("heddle") {
		loom.Heddle, loom.Sett = a.Density("heddle"), 0
	}
	if a.Has("sett") {
		loom.Sett = a.Density("sett")
	}
	return loom
}

// measured works out what a description of a loom leaves open and refuses one
// that does not agree with itself.
func measured(loom class.Loom) (theWarp, error) {
	w := theWarp{ends: loom.Ends, sett: loom.EndsPerLength(), width: loom.Width, loom: loom}
	switch {
	case w.ends == 0 && w.width == 0:
		return w, missing(keyNeedEnds, "ends", "ends:97")
	case w.sett == 0 && w.ends == 0:
		return w, missing(keyNeedHeddle, "heddle", heddleExample(loom.Units))
	case w.sett == 0:
		return w, nil
	case w.ends == 0:
		if w.ends = warp.Ends(w.width, w.sett); w.ends < lace.MinEnds || w.ends > lace.MaxEnds {
			return w, &calc.Fault{
				Code: calc.OutOfRange, Key: keyWidthEnds, Field: "width", Example: widthExample(loom.Units),
				Args: []any{"width", w.width, w.sett, w.ends, lace.MinEnds, lace.MaxEnds},
			}
		}
	case w.width > 0:
		if err := warp.Agree(w.ends, w.width, w.sett); err != nil {
			return w, err
		}
	}
	w.width = warp.Width(w.ends, w.sett)
	return w, nil
}
