package lesson

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
)

// Sentences about the warp that a question is about.
const (
	keyNeedEnds   calc.Key = "ends.need"        // the command
	keyNeedHeddle calc.Key = "ends.need_heddle" // no arguments
)

// theWarp is the warp that a question is about: from its arguments, and for
// what they leave out from the loom that the asker has reported.
type theWarp struct {
	ends  int
	sett  measure.Sett // 0: unknown
	width measure.Length
	loom  class.Loom // with what the arguments say laid over it
}

// warpOf reads ends, width, heddle and sett. A warp described in the question
// replaces the one on the loom whole: her own count of ends says nothing of
// another width.
func warpOf(ctx context.Context, c *bot.Call, looms class.Looms) (theWarp, error) {
	loom, err := looms.Loom(ctx, c.Request.From)
	if err != nil {
		return theWarp{}, err
	}
	a := c.Args
	if a.Has("ends") || a.Has("width") {
		loom.Ends, loom.Width = a.Count("ends"), a.Length("width")
	}
	if a.Has("heddle") {
		loom.Heddle, loom.Sett = a.Density("heddle"), 0
	}
	if a.Has("sett") {
		loom.Sett = a.Density("sett")
	}
	if a.Has("rightmost") {
		loom.Rightmost = class.Rightmost(a.Text("rightmost"))
	}
	if a.Has("from") {
		loom.From = a.Text("from")
	}
	return measured(c, loom)
}

// measured works out what a description of a loom leaves open and refuses one
// that does not agree with itself.
func measured(c *bot.Call, loom class.Loom) (theWarp, error) {
	w := theWarp{ends: loom.Ends, sett: loom.EndsPerLength(), width: loom.Width, loom: loom}
	switch {
	case w.ends == 0 && w.width == 0:
		return w, missing(keyNeedEnds, "ends", c.Texts.Say(0, "ends.need.example"), "row")
	case w.sett == 0 && w.ends == 0:
		return w, missing(keyNeedHeddle, "heddle", "heddle:10")
	case w.sett == 0:
		return w, nil
	case w.ends == 0:
		w.ends = warp.Ends(w.width, w.sett)
	case w.width > 0:
		if err := warp.Agree(w.ends, w.width, w.sett); err != nil {
			return w, err
		}
	}
	w.width = warp.Width(w.ends, w.sett)
	return w, nil
}
