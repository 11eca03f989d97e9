// Package bot is the core that every chat shares: what a request, a command
// and a reply are, and the dispatcher between them.
//
// A chat's adapter turns what a person wrote or pressed into a Request; the
// Dispatcher finds the Command that was declared for it, reads the arguments by
// that declaration, runs it, and gives back a Reply, which the adapter renders
// in its chat's best way. The core knows no chat, no SQL and no textile word
// beyond the quantities of calc/measure.
package bot

import (
	"context"
	"time"

	"weftroom/calc"
)

// Account is one user of one chat.
type Account struct {
	Chat string // the adapter's name: "console", "matrix", "discord"
	User string // the chat's own stable id for the user
}

// Place is one room of one chat.
type Place struct {
	Chat string
	Room string
}

// Role is what a person may do in a class. Each includes those before it.
type Role int

// The roles, least first.
const (
	Anyone Role = iota
	Student
	Helper
	Teacher
)

// Request is one thing that a person asked.
type Request struct {
	ID      string // stable in its chat: an event or interaction id; a replay has the same
	From    Account
	In      Place
	Direct  bool      // a direct message: only the asker sees the answer
	Apart   bool      // in a room, the chat shows a Personal answer to the asker alone
	Shared  bool      // she has the answer shown to everyone in the room: it is made for their eyes, and goes there
	Role    Role      // that the chat itself grants: the console's only user is her own teacher
	At      time.Time // when it was asked, by the chat's clock; zero for now
	Power   bool      // the chat lets her run this room; it permits opening a class there and nothing else
	Name    string    // what the chat calls her; may be hostile
	Line    string
	Command string            // instead of Line, from a chat that sends structured commands
	Values  map[string]string // the arguments of Command as written

	Attached  []Attached // in the order in which they were sent
	Enclosing calc.Key   // how a file is sent along in this chat; "" for as an attachment of the message
	Several   calc.Key   // how a text of several lines is written in this chat; "" where that needs no saying
}

// Attached is a file that came with a request. Nothing about it can be trusted,
// its size included.
type Attached struct {
	Name      string
	For       string // the argument that it is, in a chat that asks for files by name
	MediaType string // as the sender's program says
	Size      int64  // in bytes, as the chat says; 0 when it does not

	// Read gives its bytes. It blocks on the network, may be called again, and
	// fails with ErrTooMuch when there are more than most.
	Read func(ctx context.Context, most int64) ([]byte, error)
}

// Alone tells that nobody but the asker will see a Personal answer.
func (r Request) Alone() bool { return !r.Shared && (r.Direct || r.Apart) }
