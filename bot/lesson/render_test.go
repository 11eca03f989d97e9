package lesson_test

import (
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

const secretLink = "https://meet.example/lace-4711"

// TestLinksStayWithMembers renders each kind of post to a room, to a member
// alone, and to a room in a member's name, which no post should be but must do
// no harm.
func TestLinksStayWithMembers(t *testing.T) {
	s, session, yori := linkedSession(t)
	room, alone := bot.Place{Chat: home, Room: "room"}, bot.DirectRoom(bot.Account{Chat: home, User: "yori"})
	for _, kind := range []timetable.Kind{
		timetable.KindReminder, timetable.KindAdded, timetable.KindMoved, timetable.KindLink, timetable.KindNote,
	} {
		for _, row := range []struct {
			shows  string
			to     bot.Place
			person class.ID
			link   bool // may be told
		}{
			{"to the room", room, "", false},
			{"to the room, in a member's name", room, yori, false},
			{"to the member alone", alone, yori, true},
		} {
			p := timetable.Announcements(kind, session, session.Start.Add(-time.Hour), s.now.Now(), row.to)[0]
			p.Person = row.person
			if kind == timetable.KindReminder {
				p.Payload = []byte(`{"reminder":"1h"}`)
			}
			reply, verdict, err := s.desk.Render(t.Context(), p)
			want := timetable.Send
			if kind == timetable.KindReminder && row.person == "" {
				want = timetable.NotWanted // each member is reminded alone
			}
			if err != nil || verdict != want {
				t.Errorf("%s %s: %q, %v", kind, row.shows, verdict, err)
			}
			if verdict != timetable.Send {
				continue
			}
			told := strings.Contains(bot.Plain(reply), secretLink)
			for _, f := range reply.Files {
				told = told || strings.Contains(strings.ReplaceAll(string(f.Bytes), "\r\n ", ""), secretLink)
			}
			if told && !row.link {
				t.Errorf("%s %s tells the link", kind, row.shows)
			}
			if wants := kind == timetable.KindReminder || kind == timetable.KindLink; wants && row.link && !told {
				t.Errorf("%s %s keeps the link back", kind, row.shows)
			}
			if want := map[bool]bot.Audience{true: bot.Personal, false: bot.Room}[row.link]; reply.Audience != want {
				t.Errorf("%s %s is for %v", kind, row.shows, reply.Audience)
			}
		}
	}
}

func TestUnknownKindIsAFailedAttempt(t *testing.T) {
	s, session, _ := linkedSession(t)
	p := timetable.Announcements("greeting", session, time.Time{}, s.now.Now(), bot.Place{Chat: home, Room: "room"})[0]
	if _, verdict, err := s.desk.Render(t.Context(), p); err == nil || verdict != timetable.Send {
		t.Errorf("verdict %q, %v", verdict, err)
	}
}

// linkedSession is a class with a student and a session that has a link.
func linkedSession(t *testing.T) (s *stage, session class.Session, yori class.ID) {
	s = newStage(t)
	for _, line := range []string{
		`@power maren`, `maren@room> class open "Tarnholm lace" zone:Berlin`, `@member yori`,
		`maren@dm> session add "2026-12-01 19:00" link:` + secretLink,
	} {
		s.do(line)
	}
	k, err := s.db.ClassIn(t.Context(), bot.Place{Chat: home, Room: "room"})
	if err != nil {
		t.Fatal(err)
	}
	if session, err = s.db.SessionNumber(t.Context(), k.ID, 1); err != nil || session.Link != secretLink {
		t.Fatalf("%+v, %v", session, err)
	}
	p, err := s.db.FindPerson(t.Context(), bot.Account{Chat: home, User: "yori"})
	if err != nil {
		t.Fatal(err)
	}
	return s, session, p.ID
}
