package bot

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// SendError says what an adapter knows of a post that did not arrive. An error
// of any other type is taken for temporary.
type SendError struct {
	Err        error
	Permanent  bool          // trying again will not help: no such room, not allowed to write there
	Refused    bool          // permanent, because the person takes no direct messages
	RetryAfter time.Duration // temporary, and the chat said how long to wait; does not count as an attempt
}

// Error implements error.
func (e *SendError) Error() string {
	switch {
	case e.Refused:
		return fmt.Sprintf("direct message refused: %v", e.Err)
	case e.Permanent:
		return fmt.Sprintf("permanent: %v", e.Err)
	case e.RetryAfter > 0:
		return fmt.Sprintf("retry after %v: %v", e.RetryAfter, e.Err)
	}
	return e.Err.Error()
}

// Unwrap gives the cause.
func (e *SendError) Unwrap() error { return e.Err }

// AsSendError is err's SendError, or a temporary one around it.
func AsSendError(err error) *SendError {
	if s, ok := errors.AsType[*SendError](err); ok {
		return s
	}
	return &SendError{Err: err}
}

// DirectPoster is an Adapter that can write to a person alone.
type DirectPoster interface {
	// Direct is the place in which the adapter writes to user alone. It may
	// block on the network, and making the same place twice must be harmless. A
	// person who takes no direct messages is a SendError with Refused.
	Direct(ctx context.Context, user string) (Place, error)
}

// Editor is an Adapter that can change a message that it sent.
type Editor interface {
	// Edit replaces the message id in a place. It may block on the network and
	// must be idempotent.
	Edit(ctx context.Context, in Place, id string, r Reply) error
}

// Reconciler is an Adapter whose chat offers no key that outlives a restart of
// the chat: before a post that a crash left unfinished is sent again, Sent looks
// whether it arrived.
type Reconciler interface {
	// Sent gives the id of the message that was posted under key, "" when there
	// is none. It may block on the network.
	Sent(ctx context.Context, to Place, key string) (id string, err error)
}

// Checker is an Adapter that can try whether the chat would let it in.
type Checker interface {
	// Check logs in and out again without taking or sending anything. It may
	// block on the network. Its error says in words for the operator what is
	// wrong and what to do, and holds no secret.
	Check(ctx context.Context) error
}

// DirectRoom is the Room of a Place that stands for "to this user alone" until
// the adapter's Direct has turned it into a real one.
func DirectRoom(a Account) Place { return Place{Chat: a.Chat, Room: "@" + a.User} }
