package matrix

import (
	"context"
	"fmt"
	"slices"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// Bounds of looking back at what was missed in a room.
const (
	pageSize = 100
	maxPages = 50
)

// nothingRead stands for the last event of a room in which none has been seen.
const nothingRead = "none"

// joins tells the event by which we came into a room, from one by which we only
// changed our name there. known is a room that has been read before.
func (l *link) joins(evt *event.Event, known bool) bool {
	if evt.Type.Type != event.StateMember.Type || evt.StateKey == nil || *evt.StateKey != string(l.client.UserID) {
		return false
	}
	if membership, _ := evt.Content.Raw["membership"].(string); membership != string(event.MembershipJoin) {
		return false
	}
	if evt.Unsigned.PrevContent == nil {
		return !known
	}
	before, _ := evt.Unsigned.PrevContent.Raw["membership"].(string)
	return before != string(event.MembershipJoin)
}

// beginning is the place in a timeline from which on it is ours to read: behind
// our own joining. What was said before is history.
func (l *link) beginning(events []*event.Event, last id.EventID) int {
	for i, evt := range slices.Backward(events) {
		if l.joins(evt, last != "") {
			return i + 1
		}
	}
	return 0
}

// joinedIn tells whether our joining is among events.
func (l *link) joinedIn(events []*event.Event, last id.EventID) bool {
	return l.beginning(events, last) > 0
}

// pageBack fetches what lies between the last event that was read and the
// beginning of a timeline that the server has cut, in order.
func (l *link) pageBack(ctx context.Context, room id.RoomID, from string, last id.EventID) ([]*event.Event, error) {
	var missed []*event.Event // newest first
	for range maxPages {
		page, err := l.client.Messages(ctx, room, from, "", mautrix.DirectionBackward, nil, pageSize)
		if err != nil {
			return nil, err
		}
		for _, evt := range page.Chunk {
			if evt.ID == last || l.chat.isOld(evt) {
				slices.Reverse(missed)
				return missed, nil
			}
			missed = append(missed, evt)
			if l.joins(evt, last != "") {
				slices.Reverse(missed)
				return missed, nil
			}
		}
		if page.End == "" || page.End == from || len(page.Chunk) == 0 {
			slices.Reverse(missed)
			return missed, nil
		}
		from = page.End
	}
	l.chat.log().Warn("matrix: more was missed in a room than is looked back at", "room", room, "events", fmt.Sprint(len(missed)))
	slices.Reverse(missed)
	return missed, nil
}

// isOld tells an event that is history.
func (c *Chat) isOld(evt *event.Event) bool {
	return c.options.Now().Sub(time.UnixMilli(evt.Timestamp)) > maxAge
}
