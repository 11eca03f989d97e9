//go:build goolm && unix

package matrix

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// check counts what arrived.
func (s *soak) check() {
	s.t.Helper()
	for _, p := range s.people { // what others have seen is there, whatever its sender heard of it
		for _, evt := range p.Seen("", event.EventMessage) {
			if body, _ := evt.Content.Raw["body"].(string); strings.HasPrefix(body, "!ask ") {
				s.asked.LoadOrStore(string(evt.ID), evt.RoomID)
			}
		}
	}
	asked := map[string]id.RoomID{}
	s.asked.Range(func(k, v any) bool { asked[k.(string)] = v.(id.RoomID); return true })
	s.t.Cleanup(func() {
		if s.t.Failed() {
			s.explain(asked)
		}
	})
	f := s.figures(asked)
	for end := time.Now().Add(2 * time.Minute); !f.right() && time.Now().Before(end); f = s.figures(asked) {
		time.Sleep(time.Second)
	}
	unread := 0
	for _, p := range s.people {
		unread += len(p.Undecryptable())
	}
	fmt.Printf("\n%v: %d requests (%d more of which the asker does not know), %d bot kills, %d outages of the server: %d lost, %d doubled; %d posts: %d lost, %d doubled; %d came out twice and were taken back; %d undecryptable\n",
		*soakFor, len(asked), s.unsure.Load(), s.botKills, s.outages, len(f.lost), len(f.doubled), f.posts, f.gaps, f.twice, f.twins, unread)
	if !f.right() || unread > 0 {
		s.t.Errorf("lost %v, doubled %v", f.lost, f.doubled)
	}
	if f.twins > 0 || s.t.Failed() {
		s.histories()
	}
}

// explain logs what can tell why a soak failed.
func (s *soak) explain(asked map[string]id.RoomID) {
	s.t.Logf("lost: %v\nwhat happened (0, 1 bot killed, 2 bot ended, 3 server killed, 4 both killed):\n%s\nthe bot said last:\n%s",
		s.figures(asked).lost, strings.Join(s.happened, "\n"), s.child.stderr.String())
	for _, p := range s.people {
		for event, err := range p.Undecryptable() {
			evt, missing := p.Client.GetEvent(context.Background(), s.rooms[0], event)
			for _, room := range append(s.rooms[1:], s.alone[p.ID]) {
				if missing != nil {
					evt, missing = p.Client.GetEvent(context.Background(), room, event)
				}
			}
			if missing == nil {
				s.t.Logf("%s could not read %s of %s at %v, taken back %t: %v", p.ID, event, evt.Sender, time.UnixMilli(evt.Timestamp), evt.Unsigned.RedactedBecause != nil, err)
			}
		}
	}
}

// histories prints of each message that came out more than once when the homeserver
// took it, when it was first read, and what the bots said of it.
func (s *soak) histories() {
	var chat *Chat
	for request, messages := range s.arrived("answer to ") {
		s.history("answer to "+request, chat.key("answer", request), messages)
	}
	for number, messages := range s.arrived("post ") {
		n, _ := strconv.Atoi(number)
		s.history("post "+number, chat.key("number", n), messages)
	}
	fmt.Println("bot killed (0, 1), bot ended (2), server killed (3), both killed (4):", strings.Join(s.happened, ", "))
}

func (s *soak) history(what, key string, messages map[id.EventID]bool) {
	if len(messages) < 2 {
		return
	}
	fmt.Printf("%s came %d times:\n", what, len(messages))
	for message := range messages {
		for _, p := range s.people {
			if evt, came := p.Came(message); evt != nil {
				fmt.Printf("  %s taken %s, read %s\n", message, time.UnixMilli(evt.Timestamp).Format("04:05.000"), came.Format("04:05.000"))
				break
			}
		}
	}
	for n, child := range s.children {
		for line := range strings.Lines(child.stderr.String()) {
			if strings.Contains(line, key) {
				fmt.Printf("  bot %d: %s", n, line)
			}
		}
	}
}

// arrived gives the bot's messages that begin so, by what follows, in all rooms,
// those among them that were taken back.
func (s *soak) arrived(begin string) map[string]map[id.EventID]bool {
	out := map[string]map[id.EventID]bool{}
	for _, p := range s.people {
		for _, evt := range p.Seen("", event.EventMessage) {
			body, _ := evt.Content.Raw["body"].(string)
			about, ok := strings.CutPrefix(body, begin)
			if !ok || evt.Sender != s.device.account.ID {
				continue
			}
			if out[about] == nil {
				out[about] = map[id.EventID]bool{}
			}
			out[about][evt.ID] = true
		}
	}
	return out
}

// standing is arrived without what was taken back, and how many were.
func (s *soak) standing(begin string) (out map[string]map[id.EventID]bool, twins int) {
	back := map[id.EventID]bool{}
	for _, p := range s.people {
		for _, evt := range p.Seen("", event.EventRedaction) {
			back[evt.Redacts] = true
		}
	}
	out = s.arrived(begin)
	for _, messages := range out {
		for message := range messages {
			if back[message] {
				delete(messages, message)
				twins++
			}
		}
	}
	return out, twins
}

// figures are what came of everything.
type figures struct {
	lost, doubled      []string // requests without an answer, and with several
	posts, gaps, twice int      // posts, numbers that are missing below the highest, numbers that are there several times
	twins              int      // messages that came out twice, of which one was taken back
}

func (f figures) right() bool { return len(f.lost)+len(f.doubled)+f.gaps+f.twice == 0 }

func (s *soak) figures(asked map[string]id.RoomID) (f figures) {
	answers, twins := s.standing("answer to ")
	for request := range asked {
		if len(answers[request]) == 0 {
			f.lost = append(f.lost, request)
		}
	}
	for request, messages := range answers {
		if len(messages) > 1 {
			f.doubled = append(f.doubled, request)
		}
	}
	posts, more := s.standing("post ")
	highest := -1
	for number, messages := range posts {
		if len(messages) > 1 {
			f.twice++
		}
		if len(messages) == 0 {
			continue
		}
		f.posts++
		i, err := strconv.Atoi(number)
		if err != nil {
			s.t.Errorf("a post says %q", number)
		}
		highest = max(highest, i)
	}
	f.gaps, f.twins = highest+1-f.posts, twins+more
	return f
}
