package bot

import (
	"context"
	"time"
)

// Notes is what a chat's adapter keeps from one run to the next: what a button
// does, which message a post became.
type Notes interface {
	// Note is the note of that name, the zero Note when there is none. It may
	// block on storage.
	Note(ctx context.Context, chat, name string) (Note, error)

	// PutNote keeps a note in place of the one of its name; one without a Value
	// is deleted. It may block on storage, and must be idempotent.
	PutNote(ctx context.Context, chat string, n Note) error
}

// Note is one small thing that an adapter keeps.
type Note struct {
	Name  string    // unique within the chat
	User  string    // whom it is about, and with whom it is forgotten; "" for nobody
	Value string    // what it says, in the adapter's own way
	Until time.Time // pruned after; zero for never
}
