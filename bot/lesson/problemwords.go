package lesson

import (
	"slices"
	"strconv"
	"strings"

	"weftroom/calc"
	"weftroom/calc/lace"
)

// causeText names a cause in a line.
func (t rowText) causeText(c lace.Cause) string {
	if c.Kind == lace.WarpCount && c.And == nil {
		return t.warpText(c)
	}
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

// warpText names the numbers of ends that the warp may have.
func (t rowText) warpText(c lace.Cause) string {
	if len(c.Else) == 0 {
		return t.mistakeText(c.Mistake)
	}
	var others []string
	for _, by := range c.Else {
		others = append(others, strconv.Itoa(t.warp.ends+by))
	}
	return t.say("cause.warp_else", t.warp.ends+c.By, t.warp.ends, others)
}

// planFor is the line that asks for the plan on another number of ends, if it is no
// longer than a person cares to type.
func (t rowText) planFor(ends int) string {
	if line := t.lineFor(ends); len(line) <= longestLine {
		return line
	}
	return t.say("remedy.warp_line", ends)
}

// longestLine is that in letters (our own bound: two lines on a phone).
const longestLine = 120

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
		text = t.say("tell.around", c.Group) + " " + text
	default:
		text = t.say("tell.anywhere", start) + " " + text
	}
	switch {
	case c.IfTold.Step > 0:
		text += " " + t.say("tell.if_told_at", c.IfTold.Group, c.IfTold.Step)
	case c.IfTold.Group > 0 && c.IfTold.Group != c.Group:
		text += " " + t.say("tell.if_told", c.IfTold.Group)
	}
	return text
}

// remedyText says what to do: unpick, or carry on where that was proven.
// Who has only seen something in a group may be anywhere in the row: atEdge is
// false of her.
func (t rowText) remedyText(row lace.Row, c lace.Cause, r lace.Remedy, atEdge bool) string {
	var parts []string
	switch {
	case c.Kind == lace.WarpCount && !r.CarryOn:
		return t.say("remedy.warp_anew", t.warp.ends+c.By, t.planFor(t.warp.ends+c.By))
	case c.Kind == lace.WarpCount && len(c.Else) > 0:
		parts = append(parts, t.say("remedy.warp_if", t.warp.ends+c.By))
	case c.Kind == lace.WarpCount:
	case c.Step > 0 && atEdge && r.Unpick > 0:
		parts = append(parts, t.count("remedy.unpick_at", r.Unpick, c.Step))
	case c.Step > 0:
		parts = append(parts, t.say("remedy.unpick_through", c.Step))
	default:
		parts = append(parts, t.say("remedy.unpick"))
	}
	switch {
	case c.And != nil:
		return strings.Join(parts, " ")
	case !r.CarryOn && c.Step == 0:
		return strings.Join(append(parts, t.say("remedy.find")), " ")
	case !r.CarryOn:
		return strings.Join(append(parts, t.say("remedy.only")), " ")
	}
	parts = append(parts, t.carryText(row, c, r))
	parts = append(parts, t.homeText(c, r))
	if len(r.Next) > 0 {
		parts = append(parts, t.say("remedy.thick", t.insteadText(row, r.Next)))
	}
	if c.Kind == lace.WarpCount {
		return strings.Join(append(parts, t.say("remedy.warp", t.warp.ends+c.By, t.planFor(t.warp.ends+c.By))), " ")
	}
	return strings.Join(append(parts, t.say("remedy.next")), " ")
}

// carryText says how to go on to the end of the row. For a warp there is nothing
// else to do first; and what was proven for one who did as she was told is said to
// her alone.
func (t rowText) carryText(row lace.Row, c lace.Cause, r lace.Remedy) string {
	instead := t.insteadText(row, r.Rest)
	switch ofWarp := c.Kind == lace.WarpCount; {
	case ofWarp && len(r.Rest) > 0:
		return t.say("remedy.warp_carry", instead)
	case ofWarp:
		return t.say("remedy.warp_carry_plan")
	case c.Elsewhere && len(r.Rest) > 0:
		return t.say("remedy.told_carry", instead)
	case c.Elsewhere:
		return t.say("remedy.told_carry_plan")
	case len(r.Rest) > 0:
		return t.say("remedy.carry", instead)
	}
	return t.say("remedy.carry_plan")
}

// insteadText names passes that go under other numbers than the plan's.
func (t rowText) insteadText(row lace.Row, all []lace.Instead) string {
	var parts []string
	for _, n := range all {
		side := row.Start.Other()
		if n.Back {
			side = row.Start
		}
		parts = append(parts, t.say("remedy.instead", n.Step, sideKey(side), n.Under, n.Planned))
	}
	return strings.Join(parts, ", ")
}

// homeText is the way home: one plain pick, or turn by turn. Where the place is
// not known she looks for what lies loose.
func (t rowText) homeText(c lace.Cause, r lace.Remedy) string {
	if len(r.Home) == 0 {
		return t.say("remedy.home")
	}
	if c.Step > 0 || c.Kind == lace.WarpCount {
		var parts []string
		for i, p := range r.Home {
			key := calc.Key("remedy.home_back")
			switch {
			case p.Forward:
				key = "remedy.home_forth"
			case i == len(r.Home)-1:
				key = "remedy.home_last"
			}
			parts = append(parts, t.say(key, p.Under))
		}
		return t.say("remedy.home_parts", strings.Join(parts, ", "))
	}
	var parts []string
	for _, s := range r.Thin {
		key := calc.Key("remedy.thin")
		if s.AtEdge {
			key = "remedy.thin_edge"
		}
		if said := t.count(key, s.Trips, s.Raised, s.Back); !slices.Contains(parts, said) {
			parts = append(parts, said)
		}
	}
	return strings.Join(append(parts, t.say("remedy.home_on")), " ")
}
