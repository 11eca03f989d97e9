package matrix

import (
	"testing"
	"time"

	"maunium.net/go/mautrix/id"
)

// TestOldIsForgotten keeps the ids of what is done for as long as something may
// come again, and no longer, however long a run is.
func TestOldIsForgotten(t *testing.T) {
	ctx, now := t.Context(), time.Date(2026, 12, 1, 19, 0, 0, 0, time.UTC)
	k, err := openKeep(ctx, t.TempDir(), func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	defer k.close()
	const room = id.RoomID("!room")
	note := func(event id.EventID, key string) {
		t.Helper()
		if err := k.markHandled(ctx, event); err != nil {
			t.Fatal(err)
		}
		if err := k.begin(ctx, room, key); err != nil {
			t.Fatal(err)
		}
	}
	note("$first", "key-first")
	now = now.Add(keepFor)
	note("$second", "key-second")
	for _, c := range []struct {
		after time.Duration
		first bool // is still kept
	}{{0, true}, {time.Hour, false}} {
		now = now.Add(c.after)
		if err := k.advance(ctx, "token", nil); err != nil {
			t.Fatal(err)
		}
		for event, kept := range map[id.EventID]bool{"$first": c.first, "$second": true} {
			if handled, err := k.handled(ctx, event); err != nil || handled != kept {
				t.Errorf("%v later, %s: handled %v, %v", c.after, event, handled, err)
			}
			if m, err := k.message(ctx, room, "key-"+string(event[1:])); err != nil || m.Begun != kept {
				t.Errorf("%v later, the message of %s: %+v, %v", c.after, event, m, err)
			}
		}
		now = now.Add(24 * time.Hour)
	}
}
