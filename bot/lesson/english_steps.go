package lesson

import "weftroom/bot"

var englishSteps = bot.Texts{
	"cmd.start": "go through your plan step by step; it is kept, and goes on in any chat of yours",
	"cmd.next":  "the next move, or the next row",
	"cmd.back":  "the move before, or the row before",
	"cmd.where": "where you are in your plan",
	"cmd.goto":  "go to a row of your plan, or to a move of it",

	"arg.start.by":    "one move at a time, or one row at a time for those who know it",
	"arg.start.again": "begin anew, whatever you are in",
	"arg.goto.row":    "the row",
	"arg.goto.move":   "the move of that row",

	"cmd.reach": "how far the weft that you have goes in your plan",

	"arg.have":       "weft yarn that you have, all strands together",
	"arg.reach.row":  "the row from which it must do; the one that you are in when you walk a plan",
	"arg.reach.move": "the move of that row",

	"reach.need_heddle": "I need your heddle or sett as well, to know how wide your warp is",
	"reach.title":       "How far %s of weft goes",
	"reach.need":        "From row %d, move %d, the rest of the plan takes about %s (%s).",
	"reach.all":         "So it does for all of it.",
	"reach.rows.one":    "It does for %d whole row from there.",
	"reach.rows.many":   "It does for %d whole rows from there.",
	"reach.runs_out":    "It runs out in row %d, at move %d, in group %d. Join new weft inside a group before that, never at a border between two.",
	"reach.home":        "It runs out on the pick home of row %d. Join new weft there, a little in from the edge.",
	"reach.join":        "Keep about 5 % more in hand for turns and joins; that is common practice, not reckoned here.",
	"reach.drops":       "The little drops between groups are not counted; say %s to count them.",

	"walk.none":    "You are in no plan yet; begin one first",
	"walk.no_row":  "%d is no row of your plan, which has rows 1 to %d",
	"walk.no_move": "%d is no move of row %[3]d, which has moves 1 to %[2]d",

	"walk.begun":     "Each answer is one move. Make it, look, and press Next. You can stop at any time: I remember where you are.",
	"walk.begun_row": "Each answer is one row. Weave it, look, and press Next. You can stop at any time: I remember where you are.",
	"walk.where":     "Here you are:",
	"walk.already":   "That button belongs to another move; you are here:",
	"walk.first":     "This is the first move; there is none before it.",
	"walk.changed":   "Your loom or the work of the evening was changed since you began, so you would get another plan now. You go on with the one that you began, until you begin anew.",

	"walk.title":     "Row %d of %d, move %d of %d",
	"walk.title_row": "Row %d of %d",

	"walk.left_none":      "It is the last move of this row.",
	"walk.left.one":       "%d move is left in this row after this one.",
	"walk.left.many":      "%d moves are left in this row after this one.",
	"walk.rows_left.one":  "Then %d more row.",
	"walk.rows_left.many": "Then %d more rows.",
	"walk.last_row":       "This is the last row.",

	"walk.looks.first":     "The weft lies in group 1 of %d and nowhere else. Each group is crossed %d times before the weft moves on.",
	"walk.looks.on":        "You cross group %[2]d for the last time and go straight on over group %[1]d, its first of %[3]d. The hole between the two opens when you turn back there and draw the weft snug.",
	"walk.looks.far":       "You go on over group %d, the last one, and come out at the %s edge: no raised end is left over. It is crossed %d times, too. If the count does not come out, stop here, count the raised ends up to the edge, and tell me, such as: problem left:5.",
	"walk.looks.back":      "You come back through group %d only, its pass %d of %d, and stop at the hole beside group %d.",
	"walk.looks.back_edge": "You come back through group 1, its pass %d of %d, and out at the %s edge.",
	"walk.looks.forth":     "You cross group %d again, its pass %d of %d, and stop where you turned before.",
	"walk.looks.last":      "This is the last pass through the groups: it ends at the %[1]s edge, and no raised end is left over. If it does not come out, stop, count the raised ends up to the edge, and tell me, such as: problem left:%[2]d.",
	"walk.looks.home":      "One plain pick over the whole width to the %s edge; beat it. The row below it is level, with an open hole between each two groups.",

	"walk.done":           "Your last row is woven",
	"walk.done_rows.one":  "%d row from edge to edge: well done.",
	"walk.done_rows.many": "All %d rows from edge to edge: well done.",
	"walk.done_next":      "Weave a hem of plain picks now, and look at the holes again once the cloth is washed. To weave the plan once more: start again:yes.",

	"walk.in_another":    "You are still in another plan",
	"walk.in_another_at": "You are in row %d of %d, at move %d. Go on there, or begin the new one; the old place is then forgotten.",

	"walk.button.next":  "Next",
	"walk.button.back":  "Back",
	"walk.button.go_on": "Go on where I was",
	"walk.button.new":   "Begin the new plan",

	"me.head_walk": "Your place in a plan",
	"me.walk":      "Row %d, move %d; you came there on %s. To see it: where",
}
