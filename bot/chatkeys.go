package bot

import "weftroom/calc"

// Sentences that an adapter says itself, when its chat has a use for them.
const (
	KeyWelcome     calc.Key = "chat.welcome"      // how a command is begun here, as "!help"
	KeyWelcomeRoom calc.Key = "chat.welcome_room" // what begins a command in this room, as "!"
	KeyAnew        calc.Key = "chat.anew"         // no arguments: what was written before was lost and is not answered
	KeyNotYours    calc.Key = "chat.not_yours"    // no arguments: the button is for the one who was answered
	KeyPart        calc.Key = "chat.part"         // the part's number, how many there are
	KeyOnItsWay    calc.Key = "chat.on_its_way"   // no arguments: the answer has gone to her alone
	KeyNotAlone    calc.Key = "chat.not_alone"    // no arguments: she takes no direct messages, so the answer is here
	KeyShare       calc.Key = "chat.share"        // a button: show everyone
	KeyAnswerIt    calc.Key = "chat.answer_it"    // a button: open a form for the answer
	KeyWornOut     calc.Key = "chat.worn_out"     // no arguments: nobody knows any more what the button did
	KeyPress       calc.Key = "chat.press"        // the sign to react with, what it does
	KeyUndecrypted calc.Key = "chat.no_key"       // no arguments: the message could not be decrypted
	KeyNoEncrypt   calc.Key = "chat.not_built_in" // no arguments: this build cannot write in encrypted rooms
	KeyWorking     calc.Key = "chat.working"      // no arguments: it takes a moment
	KeyCut         calc.Key = "chat.cut"          // no arguments: there is more than this chat can show
	KeyFlood       calc.Key = "chat.flood"        // no arguments: too much at once, some was left out
	KeyWhole       calc.Key = "chat.whole"        // no arguments: the whole of a long answer is in the file
	KeyHere        calc.Key = "chat.here"         // no arguments: where a session is, in a chat's own list of events
	KeyLine        calc.Key = "chat.line"         // no arguments: what a command does that takes any command as one line
	KeyLineArg     calc.Key = "chat.line_arg"     // no arguments: what that line is
	KeyLineFile    calc.Key = "chat.line_file"    // no arguments: what a file beside that line is
	KeyFileCaption calc.Key = "chat.file_caption" // how a file is sent along where it can have a caption, or be answered
	KeyFileNamed   calc.Key = "chat.file_named"   // how a file is sent along where it is named in the line
	KeyLinesTyped  calc.Key = "chat.lines_typed"  // how a text of several lines is written where each line is sent by itself
	KeyLinesBlock  calc.Key = "chat.lines_block"  // how it is written where a block of text can be marked
	KeyLinesForm   calc.Key = "chat.lines_form"   // how it is written where fields have one line and forms several
	KeyFileField   calc.Key = "chat.file_field"   // how a file is sent along where a command has a field for it
)

// ChatKeys are the sentences of adapters.
var ChatKeys = []calc.Key{
	KeyWelcome, KeyWelcomeRoom, KeyAnew, KeyNotYours, KeyPart, KeyOnItsWay, KeyNotAlone, KeyShare, KeyAnswerIt, KeyWornOut, KeyPress,
	KeyUndecrypted, KeyNoEncrypt, KeyWorking, KeyCut, KeyFlood,
	KeyWhole, KeyHere, KeyLine, KeyLineArg, KeyLineFile, KeyFileField, KeyFileCaption, KeyFileNamed, KeyLinesTyped, KeyLinesBlock, KeyLinesForm,
}
