//go:build goolm

package matrix

import (
	"testing"

	"maunium.net/go/mautrix/event"

	"weftroom/adapters/matrix/matrixtest"
)

func TestAnswers(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name      string
		encrypted bool
	}{{"plain", false}, {"encrypted", true}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := matrixtest.Shared(t)
			d := newDevice(t, s)
			d.up(echoes)
			ada := s.Student(t, "ada")
			room := class(t, ada, d, c.encrypted)
			ada.Say(t, room, "!hello")
			wantOnce(t, ada, room, "you said hello")
			for _, evt := range ada.Seen(room, event.EventMessage) {
				if sealed(t, ada, room, evt.ID) != c.encrypted {
					t.Errorf("encrypted is %v of %q", !c.encrypted, evt.Content.Raw["body"])
				}
			}
		})
	}
}
