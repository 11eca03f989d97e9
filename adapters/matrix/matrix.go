package matrix

import (
	"context"
	"log/slog"
	"time"

	"maunium.net/go/mautrix/id"

	"weftroom/bot"
	"weftroom/config"
)

// Name is the chat's name in Accounts and Places.
const Name = "matrix"

// Options are what main hands over beside the settings.
type Options struct {
	Notes    bot.Notes
	Commands []*bot.Command // to be advertised
	Texts    bot.Texts
	Log      *slog.Logger

	// Show is told the recovery key of a new account, once; it is for the
	// operator alone.
	Show func(recoveryKey string)

	// Now is the clock by which old events are left alone; time.Now when nil.
	Now func() time.Time
}

// Chat is the adapter. It is safe for use from many goroutines, but for Run,
// which may run once at a time.
type Chat struct {
	settings config.Matrix
	options  Options
	user     id.UserID
}

// New makes the adapter; nothing is opened or asked before Run or Check.
func New(c config.Matrix, o Options) (*Chat, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Chat{settings: c, options: o, user: id.UserID(c.User)}, nil
}

// Name implements bot.Adapter.
func (c *Chat) Name() string { return Name }

// sendParts sends the parts of one message into a room, in order, part n under
// key and "-n". What has arrived already is not sent again. It gives the id of
// the first.
func (c *Chat) sendParts(ctx context.Context, room id.RoomID, key string, parts []part, how relation) (id.EventID, error) {
	panic("not yet")
}

// edit replaces an own message; with it, its buttons.
func (c *Chat) edit(ctx context.Context, room id.RoomID, message id.EventID, p part) error {
	panic("not yet")
}
