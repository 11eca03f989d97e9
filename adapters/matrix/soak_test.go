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
	outage   time.Time // the last
	happened []string  // when what was disturbed

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
			ada.Invite(s.t, room, p.ID)
			ada.UntilJoined(s.t, room, p.ID)
		}
		ada.Invite(s.t, room, s.device.account.ID)
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
		s.outage = begun
	case 4:
		s.server.Kill(s.t)
		s.child.kill()
		s.start()
		s.server.Up(s.t)
		s.botKills++
		s.outages++
		s.outage = begun
	}
}

// redelivered is after how long dendrite v0.13.8 works again on what it had in hand
// when it was killed, and a bit more: its queue waits 5 minutes and 10 seconds
// (roomserver/internal/input/input.go, "AckWait").
const redelivered = 5*time.Minute + 30*time.Second

// heap lets a bot work undisturbed for a while, until the homeserver is through with
// all that it had in hand at its last kill, and holds that what the bot keeps in
// memory does not grow.
func (s *soak) heap() {
	s.t.Helper()
	calm := *soakFor / 3
	if s.outages > 0 {
		calm = max(calm, time.Until(s.outage.Add(redelivered)))
	}
	time.Sleep(calm / 3)
	first := s.child.heap.Load()
	time.Sleep(calm - calm/3)
	last := s.child.heap.Load()
	s.t.Logf("live heap %.1f MB after %v without disturbance, %.1f MB after %v", float64(first)/1e6, calm/3, float64(last)/1e6, calm)
	if first > 0 && float64(last) > 1.25*float64(first)+1e6 {
		s.t.Error("the live heap grows")
	}
}
