package matrix

import (
	"log/slog"
	"sync"
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

	// Now is the clock by which old events are left alone and doubts are timed;
	// time.Now when nil.
	Now func() time.Time
}

// Chat is the adapter. It is safe for use from many goroutines, but for Run,
// which may run once at a time.
type Chat struct {
	settings config.Matrix
	options  Options
	user     id.UserID
	floods   floods

	secondWait time.Duration // for a key that was asked for
	settle     time.Duration // of a message in doubt

	mu      sync.Mutex
	link    *link         // nil while no run is connected
	changed chan struct{} // closed and replaced when link changes
}

var (
	_ bot.Adapter      = (*Chat)(nil)
	_ bot.DirectPoster = (*Chat)(nil)
	_ bot.Editor       = (*Chat)(nil)
	_ bot.Reconciler   = (*Chat)(nil)
	_ bot.Checker      = (*Chat)(nil)
)

// New makes the adapter; nothing is opened or asked before Run or Check.
func New(c config.Matrix, o Options) (*Chat, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return &Chat{settings: c, options: o, user: id.UserID(c.User), secondWait: secondWait, settle: settle, changed: make(chan struct{})}, nil
}

// Name implements bot.Adapter.
func (c *Chat) Name() string { return Name }

func (c *Chat) log() *slog.Logger { return c.options.Log }
