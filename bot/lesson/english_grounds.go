package lesson

import "weftroom/bot"

// englishGrounds says what is wrong with a text, a ground or a picture that is to
// become holes.
var englishGrounds = bot.Texts{
	"lace.letter_unknown": "I have no “%s” to weave; there are %s, and small letters become capitals",
	"lace.letters_none":   "There is nothing to weave in that text; write letters, figures or marks",
	"lace.letters_long":   "That text has %d signs, blanks among them; up to %d can be woven side by side",

	"lace.ground_size":  "%[1]s: %[2]d is outside what is allowed for %[5]s, %[3]d to %[4]d",
	"lace.ground_takes": "%[2]s has no %[1]s; it takes %[3]s",

	"tones.file":   "That picture is a file of %d MB; I open up to %d MB",
	"tones.kind":   "That is no picture that I can open; I open PNG, JPEG, GIF and WebP, and other kinds, such as a phone's HEIC, when they are shared as JPEG",
	"tones.broken": "That %s picture cannot be opened: it is damaged, cut short or of a rare kind; please send it once more, or save it anew as PNG",
	"tones.moving": "That %s has several pictures, one after another; send one that does not move",
	"tones.pixels": "That picture is %d × %d pixels; I open up to %d million pixels, and 1000 × 1000 are plenty for a weaving",
	"tones.memory": "That picture is %d × %d pixels of a kind that takes %d MB to open; I take up to %d MB, and 1000 × 1000 pixels are plenty for a weaving",
	"tones.flat":   "That picture is nearly all of one shade, so nothing in it tells a hole from plain cloth; send one with light and dark parts, such as a black shape on white",
}
