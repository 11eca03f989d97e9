//go:build !goolm

package matrix

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
	"weftroom/config"
)

type nothing struct{}

func (nothing) Note(context.Context, string, string) (bot.Note, error) { return bot.Note{}, nil }
func (nothing) PutNote(context.Context, string, bot.Note) error        { return nil }

type repeats struct{}

func (repeats) Handle(_ context.Context, r bot.Request) bot.Reply {
	return bot.Reply{Title: "you said " + r.Line}
}

// TestWithoutEncryption runs the build that cannot encrypt: it answers in a plain
// room, and leaves an encrypted one, saying why in its leaving and nowhere else.
func TestWithoutEncryption(t *testing.T) {
	s := matrixtest.Shared(t)
	account, ada := s.Account(t, "bot"), s.Account(t, "ada")
	proxy, reasons := s.Proxy(t), make(chan string, 10)
	proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if strings.HasSuffix(r.URL.Path, "/leave") {
			raw, _ := io.ReadAll(r.Body)
			r.Body = io.NopCloser(bytes.NewReader(raw))
			reasons <- string(raw)
		}
		return matrixtest.Pass
	}, nil)
	chat, err := New(config.Matrix{Homeserver: proxy.URL, User: string(account.ID), Password: account.Password, Keys: t.TempDir(), Prefix: "!", Open: "yes"},
		Options{Notes: nothing{}, Texts: bot.Texts{bot.KeyNoEncrypt: "built without encryption"}})
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- chat.Run(ctx, repeats{}) }()
	client, err := mautrix.NewClient(s.URL, "", "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := client.Login(t.Context(), &mautrix.ReqLogin{
		Type: mautrix.AuthTypePassword, Password: ada.Password, StoreCredentials: true,
		Identifier: mautrix.UserIdentifier{Type: mautrix.IdentifierTypeUser, User: string(ada.ID)},
	}); err != nil {
		t.Fatal(err)
	}
	open := func(encrypted bool) id.RoomID {
		q := &mautrix.ReqCreateRoom{Preset: "private_chat", Invite: []id.UserID{account.ID}}
		if encrypted {
			q.InitialState = []*event.Event{{Type: event.StateEncryption, Content: event.Content{
				Parsed: &event.EncryptionEventContent{Algorithm: id.AlgorithmMegolmV1}}}}
		}
		made, err := client.CreateRoom(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		return made.RoomID
	}
	plain, sealed := open(false), open(true)
	until := func(what string, fulfilled func(evt *event.Event) bool) {
		t.Helper()
		since := ""
		for over := time.Now().Add(matrixtest.Patience); time.Now().Before(over); {
			got, err := client.SyncRequest(t.Context(), 1000, since, "", false, "")
			if err != nil {
				t.Fatal(err)
			}
			since = got.NextBatch
			for _, joined := range got.Rooms.Join {
				for _, evt := range joined.Timeline.Events {
					if evt.Sender == account.ID && fulfilled(evt) {
						return
					}
					if body, _ := evt.Content.Raw["body"].(string); evt.RoomID == sealed && body != "" {
						t.Fatalf("in the clear in an encrypted room: %q", body)
					}
				}
			}
		}
		t.Fatalf("%s: not seen", what)
	}
	until("joining", func(evt *event.Event) bool { return evt.Content.Raw["membership"] == "join" })
	if _, err := client.SendText(t.Context(), plain, "!hello"); err != nil {
		t.Fatal(err)
	}
	until("the answer", func(evt *event.Event) bool { return evt.Content.Raw["body"] == "you said hello" })
	until("the leaving", func(evt *event.Event) bool { return evt.Content.Raw["membership"] == "leave" })
	select {
	case reason := <-reasons: // dendrite does not hand it on
		if !strings.Contains(reason, "built without encryption") {
			t.Errorf("it leaves with %s", reason)
		}
	default:
		t.Error("it leaves without a reason")
	}
	end()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
