//go:build goolm

package matrix

import (
	"context"
	"testing"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
)

// TestVisibilityWhileKeysCannotBeRead is told who may read along when the room's
// key cannot be looked up: nothing breaks, and the key is not used any more.
func TestVisibilityWhileKeysCannotBeRead(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d, ada := newDevice(t, s), s.Student(t, "ada")
	chat := d.up(echoes)
	room := class(t, ada, d, true)
	l, err := chat.connected(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	key := func() any {
		t.Helper()
		k, err := l.vault.mach.CryptoStore.GetOutboundGroupSession(t.Context(), room)
		if err != nil {
			t.Fatal(err)
		}
		if k == nil {
			return nil
		}
		return id.SessionID(k.ID())
	}
	if key() == nil {
		t.Fatal("the welcome has left no key")
	}
	over, cancel := context.WithCancel(t.Context())
	cancel()
	l.vault.see(over, &event.Event{
		RoomID: room, Type: event.StateHistoryVisibility,
		Content: event.Content{Parsed: &event.HistoryVisibilityEventContent{HistoryVisibility: event.HistoryVisibilityJoined}},
	})
	if k := key(); k != nil {
		t.Errorf("the key %v is still used", k)
	}
	ada.Say(t, room, "!hello")
	wantOnce(t, ada, room, "you said hello")
}
