package lesson_test

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/timetable"
)

// outbox lists the posts that wait.
func (s *stage) outbox() string {
	var b strings.Builder
	for _, row := range s.query(`SELECT due_at, expires_at, kind, chat, room, session, payload FROM outbox WHERE state = 'queued' ORDER BY due_at, room, id`) {
		fmt.Fprintf(&b, "%s until %s %s to %s", milli(row[0]), milli(row[1]), row[2], placeName(bot.Place{Chat: row[3], Room: row[4]}))
		if row[5] != "" {
			b.WriteString(" of " + row[5])
		}
		var d timetable.Details
		_ = json.Unmarshal([]byte(row[6]), &d)
		if d.Reminder != "" {
			b.WriteString(" (" + d.Reminder + ")")
		}
		b.WriteString("\n")
	}
	if b.Len() == 0 {
		return "nothing waits"
	}
	return b.String()
}

func milli(text string) string {
	var n int64
	fmt.Sscan(text, &n)
	return stamp(time.UnixMilli(n))
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04Z") }

// placeName is a place as scripts name it; a person alone is her name.
func placeName(p bot.Place) string {
	room := p.Room
	if user, direct := strings.CutPrefix(strings.TrimPrefix(room, "direct:"), "@"); direct || user != room {
		room = user + "@dm"
	}
	if p.Chat != home {
		return p.Chat + "/" + room
	}
	return room
}

// run lets time pass until an instant: at each one at which a post is due it is
// sent, and in between all is planned anew, twice a day.
func (s *stage) run(until time.Time) string {
	var out strings.Builder
	for {
		if err := s.planner.All(s.t.Context()); err != nil {
			s.t.Fatal(err)
		}
		out.WriteString(s.send())
		now := s.now.Now()
		if !now.Before(until) {
			break
		}
		next := now.Add(12 * time.Hour)
		if due := s.query(`SELECT MIN(next_at) FROM outbox WHERE state = 'queued' HAVING COUNT(*) > 0`); len(due) > 0 {
			var n int64
			fmt.Sscan(due[0][0], &n)
			if at := time.UnixMilli(n).UTC(); at.After(now) && at.Before(next) {
				next = at
			}
		}
		if next.After(until) {
			next = until
		}
		s.now.set(next)
	}
	if out.Len() == 0 {
		return "nothing is posted"
	}
	return out.String()
}

// send runs a Sender until nothing is due any more, and shows what it did.
func (s *stage) send() string {
	due := func() bool {
		n := s.query(`SELECT COUNT(*) FROM outbox WHERE state = 'sending' OR state = 'queued' AND next_at <= $1`, s.now.Now().UnixMilli())
		return n[0][0] != "0"
	}
	if !due() {
		return ""
	}
	ctx, enough := context.WithCancel(s.t.Context())
	defer enough()
	var outcomes []timetable.Outcome
	observe := func(o timetable.Outcome) {
		outcomes = append(outcomes, o)
		if !due() {
			enough()
		}
	}
	var adapters []bot.Adapter
	for _, c := range s.chats {
		adapters = append(adapters, c)
	}
	sender := timetable.NewSender(s.box, adapters, s.desk.Render, timetable.Options{
		Log: slog.New(slog.NewJSONHandler(s.log, nil)), Parallel: 1, Now: s.now.Now, Observe: observe,
		Refused: s.desk.Refused,
	})
	if err := sender.Run(ctx); err != nil {
		s.t.Fatal(err)
	}
	// Between rooms there is no order but that in which posts were due.
	slices.SortStableFunc(outcomes, func(a, b timetable.Outcome) int {
		return cmp.Or(a.Post.Due.Compare(b.Post.Due), cmp.Compare(a.Post.ID, b.Post.ID))
	})
	var out strings.Builder
	for _, o := range outcomes {
		out.WriteString(s.outcome(o))
	}
	return out.String()
}

// outcome shows what became of a post.
func (s *stage) outcome(o timetable.Outcome) string {
	head := stamp(s.now.Now()) + " "
	if o.State != timetable.Sent {
		return fmt.Sprintf("%s%s to %s is %s: %s\n\n", head, o.Post.Kind, placeName(o.Post.To), o.State, o.Reason)
	}
	if o.Post.Kind == timetable.KindCount {
		return s.changed(head, o.Post)
	}
	to := o.Post.To
	if user, direct := strings.CutPrefix(to.Room, "@"); direct {
		to.Room = "direct:" + user
	}
	for _, m := range s.chats[to.Chat].Messages(to) {
		if m.Key != o.Post.Key {
			continue
		}
		if user, direct := strings.CutPrefix(to.Room, "direct:"); direct {
			s.seen[seenBy(user, to)] = m.Reply.Buttons
		} else {
			s.seen[seenBy("", to)] = m.Reply.Buttons
		}
		s.files = m.Reply.Files
		if err := momentsStand(m.Reply); err != nil {
			s.t.Errorf("%s to %s: %v", o.Post.Kind, placeName(to), err)
		}
		return head + "to " + placeName(to) + ":\n" + indent(shown(m.Reply)) + "\n"
	}
	s.t.Fatalf("a post that was sent is nowhere: %+v", o.Post)
	return ""
}

// changed shows the message that was changed, as it stands in the room now.
func (s *stage) changed(head string, p timetable.Post) string {
	d, err := timetable.DetailsOf(p)
	if err != nil {
		s.t.Fatal(err)
	}
	text := ""
	for _, m := range s.chats[p.To.Chat].Messages(p.To) {
		if m.Key == d.Of {
			text = shown(m.Reply)
		}
	}
	if text == "" {
		s.t.Fatalf("the message that was changed is nowhere: %+v", p)
	}
	return head + "changed in " + placeName(p.To) + ":\n" + indent(text) + "\n"
}

// listed are the events of the newest post in the room, as a chat lists them.
func (s *stage) listed() string {
	messages := s.chats[home].Messages(bot.Place{Chat: home, Room: "room"})
	var b strings.Builder
	for _, e := range messages[len(messages)-1].Reply.Events {
		off := ""
		if e.Cancelled {
			off = ", is off"
		}
		fmt.Fprintf(&b, "%s, %s to %s%s: %s\n%s\n", e.Key, stamp(e.Start), stamp(e.End), off, e.Title, indent(e.About))
	}
	if b.Len() == 0 {
		return "no events"
	}
	return b.String()
}
