package matrix

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/rs/zerolog"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/id"
)

// deviceName is what people see in a list of the account's devices.
const deviceName = "weftroom"

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

// Check implements bot.Checker. It tries the login that is kept or, when there
// is none, a new one, which it ends again.
func (c *Chat) Check(ctx context.Context) error {
	client, err := c.newClient(account{})
	if err != nil {
		return c.explained(err)
	}
	defer client.Client.CloseIdleConnections()
	kept, err := c.keptAccount(ctx)
	if err != nil {
		return c.explained(err)
	}
	if kept == (account{}) {
		if _, err := c.login(ctx, client); err != nil {
			return c.explained(err)
		}
		_, err := client.Logout(ctx)
		return c.explained(err)
	}
	client.UserID, client.DeviceID, client.AccessToken = kept.User, kept.Device, kept.Token
	who, err := client.Whoami(ctx)
	if err == nil && (who.UserID != c.user || id.UserID(who.UserID) != kept.User) {
		err = errOtherUser
	}
	return c.explained(err)
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
