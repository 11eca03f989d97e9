package lesson

import (
	"strings"

	"weftroom/calc"
	"weftroom/calc/lace"
)

// causeText names a cause in a line.
func (t rowText) causeText(c lace.Cause) string {
	text := t.mistakeText(c.Mistake)
	if c.And != nil {
		text = t.say("problem.and", text, t.mistakeText(*c.And))
	}
	return text
}

func (t rowText) mistakeText(m lace.Mistake) string {
	switch m.Kind {
	case lace.GroupLong:
		return t.count("cause.group_long", m.By)
	case lace.GroupShort:
		return t.count("cause.group_short", m.By)
	case lace.BackLong:
		return t.count("cause.back_long", m.By)
	case lace.BackShort:
		return t.count("cause.back_short", m.By)
	case lace.ShedNotChanged:
		return t.say("cause.shed")
	case lace.PassMissing:
		return t.count("cause.pass_missing", m.By)
	case lace.PassExtra:
		return t.count("cause.pass_extra", m.By)
	}
	return t.say("cause.warp", t.warp.ends+m.By, t.warp.ends)
}

// tellText says how to see whether this is the cause of what she sees in row.
func (t rowText) tellText(row lace.Row, c lace.Cause) string {
	start, far := sideKey(row.Start), sideKey(row.Start.Other())
	passes, groups := t.plan.Design.Passes, len(row.Groups)
	var text string
	switch c.Kind {
	case lace.GroupLong:
		text = t.say("tell.group_long", far)
	case lace.GroupShort:
		text = t.say("tell.group_short", passes, start)
	case lace.BackLong:
		text = t.say("tell.back_long", passes)
	case lace.BackShort:
		text = t.say("tell.back_short")
	case lace.ShedNotChanged:
		text = t.say("tell.shed")
	case lace.PassMissing:
		text = t.say("tell.pass_missing", groups, passes)
	case lace.PassExtra:
		text = t.say("tell.pass_extra", groups, passes)
	case lace.WarpCount:
		return t.say("tell.warp", t.warp.ends)
	}
	switch {
	case c.And != nil:
		return t.say("tell.both", text)
	case c.Step > 0:
		return t.say("tell.at", c.Group, c.Step) + " " + text
	case c.Group > 0:
		return t.say("tell.around", c.Group) + " " + text
	}
	return t.say("tell.anywhere", start) + " " + text
}

// remedyText says what to do: unpick, or carry on where that was proven.
// Who has only seen something in a group may be anywhere in the row: atEdge is
// false of her.
func (t rowText) remedyText(row lace.Row, c lace.Cause, r lace.Remedy, atEdge bool) string {
	far := sideKey(row.Start.Other())
	var parts []string
	switch {
	case c.Kind == lace.WarpCount && !r.CarryOn:
		parts = append(parts, t.say("remedy.warp_anew", t.warp.ends+c.By))
	case c.Kind == lace.WarpCount:
		parts = append(parts, t.say("remedy.warp", far, t.warp.ends+c.By))
	case c.Step > 0 && atEdge:
		parts = append(parts, t.count("remedy.unpick_at", r.Unpick, c.Step))
	case c.Step > 0:
		parts = append(parts, t.say("remedy.unpick_through", c.Step))
	default:
		parts = append(parts, t.say("remedy.unpick"))
	}
	if !r.CarryOn {
		if c.And != nil {
			return strings.Join(parts, " ")
		}
		return strings.Join(append(parts, t.say("remedy.only")), " ")
	}
	switch {
	case c.Kind == lace.WarpCount:
	case atEdge:
		parts = append(parts, t.say("remedy.carry", far))
	default:
		parts = append(parts, t.say("remedy.carry_later", far))
	}
	parts = append(parts, t.thinText(c, r.Thin)...)
	if r.Thick.Raised > 0 {
		parts = append(parts, t.say("remedy.thick", r.Thick.Raised))
	}
	if c.Kind == lace.WarpCount {
		return strings.Join(parts, " ")
	}
	return strings.Join(append(parts, t.say("remedy.next")), " ")
}

// thinText says what to weave once more on the way home. Where the place is not
// known, neither is where the loose ends lie, unless it is at the far selvedge.
func (t rowText) thinText(c lace.Cause, thin []lace.Stretch) (parts []string) {
	somewhere := false
	for _, s := range thin {
		key := calc.Key("remedy.thin")
		switch {
		case s.AtEdge:
			key = "remedy.thin_edge"
		case c.Step == 0 && somewhere:
			continue // said already
		case c.Step == 0:
			key, somewhere = "remedy.thin_somewhere", true
		}
		parts = append(parts, t.count(key, s.Trips, s.Raised, s.Before))
	}
	return parts
}
