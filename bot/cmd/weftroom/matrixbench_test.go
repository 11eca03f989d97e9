//go:build goolm && linux

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
)

// Sizes of the benchmark. A room has few enough commands that nobody takes them
// for a flood.
const (
	roomsInTurn  = 4
	askedPerRoom = 80
	roomsAtOnce  = 50
	askedAtOnce  = 10
	askers       = 10 // who have the rooms at once between them
)

// inShort is an eighth of a number with -short.
func inShort(n int) int {
	if testing.Short() {
		return n / 8
	}
	return n
}

// BenchmarkMatrix measures `weftroom serve` beside a bare bot that echoes, in the
// same rooms' kind on the same homeserver in the same run: the time from a
// student's `row`, with a loom that is stored, to its words on her screen, asked
// when the pictures of the one before have come, as people do; the
// bots' processor time for it; their memory; and that nothing is lost when many
// rooms ask at once. Ratios are ours to the echo's.
//
// The pictures come after the words: the time holds none of them, the processor
// time holds all. They are drawn the first time and then kept, as for a class that
// asks for the same again; that first time is before what is measured.
func BenchmarkMatrix(b *testing.B) {
	s := matrixtest.Start(b)
	dir := b.TempDir()
	ours := startMatrixBot(b, s, filepath.Join(dir, "weftroom"), ".")
	echo := startMatrixBot(b, s, filepath.Join(dir, "echobot"), "./testdata/echobot")
	asked := 0
	idle, echoIdle := ours.memory(b), echo.memory(b)
	for _, c := range []struct {
		name      string
		encrypted bool
	}{{"plain", false}, {"encrypted", true}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				asked += inTurn(b, s, ours, echo, c.encrypted)
			}
		})
		b.Run("50 rooms at once, "+c.name, func(b *testing.B) {
			for b.Loop() {
				asked += atOnce(b, s, ours, c.encrypted)
			}
		})
	}
	b.Run("steps", func(b *testing.B) {
		for b.Loop() {
			asked += stepsInTurn(b, s, ours, echo)
		}
	})
	b.Run("memory", func(b *testing.B) {
		for b.Loop() {
		}
		b.ReportMetric(float64(asked), "commands-before")
		b.ReportMetric(idle, "MB-idle")
		b.ReportMetric(ours.memory(b), "MB-after")
		b.ReportMetric(echoIdle, "MB-idle-echo")
		b.ReportMetric(echo.memory(b), "MB-after-echo")
		b.ReportMetric(0, "ns/op")
	})
}

// matrixBot is a bot in a process of its own.
type matrixBot struct {
	account matrixtest.Account
	pid     int
}

// startMatrixBot builds a bot and starts it. Both take the homeserver and the
// account in the way that suits them.
func startMatrixBot(b *testing.B, s *matrixtest.Server, program, source string) *matrixBot {
	b.Helper()
	if msg, err := exec.Command("go", "build", "-tags", "goolm", "-o", program, source).CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, msg)
	}
	bot := &matrixBot{account: s.Account(b, filepath.Base(program))}
	dir := b.TempDir()
	cmd := exec.Command(program, "serve", "--state", filepath.Join(dir, "weftroom.db"))
	if filepath.Base(program) == "echobot" {
		cmd = exec.Command(program, s.URL, string(bot.account.ID), bot.account.Password, filepath.Join(dir, "echo.db"))
	}
	cmd.Env = append(os.Environ(), "WEFTROOM_MATRIX_HOMESERVER="+s.URL, "WEFTROOM_MATRIX_USER="+string(bot.account.ID),
		"WEFTROOM_MATRIX_PASSWORD="+bot.account.Password, "WEFTROOM_MATRIX_KEYS="+filepath.Join(dir, "keys"))
	var said bytes.Buffer
	cmd.Dir, cmd.Stderr = dir, &said
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if b.Failed() {
			b.Logf("%s said:\n%s", filepath.Base(program), &said)
		}
	})
	bot.pid = cmd.Process.Pid
	return bot
}

// memory is how much of the machine's the process holds now, in MB.
func (m *matrixBot) memory(b *testing.B) float64 {
	b.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", m.pid))
	if err != nil {
		b.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(raw), "VmRSS:")
	kB, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
	if err != nil {
		b.Fatal(err)
	}
	return kB / 1024
}

// ticks is the unit of processor time that Linux tells of (USER_HZ, 100 on all
// machines that Go runs on).
const ticks = 10 * time.Millisecond

// processor is how much time the process has had.
func (m *matrixBot) processor(b *testing.B) time.Duration {
	b.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", m.pid))
	if err != nil {
		b.Fatal(err)
	}
	fields := strings.Fields(string(raw[bytes.LastIndexByte(raw, ')')+1:]))
	var sum time.Duration
	for _, i := range []int{11, 12} { // utime and stime; the first field here is the third
		n, err := strconv.Atoi(fields[i])
		if err != nil {
			b.Fatal(err)
		}
		sum += time.Duration(n) * ticks
	}
	return sum
}

// talk is a student alone in a room with a bot.
type talk struct {
	student  *matrixtest.Student
	room     id.RoomID
	heard    int
	pictures int // that come after an answer
	letters  int // of the last answer
}

func newTalk(b *testing.B, p *matrixtest.Student, bot *matrixBot, encrypted bool) *talk {
	b.Helper()
	t := &talk{student: p, room: p.Direct(b, encrypted, bot.account.ID)}
	p.Until(b, "the bot", func() bool { return slices.ContainsFunc(p.Seen(t.room, event.StateMember), joins) })
	return t
}

func joins(evt *event.Event) bool { return evt.Content.AsMember().Membership == event.MembershipJoin }

// ask says a line and waits for the answer that begins so.
func (t *talk) ask(b *testing.B, line, begins string) time.Duration {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.Context(), matrixtest.Patience)
	defer cancel()
	begun := time.Now()
	t.student.Say(b, t.room, line)
	for {
		evt, err := t.student.After(ctx, t.room, t.heard)
		if err != nil {
			b.Fatalf("no %q came (%v), but\n%s", begins, err, strings.Join(t.student.Texts(t.room), "\n"))
		}
		t.heard++
		if m := evt.Content.AsMessage(); strings.HasPrefix(m.Body, begins) {
			t.letters = len(m.Body) + len(m.FormattedBody)
			return time.Since(begun)
		}
	}
}

// first asks for the first answer in a room, for which keys are exchanged, and
// counts the pictures that come with one: her next command is answered when they
// are through.
func (t *talk) first(b *testing.B) {
	b.Helper()
	t.ask(b, "row", rowAnswer)
	t.ask(b, "sett yarn:8/2 cotton", settAnswer)
	t.pictures = t.shown()
}

// rest waits until the pictures of n answers have come.
func (t *talk) rest(b *testing.B, n int) {
	b.Helper()
	t.student.Until(b, "the pictures", func() bool { return t.shown() >= n*t.pictures })
}

// shown is how many pictures have come.
func (t *talk) shown() int {
	n := 0
	for _, evt := range t.student.Seen(t.room, event.EventMessage) {
		if evt.Content.AsMessage().MsgType == event.MsgImage {
			n++
		}
	}
	return n
}

// What a student says, and how the answers begin.
const (
	loomLine   = "loom width:15in heddle:10"
	rowAnswer  = "Spanish lace on"
	settAnswer = "8/2 cotton"
)

// inTurn has a student ask our bot and the echo in turn, and reports. The echo is
// asked for a line, and for as many letters as ours has: what it takes the homeserver
// and the student to carry those is not our bot's doing.
func inTurn(b *testing.B, s *matrixtest.Server, ours, echo *matrixBot, encrypted bool) (asked int) {
	p := s.Student(b, "ada")
	perRoom := inShort(askedPerRoom)
	var own, floor, asLong []time.Duration
	var ownBusy, floorBusy time.Duration
	pictures := 0 // that come with one answer
	for n := range roomsInTurn {
		us, them := newTalk(b, p, ours, encrypted), newTalk(b, p, echo, encrypted)
		if n == 0 {
			us.ask(b, loomLine, "")
		}
		us.first(b)
		pictures = us.pictures
		them.ask(b, "row", "echo: row")
		us.ask(b, "row", rowAnswer)
		us.rest(b, 2)
		long := fmt.Sprint("letters ", us.letters)
		ownBusy, floorBusy = ownBusy-ours.processor(b), floorBusy-echo.processor(b)
		for n := range perRoom {
			floor = append(floor, them.ask(b, "row", "echo: row"))
			asLong = append(asLong, them.ask(b, long, "echo: "+long))
			own = append(own, us.ask(b, "row", rowAnswer))
			us.rest(b, n+3)
		}
		ownBusy, floorBusy = ownBusy+ours.processor(b), floorBusy+echo.processor(b)
	}
	slices.Sort(own)
	slices.Sort(floor)
	slices.Sort(asLong)
	n := len(own)
	b.ReportMetric(ms(own[n/2]), "ms-p50")
	b.ReportMetric(ms(floor[n/2]), "ms-p50-echo")
	b.ReportMetric(float64(own[n/2])/float64(floor[n/2]), "×echo-p50")
	b.ReportMetric(ms(asLong[n/2]), "ms-p50-echo-as-long")
	b.ReportMetric(float64(own[n/2])/float64(asLong[n/2]), "×echo-as-long-p50")
	b.ReportMetric(ms(own[n*99/100]), "ms-p99")
	b.ReportMetric(ms(floor[n*99/100]), "ms-p99-echo")
	b.ReportMetric(ms(ownBusy)/float64(n), "cpu-ms/command")
	b.ReportMetric(float64(pictures), "pictures-in-cpu/command")
	b.ReportMetric(ms(floorBusy)/float64(2*n), "cpu-ms/echo")
	b.ReportMetric(0, "ns/op")
	return n + 3*roomsInTurn + 1
}

// stepAnswer is how the answer begins after so many steps from the first move. A row
// on the loom of loomLine has 52 moves: two for each of 25 groups of six ends, one out
// of the last, and the pick home.
func stepAnswer(steps int) string {
	const moves = 52
	return fmt.Sprintf("Row %d of 1000, move %d of %d", steps/moves+1, steps%moves+1, moves)
}

// stepsInTurn has a student walk a plan, with !next to our bot and to the echo in
// turn, and reports. The plan has so many rows that she is never done.
func stepsInTurn(b *testing.B, s *matrixtest.Server, ours, echo *matrixBot) (asked int) {
	p := s.Student(b, "ida")
	us, them := newTalk(b, p, ours, false), newTalk(b, p, echo, false)
	us.ask(b, loomLine, "")
	us.ask(b, "start raised:3 rows:1000", stepAnswer(0))
	them.ask(b, "!next", "echo: !next")
	var own, floor []time.Duration
	for n := range inShort(askedPerRoom) {
		floor = append(floor, them.ask(b, "!next", "echo: !next"))
		own = append(own, us.ask(b, "!next", stepAnswer(n+1)))
	}
	slices.Sort(own)
	slices.Sort(floor)
	n := len(own)
	b.ReportMetric(ms(own[n/2]), "ms-p50")
	b.ReportMetric(ms(floor[n/2]), "ms-p50-echo")
	b.ReportMetric(float64(own[n/2])/float64(floor[n/2]), "×echo-p50")
	b.ReportMetric(ms(own[n/2]-floor[n/2]), "ms-p50-over-echo")
	b.ReportMetric(ms(own[n*99/100]), "ms-p99")
	b.ReportMetric(ms(floor[n*99/100]), "ms-p99-echo")
	b.ReportMetric(0, "ns/op")
	return n + 2
}

func ms(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// atOnce has many rooms ask at once, and fails when an answer is lost.
func atOnce(b *testing.B, s *matrixtest.Server, ours *matrixBot, encrypted bool) (asked int) {
	perRoom := inShort(askedAtOnce)
	var talks []*talk
	for range askers {
		p := s.Student(b, "cleo")
		for n := range roomsAtOnce / askers {
			t := newTalk(b, p, ours, encrypted)
			if n == 0 {
				t.ask(b, loomLine, "")
			}
			talks = append(talks, t)
		}
	}
	begun := time.Now()
	var all sync.WaitGroup
	for _, t := range talks {
		all.Go(func() {
			for range perRoom {
				t.student.Say(b, t.room, "row")
			}
		})
	}
	all.Wait()
	for _, t := range talks {
		t.student.UntilWithin(b, 10*matrixtest.Patience, "all answers", func() bool { return t.answers() >= perRoom })
	}
	took := time.Since(begun)
	for _, t := range talks {
		if n := t.answers(); n != perRoom {
			b.Errorf("%d answers to %d commands", n, perRoom)
		}
	}
	asked = len(talks) * perRoom
	b.ReportMetric(float64(asked)/took.Seconds(), "commands/s")
	b.ReportMetric(0, "ns/op")
	return asked
}

func (t *talk) answers() int {
	n := 0
	for _, text := range t.student.Texts(t.room) {
		if strings.HasPrefix(text, rowAnswer) {
			n++
		}
	}
	return n
}
