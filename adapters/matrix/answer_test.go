//go:build goolm

package matrix

import (
	"context"
	"slices"
	"strings"
	"testing"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// group is a room with the bot and two students.
type group struct {
	device   *device
	ada, bea *matrixtest.Student
	room     id.RoomID
}

func newGroup(t *testing.T, encrypted bool, h answers) *group {
	t.Helper()
	s := matrixtest.Shared(t)
	g := &group{device: newDevice(t, s), ada: s.Student(t, "ada"), bea: s.Student(t, "bea")}
	g.device.options.Texts = bot.Texts{}
	for key, text := range spoken {
		g.device.options.Texts[key] = text
	}
	g.device.up(h)
	g.room = g.ada.Room(t, encrypted, g.bea.ID)
	g.ada.UntilJoined(t, g.room, g.bea.ID) // before the bot, whose welcome she could not read otherwise
	g.ada.Invite(t, g.room, g.device.account.ID)
	for _, p := range []*matrixtest.Student{g.ada, g.bea} {
		p.UntilText(t, g.room, string(bot.KeyWelcomeRoom))
	}
	return g
}

// heard waits for the message whose words begin so.
func heard(t *testing.T, p *matrixtest.Student, room id.RoomID, begins string) *event.Event {
	t.Helper()
	var found *event.Event
	p.Until(t, begins, func() bool {
		for _, evt := range p.Seen(room, event.EventMessage) {
			if strings.HasPrefix(evt.Content.AsMessage().Body, begins) {
				found = evt
				return true
			}
		}
		return false
	})
	return found
}

// react puts a sign under a message.
func react(t *testing.T, p *matrixtest.Student, room id.RoomID, message id.EventID, sign string) id.EventID {
	t.Helper()
	return p.Send(t, room, event.EventReaction, &event.ReactionEventContent{
		RelatesTo: event.RelatesTo{Type: event.RelAnnotation, EventID: message, Key: sign},
	})
}

func TestWhereAnswersGo(t *testing.T) {
	t.Parallel()
	g := newGroup(t, true, func(_ context.Context, r bot.Request) bot.Reply {
		reply := bot.Reply{Title: "answer to " + r.Line}
		switch r.Line {
		case "everyone":
			reply.Audience = bot.Room
		case "alone":
			reply.Audience = bot.Direct
		case "again":
			reply.Audience = bot.Direct
		}
		return reply
	})
	us := g.device.account.ID

	asked := g.ada.Say(t, g.room, "!personal")
	got := heard(t, g.bea, g.room, "answer to personal").Content.AsMessage()
	if got.RelatesTo.GetReplyTo() != asked || !slices.Equal(got.Mentions.UserIDs, []id.UserID{g.ada.ID}) {
		t.Errorf("a personal answer is a reply to %q and calls %v", got.RelatesTo.GetReplyTo(), got.Mentions.UserIDs)
	}

	g.ada.Say(t, g.room, "!everyone")
	got = heard(t, g.bea, g.room, "answer to everyone").Content.AsMessage()
	if got.RelatesTo != nil || got.Mentions == nil || len(got.Mentions.UserIDs) > 0 || got.Mentions.Room {
		t.Errorf("an answer for everyone relates to %+v and calls %+v", got.RelatesTo, got.Mentions)
	}

	inThread := g.ada.Send(t, g.room, event.EventMessage, &event.MessageEventContent{
		MsgType: event.MsgText, Body: "!threaded", RelatesTo: (&event.RelatesTo{}).SetThread(asked, asked),
	})
	got = heard(t, g.bea, g.room, "answer to threaded").Content.AsMessage()
	if got.RelatesTo.GetThreadParent() != asked || got.RelatesTo.GetNonFallbackReplyTo() != inThread {
		t.Errorf("in a thread the answer relates to %+v", got.RelatesTo)
	}

	question := g.ada.Say(t, g.room, "!alone")
	got = heard(t, g.bea, g.room, string(bot.KeyOnItsWay)).Content.AsMessage()
	if got.MsgType != event.MsgNotice || got.RelatesTo.GetReplyTo() != question {
		t.Errorf("the word in the room is %s, a reply to %q", got.MsgType, got.RelatesTo.GetReplyTo())
	}
	direct := heard(t, g.ada, "", "answer to alone")
	if direct.RoomID == g.room || len(g.bea.Seen(direct.RoomID, event.EventMessage)) > 0 {
		t.Error("the answer for her alone is where others read")
	}
	if !sealed(t, g.ada, direct.RoomID, direct.ID) {
		t.Error("the answer for her alone is not encrypted")
	}

	if _, err := g.ada.Client.LeaveRoom(t.Context(), direct.RoomID); err != nil {
		t.Fatal(err)
	}
	waitUntilAlone(t, g.device, direct.RoomID, g.ada.ID)
	g.ada.Say(t, g.room, "!again")
	heard(t, g.bea, g.room, string(bot.KeyNotAlone))
	got = heard(t, g.bea, g.room, "answer to again").Content.AsMessage()
	if !slices.Equal(got.Mentions.UserIDs, []id.UserID{g.ada.ID}) && len(got.Mentions.UserIDs) > 0 {
		t.Errorf("an answer that could not go to her alone calls %v", got.Mentions.UserIDs)
	}
	for _, evt := range g.bea.Seen(g.room, event.EventMessage) {
		if evt.Sender == us && !sealed(t, g.bea, g.room, evt.ID) {
			t.Errorf("%q is in the clear", evt.Content.AsMessage().Body)
		}
	}
}

// waitUntilAlone waits until the bot knows that someone has left a room.
func waitUntilAlone(t *testing.T, d *device, room id.RoomID, user id.UserID) {
	t.Helper()
	waitUntil(t, d, func(ctx context.Context, l *link) bool {
		return l.state.IsMembership(ctx, room, user, event.MembershipLeave)
	})
}

// waitUntil waits until the bot knows something, and has taken all of the response
// that told it.
func waitUntil(t *testing.T, d *device, knows func(ctx context.Context, l *link) bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), matrixtest.Patience)
	defer cancel()
	l, err := d.chat.connected(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for known := false; !known; {
		known = knows(ctx, l)
		if err := l.rounds.caughtUp(ctx); err != nil {
			t.Fatal(err)
		}
	}
}

func TestPresses(t *testing.T) {
	t.Parallel()
	g := newGroup(t, true, func(_ context.Context, r bot.Request) bot.Reply {
		buttons := []bot.Button{{Label: "one", Line: "first"}, {Label: "two", Line: "second"}}
		switch r.Line {
		case "ask":
			return bot.Reply{Title: "For you", Buttons: buttons}
		case "all":
			return bot.Reply{Title: "For everyone", Buttons: buttons, Audience: bot.Room}
		case "count":
			return bot.Reply{Title: "Coming: 0", Buttons: []bot.Button{{Label: "me", Line: "coming"}}, Audience: bot.Room}
		case "coming":
			return bot.Reply{Title: "Coming: " + r.From.User, Buttons: []bot.Button{{Label: "no", Line: "leaving"}}, Audience: bot.Room, Instead: true}
		}
		return bot.Reply{Title: r.Line + " by " + r.From.User}
	})

	g.ada.Say(t, g.room, "!ask")
	hers := heard(t, g.ada, g.room, "For you")
	g.ada.Until(t, "both signs", func() bool { return len(g.ada.Seen(g.room, event.EventReaction)) == 2 })
	heard(t, g.bea, g.room, "For you")
	react(t, g.bea, g.room, hers.ID, "1️⃣") // somebody else, who is told so
	react(t, g.bea, g.room, hers.ID, "2️⃣") // once
	if got := heard(t, g.bea, g.room, "That is hers.").Content.AsMessage(); got.MsgType != event.MsgNotice || got.RelatesTo.GetReplyTo() != hers.ID {
		t.Errorf("who presses another's button gets %s, a reply to %q", got.MsgType, got.RelatesTo.GetReplyTo())
	}
	react(t, g.ada, g.room, hers.ID, "👍")             // no button
	react(t, g.ada, g.room, hers.ID, "3️⃣")           // no button of this message
	pressed := react(t, g.ada, g.room, hers.ID, "2⃣") // without the mark that asks for a picture
	got := heard(t, g.ada, g.room, "second by "+string(g.ada.ID)).Content.AsMessage()
	if got.RelatesTo.GetReplyTo() != hers.ID || !slices.Equal(got.Mentions.UserIDs, []id.UserID{g.ada.ID}) {
		t.Errorf("the answer to a button is a reply to %q and calls %v", got.RelatesTo.GetReplyTo(), got.Mentions.UserIDs)
	}

	g.device.stop() // and what is pressed meanwhile is not lost
	if _, err := g.ada.Client.RedactEvent(t.Context(), g.room, pressed); err != nil {
		t.Fatal(err)
	}
	react(t, g.ada, g.room, hers.ID, "1️⃣")
	g.device.up(g.answering())
	heard(t, g.ada, g.room, "again: first by "+string(g.ada.ID))

	for text, n := range counts(g.ada.Texts(g.room)) {
		if n > 1 || strings.Contains(text, string(g.bea.ID)) {
			t.Errorf("%q came %d times", text, n)
		}
	}
}

// answering is another handler, for after a restart.
func (g *group) answering() answers {
	return func(_ context.Context, r bot.Request) bot.Reply {
		return bot.Reply{Title: "again: " + r.Line + " by " + r.From.User}
	}
}

func TestPressesForEveryone(t *testing.T) {
	t.Parallel()
	g := newGroup(t, false, func(_ context.Context, r bot.Request) bot.Reply {
		reply := bot.Reply{Title: "Coming: nobody", Audience: bot.Room, Buttons: []bot.Button{{Label: "me", Line: "coming"}, {Label: "not me", Line: "away"}}}
		switch r.Line {
		case "coming":
			reply.Title, reply.Instead, reply.Buttons = "Coming: "+r.From.User, true, []bot.Button{{Label: "never mind", Line: "leaving"}}
		case "leaving":
			reply.Title, reply.Instead, reply.Buttons = "Over", true, nil
		}
		return reply
	})
	g.ada.Say(t, g.room, "!who")
	first := heard(t, g.bea, g.room, "Coming: nobody")
	react(t, g.bea, g.room, first.ID, "1️⃣")
	edited := heard(t, g.ada, g.room, "* Coming: "+string(g.bea.ID)).Content.AsMessage()
	if edited.RelatesTo.GetReplaceID() != first.ID || edited.NewContent == nil || !strings.Contains(edited.NewContent.FormattedBody, "<code>!leaving</code>") {
		t.Errorf("what takes the place of the message is %+v", edited)
	}
	g.ada.Until(t, "the sign that means nothing any more is gone", func() bool { return len(g.ada.Seen(g.room, event.EventRedaction)) == 1 })
	react(t, g.ada, g.room, first.ID, "1️⃣") // which means something else by now
	heard(t, g.bea, g.room, "* Over")
	g.ada.Until(t, "no sign is left", func() bool { return len(g.ada.Seen(g.room, event.EventRedaction)) == 2 })
}

// TestAskedBeforeARestart asks something, ends, and gets the answer in the next run,
// as a reply without a prefix.
func TestAskedBeforeARestart(t *testing.T) {
	t.Parallel()
	asks := func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line == "loom" {
			return bot.Reply{Title: "How wide?", Ask: &bot.Question{Line: "loom width:"}}
		}
		return bot.Reply{Title: r.Line + " by " + r.From.User}
	}
	g := newGroup(t, true, asks)
	g.ada.Say(t, g.room, "!loom")
	question := heard(t, g.ada, g.room, "How wide?")
	g.device.stop()
	g.device.up(asks)
	reply := func(p *matrixtest.Student, text string) {
		p.Send(t, g.room, event.EventMessage, &event.MessageEventContent{
			MsgType: event.MsgText, Body: text, RelatesTo: (&event.RelatesTo{}).SetReplyTo(question.ID),
		})
	}
	reply(g.bea, "I know that one") // which nobody asked her
	g.bea.Say(t, g.room, "!a command")
	heard(t, g.ada, g.room, "a command by "+string(g.bea.ID))
	reply(g.ada, "15 in")
	heard(t, g.ada, g.room, "15 in by "+string(g.ada.ID))
	if texts := counts(g.ada.Texts(g.room)); texts["I know that one by "+string(g.bea.ID)] > 0 {
		t.Error("she was answered who was not asked")
	}
}

func TestWornOut(t *testing.T) {
	t.Parallel()
	g := newGroup(t, false, func(_ context.Context, r bot.Request) bot.Reply {
		return bot.Reply{Title: "said " + r.Line, Buttons: []bot.Button{{Label: "one", Line: "first"}}}
	})
	g.ada.Say(t, g.room, "!ask")
	hers := heard(t, g.ada, g.room, "said ask")
	g.ada.Until(t, "the sign", func() bool { return len(g.ada.Seen(g.room, event.EventReaction)) == 1 })
	if err := g.device.options.Notes.PutNote(t.Context(), Name, bot.Note{Name: offerName(hers.ID)}); err != nil {
		t.Fatal(err)
	}
	said := g.bea.Say(t, g.room, "a message of a person, with a sign under it")
	react(t, g.ada, g.room, said, "1️⃣")    // which is no button
	react(t, g.ada, g.room, hers.ID, "2️⃣") // and neither is this
	react(t, g.ada, g.room, hers.ID, "1️⃣")
	got := heard(t, g.ada, g.room, "It's worn out.").Content.AsMessage()
	if got.MsgType != event.MsgNotice || got.RelatesTo.GetReplyTo() != hers.ID {
		t.Errorf("it is %s, a reply to %q", got.MsgType, got.RelatesTo.GetReplyTo())
	}
	g.ada.Say(t, g.room, "!end")
	heard(t, g.ada, g.room, "said end")
	if n := counts(g.ada.Texts(g.room))["It's worn out."]; n != 1 {
		t.Errorf("it came %d times", n)
	}
}
