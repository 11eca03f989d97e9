package matrix

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
	"maunium.net/go/mautrix/sqlstatestore"

	"weftroom/bot"
)

// link is one run: the connection, what is kept, and what is in hand.
type link struct {
	chat    *Chat
	client  *mautrix.Client
	keys    *dbutil.Database
	keep    *keep
	state   *sqlstatestore.SQLStateStore
	vault   *vault
	handler bot.Handler

	ready chan struct{} // closed once the first sync is through
	work  sync.WaitGroup

	people  people
	batches batches
	rooms   rooms
	locks   locks
	rounds  rounds
	doubts  doubts
	waiting chan struct{} // a place for each event whose key is waited for
}

// Run implements bot.Adapter. Its error says in words for the operator why it
// cannot begin or go on.
func (c *Chat) Run(ctx context.Context, h bot.Handler) error {
	if ctx.Err() != nil {
		return nil
	}
	begun := time.Now()
	l, err := c.patiently(ctx, h)
	if ctx.Err() != nil && err != nil {
		return nil
	}
	if err != nil {
		return c.explained(err)
	}
	defer l.close()
	c.connect(l)
	err = l.follow(ctx, begun)
	l.work.Wait()
	c.connect(nil)
	if ctx.Err() != nil {
		return nil
	}
	return c.explained(err)
}

// patiently is open, again and again while the server of a login that is kept is
// away. Who logs in for the first time is told at once what is wrong.
func (c *Chat) patiently(ctx context.Context, h bot.Handler) (*link, error) {
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		l, err := c.open(ctx, h)
		if err == nil || !isAway(err) {
			return l, err
		}
		if kept, lost := c.keptAccount(ctx); lost != nil || kept == (account{}) {
			return nil, err
		}
		c.log().Warn("matrix: the server is away", "err", withoutURL(err), "pause", pause)
		rest(ctx, pause)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
}

// open opens what is kept, logs in if there is no login, and has the device
// signed.
func (c *Chat) open(ctx context.Context, h bot.Handler) (_ *link, err error) {
	l := &link{chat: c, handler: h, ready: make(chan struct{}), waiting: make(chan struct{}, maxWaiting)}
	l.people.slots = make(chan struct{}, maxAtOnce)
	defer func() {
		if err != nil {
			l.close()
		}
	}()
	fresh := !c.hasKeys()
	if l.keep, err = openKeep(ctx, c.settings.Keys, c.options.Now); err != nil {
		return nil, err
	}
	l.doubts.now = c.options.Now
	l.doubts.begun = c.options.Now() // the folder is ours alone: whoever had it has ended
	pickle, err := pickleKey(c.settings.Keys, fresh)
	if err != nil {
		return nil, err
	}
	if l.keys, err = openKeys(c.settings.Keys); err != nil {
		return nil, err
	}
	if err := l.enter(ctx); err != nil {
		return nil, err
	}
	l.state = sqlstatestore.NewSQLStateStore(l.keys, dbutil.NoopLogger, false)
	if err := l.state.Upgrade(ctx); err != nil {
		return nil, err
	}
	l.client.StateStore = l.state
	if l.vault, err = openVault(ctx, l.client, l.keys, pickle); err != nil {
		return nil, err
	}
	if err := l.vault.sign(ctx, c.settings.Password, c.settings.Recovery, c.settings.Keys, c.show); err != nil {
		return nil, err
	}
	return l, l.look(ctx)
}

func (c *Chat) hasKeys() bool {
	_, err := os.Stat(filepath.Join(c.settings.Keys, keysFile))
	return !errors.Is(err, fs.ErrNotExist)
}

func (c *Chat) show(recoveryKey string) {
	if c.options.Show != nil {
		c.options.Show(recoveryKey)
	}
}

// enter takes the login that is kept, or logs in and keeps that.
func (l *link) enter(ctx context.Context) error {
	a, err := loadAccount(ctx, l.keys)
	if err != nil {
		return err
	}
	if l.client, err = l.chat.newClient(a); err != nil {
		return err
	}
	if a != (account{}) {
		if a.User != l.chat.user {
			return errOtherUser
		}
		return nil
	}
	if a, err = l.chat.login(ctx, l.client); err != nil {
		return err
	}
	if a.User != l.chat.user {
		return errOtherUser
	}
	return saveAccount(ctx, l.keys, a)
}

// look asks for what the stream tells only when it changes.
func (l *link) look(ctx context.Context) error {
	joined, err := l.client.JoinedRooms(ctx)
	if err != nil {
		return err
	}
	direct := event.DirectChatsEventContent{}
	if err := l.client.GetAccountData(ctx, event.AccountDataDirectChats.Type, &direct); err != nil && !errors.Is(err, mautrix.MNotFound) {
		return err
	}
	l.rooms.set(joined.JoinedRooms, direct)
	return nil
}

func (l *link) close() {
	if l.vault != nil {
		l.vault.close()
	}
	if l.client != nil {
		l.client.Client.CloseIdleConnections()
	}
	var err error
	if l.keys != nil {
		err = l.keys.Close()
	}
	if l.keep != nil {
		err = errors.Join(err, l.keep.close())
	}
	if err != nil {
		l.chat.log().Error("matrix: closing what is kept", "err", err)
	}
}

// connect hands the run to those who post; nil takes it from them.
func (c *Chat) connect(l *link) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.link = l
	close(c.changed)
	c.changed = make(chan struct{})
}

// connected waits for a run whose first sync is through.
func (c *Chat) connected(ctx context.Context) (*link, error) {
	for {
		c.mu.Lock()
		l, changed := c.link, c.changed
		c.mu.Unlock()
		ready := make(<-chan struct{})
		if l != nil {
			ready = l.ready
		}
		select {
		case <-ready:
			return l, nil
		case <-changed:
		case <-ctx.Done():
			return nil, &bot.SendError{Err: errNotConnected}
		}
	}
}

var errNotConnected = errors.New("matrix: not connected yet")

// own tells our own user.
func (l *link) own(user id.UserID) bool { return user == l.client.UserID }
