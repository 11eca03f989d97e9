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

// momentsStand tells which instant of a reply does not stand in its words.
func momentsStand(r bot.Reply) error {
	words := strings.Join(strings.Fields(bot.Plain(r)), " ")
	for _, m := range r.Moments {
		if text := strings.Join(strings.Fields(m.Text), " "); text == "" || m.At.IsZero() || !strings.Contains(words, text) {
			return fmt.Errorf("%q for %v is not said in\n%s", m.Text, m.At, words)
		}
	}
	return nil
}

func TestMomentsThatDoNotStandAreFound(t *testing.T) {
	r := bot.Reply{Title: "On Tuesday,\n19:00 CET", Moments: []bot.Moment{{Text: "Tuesday, 19:00 CET", At: time.Unix(1, 0)}}}
	if err := momentsStand(r); err != nil {
		t.Error(err)
	}
	for _, m := range []bot.Moment{{Text: "Tuesday, 20:00 CET", At: time.Unix(1, 0)}, {At: time.Unix(1, 0)}, {Text: "19:00 CET"}} {
		r.Moments = []bot.Moment{m}
		if momentsStand(r) == nil {
			t.Errorf("%+v is thought to stand there", m)
		}
	}
}

// moments are those of a reply: text and instant, one a line.
func moments(r bot.Reply) []string {
	var out []string
	for _, m := range r.Moments {
		out = append(out, m.Text+" = "+m.At.Format(time.RFC3339))
	}
	return out
}

const (
	first  = "Tuesday 1 December 2026, 19:00 CET (Europe/Berlin)"
	second = "Tuesday 8 December 2026, 19:00 CET (Europe/Berlin)"
)

// TestAnswersTellTheirMoments: every answer that says when something is lists the
// instants, whoever asks.
func TestAnswersTellTheirMoments(t *testing.T) {
	s := newStage(t)
	s.play("@power maren", `maren@room> class open "Tarnholm lace" zone:Berlin`, "@member yori", "@zone yori Asia/Tokyo")
	for _, row := range []struct {
		line string
		want []string
	}{
		{`maren@room> session add "1 dec 19:00"`, []string{first + " = 2026-12-01T18:00:00Z"}},
		{`maren@room> session add "8 dec 19:00" weekly:2`, []string{
			"Tuesday 8 December 2026, 19:00 CET = 2026-12-08T18:00:00Z", "Tuesday 15 December 2026, 19:00 CET = 2026-12-15T18:00:00Z",
		}},
		{"maren@room> session show 2", []string{second + " = 2026-12-08T18:00:00Z"}},
		{"maren@room> session list", []string{
			"Tuesday 1 December 2026, 19:00 CET = 2026-12-01T18:00:00Z", "Tuesday 8 December 2026, 19:00 CET = 2026-12-08T18:00:00Z",
			"Tuesday 15 December 2026, 19:00 CET = 2026-12-15T18:00:00Z",
		}},
		{"yori@room> coming", []string{"Wednesday 2 December 2026, 03:00 JST (Asia/Tokyo) (in class: Tuesday 1 December, 19:00 CET (Europe/Berlin)) = 2026-12-01T18:00:00Z"}},
		{"maren@room> session move 1 when:20:30", nil}, // refused
		{`maren@room> session move 1 when:"1 dec 20:30"`, []string{"19:00 CET = 2026-12-01T18:00:00Z", "20:30 CET = 2026-12-01T19:30:00Z"}},
		{`maren@room> session move 1 when:"2 dec 20:30"`, []string{"Tuesday 1 December 2026 = 2026-12-01T19:30:00Z", "Wednesday 2 December 2026 = 2026-12-02T19:30:00Z"}},
		{`maren@room> session move 1 when:"2 dec 20:30" minutes:60`, []string{"Wednesday 2 December 2026, 20:30 CET (Europe/Berlin) = 2026-12-02T19:30:00Z"}},
		{"maren@room> session cancel 3", []string{"Tuesday 15 December 2026, 19:00 CET (Europe/Berlin) = 2026-12-15T18:00:00Z"}},
		{`maren@room> say every:"mon 9:00" text:Hello`, []string{"Monday 30 November 2026, 09:00 CET (Europe/Berlin) = 2026-11-30T08:00:00Z"}},
		{"maren@room> when", []string{
			"Wednesday 2 December 2026, 20:30 CET (Europe/Berlin) = 2026-12-02T19:30:00Z", second + " = 2026-12-08T18:00:00Z",
			"Tuesday 15 December 2026, 19:00 CET (Europe/Berlin) = 2026-12-15T18:00:00Z",
		}},
		{"yori@room> settings", nil}, // what her clock shows now is no appointment
	} {
		s.do(row.line)
		if diff := cmp.Diff(row.want, moments(s.reply)); diff != "" {
			t.Errorf("%s:\n%s", row.line, diff)
		}
	}
}

// TestPostsTellTheirMoments does so for what the clock posts.
func TestPostsTellTheirMoments(t *testing.T) {
	s, session, yori := linkedSession(t)
	room, alone := bot.Place{Chat: home, Room: "room"}, bot.DirectRoom(bot.Account{Chat: home, User: "yori"})
	whole := []string{first + " = 2026-12-01T18:00:00Z"}
	for _, row := range []struct {
		kind timetable.Kind
		was  time.Time
		to   bot.Place
		want []string
	}{
		{timetable.KindAdded, time.Time{}, room, whole},
		{timetable.KindMoved, session.Start.Add(-time.Hour), room, []string{"18:00 CET = 2026-12-01T17:00:00Z", "19:00 CET = 2026-12-01T18:00:00Z"}},
		{timetable.KindMoved, session.Start, room, whole}, // another length
		{timetable.KindLink, time.Time{}, room, whole},
		{timetable.KindNote, time.Time{}, room, whole},
		{timetable.KindReminder, time.Time{}, alone, whole},
	} {
		p := timetable.Announcements(row.kind, session, row.was, s.now.Now(), row.to)[0]
		if row.to == alone {
			p.Person = yori
			p.Payload = []byte(`{"reminder":"1h"}`)
		}
		reply, verdict, err := s.desk.Render(t.Context(), p)
		if err != nil || verdict != timetable.Send {
			t.Fatalf("%s: %q, %v", row.kind, verdict, err)
		}
		if diff := cmp.Diff(row.want, moments(reply)); diff != "" {
			t.Errorf("%s:\n%s", row.kind, diff)
		}
		if err := momentsStand(reply); err != nil {
			t.Errorf("%s: %v", row.kind, err)
		}
	}
}
