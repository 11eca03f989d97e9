//go:build goolm

package matrix

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/adaptertest"
	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// TestAdapter holds the chat to the suite, on a real homeserver. It is not
// parallel to other tests, since the suite looks for goroutines left behind.
func TestAdapter(t *testing.T) {
	for _, c := range []struct {
		name              string
		encrypted, direct bool
	}{
		{"a room", false, false}, {"an encrypted room", true, false}, {"an encrypted direct message", true, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newPlaces(t, c.encrypted, c.direct)
			adaptertest.Run(t, p.open)
		})
	}
}

// someRooms are so many that an answer which comes when its case is over is in a
// room that is not used again soon, nor a key in the room in which it was posted.
const someRooms = 12

// places are rooms with one bot and one student in them, which the cases of the
// suite use in turn.
type places struct {
	device  *device
	student *matrixtest.Student
	direct  bool
	rooms   []id.RoomID
}

func newPlaces(t *testing.T, encrypted, direct bool) *places {
	t.Helper()
	s := matrixtest.Shared(t)
	p := &places{device: newDevice(t, s), student: s.Student(t, "ada"), direct: direct}
	p.device.options.Texts = bot.Texts{bot.KeyWelcome: "welcome", bot.KeyWelcomeRoom: "welcome"}
	for key, text := range spoken {
		p.device.options.Texts[key] = text
	}
	others := s.Account(t, "bea")
	p.device.up(echoes)
	for range someRooms {
		if direct {
			p.rooms = append(p.rooms, p.student.Direct(t, encrypted, p.device.account.ID))
		} else {
			p.rooms = append(p.rooms, p.student.Room(t, encrypted, p.device.account.ID, others.ID))
		}
	}
	for _, room := range p.rooms {
		p.student.UntilText(t, room, "welcome")
	}
	p.leaveOut(t)
	p.device.stop()
	return p
}

// leaveOut keeps the direct chat that the bot finds for itself out of the cases:
// what one of them posts there would be in another's room, under a key that the
// other uses as well.
func (p *places) leaveOut(t *testing.T) {
	t.Helper()
	found, err := p.device.chat.Direct(t.Context(), string(p.student.ID))
	if err != nil {
		t.Fatal(err)
	}
	p.rooms = slices.DeleteFunc(p.rooms, func(room id.RoomID) bool { return string(room) == found.Room })
}

// open makes the fixture of one case. The bot is the same in all of them, with
// all that it keeps; only the room is a new one.
func (p *places) open(t *testing.T) adaptertest.Fixture {
	t.Helper()
	chat, err := New(p.device.settings, p.device.options)
	if err != nil {
		t.Fatal(err)
	}
	room := p.rooms[0]
	p.rooms = append(p.rooms[1:], room)
	seen := len(p.student.Seen(room, event.EventMessage))
	return adaptertest.Fixture{
		Adapter: chat,
		User:    bot.Account{Chat: Name, User: string(p.student.ID)},
		Place:   bot.Place{Chat: Name, Room: string(room)},
		Direct:  p.direct,
		Say:     func(t *testing.T, line string) { p.say(t, room, chat.begin(p.direct, line)) },
		Next: func(ctx context.Context) (adaptertest.Message, error) {
			evt, err := p.student.After(ctx, room, seen)
			if err != nil {
				return adaptertest.Message{}, err
			}
			seen++
			return p.read(ctx, t, evt)
		},
		Press:  func(t *testing.T, label string) { p.press(t, room, label) },
		Server: matrixtest.Marks,
	}
}

// say writes a line. What the homeserver refuses for its length she has not said.
func (p *places) say(t *testing.T, room id.RoomID, line string) {
	t.Helper()
	var refused mautrix.HTTPError
	_, err := p.student.Client.SendMessageEvent(t.Context(), room, event.EventMessage, &event.MessageEventContent{MsgType: event.MsgText, Body: line})
	if tooLong := errors.As(err, &refused) && refused.IsStatus(http.StatusRequestEntityTooLarge); err != nil && !tooLong {
		t.Fatal(err)
	}
}

// read is what the student sees of a message: its plain words, of which the HTML
// beside them must have as many letters.
func (p *places) read(ctx context.Context, t *testing.T, evt *event.Event) (adaptertest.Message, error) {
	m := *evt.Content.AsMessage()
	out := adaptertest.Message{ID: string(evt.ID)}
	if m.NewContent != nil {
		m = *m.NewContent
		out.ID = string(evt.Content.AsMessage().RelatesTo.EventID)
	}
	out.Text = m.Body
	words := checkHTML(t, m.FormattedBody)
	checkHarmless(t, words)
	if m.FormattedBody != "" && letters(words) == "" && letters(m.Body) != "" {
		t.Errorf("the HTML of %q has no words", m.Body)
	}
	if !m.MsgType.IsMedia() {
		return out, nil
	}
	raw, err := p.load(ctx, &m)
	if err == nil && m.Info.Size != len(raw) {
		err = fmt.Errorf("%s has %d bytes and says %d", m.FileName, len(raw), m.Info.Size)
	}
	out.Files = []adaptertest.File{{Name: m.FileName, Bytes: raw}}
	return out, err
}

// load downloads a file and opens it where it is sealed.
func (p *places) load(ctx context.Context, m *event.MessageEventContent) ([]byte, error) {
	where := m.URL
	if m.File != nil {
		where = m.File.URL
	}
	answer, err := p.student.Client.Download(ctx, where.ParseOrIgnore())
	if err != nil {
		return nil, err
	}
	defer answer.Body.Close()
	raw, err := io.ReadAll(answer.Body)
	if err != nil || m.File == nil {
		return raw, err
	}
	return raw, m.File.DecryptInPlace(raw)
}

// press reacts with the sign that the words name for a label.
func (p *places) press(t *testing.T, room id.RoomID, label string) {
	t.Helper()
	named := regexp.MustCompile(`(?m)^- (\S+) for: ` + regexp.QuoteMeta(label))
	for _, evt := range p.student.Seen(room, event.EventMessage) {
		found := named.FindStringSubmatch(strings.ReplaceAll(evt.Content.AsMessage().Body, "\n  ", " "))
		if found == nil {
			continue
		}
		p.student.Send(t, room, event.EventReaction, &event.ReactionEventContent{
			RelatesTo: event.RelatesTo{Type: event.RelAnnotation, EventID: evt.ID, Key: found[1]},
		})
		return
	}
	t.Fatalf("no sign for %q in %q", label, p.student.Texts(room))
}
