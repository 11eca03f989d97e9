package lesson

import "weftroom/bot"

// englishPaper is what stands on a handout, and what is said when one is given.
var englishPaper = bot.Texts{
	"cmd.handout":  "your row plan to print: moves, pictures, remedies, cautions; as PDF and as plain text",
	"cmd.handouts": "a handout for each student of the class, all in one file",

	"arg.page":          "the paper: a4 or letter; letter for those who measure in inches, unless you say",
	"arg.handout.name":  "no leaves a line to write a name on",
	"arg.handouts.name": "no leaves a line to write a name on",
	"arg.handout.long":  "finished length of the piece, for a warp plan on the sheet",
	"arg.handouts.long": "finished length of the piece, for a warp plan on each sheet",

	"handout.title":        "Your handout",
	"handout.is.one":       "%d page for %s, to print in black and white.",
	"handout.is.many":      "%d pages for %s, to print in black and white.",
	"handout.paper.a4":     "A4 paper",
	"handout.paper.letter": "Letter paper",
	"handout.same":         "The second file is the same in plain text, for a screen reader.",
	"handout.alt":          "Handout to print: %s",
	"handout.alt_text":     "The same handout in plain text",
	"handout.line":         "It has a line to write a name on.",
	"handout.unset":        "Your name has a letter that my fonts lack, so it has a line to write it on.",
	"handout.left_out":     "There is more than %d pages hold, so the end is left out here; the plain text beside it has everything.",
	"handout.no_picture":   "A picture is left out here, so that the file stays small; ask row for it.",
	"handout.file":         "handout",

	"handout.work":    "The work of %s (%s): %s.",
	"handout.instead": "Other than set for it: %s.",

	"handout.for":     "For",
	"handout.page":    "Page %d of %d",
	"handout.page_of": "%s · page %d of %d",

	"handout.technique.title": "What you are about to weave",
	"handout.technique.lace": "Spanish lace is plain weave with holes in it, made by nothing but the way that the shuttle goes. The warp is worked in groups. " +
		"In each group the weft goes there, back and there again, %d times in all, before it moves on to the next. Where it turns back between two groups it draws them apart, and that gap is the hole.",
	"handout.technique.shed":   "Every time the shuttle changes its direction the shed changes too. You count raised ends only, from where the shuttle is.",
	"handout.technique.one":    "This piece is worked one-way: after each row one plain pick goes straight home.",
	"handout.technique.two":    "This piece is worked two-way: the way back is a row of holes as well.",
	"handout.technique.drop":   "Every second row begins with half a group, so its holes stand between those of the row below.",
	"handout.technique.listed": "Its groups are not all of one size: where two meet there is a hole, and a wide group stays plain cloth. Narrow or wide, each is woven equally often, so the edge of the weaving stays level.",
	"handout.technique.slit":   "With %d passes the holes become tall slits.",

	"handout.warp.title":   "Your loom and your warp",
	"handout.warp.yarn":    "Yarn of the course: %s.",
	"handout.warp.plan":    "A warp for one piece, finished %s long",
	"handout.warp.no_sett": "Without your heddle or sett I cannot make the warp plan for %s; tell me with: loom heddle:",
	"handout.warp.guesses": "Take-up %[1]s, shrinkage %[2]s and draw-in %[3]s are taken for granted, and as many picks as ends; weave and wash a sample for better ones.",

	"handout.rows.title": "Your rows, move by move",

	"handout.wrong.title": "When it goes wrong",
	"handout.wrong.see":   "what you see",
	"handout.wrong.why":   "why",
	"handout.wrong.do":    "what to do",

	"handout.care.title": "Take care",
	"handout.care.body":  "Sit so that your shoulders hang loose and your feet stand flat. Get up and stretch every half hour, rest your eyes, and have good light. If something hurts, stop, and ask someone qualified.",
	"handout.care.blade": "Blades, needles and pick-up sticks: cut away from your hands, close or cover what is sharp when you put it down, and keep it out of the reach of children.",
	"handout.care.water": "Washing: water that your hand finds comfortable, not hotter; mind steam and irons, lift heavy wet cloth with help, and keep hot water away from children. A new yarn may bleed: try a snippet by itself first.",
	"handout.care.rules": "The rules of your house, school or country, and what the makers of yarn and tools say, go before this sheet; so does the advice of someone qualified.",

	"handout.from.title":  "Where the numbers come from",
	"handout.from.counts": "Moves and counts: worked out for this warp, and proven by weaving every move in simulation before this was printed.",
	"handout.from.way":    "That raised ends are counted, and that the shed changes whenever the direction does: Osterkamp, Weaving for Beginners.",
	"handout.from.width":  "Ends, width and sett: as you told me, or worked out from your heddle, which has its number of ends to the inch or to 10 cm.",
	"handout.from.weft":   "Weft: picks × width in the heddle or reed × strands (the mill rule; Taylor, Cotton Weaving and Designing).",
	"handout.from.plan":   "Warp plan: lengths as you told me; loom waste, take-up, shrinkage and draw-in are usual guesses (common practice, no published source).",
	"handout.from.craft":  "Where to begin, how to turn, press and join, and the remedies: common practice, no published source.",
	"handout.from.look":   "The picture of the finished lace: a model of threads as springs, made for this program. It shows the shape and promises no millimetres.",

	"handouts.title.one":  "%d handout of %s",
	"handouts.title.many": "%d handouts of %s",
	"handouts.pages":      "pages",
	"handouts.no_work":    "They are of no session’s work, so each has a first row; say what to weave (raised:4 rows:2), or set it for the session (session work).",
	"handouts.file":       "handouts",
	"handouts.alt.one":    "%d handout as PDF and plain text, in one zip file",
	"handouts.alt.many":   "%d handouts as PDF and plain text, in one zip file",
	"handouts.missing":    "No handout yet for %s: their looms do not tell enough (they can say so with: loom).",
	"handouts.fails":      "No handout for %s: %s.",
	"handouts.lines":      "With a line to write the name on: %s.",
	"handouts.too_many":   "The class has more members than one file is made for, so these are left out: %s.",
	"handouts.none":       "No student has told enough of her loom for a handout yet (they can say so with: loom); one for your own loom you get by another word",
}
