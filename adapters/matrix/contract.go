package matrix

import (
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// incoming is one event that someone wrote, decrypted, before anyone has made
// sense of it.
type incoming struct {
	Event *event.Event // never our own; its content is parsed where its type is known
	Room  room
	Name  string // the sender's display name in the room, "" for none; may be hostile
	Power int    // the sender's power level in the room
	Ours  string // our own display name in the room
}

// room is what is known of a room when an event is read.
type room struct {
	ID        id.RoomID
	Direct    bool // made as a direct chat, or nobody is there but the sender
	Encrypted bool
}

// part is one message of a Reply: one event, in both renderings. A part with a
// File is the file's message.
type part struct {
	Body, HTML string // HTML is "" when there is nothing but plain text
	Notice     bool   // an acknowledgement, not an answer
	File       *file
	Draw       func() (*file, error) // instead of a File: draws it when its turn has come; Body says what it shows
	Buttons    []press
	For        id.UserID // the only one who may press; "" for everyone
}

// file is a picture or another attachment.
type file struct {
	Name, MediaType, Alt string
	Bytes                []byte
	Width, Height        int // 0 when it is no picture
	Thumb                []byte
	ThumbWidth           int
	ThumbHeight          int
}

// press is a button: a reaction that the bot puts under its message first.
type press struct{ Emoji, Label, Line string }

// relation says how a message stands to others.
type relation struct {
	ReplyTo  id.EventID
	Thread   id.EventID  // the thread's first event
	Replaces id.EventID  // an own message that it is the new text of
	Mentions []id.UserID // who is meant to be called; nobody else ever is
}
