//go:build goolm

// Echobot is the floor for weftroom's benchmark in Matrix: the least program that
// answers each message, in encrypted rooms as well, and "letters 2000" with so many. It keeps nothing but what the
// library keeps, and promises nothing.
//
//	echobot HOMESERVER USER PASSWORD FILE
package main

import (
	"context"
	"database/sql"
	"fmt"
	"log"
	"os"
	"strings"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/crypto/cryptohelper"
	"maunium.net/go/mautrix/event"
	_ "modernc.org/sqlite" // the driver of the keys
)

func main() {
	client, err := mautrix.NewClient(os.Args[1], "", "")
	fail(err)
	raw, err := sql.Open("sqlite", "file:"+os.Args[4]+"?_pragma=foreign_keys(1)&_pragma=journal_mode(WAL)&_pragma=busy_timeout(5000)&_txlock=immediate")
	fail(err)
	db, err := dbutil.NewWithDB(raw, "sqlite3")
	fail(err)
	syncer := client.Syncer.(*mautrix.DefaultSyncer)
	syncer.OnSync(func(ctx context.Context, resp *mautrix.RespSync, _ string) bool {
		if resp.DeviceOTKCount.SignedCurve25519 == 0 { // which the server may have left out
			if got, err := client.UploadKeys(ctx, &mautrix.ReqUploadKeys{}); err == nil {
				resp.DeviceOTKCount = got.OneTimeKeyCounts
			}
		}
		return true
	})
	crypto, err := cryptohelper.NewCryptoHelper(client, []byte("an echo"), db)
	fail(err)
	crypto.LoginAs = &mautrix.ReqLogin{
		Type: mautrix.AuthTypePassword, Password: os.Args[3],
		Identifier: mautrix.UserIdentifier{Type: mautrix.IdentifierTypeUser, User: os.Args[2]},
	}
	fail(crypto.Init(context.Background()))
	client.Crypto = crypto
	syncer.OnEventType(event.StateMember, func(ctx context.Context, evt *event.Event) {
		if evt.GetStateKey() == string(client.UserID) && evt.Content.AsMember().Membership == event.MembershipInvite {
			_, err := client.JoinRoomByID(ctx, evt.RoomID)
			fail(err)
		}
	})
	syncer.OnEventType(event.EventMessage, func(ctx context.Context, evt *event.Event) {
		if evt.Sender != client.UserID {
			said, letters := "echo: "+evt.Content.AsMessage().Body, 0
			if n, _ := fmt.Sscanf(said, "echo: letters %d", &letters); n == 1 {
				said += strings.Repeat(".", max(0, letters-len(said)))
			}
			_, err := client.SendText(ctx, evt.RoomID, said)
			fail(err)
		}
	})
	fail(client.Sync())
}

func fail(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
