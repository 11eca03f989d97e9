//go:build goolm

package matrix

import (
	"context"
	"fmt"
	"slices"
	"sync/atomic"
	"testing"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// walkOn answers with the next place at each press, in the place of the one before.
func walkOn() answers {
	var place atomic.Int32
	return func(context.Context, bot.Request) bot.Reply {
		n := place.Add(1)
		return bot.Reply{Title: fmt.Sprint("place ", n), Instead: n > 1, Buttons: []bot.Button{{Label: "Next", Line: "next"}}}
	}
}

// TestPressAgain presses the same button three times with one tap each: in a chat
// in which we may, her reaction is taken back after each.
func TestPressAgain(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d, ada := newDevice(t, s), s.Student(t, "ada")
	d.up(walkOn())
	room := ada.Direct(t, true, d.account.ID)
	ada.UntilText(t, room, string(bot.KeyWelcome))
	ada.Say(t, room, "walk")
	first := heard(t, ada, room, "place 1")
	for n := 2; n <= 4; n++ {
		pressed := react(t, ada, room, first.ID, "1️⃣")
		if got := heard(t, ada, room, fmt.Sprint("* place ", n)).Content.AsMessage(); got.RelatesTo.GetReplaceID() != first.ID {
			t.Errorf("place %d replaces %q", n, got.RelatesTo.GetReplaceID())
		}
		ada.Until(t, "her sign is taken back", func() bool { return slices.Contains(takenBack(ada, room), pressed) })
	}
	if n := len(takenBack(ada, room)); n != 3 {
		t.Errorf("%d signs were taken back, and she has pressed three times", n)
	}
}

// TestPressAgainWithoutPower leaves her reaction where it is in a room in which we
// may not take it back, and answers the next one all the same.
func TestPressAgainWithoutPower(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d, ada := newDevice(t, s), s.Student(t, "ada")
	d.up(walkOn())
	room := class(t, ada, d, false)
	ada.Say(t, room, "walk")
	first := heard(t, ada, room, "place 1")
	for n := 2; n <= 3; n++ {
		pressed := react(t, ada, room, first.ID, "1️⃣")
		heard(t, ada, room, fmt.Sprint("* place ", n))
		if _, err := ada.Client.RedactEvent(t.Context(), room, pressed); err != nil {
			t.Fatal(err)
		}
	}
	if back := takenBack(ada, room); len(back) != 0 {
		t.Errorf("we took back %v", back)
	}
}

// takenBack lists what others have taken back in a room, as she has seen it.
func takenBack(p *matrixtest.Student, room id.RoomID) []id.EventID {
	var out []id.EventID
	for _, evt := range p.Seen(room, event.EventRedaction) {
		out = append(out, evt.Redacts)
	}
	return out
}
