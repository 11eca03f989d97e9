//go:build goolm

package matrix

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// TestTrap1OneTimeKeys starts several times without a place in the stream. Each
// such sync leaves out how many one-time keys there are; who takes that for none
// makes more, and forgets those that the server hands out first.
func TestTrap1OneTimeKeys(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	first := 0
	for n := range 4 {
		d.up(echoes)
		keys := oneTimeKeys(t, d)
		if n == 0 {
			first = keys
		}
		if keys != first || keys > 60 {
			t.Errorf("the server has %d one-time keys at start %d, after %d at the first", keys, n, first)
		}
		d.stop()
		forgetSeen(t, d)
	}
	d.up(echoes)
	for n := range 3 {
		p := s.Student(t, fmt.Sprint("new-", n))
		room := class(t, p, d, true)
		p.Say(t, room, "!first")
		wantOnce(t, p, room, "you said first")
	}
}

func oneTimeKeys(t *testing.T, d *device) int {
	t.Helper()
	client, err := d.chat.client(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	got, err := client.UploadKeys(t.Context(), &mautrix.ReqUploadKeys{})
	if err != nil {
		t.Fatal(err)
	}
	return got.OneTimeKeyCounts.SignedCurve25519
}

// forgetSeen takes away everything that was seen and sent.
func forgetSeen(t *testing.T, d *device) {
	t.Helper()
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.Remove(filepath.Join(d.settings.Keys, seenFile+end)); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
}

// TestTrap2OldEvents joins a room with a past: that stays unanswered, and the
// state that came with it counts, or the answer would go out in the clear.
func TestTrap2OldEvents(t *testing.T) {
	t.Parallel()
	for _, encrypted := range []bool{false, true} {
		t.Run(fmt.Sprint("encrypted ", encrypted), func(t *testing.T) {
			t.Parallel()
			s := matrixtest.Shared(t)
			d := newDevice(t, s)
			ada := s.Student(t, "ada")
			room := ada.Room(t, encrypted)
			ada.Say(t, room, "!before the invitation")
			d.up(echoes).secondWait = 100 * time.Millisecond
			ada.Invite(t, room, d.account.ID)
			ada.UntilJoined(t, room, d.account.ID)
			ada.UntilText(t, room, string(bot.KeyWelcomeRoom))
			ada.Say(t, room, "!after")
			wantOnce(t, ada, room, "you said after")
			waitForKeys(t, d)
			d.stop()
			ada.Say(t, room, "!the end")
			d.up(echoes)
			wantOnce(t, ada, room, "you said after", "you said the end")
			for _, evt := range ada.Seen(room, event.EventMessage) {
				if body := evt.Content.Raw["body"]; body == "you said before the invitation" || body == string(bot.KeyUndecrypted) {
					t.Errorf("history was answered: %q", body)
				}
				if sealed(t, ada, room, evt.ID) != encrypted {
					t.Errorf("encrypted is %v of %q", !encrypted, evt.Content.Raw["body"])
				}
			}
		})
	}
}

// waitForKeys waits until no event waits for its key any more.
func waitForKeys(t *testing.T, d *device) {
	t.Helper()
	l, err := d.chat.connected(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for range cap(l.waiting) {
		select {
		case l.waiting <- struct{}{}:
		case <-time.After(matrixtest.Patience):
			t.Fatal("an event waits for its key for ever")
		}
	}
	for range cap(l.waiting) {
		<-l.waiting
	}
}

// TestTrap3BeforeTheFirstSync has a room encrypted while we are away, and posts
// into it before we can have heard of that.
func TestTrap3BeforeTheFirstSync(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	ada := s.Student(t, "ada")
	room := class(t, ada, d, false)
	d.stop()
	if _, err := ada.Client.SendStateEvent(t.Context(), room, event.StateEncryption, "",
		&event.EncryptionEventContent{Algorithm: id.AlgorithmMegolmV1}); err != nil {
		t.Fatal(err)
	}
	chat, err := New(d.settings, d.options)
	if err != nil {
		t.Fatal(err)
	}
	posted := make(chan error, 1)
	go func() {
		_, err := chat.Post(t.Context(), bot.Place{Chat: Name, Room: string(room)}, "key-of-a-post", bot.Reply{Title: "we meet at seven"})
		posted <- err
	}()
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- chat.Run(ctx, answers(echoes)) }()
	if err := <-posted; err != nil {
		t.Fatal(err)
	}
	ada.UntilText(t, room, "we meet at seven")
	end()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	for _, evt := range ada.Seen(room, event.EventMessage) {
		if evt.Content.Raw["body"] == "we meet at seven" && !sealed(t, ada, room, evt.ID) {
			t.Error("in the clear")
		}
	}
}

// TestTrap3UnknownState forgets what is kept of a room's state, as after the loss
// of it, and posts there.
func TestTrap3UnknownState(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	ada := s.Student(t, "ada")
	room := class(t, ada, d, true)
	d.stop()
	db, err := openKeys(d.settings.Keys)
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"mx_room_state", "mx_user_profile"} {
		if _, err := db.Exec(t.Context(), "DELETE FROM "+table+" WHERE room_id = $1", room); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	chat := d.up(echoes)
	message, err := chat.Post(t.Context(), bot.Place{Chat: Name, Room: string(room)}, "key-of-a-post", bot.Reply{Title: "we meet at seven"})
	if err != nil {
		t.Fatal(err)
	}
	ada.UntilText(t, room, "we meet at seven")
	if !sealed(t, ada, room, id.EventID(message)) {
		t.Error("in the clear")
	}
}

// TestTrap4Poison has a request that panics: it is one failed request, and does
// not come again.
func TestTrap4Poison(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	var eaten atomic.Int32
	h := func(ctx context.Context, r bot.Request) bot.Reply {
		if r.Line == "poison" {
			eaten.Add(1)
			panic("on purpose")
		}
		return echoes(ctx, r)
	}
	d.up(h)
	ada := s.Student(t, "ada")
	room := class(t, ada, d, false)
	ada.Say(t, room, "!poison")
	ada.Say(t, room, "!still here")
	wantOnce(t, ada, room, "you said still here")
	d.stop()
	d.up(h)
	ada.Say(t, room, "!and again")
	wantOnce(t, ada, room, "you said still here", "you said and again")
	if n := eaten.Load(); n != 1 {
		t.Errorf("the poison was taken %d times", n)
	}
}

// TestTrap5LimitedTimeline sends more commands than a timeline holds while we are
// away.
func TestTrap5LimitedTimeline(t *testing.T) {
	t.Parallel()
	for _, encrypted := range []bool{false, true} {
		t.Run(fmt.Sprint("encrypted ", encrypted), func(t *testing.T) {
			t.Parallel()
			s := matrixtest.Shared(t)
			d := newDevice(t, s)
			d.up(echoes)
			ada := s.Student(t, "ada")
			room := class(t, ada, d, encrypted)
			ada.Say(t, room, "!before")
			wantOnce(t, ada, room, "you said before")
			d.stop()
			var want []string
			for n := range 70 {
				ada.Say(t, room, fmt.Sprint("!number ", n))
				want = append(want, fmt.Sprint("you said number ", n))
			}
			d.up(echoes)
			wantOnce(t, ada, room, append([]string{"you said before"}, want...)...)
			got := slices.DeleteFunc(ada.Texts(room), func(s string) bool { return !strings.HasPrefix(s, "you said number") })
			if !slices.Equal(got, want) {
				t.Errorf("not in order: %q", got)
			}
		})
	}
}

// TestTrap5FreshStore starts as a new device in rooms with a past.
func TestTrap5FreshStore(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	ada, bea := s.Student(t, "ada"), s.Student(t, "bea")
	room := class(t, ada, d, true)
	ada.Invite(t, room, bea.ID)
	ada.UntilJoined(t, room, bea.ID)
	ada.Say(t, room, "!before")
	wantOnce(t, ada, room, "you said before")
	d.stop()
	ada.Say(t, room, "!while the folder was lost")
	bea.UntilText(t, room, "!while the folder was lost") // the homeserver is through with it
	d.settings.Keys, d.settings.Recovery = t.TempDir(), d.recovery[0]
	d.up(echoes)
	ada.Say(t, room, "!after")
	wantOnce(t, ada, room, "you said before", "you said after", string(bot.KeyWelcomeRoom), string(bot.KeyAnew))
	if slices.Contains(ada.Texts(room), "you said while the folder was lost") {
		t.Error("history was answered")
	}
}

// TestTrap6Limit has the server ask for patience.
func TestTrap6Limit(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	proxy := s.Proxy(t)
	d.settings.Homeserver = proxy.URL
	chat := d.up(echoes)
	ada := s.Student(t, "ada")
	room := class(t, ada, d, false)
	var refused atomic.Int32
	proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if isSend(r) && refused.Add(1) <= 1 {
			return matrixtest.Refuse
		}
		return matrixtest.Pass
	}, nil)
	to := bot.Place{Chat: Name, Room: string(room)}
	_, err := chat.Post(t.Context(), to, "key-of-a-post", bot.Reply{Title: "we meet at seven"})
	if send := bot.AsSendError(err); err == nil || send.RetryAfter != 7*time.Second || send.Permanent {
		t.Errorf("got %v", err)
	}
	if _, err := chat.Post(t.Context(), to, "key-of-a-post", bot.Reply{Title: "we meet at seven"}); err != nil {
		t.Error(err)
	}
	wantOnce(t, ada, room, "we meet at seven")
}

// isSend tells a request that puts a message into a room.
func isSend(r *http.Request) bool {
	return r.Method == http.MethodPut && strings.Contains(r.URL.Path, "/send/m.room.")
}

// TestTrap6ServerAway kills the homeserver while the bot listens.
func TestTrap6ServerAway(t *testing.T) {
	t.Parallel()
	s := matrixtest.Start(t)
	d := newDevice(t, s)
	d.up(echoes)
	ada := s.Student(t, "ada")
	room := class(t, ada, d, true)
	for n := range 3 {
		s.Restart(t)
		ada.Say(t, room, fmt.Sprint("!after restart ", n))
		wantOnce(t, ada, room, fmt.Sprint("you said after restart ", n))
	}
	d.stop()
	s.Kill(t)
	d.run(echoes) // it waits for the server
	s.Up(t)
	ada.Say(t, room, "!after all")
	wantOnce(t, ada, room, "you said after restart 0", "you said after restart 1", "you said after restart 2", "you said after all")
}

// TestTrap7Undecryptable sends what we have no key for: it is explained once in
// the room.
func TestTrap7Undecryptable(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	chat := d.up(echoes)
	chat.secondWait = 100 * time.Millisecond
	ada := s.Student(t, "ada")
	room := class(t, ada, d, true)
	mach := ada.Crypto.Machine()
	withhold := func() {
		if err := mach.CryptoStore.RemoveOutboundGroupSession(t.Context(), room); err != nil {
			t.Fatal(err)
		}
		if err := mach.ShareGroupSession(t.Context(), room, []id.UserID{ada.ID}); err != nil {
			t.Fatal(err)
		}
	}
	withhold()
	ada.Say(t, room, "!nobody can read this")
	ada.UntilText(t, room, string(bot.KeyUndecrypted))
	ada.Say(t, room, "!nor this")
	withhold()
	ada.Say(t, room, "!nor that")
	if err := mach.CryptoStore.RemoveOutboundGroupSession(t.Context(), room); err != nil {
		t.Fatal(err)
	}
	ada.Say(t, room, "!but this")
	wantOnce(t, ada, room, "you said but this")
	waitForKeys(t, d)
	d.stop() // which waits for what is in hand
	ada.Say(t, room, "!the end")
	d.up(echoes)
	wantOnce(t, ada, room, "you said the end")
	wantOnce(t, ada, room, "you said but this", string(bot.KeyUndecrypted))
}
