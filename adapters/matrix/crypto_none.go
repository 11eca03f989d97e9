//go:build !goolm

package matrix

import (
	"context"
	"errors"
	"time"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// canEncrypt tells that this build cannot: rooms that are encrypted are left.
const canEncrypt = false

var errNotBuiltIn = errors.New("this build cannot encrypt: it was made without the tag goolm")

// vault does nothing here.
type vault struct{}

func openVault(context.Context, *mautrix.Client, *dbutil.Database, []byte) (*vault, error) {
	return &vault{}, nil
}

func (*vault) close() {}

func (*vault) sign(context.Context, string, string, string, func(string)) error { return nil }

func (*vault) take(context.Context, *mautrix.RespSync, string) {}

func (*vault) see(context.Context, *event.Event) {}

func (*vault) encrypt(context.Context, id.RoomID, event.Type, any) (*event.EncryptedEventContent, error) {
	return nil, errNotBuiltIn
}

func (*vault) decrypt(context.Context, *event.Event) (open *event.Event, missing bool, err error) {
	return nil, false, errNotBuiltIn
}

func (*vault) await(context.Context, *event.Event, time.Duration) bool { return false }

func (*vault) request(context.Context, *event.Event) {}
