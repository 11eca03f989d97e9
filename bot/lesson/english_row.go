package lesson

import "weftroom/bot"

var englishRow = bot.Texts{
	"ends.need":        "I need the number of ends, or the width of your warp together with your heddle",
	"ends.need_heddle": "I need your heddle or sett as well, to turn that width into ends",
	"ends.width_ends":  "%[1]s: %[2]s at %[3]s makes %[4]d ends; %[5]d to %[6]d ends are allowed",

	"shed.up":     "heddle up",
	"shed.down":   "heddle down",
	"shed.shaft1": "shaft 1",
	"shed.shaft2": "shaft 2",
	"shed.1":      "shed 1",
	"shed.2":      "shed 2",

	"legend.title": "How to read a move",
	"legend.under": "“Under 3” counts raised ends only: from where the shuttle is, take the next 3 raised ends, and with them every lowered end " +
		"before the next raised one. At a selvedge the lowered edge end comes along.",
	"legend.short": "The short form is arrow, count, shed: ← to the left, → to the right; %[1]s is %[2]s, %[3]s is %[4]s; ↻ 4–5 ×12 means do moves 4 to 5 twelve more times.",
	"legend.turn":  "A turn named with a move is the one with which the move begins. Snug: draw the weft until the hole opens. Slack: leave a little loop at the selvedge, so that the edge stays straight; do so as well where one row turns into the next.",

	"arg.groups": "the groups one by one, as raised ends; a bar between rows",

	"row.title":         "Spanish lace on %d ends: groups of %d raised, %d passes, %s, %s",
	"row.title_listed":  "Spanish lace on %d ends: %s, %d passes, %s, %s",
	"row.listed.groups": "groups of %s raised",
	"row.listed.one":    "one listed row of groups",
	"row.listed.many":   "%d listed rows of groups",
	"row.groups_and":    "groups and %s both say which groups the rows have; give one of the two",
	"row.rows.one":      "%d row",
	"row.rows.many":     "%d rows",
	"row.way.one":       "one-way",
	"row.way.two":       "two-way",

	"row.warp":      "Your warp: %d ends, %s wide in the heddle or reed, %s.",
	"row.warp_ends": "Your warp: %d ends.",

	"row.start":     "Start at the %[1]s edge. The last plain pick before the row comes %[2]s with %[3]s, so that the row can begin with %[4]s.",
	"row.start.odd": "If that pick went through with %[1]s instead: weave one more plain pick and start from the %[2]s with a plan for that side (from:%[3]s).",
	"row.start.even": "If that pick went through with %[1]s instead: on an even number of ends neither side comes right by itself, so cut the weft, " +
		"enter it again at the %[2]s edge, and use a plan for that side (from:%[3]s).",
	"row.unknown_sheds": "Shed 1 is the one that raises your rightmost end, shed 2 the other. Tell me where that end sits and I will name them as you know them: " +
		"rightmost:hole or rightmost:slot on a rigid heddle, rightmost:shaft1 or rightmost:shaft2 on shafts.",

	"row.heading.one":  "Row %[2]s, from the %[3]s: %[4]d moves",
	"row.heading.many": "Rows %[2]s, each from the %[3]s: %[4]d moves",

	"row.groups.list":     "Counted from the %s: %s.",
	"row.groups.one":      "%d group of %d ends (%d raised)",
	"row.groups.many":     "%d groups of %d ends (%d raised)",
	"row.groups_odd.one":  "%d group of %d ends (%d raised with %s, %d with %s)",
	"row.groups_odd.many": "%d groups of %d ends (%d raised with %s, %d with %s)",

	"row.groups.listed": "%d groups, counted from the %s; their raised ends are %s.",
	"row.groups.over":   "The one at the %s edge has the single end left over in your odd warp: %d ends (%d raised with %s, %d with %s).",
	"row.holeless":      "No hole in this row: the whole width is one group, so these are plain picks.",

	"row.others.one":      "%d more row",
	"row.others.many":     "%d more rows, worked in other ways",
	"row.again":           "Weave the rows in the order of their numbers. Some are told with an earlier one and come later: %s.",
	"row.again_row":       "%s as row %d",
	"row.others_where":    "So many moves are too long to read at once: start leads you through them move by move, and handout prints them all.",
	"row.all_short":       "The rows in short",
	"row.short_how":       "Here in short, as explained under “How to read a move”: number of the move, arrow, raised ends to go under, sign of the shed.",
	"row.short_text":      "The plain text of this handout has more of them in full.",
	"row.short_left.one":  "There is no room for %d more row: start leads you through it move by move.",
	"row.short_left.many": "There is no room for %d more rows: start leads you through them move by move.",
	"row.short.one":       "Row %[2]s, from the %[3]s: %[4]s",
	"row.short.many":      "Rows %[2]s, each from the %[3]s: %[4]s",
	"row.cut":             "The row goes on: these are moves 1 to %s of %d. start leads you through all of them, and handout prints them.",

	"row.share_listed": "Where the list does not come out across your warp, the last group of a row takes up to %d pairs on top of its own; leftover:both sets whole repeats in the middle.",
	"row.share":        "%d pairs were left over, and the last group takes them all; leftover:both shares them between both sides.",

	"row.surprise.one":  "Before it surprises you: the last group, at the %s edge, has %d ends and not %d like the one before it. So move %d, on to it, is under %d;",
	"row.surprise.many": "Before it surprises you: the last %d groups, at the %s edge, do not have %d ends like the one before them but %s. So the moves on to them are not like the others (%s);",
	"row.surprise.over": "Before it surprises you: the last group, at the %s edge, has the single end left over in your odd warp. So move %d, on to it, is under %d;",
	"row.surprise.move": "move %d: under %d",
	"row.surprise.last": "in the last group the moves back are under %[3]d, and move %[1]d, the last through the groups, is under %[2]d. That is right.",

	"move.on":         "%[1]s: %[2]s, under %[3]d",
	"move.back":       "%[1]s: back %[2]s, under %[3]d",
	"move.home":       "%[1]s: home %[2]s in one plain pick, under %[3]d",
	"move.snug":       "; draw the turn snug",
	"move.slack":      "; leave the turn slack",
	"move.again.one":  "repeat moves %[2]s, %[1]d more time",
	"move.again.many": "repeat moves %[2]s, %[1]d more times",

	"row.round.title": "Around the rows",
	"row.round.between_one": "Weave a header of plain picks first and a hem of plain picks after. Between rows, weave as many plain picks as you like beyond the pick home: " +
		"an even number brings you back to the %s edge, where the next row begins.",
	"row.round.between_two": "Weave a header of plain picks first and a hem of plain picks after. Between rows, weave an even number of plain picks or none, " +
		"so that each row begins at the edge that its heading names.",
	"row.round.press": "Press the passes inside a group with a comb or your fingers; the beater is for picks across the whole width. " +
		"The short slant in each hole, where the weft drops to the next group, is right.",
	"row.round.join":  "Join new weft inside a group, never at a border between two. A butterfly or a narrow stick shuttle passes small groups best.",
	"row.round.count": "When the counts do not come out at the far edge, stop, count the ends at the heddle once more, and tell me (loom ends: and the number). Where the mistake lies, I work out with you: problem.",
	"row.round.care":  "Sit so that your shoulders hang loose, and get up and stretch every half hour; if something hurts, stop, and ask someone qualified.",

	"row.height":       "The plan is %d picks high. Tell me your heddle or sett as well and I work out the weft.",
	"row.weft":         "The plan is %[1]d picks high and takes about %[2]s of weft yarn in all (%[3]s); the little drops between groups come on top (say %[4]s to count them).",
	"row.weft_drops":   "The plan is %d picks high and takes about %s of weft yarn in all (%s), drops between groups included.",
	"row.strands.one":  "%d strand",
	"row.strands.many": "%d strands wound together",

	"row.proof_single": "Proven: all %d moves were woven in simulation from shed, direction and count alone. Every row ends at its selvedge, no pass undoes the one before, " +
		"and every end gets the same number of picks. It is one group over the whole warp, so no hole opens: fewer raised ends to a group make holes.",
	"row.proof": "Proven: all %d moves were woven in simulation from shed, direction and count alone. Every row ends at its selvedge, no pass undoes the one before, " +
		"every end gets the same number of picks, and the holes lie where they were asked for.",

	"row.button.start": "Start this plan",

	"lace.list_sign":  "groups: “%s” is no number of raised ends; write numbers with blanks between them, 4x3 for four groups of three, and a bar between rows",
	"lace.list_empty": "groups: row %d has no groups in it; write the raised ends of each group, with a bar between rows",
	"lace.list_long":  "groups: that list is too long; up to %[2]d rows of up to %[4]d groups are allowed",
	"lace.list_group": "groups: in row %d, group %d has %d raised; a group has %d to %d, since one pair alone is no group to work",
	"lace.list_wide":  "groups: row %d needs %d raised ends and your warp has %d for it; %d ends or more would do, and you have %d",

	"fit.title": "What fits %d ends",
	"fit.intro": "How many raised ends to a group, best first. A raised end and its lowered neighbour make a pair; pairs left over make the first or last group wider.",
	"fit.none":  "No group size from 2 to 8 gives three groups on so few ends; row raised:2 still works.",

	"fit.single":        "That is one group over the whole warp, so no hole opens. Ask for fewer raised ends.",
	"fit.odd":           "Your warp is odd, so one end is over. It goes with the last group, whose count is one more in one of the sheds; that is right.",
	"fit.share":         "Where the first group and the last each take a share, plan the row with leftover:both.",
	"fit.best":          "Groups of %d come out best here.",
	"fit.button":        "Plan groups of %d",
	"fit.head.raised":   "raised",
	"fit.head.groups":   "groups",
	"fit.head.leftover": "left over",
	"fit.head.exact":    "fits exactly",
	"fit.left.none":     "nothing",
	"fit.left.end":      "1 end: in the last group",
	"fit.left.far.one":  "%d pair: last %d raised",
	"fit.left.far.many": "%d pairs: last %d raised",
	"fit.left.both":     "%d pairs: first %d, last %d raised",
	"fit.exact":         "yes",
	"fit.near":          "%d or %d ends",

	"word.small": "is|are|a|an|the",
	"word.none":  "My list has no “%s”; word alone shows all that it has",
	"word.near":  "My list has no “%s”; did you mean %s",
	"word.also":  "Also: %s.",
	"word.see":   "See also: %s.",
	"word.title": "%d words of the trade",
	"word.how":   "Ask for one of them, for example: word take-up",
}
