//go:build goolm

package matrix

import (
	"context"
	"slices"
	"sync"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// comers are those who have come into a room since something was last said there.
// While somebody is only invited the server does not tell which devices she has,
// so that the room's key may be with none of them: her devices are asked for, and
// a new key is made and given to all, before the first words that she can see.
type comers struct {
	mu sync.Mutex
	in map[id.RoomID][]id.UserID
}

// comes tells somebody's coming into a room from what she changes while she is there.
func comes(evt *event.Event) bool {
	if evt.Content.AsMember().Membership != event.MembershipJoin {
		return false
	}
	if evt.Unsigned.PrevContent == nil {
		return true
	}
	before, _ := evt.Unsigned.PrevContent.Raw["membership"].(string)
	return before != string(event.MembershipJoin)
}

func (c *comers) add(room id.RoomID, user id.UserID) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.in == nil {
		c.in = map[id.RoomID][]id.UserID{}
	}
	if !slices.Contains(c.in[room], user) {
		c.in[room] = append(c.in[room], user)
	}
}

func (c *comers) of(room id.RoomID) []id.UserID {
	c.mu.Lock()
	defer c.mu.Unlock()
	return slices.Clone(c.in[room])
}

// admitted forgets those whose devices are known by now.
func (c *comers) admitted(room id.RoomID, users []id.UserID) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.in[room] = slices.DeleteFunc(c.in[room], func(u id.UserID) bool { return slices.Contains(users, u) })
	if len(c.in[room]) == 0 {
		delete(c.in, room)
	}
}

// admit has the next words in a room encrypted for those who have come.
func (v *vault) admit(ctx context.Context, room id.RoomID) error {
	users := v.comers.of(room)
	if len(users) == 0 {
		return nil
	}
	if _, err := v.mach.FetchKeys(ctx, users, true); err != nil {
		return err
	}
	if err := v.mach.CryptoStore.RemoveOutboundGroupSession(ctx, room); err != nil {
		return err
	}
	v.comers.admitted(room, users)
	return nil
}
