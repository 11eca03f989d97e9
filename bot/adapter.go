package bot

import "context"

// Handler answers requests. Handle may block while earlier requests of the same
// person are being answered; it never panics and always gives a Reply, of which
// nothing must be shown when it is None. It is safe to call from many
// goroutines.
type Handler interface {
	Handle(ctx context.Context, r Request) Reply
}

// Adapter joins one chat to the core.
type Adapter interface {
	// Name is the chat's name in Accounts and Places.
	Name() string

	// Run takes requests from the chat to h until ctx ends or the chat is over.
	// It blocks, and returns only when every goroutine that it started is done.
	Run(ctx context.Context, h Handler) error

	// Post sends r to a place and gives the id of the message. It may block on
	// the network. Posting again under the same key must not show a second
	// message.
	Post(ctx context.Context, to Place, key string, r Reply) (id string, err error)
}

// Suggester is a Handler that completes arguments.
type Suggester interface {
	// Suggest lists up to most values for an argument of a command ("class set"
	// for one with subcommands) of which begun has been written, likeliest first.
	// It may block on storage, and gives nothing to whoever may not use the
	// command.
	Suggest(ctx context.Context, r Request, command, param, begun string, most int) []string
}
