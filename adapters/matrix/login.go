package matrix

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/rs/zerolog"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/crypto/ssss"
)

// deviceName is what people see in a list of the account's devices.
const deviceName = "weftroom"

// recoverAnew is said instead of a recovery key that is lost.
const recoverAnew = "new"

// newClient makes a client that tries reading requests again by itself. Its
// connections are its own, so that they can be closed with it.
func (c *Chat) newClient(a account) (*mautrix.Client, error) {
	client, err := mautrix.NewClient(c.settings.Homeserver, a.User, a.Token)
	if err != nil {
		return nil, err
	}
	client.DeviceID = a.Device
	client.Client = &http.Client{Timeout: 3 * time.Minute, Transport: newTransport()}
	client.DefaultHTTPRetries = 3
	client.DefaultHTTPBackoff = 500 * time.Millisecond
	client.MaxHTTPBackoff = 10 * time.Second
	client.Log = zerolog.Nop() // its lines hold addresses, room names and users; ours do not
	client.UserAgent = deviceName
	return client, nil
}

func newTransport() *http.Transport {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.MaxIdleConnsPerHost = 32
	return t
}

// login makes a new device of the account.
func (c *Chat) login(ctx context.Context, client *mautrix.Client) (account, error) {
	if c.settings.Password == "" {
		return account{}, errNoPassword
	}
	got, err := client.Login(ctx, &mautrix.ReqLogin{
		Type:                     mautrix.AuthTypePassword,
		Identifier:               mautrix.UserIdentifier{Type: mautrix.IdentifierTypeUser, User: string(c.user)},
		Password:                 c.settings.Password,
		InitialDeviceDisplayName: deviceName,
		StoreCredentials:         true,
	})
	if err != nil {
		return account{}, err
	}
	return account{User: got.UserID, Device: got.DeviceID, Token: got.AccessToken}, nil
}

// Check implements bot.Checker. It tries the login that is kept and, when there is
// none or a password is set, a new one, which it ends again; and the recovery key,
// where one is set.
func (c *Chat) Check(ctx context.Context) error {
	kept, err := c.keptAccount(ctx)
	if err != nil {
		return c.explained(err)
	}
	if kept != (account{}) {
		if err := c.checkKept(ctx, kept); err != nil {
			return c.explained(err)
		}
		if c.settings.Password == "" && !c.hasRecovery() {
			return nil
		}
	}
	return c.explained(c.checkAnew(ctx, kept))
}

// checkKept tries the login that is kept.
func (c *Chat) checkKept(ctx context.Context, kept account) error {
	client, err := c.newClient(kept)
	if err != nil {
		return err
	}
	defer client.Client.CloseIdleConnections()
	who, err := client.Whoami(ctx)
	if err == nil && (who.UserID != c.user || who.UserID != kept.User) {
		err = errOtherUser
	}
	return err
}

// checkAnew tries what a new device would need: the password, by a login that is
// ended again, and the recovery key. Without a password the recovery key is tried
// with the login that is kept.
func (c *Chat) checkAnew(ctx context.Context, kept account) (err error) {
	client, err := c.newClient(kept)
	if err != nil {
		return err
	}
	defer client.Client.CloseIdleConnections()
	if kept == (account{}) || c.settings.Password != "" {
		if _, err := c.login(ctx, client); err != nil {
			return err
		}
		defer func() {
			if _, out := client.Logout(ctx); err == nil {
				err = out
			}
		}()
	}
	return c.checkRecovery(ctx, client)
}

// hasRecovery tells whether there is a recovery key to be tried.
func (c *Chat) hasRecovery() bool {
	return c.settings.Recovery != "" && c.settings.Recovery != recoverAnew
}

// checkRecovery tries whether the recovery key opens what the account keeps on the
// server. An account that keeps nothing yet will have another one.
func (c *Chat) checkRecovery(ctx context.Context, client *mautrix.Client) error {
	if !c.hasRecovery() {
		return nil
	}
	keyID, sealed, err := ssss.NewSSSSMachine(client).GetDefaultKeyData(ctx)
	switch {
	case errors.Is(err, ssss.ErrNoDefaultKeyID), errors.Is(err, mautrix.MNotFound):
		return nil
	case err != nil:
		return err
	}
	if _, err := sealed.VerifyRecoveryKey(keyID, c.settings.Recovery); err != nil && !errors.Is(err, ssss.ErrUnverifiableKey) {
		return errBadRecovery
	}
	return nil
}

// keptAccount looks at the login that is kept without making anything.
func (c *Chat) keptAccount(ctx context.Context) (a account, err error) {
	if !c.hasKeys() {
		return account{}, nil
	}
	db, err := openKeys(c.settings.Keys)
	if err != nil {
		return account{}, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return loadAccount(ctx, db)
}
