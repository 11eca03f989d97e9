//go:build goolm && unix

package matrix

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

var soakFor = flag.Duration("soak", 20*time.Second, "how long BenchmarkSoak disturbs the bot and the homeserver, before a third as long without")

// postForEver posts numbers under keys of their own, as something does that keeps
// what it has to post: the number that is not known to have arrived is in a file.
// Now and then it says how much memory is in use.
func postForEver(ctx context.Context, chat *Chat, to bot.Place, file string) {
	raw, _ := os.ReadFile(file) // none at first
	n, _ := strconv.Atoi(strings.TrimSpace(string(raw)))
	for ctx.Err() == nil {
		attempt, cancel := context.WithTimeout(ctx, 10*time.Second)
		_, err := chat.Post(attempt, to, chat.key("number", n), bot.Reply{Title: fmt.Sprint("post ", n)})
		cancel()
		if err != nil {
			rest(ctx, 200*time.Millisecond)
			continue
		}
		n++
		if err := writeSynced(file+".new", strconv.Itoa(n)); err != nil || os.Rename(file+".new", file) != nil {
			return
		}
		rest(ctx, 500*time.Millisecond)
		if n%10 == 0 {
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			fmt.Println("heap", m.HeapAlloc)
		}
	}
}

// soak is a class with the bot in a process of its own.
type soak struct {
	t        testing.TB
	server   *matrixtest.Server
	device   *device
	child    *process
	children []*process // all that there were
	people   []*matrixtest.Student
	rooms    []id.RoomID             // all are in
	alone    map[id.UserID]id.RoomID // direct chats
	random   *rand.Rand
	botKills int
	outages  int
	happened []string // when what was disturbed

	asked   sync.Map // ids of requests → room
	talking atomic.Bool
	unsure  atomic.Int32 // requests of which the asker does not know whether they arrived
}

// BenchmarkSoak disturbs everything at moments of no choice while a class works.
// Each request must be answered once, each post arrive once, and all be readable.
// It is no test, since it takes time; run it once.
func BenchmarkSoak(t *testing.B) {
	s := &soak{t: t, server: matrixtest.Start(t), alone: map[id.UserID]id.RoomID{}}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	s.random = rand.New(rand.NewPCG(seed, 0))
	s.gather()
	s.start()
	s.talking.Store(true)
	var work sync.WaitGroup
	for n, p := range s.people {
		work.Go(func() { s.talk(p, rand.New(rand.NewPCG(seed, uint64(n)+1))) })
	}
	for end := time.Now().Add(*soakFor); time.Now().Before(end); {
		time.Sleep(pause(*soakFor, s.random))
		s.disturb()
	}
	s.heap()
	s.talking.Store(false)
	work.Wait()
	s.check()
	s.child.stop()
}

// pause is from one disturbance to the next: up to twenty seconds, and so that
// there are some in a short time as well.
func pause(whole time.Duration, random *rand.Rand) time.Duration {
	most := min(whole/8, 10*time.Second)
	return most + time.Duration(random.Int64N(int64(most)+1))
}

// gather has four verified people in two encrypted rooms and a plain one, and in
// a direct chat each.
func (s *soak) gather() {
	s.device = newDevice(s.t, s.server)
	s.device.up(echoes)
	for n := range 4 {
		p := s.server.Student(s.t, fmt.Sprint("student-", n))
		p.CrossSign(s.t)
		s.people = append(s.people, p)
		room := p.Direct(s.t, true, s.device.account.ID)
		p.UntilText(s.t, room, string(bot.KeyWelcome))
		s.alone[p.ID] = room
	}
	ada := s.people[0]
	for _, encrypted := range []bool{true, true, false} {
		room := ada.Room(s.t, encrypted)
		for _, p := range s.people[1:] { // one after the other: together is much for a small server
			if _, err := ada.Client.InviteUser(s.t.Context(), room, inviting(p.ID)); err != nil {
				s.t.Fatal(err)
			}
			ada.UntilJoined(s.t, room, p.ID)
		}
		if _, err := ada.Client.InviteUser(s.t.Context(), room, inviting(s.device.account.ID)); err != nil {
			s.t.Fatal(err)
		}
		for _, p := range s.people {
			p.UntilText(s.t, room, string(bot.KeyWelcomeRoom))
		}
		s.rooms = append(s.rooms, room)
	}
	s.device.stop()
}

func (s *soak) start() {
	s.child = startChild(s.t, s.device.settings, "WEFTROOM_MATRIX_POSTS="+string(s.rooms[0]))
	s.children = append(s.children, s.child)
}

// talk has a person ask something now and then.
func (s *soak) talk(p *matrixtest.Student, random *rand.Rand) {
	for n := 0; s.talking.Load(); n++ {
		room, line := s.alone[p.ID], fmt.Sprintf("ask %d", n)
		if i := random.IntN(len(s.rooms) + 1); i < len(s.rooms) {
			room, line = s.rooms[i], "!"+line
		}
		// She does not try again by herself: a homeserver that was killed would
		// show her message twice.
		got, err := p.Client.SendMessageEvent(mautrix.WithMaxRetries(s.t.Context(), 0), room, event.EventMessage, &event.MessageEventContent{MsgType: event.MsgText, Body: line})
		if err == nil {
			s.asked.Store(string(got.EventID), room)
		} else {
			s.unsure.Add(1)
		}
		time.Sleep(time.Duration(500+random.IntN(1500)) * time.Millisecond)
	}
}

// disturb kills the bot, or the homeserver, or both, or asks the bot to end.
func (s *soak) disturb() {
	what := s.random.IntN(5)
	begun := time.Now()
	defer func() {
		s.happened = append(s.happened, fmt.Sprint(begun.Format("04:05.000"), " to ", time.Now().Format("04:05.000"), ": ", what))
	}()
	switch what {
	case 0, 1:
		s.child.kill()
		s.start()
		s.botKills++
	case 2:
		s.child.stop()
		s.start()
	case 3:
		s.server.Restart(s.t)
		s.outages++
	case 4:
		s.server.Kill(s.t)
		s.child.kill()
		s.start()
		s.server.Up(s.t)
		s.botKills++
		s.outages++
	}
}

// heap lets a bot work undisturbed for a while, and holds that what it keeps in
// memory does not grow.
func (s *soak) heap() {
	s.t.Helper()
	calm := *soakFor / 3
	time.Sleep(calm / 3)
	first := s.child.heap.Load()
	time.Sleep(calm - calm/3)
	last := s.child.heap.Load()
	s.t.Logf("live heap %.1f MB after %v without disturbance, %.1f MB after %v", float64(first)/1e6, calm/3, float64(last)/1e6, calm)
	if first > 0 && float64(last) > 1.25*float64(first)+1e6 {
		s.t.Error("the live heap grows")
	}
}

// check counts what arrived.
func (s *soak) check() {
	s.t.Helper()
	ada := s.people[0]
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
	ada.UntilWithin(s.t, 2*time.Minute, "the last answers", func() bool { return len(s.lost(asked)) == 0 }) // the posts have her look again
	lost, doubled := s.lost(asked), s.doubled()
	posts, gaps, twice := s.posts()
	unread := 0
	for _, p := range s.people {
		unread += len(p.Undecryptable())
	}
	fmt.Printf("\n%v: %d requests (%d more of which the asker does not know), %d bot kills, %d outages of the server: %d lost, %d doubled; %d posts: %d lost, %d doubled; %d undecryptable\n",
		*soakFor, len(asked), s.unsure.Load(), s.botKills, s.outages, len(lost), len(doubled), posts, gaps, twice, unread)
	if len(lost)+len(doubled)+gaps+twice+unread > 0 {
		s.t.Errorf("lost %v, doubled %v", lost, doubled)
	}
}

// explain logs what can tell why a soak failed: when what was disturbed, and of
// each message that is there more than once when the homeserver took it, when it
// was read, and what the bots said of it.
func (s *soak) explain(asked map[string]id.RoomID) {
	s.t.Logf("lost: %v\nwhat happened (0, 1 bot killed, 2 bot ended, 3 server killed, 4 both killed):\n%s\nthe bot said last:\n%s",
		s.lost(asked), strings.Join(s.happened, "\n"), s.child.stderr.String())
	var chat *Chat
	for request, messages := range s.arrived("answer to ") {
		s.history("answer to "+request, chat.key("answer", request), messages)
	}
	for number, messages := range s.arrived("post ") {
		n, _ := strconv.Atoi(number)
		s.history("post "+number, chat.key("number", n), messages)
	}
	for _, p := range s.people {
		for event, err := range p.Undecryptable() {
			evt, missing := p.Client.GetEvent(context.Background(), s.rooms[0], event)
			for _, room := range append(s.rooms[1:], s.alone[p.ID]) {
				if missing != nil {
					evt, missing = p.Client.GetEvent(context.Background(), room, event)
				}
			}
			if missing == nil {
				s.t.Logf("%s could not read %s of %s at %v: %v", p.ID, event, evt.Sender, time.UnixMilli(evt.Timestamp), err)
			}
		}
	}
}

// history logs what is known of a message that is there more than once.
func (s *soak) history(what, key string, messages map[id.EventID]bool) {
	if len(messages) < 2 {
		return
	}
	s.t.Logf("%s came %d times:", what, len(messages))
	for message := range messages {
		for _, p := range s.people {
			if evt, came := p.Came(message); evt != nil {
				s.t.Logf("  %s in %s taken %s, read by %s %s", message, evt.RoomID, time.UnixMilli(evt.Timestamp).Format("04:05.000"), p.ID, came.Format("04:05.000"))
			}
		}
	}
	for n, child := range s.children {
		for line := range strings.Lines(child.stderr.String()) {
			if strings.Contains(line, key) {
				s.t.Logf("  bot %d: %s", n, line)
			}
		}
	}
}

// arrived gives the bot's messages that begin so, by what follows, in all rooms.
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

// lost are the requests that have no answer.
func (s *soak) lost(asked map[string]id.RoomID) (out []string) {
	answers := s.arrived("answer to ")
	for request := range asked {
		if len(answers[request]) == 0 {
			out = append(out, request)
		}
	}
	return out
}

// doubled are the requests that have more than one.
func (s *soak) doubled() (out []string) {
	for request, messages := range s.arrived("answer to ") {
		if len(messages) > 1 {
			out = append(out, request)
		}
	}
	return out
}

// posts counts what was posted: the numbers that arrived, those missing below the
// highest, and those that are there more than once.
func (s *soak) posts() (n, missing, twice int) {
	posts := s.arrived("post ")
	highest := -1
	for number, messages := range posts {
		if len(messages) > 1 {
			twice++
		}
		i, err := strconv.Atoi(number)
		if err != nil {
			s.t.Errorf("a post says %q", number)
		}
		highest = max(highest, i)
	}
	return len(posts), highest + 1 - len(posts), twice
}
