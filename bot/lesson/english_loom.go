package lesson

import "weftroom/bot"

var englishLoom = bot.Texts{
	"loom.title":       "Your loom",
	"loom.nothing":     "You have not told me about your loom yet. I ask a few short questions, one at a time; or tell me all at once (help loom shows how).",
	"loom.cleared":     "What you had told me of your loom is forgotten.",
	"loom.complete":    "That is all I need. Whenever something changes, tell me just that, for example: loom ends:148",
	"loom.first_plan":  "Your first plan",
	"loom.assumed":     "You have not told me your heddle, so this plan takes %s for granted, which makes %d ends. Tell me your heddle, or the ends as you count them, and you get a plan that fits.",
	"loom.brief":       "That is the plan in short. The whole of it, and how to read a move, comes when I know your loom; or ask now: row",
	"loom.brief_sheds": "Shed 1 is the one that raises your rightmost end.",
	"loom.question":    "Next question",
	"loom.unsure":      "I don't know",

	"loom.kind":      "Kind: %s",
	"loom.width":     "Width of the warp in the heddle or reed: %s",
	"loom.heddle":    "Dents: %s",
	"loom.sett":      "Ends: %s",
	"loom.ends":      "Ends counted: %d",
	"loom.rightmost": "Rightmost end: %s",
	"loom.from":      "You start from the %s",

	"loom.units.inches":      "Inches first (loom units:centimetres changes that)",
	"loom.units.centimetres": "Centimetres first (loom units:inches changes that)",

	"loom.kind.rigid_heddle": "rigid-heddle loom",
	"loom.kind.table_loom":   "table loom with two shafts in use",
	"loom.kind.floor_loom":   "floor loom with two shafts in use",

	"loom.rightmost.hole":   "in a hole",
	"loom.rightmost.slot":   "in a slot",
	"loom.rightmost.shaft1": "on shaft 1",
	"loom.rightmost.shaft2": "on shaft 2",

	"loom.from.right": "from the right",
	"loom.from.left":  "from the left",

	"loom.ends_doubted": "%[1]d ends over %[2]s would be only %[3]s; count all ends over the whole width, or say the heddle as well if it is so",

	"loom.ask.kind":             "What kind of loom is it?",
	"loom.ask.width":            "How wide is your warp in the heddle or reed, from the first end to the last? For example 15in or 38cm.",
	"loom.ask.heddle":           "Which heddle is it? The number on it: dents (holes and slots together) per inch, such as 10, or per 10 cm, such as 40/10cm.",
	"loom.ask.heddle_shafts":    "How close is your warp set? Ends per inch, such as 20, or per 10 cm, such as 80/10cm.",
	"loom.ask.ends":             "How many ends have you counted? Count them once more at the heddle; one end more or fewer changes your row.",
	"loom.ask.rightmost":        "Look at the end farthest to your right as you sit at the loom: does it pass through a hole or a slot?",
	"loom.ask.rightmost_shafts": "Look at the end farthest to your right as you sit at the loom: which shaft lifts it, shaft 1 or shaft 2?",
	"loom.ask.from":             "From which side would you like to start each row? Left-handed weavers often like the left.",
	"loom.ask.units":            "Would you like inches or centimetres first?",

	"loom.unsure.kind": "A rigid-heddle loom has one heddle, a row of holes and slots, that you lift and lower by hand. On a table loom you move the shafts " +
		"with levers, on a floor loom with treadles.",
	"loom.unsure.width": "Lay a ruler or tape along the heddle or reed, from the first end on one side to the last end on the other. Read it to the nearest quarter inch or half centimetre.",
	"loom.unsure.heddle": "Most heddles have the number moulded or written on one end. If yours has none: lay a ruler along it and count holes and slots together over " +
		"4 inches, then divide by 4; or over 10 cm, and write that as 40/10cm.",
	"loom.unsure.heddle_shafts":    "Lay a ruler across the warp close to the reed and count the ends over 2 inches, then divide by 2; or over 10 cm, and write that as 80/10cm.",
	"loom.unsure.ends":             "To count, slip a card under 10 ends at a time.",
	"loom.unsure.rightmost":        "Lift the heddle and look at the end farthest to your right: if it goes up, it sits in a hole; if it stays down, in a slot.",
	"loom.unsure.rightmost_shafts": "Lift shaft 1 and look at the end farthest to your right: if it goes up, it is on shaft 1; if it stays down, on shaft 2.",
	"loom.unsure.from":             "Either side will do; take the one from which your shuttle hand starts.",
	"loom.unsure.units":            "Either will do; I always give both.",

	"loom.then.ends":      "Until you have your own count, I go on with what your width and heddle make.",
	"loom.then.rightmost": "Until you know, I call the sheds 1 and 2; shed 1 is the one that raises that end.",
	"loom.then.from":      "Until you choose, we start from the right, which is usual.",

	"loom.ends_disagree": "%[1]d ends do not agree with the width that you gave before, %[3]s: at %[4]s it holds %[2]d ends; measure, count, or tell me your heddle again (for another warp, ends and width together)",

	"loom.no_shafts": "On a rigid heddle the rightmost end sits in a hole or a slot, not on a shaft",
	"loom.no_holes":  "On shafts the rightmost end is on shaft1 or shaft2, not in a hole or a slot",
}
