package lesson

import "weftroom/bot"

// What a chat says by itself, around the answers.
var englishChat = bot.Texts{
	"chat.welcome":      "Hello! I make each of you a plan for your own loom. Write %s to see what I can do, or tell me about your loom first: loom",
	"chat.welcome_room": "Hello! I make each of you a plan for your own loom. Write %[1]shelp to see what I can do. A class begins when whoever runs this room writes %[1]sclass open; then each of you writes %[1]sjoin, and tells me about her loom: %[1]sloom",
	"chat.anew":         "I had to begin anew and cannot read what was written here while I was away; if you asked me something, please ask again",
	"chat.not_yours":    "That button is for the person whom I answered there; ask me the same, and you get an answer with buttons of your own",
	"chat.part":         "part %d of %d",
	"chat.on_its_way":   "I have written to you alone",
	"chat.not_alone":    "You take no direct messages from me, so here it is",
	"chat.share":        "Show everyone",
	"chat.answer_it":    "Answer",
	"chat.worn_out":     "I no longer know what that button did; please write the command instead",
	"chat.press":        "%s for: %s",
	"chat.no_key":       "I could not read that message: your app has not given me its key. Please send it again; if that does not help, verify my session in your app, or write to me in a new direct chat",
	"chat.not_built_in": "This room is encrypted and I was built without encryption, so I cannot answer here; whoever runs me can change that",
	"chat.working":      "One moment, I am working it out",
	"chat.cut":          "There is more than fits here; ask me alone, or for less at once",
	"chat.whole":        "This is long; the whole of it is in the file answer.txt",
	"chat.here":         "In the chat of this class",
	"chat.line":         "Ask in one line, as the examples are written",
	"chat.line_arg":     "for example: row raised:3 passes:3",
	"chat.line_file":    "a file for it, when the command takes one",
	"chat.file_caption": "send it with the command as its caption, or answer the message that has it with the command",
	"chat.file_named":   "end the line with @ and the file's name, such as @flower.png",
	"chat.lines_typed":  "end the line with <<, write the others below it, and then an empty one",
	"chat.lines_block":  "write it behind the command, with ``` before and after it",
	"chat.lines_form":   "write to me alone; where a command cannot do without it, leave it out and a form asks for it",
	"chat.file_field":   "choose it in the command's own field for it, or write to me alone and attach it to your message",
	"chat.flood":        "That was too much at once, so I left some of it out; please ask again",
}
