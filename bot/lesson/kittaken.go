package lesson

import (
	"slices"

	"weftroom/bot"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
	"weftroom/calc/yarn"
)

// needText shows a length that must not fall short.
func needText(c *bot.Call, l measure.Length) string { return c.Say("lines.format", measure.Need(l)) }

// wasteOf is the loom waste reckoned for one loom: as the asker says, or the most
// that is usual for its kind.
func wasteOf(c *bot.Call, f fellow) measure.Length {
	if c.Args.Has("waste") {
		return c.Args.Length("waste")
	}
	if usual, known := warp.UsualWaste(loomKinds[f.loom.Kind]); known {
		return usual.High
	}
	return kitWaste
}

// taken says what weft and what loom waste the yarn was reckoned with.
func taken(c *bot.Call, wastes []measure.Length) string {
	weft := c.Texts.Count(c.Units, "row.strands", c.Args.Count("strands"))
	picks := c.Say("kit.picks_square")
	if c.Args.Has("ppi") {
		picks = c.Say("kit.picks", c.Args.Density("ppi"))
	}
	if len(wastes) == 0 {
		return c.Say("kit.weft", weft, picks)
	}
	least, most := slices.Min(wastes), slices.Max(wastes)
	if least == most {
		return c.Say("kit.weft", weft, picks) + " " + c.Say("kit.waste", most)
	}
	return c.Say("kit.weft", weft, picks) + " " + c.Say("kit.wastes", least, most)
}

// settOf is the sett of somebody's loom.
type settOf struct {
	name string
	sett measure.Sett
}

// laceNotes names the looms on which the yarn would be too open or too close for
// lace.
func (k kit) laceNotes(c *bot.Call, setts []settOf) bot.List {
	a, err := yarn.Advise(k.yarn, yarn.Lace, reedsFor(c))
	if err != nil {
		return nil
	}
	var open, close []string
	for _, s := range setts {
		switch {
		case strandsFor(s.sett, a) == 1:
		case s.sett < a.Low:
			open = append(open, s.name)
		default:
			close = append(close, s.name)
		}
	}
	var notes bot.List
	if len(open) > 0 {
		notes = append(notes, c.Say("kit.open", open, a.Low, a.High))
	}
	if len(close) > 0 {
		notes = append(notes, c.Say("kit.close", close, a.Low, a.High))
	}
	return notes
}

// laceWords say that a sett does not suit a yarn for lace, "" when it does or
// nothing can be said of the yarn.
func laceWords(c *bot.Call, y measure.Yarn, sett measure.Sett) string {
	a, err := yarn.Advise(y, yarn.Lace, reedsFor(c))
	if err != nil {
		return ""
	}
	switch n := strandsFor(sett, a); {
	case n == 1:
		return ""
	case n > 1:
		return c.Say("warp.lace_strands", sett, a.Low, a.High, n)
	case sett < a.Low:
		return c.Say("warp.lace_open", sett, a.Low, a.High)
	}
	return c.Say("warp.lace_close", sett, a.Low, a.High)
}
