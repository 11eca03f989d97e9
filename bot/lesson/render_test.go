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

// TestLeaksAreFound: what the talks look for after every line is found in each
// of the places where it must not be.
func TestLeaksAreFound(t *testing.T) {
	const secret = "https://meet.example/lace-4711/with-a-name-so-long-that-a-calendar-has-to-fold-its-line"
	for _, row := range []struct {
		shows string
		leaks func(s *stage)
	}{
		{"in an answer in a room", func(s *stage) { s.do("yori@room> word " + secret[:40]) }},
		{"in a post to a room", func(s *stage) {
			_, _ = s.chat(home).Post(t.Context(), bot.Place{Chat: home, Room: "room"}, "k", bot.Reply{Title: secret})
		}},
		{"in a calendar for a room", func(s *stage) {
			raw, err := timetable.Calendar("Tarnholm lace", []timetable.Event{{UID: "1", Stamp: s.now.Now(), Start: s.now.Now(), Length: time.Hour, URL: secret}})
			if err != nil || strings.Contains(string(raw), secret) {
				t.Fatalf("%v, or not folded", err)
			}
			file := bot.File{Name: "lace.ics", Bytes: raw}
			_, _ = s.chat(home).Post(t.Context(), bot.Place{Chat: home, Room: "room"}, "k", bot.Reply{Files: []bot.File{file}})
		}},
		{"in a payload", func(s *stage) {
			_, err := s.box.Add(t.Context(), s.now.Now(), timetable.Post{
				Key: "k", To: bot.Place{Chat: home, Room: "room"}, Kind: timetable.KindSay, Payload: []byte(`{"text":"` + secret + `"}`),
				Due: s.now.Now(), Expires: s.now.Now().Add(time.Hour),
			})
			if err != nil {
				t.Fatal(err)
			}
		}},
		{"in the log", func(s *stage) { _, _ = s.log.Write([]byte(secret)) }},
	} {
		s, _, _ := linkedSession(t)
		s.secrets = []string{secret}
		if row.shows == "in an answer in a room" {
			s.secrets = []string{secret[:40]}
		}
		if found, text := s.leak(); found != "" {
			t.Errorf("before anything leaks: %s", text)
		}
		row.leaks(s)
		if found, _ := s.leak(); found == "" {
			t.Errorf("%s: not found", row.shows)
		}
	}
}
