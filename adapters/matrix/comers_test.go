//go:build goolm

package matrix

import (
	"testing"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// TestReadableAtOnce invites somebody who has no device yet, speaks while she is
// invited, and speaks again as soon as it knows that she has come: she can read
// that, whether the server has told of her device by then or not.
func TestReadableAtOnce(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	ada, account := s.Student(t, "ada"), s.Account(t, "bea")
	room := class(t, ada, d, true)
	ada.Invite(t, room, account.ID)
	ada.Say(t, room, "!before she came")
	wantOnce(t, ada, room, "you said before she came")
	bea := s.LogIn(t, account)
	ada.UntilJoined(t, room, bea.ID)
	waitUntilJoined(t, d, room, bea.ID)
	if _, err := d.chat.Post(t.Context(), bot.Place{Chat: Name, Room: string(room)}, "at-once", bot.Reply{Title: "welcome to her"}); err != nil {
		t.Fatal(err)
	}
	bea.UntilText(t, room, "welcome to her")
}
