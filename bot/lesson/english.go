package lesson

import (
	"maps"

	"weftroom/bot"
)

// The words for people, in English: this file has those of the core and of the
// commands' declarations, its neighbours english_*.go those of the answers.
// Rules for them:
//
//   - A refusal is one sentence without its full stop: what is wrong, what is
//     allowed. Its example follows by itself.
//   - Speak of her loom as she sees it: heddle up, heddle down, shaft 1; never
//     of an index or a parity.
//   - A number stands with its unit, and quantities print in both systems.
//   - Plain words, short sentences, nothing that needs colour to be understood.
//   - Arguments may be taken out of order with %[2]s, for languages that need it.

// English is the whole catalogue.
func English() bot.Texts {
	all := make(bot.Texts, 1500) // that it need not grow
	for _, part := range []bot.Texts{englishCore, englishCommands, englishRow, englishLoom, englishWarp, englishFaults, englishTimes, englishClass, englishClassCommands, englishSession, englishSessionCommands, englishPosts, englishOverview, englishPeople, englishPeopleCommands, englishMend, englishSteps, englishPace, englishChat, englishFiles, englishPaper, englishPictures, englishDesign, englishChart, englishGrounds} {
		maps.Copy(all, part)
	}
	return all
}

var englishCore = bot.Texts{
	"line.too_long":         "That message is %d bytes long; I read up to %d",
	"line.not_text":         "That is not readable text; please send plain letters, digits and punctuation",
	"line.invisible":        "There is an invisible character in that line (%s); please type it again without",
	"line.open_quote":       "The quote that opens at %s is never closed; put a second quote after the words",
	"line.unknown_command":  "I do not know “%s”; please ask for the list of what I know",
	"line.meant_command":    "I do not know “%s”; did you mean %s",
	"line.no_command":       "Please begin with a command",
	"line.unknown_argument": "“%s” is nothing that %s understands; it takes %s",
	"line.meant_argument":   "“%s” is nothing that %s understands; did you mean %s",
	"line.no_arguments":     "“%s” is one word too many; %s takes no arguments",
	"line.twice":            "“%s” is given twice; give it once",
	"line.empty_value":      "“%s” has no value; write it after the colon",
	"line.missing":          "“%s” is needed for %s",

	"arg.not_count":      "%s: “%s” is not a whole number in digits",
	"arg.count_range":    "%s: %s is outside what is allowed, %d to %d",
	"arg.not_choice":     "%s: “%s” is not one of %s",
	"arg.not_money":      "%s: “%s” is not a price with at most two decimals, up to 9999999.99",
	"arg.quantity_range": "%s: %s is outside what is allowed, %s to %s",
	"arg.unreadable":     "%s: %s",
	"arg.bare_density":   "%s: “%s” may be per inch or per 10 cm; say which",
	"arg.text_too_long":  "%s: %d letters are too many; up to %d are allowed",

	"dispatch.internal": "Something went wrong on my side, not on yours; reference %s",
	"dispatch.busy":     "There is a lot to answer just now; please ask again in a moment",
	"dispatch.role":     "%s is for %s",
	"dispatch.sub":      "%s needs one more word: %s",
	"dispatch.unsure":   "?|i don't know|i dont know|don't know|dont know|i do not know|do not know|not sure|i'm not sure|no idea|idk|unsure",

	"desk.need_class":  "No class meets here; ask in the class's room, or join one there first",
	"desk.need_member": "You are not in the class %s yet; join it first",
	"desk.which_class": "You are in several classes (%s); choose one first",

	"help.title": "What I can do",
	"help.intro": "Tell me about your loom and you get a plan of your own, woven in simulation before you see it. Begin with: loom",
	"help.more": "Type help and a command for its arguments, for example: help row. " +
		"Write arguments as raised:3, raised=3 or raised 3, and lengths with their unit: 15in, 15 1/2\", 38 cm.",
	"help.examples":      "For example:",
	"help.none":          "There is no command “%s” to explain",
	"help.lines":         "%s may have several lines: %s",
	"help.head.command":  "command",
	"help.head.what":     "what it does",
	"help.head.argument": "argument",
	"help.head.takes":    "takes",
	"help.head.default":  "if you say nothing",
	"help.required":      "(needed)",

	"kind.count":    "a whole number",
	"kind.length":   "a length",
	"kind.density":  "such as 10/in or 40/10cm",
	"kind.share":    "a percentage",
	"kind.yarn":     "a yarn",
	"kind.choice":   "a choice",
	"kind.words":    "a few words",
	"kind.longtext": "a text",
	"kind.money":    "a price",

	"console.prompt":  "> ",
	"console.more":    "… ",
	"console.leave":   "quit|exit",
	"console.bye":     "See you at the loom.",
	"console.saved":   "Saved as %s",
	"console.unsaved": "The file %s could not be saved",
	"console.failed":  "Something went wrong on my side, not on yours; please try again",

	"role.anyone":  "everyone",
	"role.student": "members of the class",
	"role.helper":  "the teacher and her helpers",
	"role.teacher": "the teacher",

	"lines.what":   "what",
	"lines.value":  "how much",
	"lines.how":    "from",
	"lines.format": "%v",

	"side.right":   "right",
	"side.left":    "left",
	"toward.right": "to the right",
	"toward.left":  "to the left",
}

var englishCommands = bot.Texts{
	"cmd.loom":    "tell me your loom, at once or step by step; it brings a first plan",
	"cmd.row":     "an eyelet row of Spanish lace, move by move, for your warp",
	"cmd.fit":     "which group sizes come out on your warp",
	"cmd.warp":    "a warp plan: ends, length, yarn, with every step of the reckoning",
	"cmd.sett":    "how close to set a yarn, and in which heddle or reed",
	"cmd.yardage": "how much yarn a warp takes, and its weft",
	"cmd.word":    "a word of the trade in a sentence or two",
	"cmd.help":    "this list, or one command's arguments",

	"arg.ends":      "warp ends, as counted",
	"arg.width":     "width of the warp in the heddle or reed",
	"arg.heddle":    "dents: holes and slots of a rigid heddle together",
	"arg.sett":      "ends, when not one to a dent",
	"arg.raised":    "raised ends in each group",
	"arg.passes":    "how often each group is woven; odd",
	"arg.way":       "one: a plain pick home after each row; two: the way back is an eyelet row too",
	"arg.from":      "the side you start from",
	"arg.rows":      "how many rows; journeys when two-way",
	"arg.leftover":  "where ends go that fill no group: the far group, or shared by both sides",
	"arg.edge":      "pairs of ends at each side that make a plain group of their own",
	"arg.repeat":    "holes over holes, or every second row moved by half a group",
	"arg.strands":   "strands of weft wound together",
	"arg.ppi":       "picks",
	"arg.rightmost": "where your rightmost end sits",
	"arg.wide":      "finished width of the piece",
	"arg.long":      "finished length of the piece, without fringes",
	"arg.items":     "pieces on one warp",
	"arg.fringe":    "fringe at each end of each piece",
	"arg.hem":       "hem at each end of each piece",
	"arg.header":    "waste weaving at the start",
	"arg.sample":    "warp for a sample",
	"arg.waste":     "loom waste; 18in, or what is usual for your kind of loom",
	"arg.takeup":    "warp take-up as a percentage, or auto: from the yarn by geometry",
	"arg.shrink":    "shrinkage in the wash",
	"arg.drawin":    "how much narrower than in the heddle the cloth is at the fell",
	"arg.yarn":      `the yarn, such as "8/2 cotton", "Nm 16/2", "230 m/100g"`,
	"arg.weftyarn":  "the weft, when it is another yarn",
	"arg.skein":     "what one skein holds, by mass or length",
	"arg.price":     "price of one skein",
	"arg.warp":      "length of the warp with all its waste",
	"arg.cloth":     "woven length on the loom, for the weft",
	"arg.wpi":       "wraps per inch, for a yarn without a number",
	"arg.weave":     "what you weave",
	"arg.name":      "the word; without it, all of them",
	"arg.command":   "the command to explain",

	"arg.loom.kind":   "what kind of loom it is",
	"arg.loom.units":  "the units to answer in first",
	"arg.loom.unsure": "a question you cannot answer yet; says how to find out",
	"arg.loom.clear":  "forget all of it",
	"arg.sett.heddle": "a heddle you have: will it do?",
	"arg.sett.yarn":   `the yarn, such as "8/2 cotton"`,
}
