package lesson_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/timetable"
)

// events are those of a reply, one a line, with the words for readers.
func (s *stage) events(r bot.Reply) []string {
	var out []string
	for _, e := range r.Events {
		state := "takes place"
		if e.Cancelled {
			state = "is off"
		}
		out = append(out, s.named(fmt.Sprintf("%s %q %s to %s %s", e.Key, e.Title, e.Start.Format("2006-01-02T15:04Z"), e.End.Format("15:04Z"), state)))
	}
	return out
}

// posted are the events of the newest post in the room.
func (s *stage) posted() []string {
	messages := s.chats[home].Messages(bot.Place{Chat: home, Room: "room"})
	return s.events(messages[len(messages)-1].Reply)
}

// TestPostsCarryEvents plays what becomes of sessions and reads the events of
// the newest post in the room: the same session is the same event throughout.
func TestPostsCarryEvents(t *testing.T) {
	s := newStage(t)
	s.play("@power maren", `maren@room> class open "Tarnholm lace" zone:Berlin`, "@member yori")
	for _, row := range []struct {
		line string
		want []string
	}{
		{`maren@dm> session add "2026-12-01 19:00" topic:"Eyelets" link:` + secretLink, []string{
			`session-<session 1> "Session 1, Eyelets" 2026-12-01T18:00Z to 19:30Z takes place`,
		}},
		{`maren@dm> session move 1 when:"2026-12-01 20:00"`, []string{
			`session-<session 1> "Session 1, Eyelets" 2026-12-01T19:00Z to 20:30Z takes place`,
		}},
		{`maren@dm> session move 1 when:"2026-12-01 20:00" minutes:60`, []string{
			`session-<session 1> "Session 1, Eyelets" 2026-12-01T19:00Z to 20:00Z takes place`,
		}},
		{`maren@dm> session add "2026-12-08 19:00" weekly:3`, []string{
			`session-<session 2> "Session 2" 2026-12-08T18:00Z to 19:30Z takes place`,
			`session-<session 3> "Session 3" 2026-12-15T18:00Z to 19:30Z takes place`,
			`session-<session 4> "Session 4" 2026-12-22T18:00Z to 19:30Z takes place`,
		}},
		{"maren@dm> session cancel 3", []string{`session-<session 3> "Session 3" 2026-12-15T18:00Z to 19:30Z is off`}},
		{"maren@dm> session link 2 link:" + secretLink, nil}, // neither another time nor another name
		{`maren@dm> say sure:yes text:"Bring a comb"`, nil},
		{"maren@dm> class close sure:yes", []string{
			`session-<session 1> "Session 1, Eyelets" 2026-12-01T19:00Z to 20:00Z is off`,
			`session-<session 2> "Session 2" 2026-12-08T18:00Z to 19:30Z is off`,
			`session-<session 3> "Session 3" 2026-12-15T18:00Z to 19:30Z is off`,
			`session-<session 4> "Session 4" 2026-12-22T18:00Z to 19:30Z is off`,
		}},
	} {
		s.do(row.line)
		s.do("@run until " + stamp(s.now.Now()))
		if diff := cmp.Diff(row.want, s.posted()); diff != "" {
			t.Errorf("%s:\n%s", row.line, diff)
		}
	}
}

// TestEventsHoldNoSecret: everyone on a server reads its events, so neither a
// link nor anything about a member stands in one, and none goes to a person.
func TestEventsHoldNoSecret(t *testing.T) {
	s, session, yori := linkedSession(t)
	s.do("yori@room> coming")
	seen := 0
	for _, kind := range []timetable.Kind{
		timetable.KindReminder, timetable.KindAdded, timetable.KindMoved, timetable.KindCancelled, timetable.KindLink, timetable.KindNote, timetable.KindClosed,
	} {
		for _, to := range []bot.Place{{Chat: home, Room: "room"}, bot.DirectRoom(bot.Account{Chat: home, User: "yori"})} {
			if kind == timetable.KindCancelled {
				off := session
				off.Cancelled = true
				if err := s.db.PutSession(t.Context(), off); err != nil {
					t.Fatal(err)
				}
			}
			p := timetable.Announcements(kind, session, session.Start.Add(-time.Hour), s.now.Now(), to)[0]
			if strings.HasPrefix(to.Room, "@") {
				p.Person = yori
			}
			if kind == timetable.KindReminder {
				p.Payload = []byte(`{"reminder":"1h"}`)
			}
			reply, _, err := s.desk.Render(t.Context(), p)
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range reply.Events {
				seen++
				whole := fmt.Sprintf("%+v", e)
				for _, secret := range []string{secretLink, "meet.example", "Yori", "yori", string(yori), "coming"} {
					if strings.Contains(whole, secret) {
						t.Errorf("%s tells %q: %s", kind, secret, whole)
					}
				}
				if p.Person != "" {
					t.Errorf("%s to a person alone carries an event", kind)
				}
			}
			if kind == timetable.KindCancelled {
				if err := s.db.PutSession(t.Context(), session); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	if seen < 4 {
		t.Errorf("only %d events were read", seen)
	}
}
