package paper

// The inks of our own drawings: light threads on a dark cloth laid beneath the
// warp, as weavers lay one there to count by. In grey they are steps apart (a
// test holds them so): shade .21, line .33, weft .63, warp .91.
var (
	inkShade = Ink{0x24, 0x3a, 0x44} // the dark cloth beneath: what a hole shows
	inkWoven = Ink{0x8a, 0x76, 0x5c} // between the threads of plain cloth
	inkLine  = Ink{0x5a, 0x52, 0x4a} // outlines of threads, frames, brackets
	inkWeft  = Ink{0xdc, 0xb6, 0x84} // weft, and a pass under way
	inkWarp  = Ink{0xf3, 0xe8, 0xd2} // warp
	inkFaint = Ink{0xd9, 0xd4, 0xca} // what is only there to lead the eye
	inkPale  = Ink{0xf7, 0xf4, 0xee} // the ground of a panel on white
)

// The sizes of a picture for a chat. A sheet is as wide as a small phone's
// screen in the phone's own points, so that a letter of 11 points is one there.
const (
	phoneWidth = 390.0
	margin     = 14.0

	sizeTitle = 15.0
	sizeText  = 12.0
	sizeSmall = 11.0 // nothing is smaller
	lineHigh  = 1.32 // lines to a size
)

// PictureWidth is how many pixels wide our drawings are made for a chat, and
// SmallWidth that for a first look, about a pixel to a point.
const (
	PictureWidth = 1200
	SmallWidth   = 400
)
