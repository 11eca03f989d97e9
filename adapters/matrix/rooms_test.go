//go:build goolm

package matrix

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"testing"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
	"weftroom/config"
)

func TestWelcomeFrom(t *testing.T) {
	for _, c := range []struct {
		invites, from string
		want          bool
	}{
		{"", "@maya:tarnholm.example", true},
		{"", "@maya:elsewhere.example", false},
		{"*", "@maya:elsewhere.example", true},
		{"@maya:elsewhere.example", "@maya:elsewhere.example", true},
		{"@maya:elsewhere.example", "@mayb:elsewhere.example", false},
		{"@maya:elsewhere.example", "@maya:tarnholm.example", false},
		{"elsewhere.example  tarnholm.example", "@maya:tarnholm.example", true},
		{"elsewhere.example", "@elsewhere.example:evil.example", false},
		{"elsewhere.example", "@maya:elsewhere.example:8448", false},
		{"*", "no user at all", false},
		{"", "", false},
	} {
		chat, err := New(config.Matrix{User: "@bot:tarnholm.example", Invites: c.invites}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := chat.welcomeFrom(id.UserID(c.from)); got != c.want {
			t.Errorf("invites %q, from %q: %v", c.invites, c.from, got)
		}
	}
}

// TestInvitations follows one and declines the other.
func TestInvitations(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	ada, eve := s.Student(t, "ada"), s.Student(t, "eve")
	d.settings.Invites = string(ada.ID)
	d.up(echoes)
	room := class(t, ada, d, false)
	other := eve.Room(t, false, d.account.ID)
	eve.Until(t, "the refusal", func() bool {
		return eve.Client.StateStore.IsMembership(t.Context(), other, d.account.ID, event.MembershipLeave)
	})
	ada.Say(t, room, "!hello")
	wantOnce(t, ada, room, "you said hello")
}

// TestInvitedWhileAway follows what has come while nothing ran.
func TestInvitedWhileAway(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	d.stop()
	ada := s.Student(t, "ada")
	room := ada.Room(t, true, d.account.ID)
	d.up(echoes)
	ada.UntilJoined(t, room, d.account.ID)
	wantOnce(t, ada, room, string(bot.KeyWelcomeRoom))
}

// TestGreeting greets rooms as rooms, however few are there when it comes, and
// direct chats as those.
func TestGreeting(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.options.Texts = bot.Texts{bot.KeyWelcome: "alone: %s", bot.KeyWelcomeRoom: "all: %shelp"}
	d.up(echoes)
	ada, others := s.Student(t, "ada"), s.Account(t, "bea")
	for name, c := range map[string]struct {
		room id.RoomID
		want string
	}{
		"several are invited together": {ada.Room(t, false, d.account.ID, others.ID), "all: !help"},
		"the others come later":        {ada.Room(t, true, d.account.ID), "all: !help"},
		"a direct chat":                {ada.Direct(t, true, d.account.ID), "alone: help"},
	} {
		ada.Until(t, name, func() bool { return len(ada.Texts(c.room)) > 0 })
		if got := ada.Texts(c.room)[0]; got != c.want {
			t.Errorf("%s: it says %q, want %q", name, got, c.want)
		}
	}
}

// TestGreetingBeforeTheJoiningIsAnswered is told by the stream that it has come into
// a direct chat before it hears that from the request to join.
func TestGreetingBeforeTheJoiningIsAnswered(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d, ada, proxy := newDevice(t, s), s.Student(t, "ada"), s.Proxy(t)
	d.settings.Homeserver = proxy.URL
	d.up(echoes)
	proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if strings.HasSuffix(r.URL.Path, "/join") {
			return matrixtest.Hold
		}
		return matrixtest.Pass
	}, nil)
	room := ada.Direct(t, true, d.account.ID)
	ada.Until(t, "a welcome", func() bool { return len(ada.Texts(room)) > 0 })
	if got := ada.Texts(room)[0]; got != string(bot.KeyWelcome) {
		t.Errorf("it says %q", got)
	}
}

// TestWelcomeOnce is sent away and invited again.
func TestWelcomeOnce(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	ada := s.Student(t, "ada")
	room := class(t, ada, d, false)
	place := bot.Place{Chat: Name, Room: string(room)}
	ada.Say(t, room, "!one")
	wantOnce(t, ada, room, "you said one")
	if _, err := ada.Client.KickUser(t.Context(), room, &mautrix.ReqKickUser{UserID: d.account.ID}); err != nil {
		t.Fatal(err)
	}
	wantGone(t, d, place)
	ada.Say(t, room, "!while it was not here")
	ada.Invite(t, room, d.account.ID)
	ada.UntilJoined(t, room, d.account.ID)
	ada.Say(t, room, "!two")
	wantOnce(t, ada, room, "you said one", "you said two", string(bot.KeyWelcomeRoom))
	if slices.Contains(ada.Texts(room), "you said while it was not here") {
		t.Error("what was said before it was invited again was answered")
	}
	d.stop()
	d.up(echoes)
	ada.Say(t, room, "!three")
	wantOnce(t, ada, room, "you said three", string(bot.KeyWelcomeRoom))
}

// wantGone waits until posts into a room are refused for good.
func wantGone(t *testing.T, d *device, place bot.Place) {
	t.Helper()
	waitUntil(t, d, func(_ context.Context, l *link) bool { return !l.rooms.has(id.RoomID(place.Room)) })
	if _, err := d.chat.Post(t.Context(), place, "to-nowhere", bot.Reply{Title: "x"}); err == nil || !bot.AsSendError(err).Permanent {
		t.Errorf("a post into a room that we were sent from: %v", err)
	}
}

// TestDirect makes one direct chat with a person, encrypted, and uses it again;
// who leaves it wants no more.
func TestDirect(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	chat := d.up(echoes)
	ada := s.Student(t, "ada")
	room := class(t, ada, d, false)
	ben := s.Student(t, "ben")
	ada.Invite(t, room, ben.ID)
	ada.UntilJoined(t, room, ben.ID)
	waitUntil(t, d, func(ctx context.Context, l *link) bool { return !l.alone(ctx, room, ada.ID) })
	place, err := chat.Direct(t.Context(), string(ada.ID))
	if err != nil {
		t.Fatal(err)
	}
	if place.Room == string(room) {
		t.Fatal("the class is no direct chat")
	}
	id1, err := chat.Post(t.Context(), place, "for-ada", bot.Reply{Title: "for you alone"})
	if err != nil {
		t.Fatal(err)
	}
	alone := id.RoomID(place.Room)
	ada.UntilText(t, alone, "for you alone")
	if !sealed(t, ada, alone, id.EventID(id1)) {
		t.Error("in the clear")
	}
	ada.Say(t, alone, "hello")
	wantOnce(t, ada, alone, "you said hello")
	d.stop()
	chat = d.up(echoes)
	if again, err := chat.Direct(t.Context(), string(ada.ID)); err != nil || again != place {
		t.Errorf("after a restart %v, %v, before %v", again, err, place)
	}
	if _, err := ada.Client.LeaveRoom(t.Context(), alone); err != nil {
		t.Fatal(err)
	}
	waitUntilAlone(t, d, alone, ada.ID)
	if _, err := chat.Direct(t.Context(), string(ada.ID)); err == nil || !bot.AsSendError(err).Refused {
		t.Errorf("after she has left it: %v", err)
	}
}

// TestDirectToNobody asks for people whom there are not.
func TestDirectToNobody(t *testing.T) {
	t.Parallel()
	d := newDevice(t, matrixtest.Shared(t))
	chat := d.up(echoes)
	for _, user := range []string{"", "nobody", "@nobody-of-that-name:localhost", string(d.account.ID)} {
		if _, err := chat.Direct(t.Context(), user); err == nil || !bot.AsSendError(err).Permanent {
			t.Errorf("%q: %v", user, err)
		}
	}
}

// TestDirectByInvitation is written to in a direct chat that she has opened.
func TestDirectByInvitation(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	chat := d.up(echoes)
	ada := s.Student(t, "ada")
	room := ada.Direct(t, true, d.account.ID)
	ada.UntilText(t, room, string(bot.KeyWelcome))
	ada.Say(t, room, "hello") // no prefix is needed there
	wantOnce(t, ada, room, "you said hello")
	if place, err := chat.Direct(t.Context(), string(ada.ID)); err != nil || place.Room != string(room) {
		t.Errorf("got %v, %v, want %s", place, err, room)
	}
}
