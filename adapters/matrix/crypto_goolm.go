//go:build goolm

package matrix

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/crypto"
	"maunium.net/go/mautrix/crypto/cryptohelper"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// canEncrypt tells that this build can.
const canEncrypt = true

// vault encrypts and decrypts.
type vault struct {
	client *mautrix.Client
	helper *cryptohelper.CryptoHelper
	mach   *crypto.OlmMachine
	comers comers
}

// openVault opens the device's keys, or makes them and has the server know them.
func openVault(ctx context.Context, client *mautrix.Client, db *dbutil.Database, pickle []byte) (*vault, error) {
	helper, err := cryptohelper.NewCryptoHelper(client, pickle, db)
	if err != nil {
		return nil, err
	}
	if err := helper.Init(ctx); err != nil {
		return nil, err
	}
	return &vault{client: client, helper: helper, mach: helper.Machine()}, nil
}

func (v *vault) close() { v.mach.Destroy() }

// sign makes this device one that the account vouches for: with the account's
// recovery key where it has one, and else with a new one, which show is told.
func (v *vault) sign(ctx context.Context, password, recovery, dir string, show func(string)) error {
	hasKeys, signed, err := v.mach.GetOwnVerificationStatus(ctx)
	if err != nil || signed {
		return err
	}
	saved := filepath.Join(dir, recoveryFile)
	raw, _ := os.ReadFile(saved) // it is there only when a first start was broken off
	unshown := strings.TrimSpace(string(raw))
	switch {
	case hasKeys && unshown != "":
		if err := v.restore(ctx, unshown); err != nil {
			return err
		}
		show(unshown)
		return os.Remove(saved)
	case hasKeys && recovery == "":
		return errNoRecovery
	case hasKeys && recovery != recoverAnew:
		return v.restore(ctx, recovery)
	}
	return v.found(ctx, password, saved, show)
}

func (v *vault) restore(ctx context.Context, recovery string) error {
	err := v.mach.VerifyWithRecoveryKey(ctx, recovery)
	if err != nil && !isNetwork(err) {
		return fmt.Errorf("%w (%s)", errBadRecovery, withoutURL(err))
	}
	return err
}

// found makes the account's cross-signing keys. The recovery key is in a file
// until it has been shown, so that a start that is broken off leaves no account
// whose recovery key nobody has seen.
func (v *vault) found(ctx context.Context, password, saved string, show func(string)) error {
	key, err := v.mach.SSSS.GenerateAndUploadKey(ctx, "")
	if err != nil {
		return err
	}
	if err := writeSynced(saved, key.RecoveryKey()); err != nil {
		return err
	}
	keys, err := v.mach.GenerateCrossSigningKeys()
	if err != nil {
		return err
	}
	if err := v.mach.UploadCrossSigningKeysToSSSS(ctx, key, keys); err != nil {
		return err
	}
	if err := v.mach.SSSS.SetDefaultKeyID(ctx, key.ID); err != nil {
		return err
	}
	asked := false
	err = v.mach.PublishCrossSigningKeys(ctx, keys, func(auth *mautrix.RespUserInteractive) any {
		asked = true
		return &mautrix.ReqUIAuthLogin{
			BaseAuthData: mautrix.BaseAuthData{Type: mautrix.AuthTypePassword, Session: auth.Session},
			User:         v.client.UserID.String(), Password: password,
		}
	})
	if err != nil {
		if asked && password == "" {
			return errSignPassword
		}
		return err
	}
	if err := v.mach.SignOwnDevice(ctx, v.mach.OwnIdentity()); err != nil {
		return err
	}
	if err := v.mach.SignOwnMasterKey(ctx); err != nil {
		return err
	}
	show(key.RecoveryKey())
	return os.Remove(saved)
}

// take has the keys of a sync response before anyone asks for them.
func (v *vault) take(ctx context.Context, resp *mautrix.RespSync, since string) {
	if resp.DeviceOTKCount.SignedCurve25519 == 0 {
		resp.DeviceOTKCount = v.countKeys(ctx)
	}
	v.mach.ProcessSyncResponse(ctx, resp, since)
}

// countKeys asks how many one-time keys the server has left. A sync without a
// since leaves the count out; the library reads that as none, makes fifty more,
// and then has forgotten half of those that are handed out.
func (v *vault) countKeys(ctx context.Context) mautrix.OTKCount {
	got, err := v.client.UploadKeys(ctx, &mautrix.ReqUploadKeys{})
	if err != nil {
		return mautrix.OTKCount{SignedCurve25519: 50} // enough for now; the next sync tells
	}
	return got.OneTimeKeyCounts
}

// see has a state event that changes who gets the room's key.
func (v *vault) see(ctx context.Context, evt *event.Event) {
	switch evt.Type {
	case event.StateMember:
		v.mach.HandleMemberEvent(ctx, evt)
		if user := id.UserID(evt.GetStateKey()); user != v.client.UserID && comes(evt) {
			v.comers.add(evt.RoomID, user)
		}
	case event.StateHistoryVisibility:
		v.seeVisibility(ctx, evt)
	}
}

// seeVisibility has who may read what was said before. Where the room's key cannot
// be read the library would follow a nil pointer; a new key is made then.
func (v *vault) seeVisibility(ctx context.Context, evt *event.Event) {
	if _, err := v.mach.CryptoStore.GetOutboundGroupSession(ctx, evt.RoomID); err != nil {
		_ = v.mach.CryptoStore.RemoveOutboundGroupSession(context.WithoutCancel(ctx), evt.RoomID) // the next message is refused while that fails
		return
	}
	v.mach.HandleHistoryVisibility(ctx, evt)
}

// encrypt seals content for all who are in a room.
func (v *vault) encrypt(ctx context.Context, room id.RoomID, kind event.Type, content any) (*event.EncryptedEventContent, error) {
	if err := v.admit(ctx, room); err != nil {
		return nil, err
	}
	return v.helper.Encrypt(ctx, room, kind, content)
}

// decrypt opens an event. missing tells that its key is not there (yet).
func (v *vault) decrypt(ctx context.Context, evt *event.Event) (open *event.Event, missing bool, err error) {
	open, err = v.helper.Decrypt(ctx, evt)
	if errors.Is(err, crypto.ErrDuplicateMessageIndex) {
		return nil, false, errReplayed
	}
	return open, errors.Is(err, crypto.ErrNoSessionFound), err
}

// request asks the sender's device for the key of an event.
func (v *vault) request(ctx context.Context, evt *event.Event) {
	content, ok := evt.Content.Parsed.(*event.EncryptedEventContent)
	if !ok {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	v.helper.RequestSession(ctx, evt.RoomID, content.SenderKey, content.SessionID, evt.Sender, "") // of all her devices
}

// await waits up to d for the key of an event.
func (v *vault) await(ctx context.Context, evt *event.Event, d time.Duration) bool {
	content, ok := evt.Content.Parsed.(*event.EncryptedEventContent)
	return ok && v.mach.WaitForSession(ctx, evt.RoomID, content.SenderKey, content.SessionID, d)
}
