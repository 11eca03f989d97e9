//go:build goolm

package matrix

import (
	"context"
	"fmt"
	"testing"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/event/cmdschema"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// TestAdvertise looks for our commands in the state of rooms in which we may
// change that and in which we may not, and sends one as a program does that has
// read them there.
func TestAdvertise(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.options.Commands = declared
	d.up(func(_ context.Context, r bot.Request) bot.Reply {
		return bot.Reply{Title: fmt.Sprintf("%s with %v", r.Command, r.Values)}
	})
	ada, others := s.Student(t, "ada"), s.Account(t, "bea")
	open := func(power int) id.RoomID {
		levels := &event.PowerLevelsEventContent{Users: map[id.UserID]int{ada.ID: 100, d.account.ID: power}}
		made, err := ada.Client.CreateRoom(t.Context(), &mautrix.ReqCreateRoom{
			Preset: "private_chat", Invite: []id.UserID{d.account.ID, others.ID}, PowerLevelOverride: levels,
		})
		if err != nil {
			t.Fatal(err)
		}
		ada.UntilText(t, made.RoomID, string(bot.KeyWelcomeRoom))
		return made.RoomID
	}
	member, moderator := open(0), open(50)
	want := describe(declared, d.options.Texts)
	for _, content := range want {
		got := &cmdschema.EventContent{}
		untilState(t, ada, moderator, content.StateKey(d.account.ID), got)
		if !got.Equals(content) {
			t.Errorf("of %s stands there %+v", content.Command, got)
		}
	}
	state, err := ada.Client.State(t.Context(), member)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(state[event.StateMSC4391BotCommand]); n != 0 {
		t.Errorf("%d commands in a room in which we may not list them", n)
	}

	content, err := want[0].ParseInput(d.account.ID, []string{"/"}, "/row --ends=97")
	if err != nil {
		t.Fatal(err)
	}
	ada.Send(t, moderator, event.EventMessage, content)
	if got := heard(t, ada, moderator, "row with ").Content.AsMessage().Body; got != "row with map[ends:97]" {
		t.Errorf("the request was %s", got)
	}
}

// untilState waits for something in the state of a room, asking anew whenever
// something has happened there.
func untilState(t *testing.T, p *matrixtest.Student, room id.RoomID, key string, into *cmdschema.EventContent) {
	t.Helper()
	p.Until(t, "the state", func() bool {
		if p.Client.StateEvent(t.Context(), room, event.StateMSC4391BotCommand, key, into) == nil {
			return true
		}
		p.Say(t, room, "!anything") // which is answered, and then it is looked for again
		return false
	})
}
