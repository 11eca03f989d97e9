//go:build goolm

package matrixtest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/crypto/cryptohelper"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
	_ "modernc.org/sqlite" // the driver of a student's keys
)

// Student is a user with a client and keys of her own. She follows every
// invitation.
type Student struct {
	Account
	Client *mautrix.Client
	Crypto *cryptohelper.CryptoHelper

	end    context.CancelFunc
	ended  chan struct{}
	mu     sync.Mutex
	seen   []*event.Event           // decrypted, in the order in which they came; her own are left out
	times  map[id.EventID]time.Time // when each came
	failed map[id.EventID]error
	news   chan struct{} // closed and replaced at each event
}

// Student makes one and has her listen until the test ends.
func (s *Server) Student(t testing.TB, name string) *Student {
	t.Helper()
	return s.LogIn(t, s.Account(t, name))
}

// LogIn makes a student of a user who has never logged in.
func (s *Server) LogIn(t testing.TB, a Account) *Student {
	t.Helper()
	p, err := s.student(a, t.TempDir())
	if err != nil {
		t.Fatalf("%s: %v", a.ID, err)
	}
	t.Cleanup(p.Leave)
	return p
}

func (s *Server) student(a Account, dir string) (*Student, error) {
	p := &Student{Account: a, ended: make(chan struct{}), news: make(chan struct{}), failed: map[id.EventID]error{}, times: map[id.EventID]time.Time{}}
	var err error
	if p.Client, err = mautrix.NewClient(s.URL, "", ""); err != nil {
		return nil, err
	}
	p.Client.Client = &http.Client{Transport: newTransport()}
	p.Client.DefaultHTTPRetries, p.Client.DefaultHTTPBackoff = 8, 200*time.Millisecond
	syncer := &patient{mautrix.NewDefaultSyncer()}
	p.Client.Syncer = syncer
	syncer.OnSync(p.count)
	raw, err := sql.Open("sqlite", "file:"+filepath.Join(dir, "student.db")+"?_pragma=foreign_keys(1)&_pragma=journal_mode(WAL)&_pragma=busy_timeout(5000)&_pragma=synchronous(OFF)&_txlock=immediate")
	if err != nil {
		return nil, err
	}
	db, err := dbutil.NewWithDB(raw, "sqlite3")
	if err != nil {
		return nil, err
	}
	if p.Crypto, err = cryptohelper.NewCryptoHelper(p.Client, []byte("a student's own"), db); err != nil {
		return nil, err
	}
	p.Crypto.LoginAs = &mautrix.ReqLogin{
		Type: mautrix.AuthTypePassword, Password: a.Password,
		Identifier: mautrix.UserIdentifier{Type: mautrix.IdentifierTypeUser, User: string(a.ID)},
	}
	p.Crypto.DecryptErrorCallback = p.undecryptable
	ctx, end := context.WithCancel(context.Background())
	p.end = end
	if err := p.Crypto.Init(ctx); err != nil {
		end()
		return nil, err
	}
	p.Client.Crypto = p.Crypto
	syncer.OnEventType(event.StateMember, p.follow)
	for _, kind := range []event.Type{event.EventMessage, event.EventReaction, event.EventRedaction, event.StateMember} {
		syncer.OnEventType(kind, p.take)
	}
	go func() {
		defer close(p.ended)
		for ctx.Err() == nil {
			_ = p.Client.SyncWithContext(ctx) // ends with ctx, or because the server was away
		}
		_ = p.Crypto.Close()
		p.Client.Client.CloseIdleConnections()
	}()
	return p, nil
}

// patient is a syncer that soon tries again.
type patient struct{ *mautrix.DefaultSyncer }

// OnFailedSync implements mautrix.Syncer.
func (*patient) OnFailedSync(*mautrix.RespSync, error) (time.Duration, error) {
	return 100 * time.Millisecond, nil
}

// count fills in how many one-time keys there are where the server leaves it out.
func (p *Student) count(ctx context.Context, resp *mautrix.RespSync, _ string) bool {
	if resp.DeviceOTKCount.SignedCurve25519 == 0 {
		if got, err := p.Client.UploadKeys(ctx, &mautrix.ReqUploadKeys{}); err == nil {
			resp.DeviceOTKCount = got.OneTimeKeyCounts
		}
	}
	return true
}

// CrossSign has her devices vouched for, as a person does who verifies them.
func (p *Student) CrossSign(t testing.TB) {
	t.Helper()
	mach := p.Crypto.Machine()
	_, _, err := mach.GenerateAndUploadCrossSigningKeysWithPassword(t.Context(), p.Password, "")
	err = errors.Join(err, mach.SignOwnDevice(t.Context(), mach.OwnIdentity()), mach.SignOwnMasterKey(t.Context()))
	if err != nil {
		t.Fatal(err)
	}
}

// Leave ends her client.
func (p *Student) Leave() {
	p.end()
	<-p.ended
}

func (p *Student) follow(ctx context.Context, evt *event.Event) {
	if evt.GetStateKey() == string(p.ID) && evt.Content.AsMember().Membership == event.MembershipInvite {
		for ctx.Err() == nil { // the homeserver may not be through with the invitation
			if _, err := p.Client.JoinRoomByID(ctx, evt.RoomID); err == nil {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
	}
}

// undecryptable notes what she cannot read. What was taken back before it reached
// her has nothing in it to read.
func (p *Student) undecryptable(evt *event.Event, err error) {
	if evt.Unsigned.RedactedBecause != nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.failed[evt.ID] = err
	close(p.news)
	p.news = make(chan struct{})
}

func (p *Student) take(_ context.Context, evt *event.Event) {
	if evt.Sender == p.ID {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.failed, evt.ID)
	p.seen = append(p.seen, evt)
	p.times[evt.ID] = time.Now()
	close(p.news)
	p.news = make(chan struct{})
}

// Undecryptable are the events that she could not read.
func (p *Student) Undecryptable() map[id.EventID]error {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := map[id.EventID]error{}
	for event, err := range p.failed {
		out[event] = err
	}
	return out
}

// Seen are the events of others that she has read, of a room or, with "", of all,
// of one type.
func (p *Student) Seen(room id.RoomID, kind event.Type) []*event.Event {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out []*event.Event
	for _, evt := range p.seen {
		if (room == "" || evt.RoomID == room) && evt.Type.Type == kind.Type {
			out = append(out, evt)
		}
	}
	return out
}

// Came gives an event that she has read and when that was, nil for none.
func (p *Student) Came(message id.EventID) (*event.Event, time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, evt := range p.seen {
		if evt.ID == message {
			return evt, p.times[message]
		}
	}
	return nil, time.Time{}
}

// Texts are the bodies of the messages of others that she has read in a room.
func (p *Student) Texts(room id.RoomID) []string {
	var out []string
	for _, evt := range p.Seen(room, event.EventMessage) {
		body, _ := evt.Content.Raw["body"].(string)
		out = append(out, body)
	}
	return out
}

// Until waits until what she has seen fulfils a condition.
func (p *Student) Until(t testing.TB, what string, fulfilled func() bool) {
	t.Helper()
	p.UntilWithin(t, Patience, what, fulfilled)
}

// UntilWithin is Until, with another patience. It gives up when nothing has come for
// so long, or when that long ten times over has not been enough: on a busy machine
// much takes long, and as long as something comes it goes on.
func (p *Student) UntilWithin(t testing.TB, d time.Duration, what string, fulfilled func() bool) {
	t.Helper()
	over, whole := time.NewTimer(d), time.NewTimer(10*d)
	defer over.Stop()
	defer whole.Stop()
	giveUp := func(why string) {
		t.Helper()
		t.Fatalf("%s: not seen by %s; %s; %s", what, p.ID.Localpart(), why, p.account())
	}
	for {
		p.mu.Lock()
		news := p.news
		p.mu.Unlock()
		if fulfilled() {
			return
		}
		select {
		case <-news:
			over.Reset(d)
		case <-over.C:
			if fulfilled() {
				return
			}
			giveUp(fmt.Sprintf("nothing has come for %v", d))
		case <-whole.C:
			giveUp(fmt.Sprintf("it has taken more than %v", 10*d))
		}
	}
}

// account is what she has and has not read, and what the homeserver has in each
// of her rooms, for who looks for the cause of a failure.
func (p *Student) account() string {
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	var out strings.Builder
	fmt.Fprintf(&out, "she cannot read %v", p.Undecryptable())
	joined, err := p.Client.JoinedRooms(ctx)
	if err != nil {
		fmt.Fprintf(&out, ", and her rooms are not known: %v", err)
		return out.String()
	}
	for _, room := range joined.JoinedRooms {
		fmt.Fprintf(&out, "\n%s: she has read", room)
		for _, evt := range p.Seen(room, event.EventMessage) {
			fmt.Fprintf(&out, " %s", evt.ID)
		}
		there, err := p.Client.Messages(ctx, room, "", "", mautrix.DirectionBackward, nil, 12)
		if err != nil {
			fmt.Fprintf(&out, "; the homeserver does not tell what it has: %v", err)
			continue
		}
		fmt.Fprint(&out, "; the homeserver has, newest first:")
		for _, evt := range there.Chunk {
			fmt.Fprintf(&out, "\n  %s %s by %s", evt.ID, evt.Type.Type, evt.Sender)
			if key := evt.GetStateKey(); key != "" {
				fmt.Fprintf(&out, " for %s, %v", key, evt.Content.Raw["membership"])
			}
		}
	}
	return out.String()
}

// UntilText waits until she has read a message in a room.
func (p *Student) UntilText(t testing.TB, room id.RoomID, text string) {
	t.Helper()
	p.Until(t, fmt.Sprintf("%q", text), func() bool { return slices.Contains(p.Texts(room), text) })
}

// Room opens a room, encrypted or not, and invites people to it.
func (p *Student) Room(t testing.TB, encrypted bool, invited ...id.UserID) id.RoomID {
	t.Helper()
	return p.open(t, &mautrix.ReqCreateRoom{Preset: "private_chat", Name: "Lace class", Invite: invited}, encrypted)
}

// Invite asks someone into a room that is there.
func (p *Student) Invite(t testing.TB, room id.RoomID, user id.UserID) {
	t.Helper()
	if _, err := p.Client.InviteUser(t.Context(), room, &mautrix.ReqInviteUser{UserID: user}); err != nil {
		t.Fatal(err)
	}
}

// Devices has her client ask which devices someone has, as it does once the
// homeserver has told it that these have changed. What she writes from then on can
// be read on all of them.
func (p *Student) Devices(t testing.TB, user id.UserID) {
	t.Helper()
	if _, err := p.Crypto.Machine().FetchKeys(t.Context(), []id.UserID{user}, true); err != nil {
		t.Fatal(err)
	}
}

// Direct opens a direct chat with someone.
func (p *Student) Direct(t testing.TB, encrypted bool, with id.UserID) id.RoomID {
	t.Helper()
	return p.open(t, &mautrix.ReqCreateRoom{Preset: "trusted_private_chat", IsDirect: true, Invite: []id.UserID{with}}, encrypted)
}

func (p *Student) open(t testing.TB, q *mautrix.ReqCreateRoom, encrypted bool) id.RoomID {
	t.Helper()
	if encrypted {
		q.InitialState = []*event.Event{{Type: event.StateEncryption, Content: event.Content{
			Parsed: &event.EncryptionEventContent{Algorithm: id.AlgorithmMegolmV1},
		}}}
	}
	made, err := p.Client.CreateRoom(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	return made.RoomID
}

// UntilJoined waits until someone is in a room. A busy dendrite may leave the event of
// her joining out of what others are sent, and yet know of it: so it is asked as well.
func (p *Student) UntilJoined(t testing.TB, room id.RoomID, user id.UserID) {
	t.Helper()
	p.Until(t, "joining of "+user.Localpart(), func() bool {
		if p.Client.StateStore.IsInRoom(t.Context(), room, user) {
			return true
		}
		_, err := p.Client.JoinedMembers(t.Context(), room) // which tells the store
		return err == nil && p.Client.StateStore.IsInRoom(t.Context(), room, user)
	})
}

// Say writes in a room, encrypted where the room is.
func (p *Student) Say(t testing.TB, room id.RoomID, text string) id.EventID {
	t.Helper()
	return p.Send(t, room, event.EventMessage, &event.MessageEventContent{MsgType: event.MsgText, Body: text})
}

// Send sends any event.
func (p *Student) Send(t testing.TB, room id.RoomID, kind event.Type, content any) id.EventID {
	t.Helper()
	got, err := p.Client.SendMessageEvent(t.Context(), room, kind, content)
	if err != nil {
		t.Fatalf("%s cannot send: %v", p.ID.Localpart(), err)
	}
	return got.EventID
}
