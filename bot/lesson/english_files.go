package lesson

import "weftroom/bot"

// What is said of files that come with a command. How a file is sent along is
// told by each chat in its own sentence, chat.file_*, which is the end of another.
var englishFiles = bot.Texts{
	"kind.file": "a file, up to %s MB",

	"file.needed":     "%[2]s needs a file for %[1]s: %[3]s",
	"file.words":      "%[1]s is a file, which words cannot stand for: %[2]s",
	"file.too_large":  "%s has %s MB; I take up to %s MB",
	"file.too_many":   "%d files came with that, and %s takes %d",
	"file.lost":       "I could not load %s; please send it again",
	"file.attach":     "attach it to your message, with the command as the message's words",
	"console.no_file": "There is no file %s that I can read; name it from the folder in which you started me, for example `@flower.png`.",

	"ask.file_flag": "name it before the command, as --attach flower.png",

	"file.help": "How to send %s along: %s",
}
