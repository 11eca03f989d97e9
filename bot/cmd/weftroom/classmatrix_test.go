//go:build goolm

package main

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
)

// TestClassOnMatrix plays the course in an encrypted room of a real homeserver,
// and in encrypted direct chats.
func TestClassOnMatrix(t *testing.T) {
	t.Parallel()
	v := newMatrixVenue(t)
	playClass(t, v)
	for _, p := range v.people {
		for event, err := range p.Undecryptable() {
			t.Errorf("%s could not read %s: %v", p.ID.Localpart(), event, err)
		}
	}
}

// matrixVenue is an encrypted room, which the first person who comes opens.
type matrixVenue struct {
	server *matrixtest.Server
	bot    matrixtest.Account
	host   *matrixtest.Student
	room   id.RoomID
	people []*matrixtest.Student
}

func newMatrixVenue(t *testing.T) *matrixVenue {
	t.Helper()
	server := matrixtest.Start(t)
	return &matrixVenue{server: server, bot: server.Account(t, "weftroom")}
}

func (v *matrixVenue) keeps() bool { return true }

// present need not wait: what is written waits itself.
func (v *matrixVenue) present(*testing.T, int) {}

func (v *matrixVenue) settings() string {
	return fmt.Sprintf("[matrix]\nhomeserver = %q\nuser = %q\npassword = %q\nkeys = \"$DIR/keys\"\n", v.server.URL, v.bot.ID, v.bot.Password)
}

func (v *matrixVenue) environ() []string { return nil }

func (v *matrixVenue) person(t *testing.T, name string, inRoom bool) actor {
	t.Helper()
	s := v.server.Student(t, name)
	s.CrossSign(t)
	v.people = append(v.people, s)
	p := &matrixPerson{Student: s, venue: v, heard: map[bool]int{}, last: map[bool][]*event.Event{}, signs: map[string]id.EventID{}}
	switch {
	case inRoom && v.host == nil:
		v.host = s
		v.room = s.Room(t, true, v.bot.ID)
		// Whoever comes later has no keys of what was said before, and is not shown it.
		if _, err := s.Client.SendStateEvent(t.Context(), v.room, event.StateHistoryVisibility, "",
			&event.HistoryVisibilityEventContent{HistoryVisibility: event.HistoryVisibilityJoined}); err != nil {
			t.Fatal(err)
		}
		s.UntilJoined(t, v.room, v.bot.ID)
	case inRoom:
		if _, err := v.host.Client.InviteUser(t.Context(), v.room, &mautrix.ReqInviteUser{UserID: s.ID}); err != nil {
			t.Fatal(err)
		}
		v.host.UntilJoined(t, v.room, s.ID)
	}
	p.direct = s.Direct(t, true, v.bot.ID)
	s.UntilJoined(t, p.direct, v.bot.ID)
	return p
}

// matrixPerson reads all direct chats that she has with the assistant as one.
type matrixPerson struct {
	*matrixtest.Student
	venue  *matrixVenue
	direct id.RoomID
	heard  map[bool]int            // messages of the assistant so far
	last   map[bool][]*event.Event // with buttons, as they are now
	signs  map[string]id.EventID   // that she has put somewhere
}

func (p *matrixPerson) say(t *testing.T, alone bool, line string) {
	t.Helper()
	if alone {
		p.Say(t, p.direct, line)
		return
	}
	p.Say(t, p.venue.room, "!"+line)
}

// messages are the assistant's.
func (p *matrixPerson) messages(alone bool) []*event.Event {
	var out []*event.Event
	for _, evt := range p.Seen("", event.EventMessage) {
		if evt.Sender == p.venue.bot.ID && (evt.RoomID != p.venue.room) == alone {
			out = append(out, evt)
		}
	}
	return out
}

func (p *matrixPerson) hear(ctx context.Context, alone bool) (id, text string, err error) {
	for {
		if all := p.messages(alone); len(all) > p.heard[alone] {
			evt := all[p.heard[alone]]
			p.heard[alone]++
			body, _ := evt.Content.Raw["body"].(string)
			p.last[alone] = slices.DeleteFunc(p.last[alone], func(before *event.Event) bool { return whole(before) == whole(evt) })
			if strings.Contains(body, "1️⃣") {
				p.last[alone] = append(p.last[alone], evt)
			}
			return string(whole(evt)), body, nil
		}
		select {
		case <-ctx.Done():
			return "", "", ctx.Err()
		case <-time.After(20 * time.Millisecond): // the homeserver is asked by another goroutine
		}
	}
}

// pictures are fetched and decrypted: in an encrypted room they must not lie open
// on the server.
func (p *matrixPerson) pictures(t *testing.T, alone bool) []shownPicture {
	t.Helper()
	var out []shownPicture
	for _, evt := range p.messages(alone) {
		m := evt.Content.AsMessage()
		if m.MsgType != event.MsgImage {
			continue
		}
		if m.URL != "" || m.File == nil || m.Info == nil || m.Info.ThumbnailFile == nil || m.Info.Width == 0 || m.Info.Height == 0 || m.Info.Size == 0 {
			t.Fatalf("a picture that is not encrypted, or has no size or no small one: %+v, %+v", m, m.Info)
		}
		out = append(out, shownPicture{alt: m.Body, bytes: p.fetch(t, m.File), thumb: p.fetch(t, m.Info.ThumbnailFile)})
	}
	return out
}

func (p *matrixPerson) fetch(t *testing.T, f *event.EncryptedFileInfo) []byte {
	t.Helper()
	from, err := f.URL.Parse()
	if err != nil {
		t.Fatal(err)
	}
	raw, err := p.Client.DownloadBytes(t.Context(), from)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.HasPrefix(raw, []byte("\x89PNG")) {
		t.Fatal("a picture lies open on the server")
	}
	if err := f.DecryptInPlace(raw); err != nil {
		t.Fatal(err)
	}
	return raw
}

// whole is the message that an event is the newest words of: what one sees is the
// message, however often it was changed.
func whole(evt *event.Event) id.EventID {
	if changed := evt.Content.AsMessage().RelatesTo.GetReplaceID(); changed != "" {
		return changed
	}
	return evt.ID
}

// press reacts as the text says that one presses. A sign that she has put there
// before she takes away first, as every program has her do.
func (p *matrixPerson) press(t *testing.T, alone bool, label string) {
	t.Helper()
	for _, evt := range slices.Backward(p.last[alone]) {
		key := signFor(evt, label)
		if key == "" {
			continue
		}
		sign := key + " " + string(whole(evt))
		if before := p.signs[sign]; before != "" {
			if _, err := p.Client.RedactEvent(t.Context(), evt.RoomID, before); err != nil {
				t.Fatal(err)
			}
		}
		p.signs[sign] = p.Send(t, evt.RoomID, event.EventReaction, &event.ReactionEventContent{
			RelatesTo: event.RelatesTo{Type: event.RelAnnotation, EventID: whole(evt), Key: key},
		})
		return
	}
	t.Fatalf("%s finds no button %q under the %d messages with some", p.ID.Localpart(), label, len(p.last[alone]))
}

// signFor is the sign that stands for a button under a message, "" where it has no
// such button.
func signFor(evt *event.Event, label string) string {
	body, _ := evt.Content.Raw["body"].(string)
	for line := range strings.SplitSeq(body, "\n") {
		words := strings.Fields(strings.TrimLeft(line, "- •"))
		if len(words) > 0 && strings.Contains(line, label) && strings.Contains(words[0], "\u20e3") {
			return words[0]
		}
	}
	return ""
}
