//go:build goolm && unix

package matrix

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
	"weftroom/config"
)

func init() { child = beBot }

// beBot is a bot in a process of its own, until its standard input ends. It says
// when it has begun to answer, and keeps a request that says "hang" for ever.
func beBot(orders string) error {
	var settings config.Matrix
	if err := json.Unmarshal([]byte(orders), &settings); err != nil {
		return err
	}
	chat, err := New(settings, Options{Notes: &memory{}, Texts: words, Log: slog.New(slog.NewTextHandler(os.Stderr, nil))})
	if err != nil {
		return err
	}
	ctx, end := context.WithCancel(context.Background())
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin)
		end()
	}()
	hangs := os.Getenv("WEFTROOM_MATRIX_HANG") != ""
	if room := os.Getenv("WEFTROOM_MATRIX_POSTS"); room != "" {
		go postForEver(ctx, chat, bot.Place{Chat: Name, Room: room}, filepath.Join(settings.Keys, "posts"))
	}
	return chat.Run(ctx, answers(func(ctx context.Context, r bot.Request) bot.Reply {
		fmt.Println("begun", r.Line)
		switch {
		case hangs && r.Line == "hang":
			select {} // until it is killed
		case strings.HasPrefix(r.Line, "ask "):
			return bot.Reply{Title: "answer to " + r.ID}
		}
		return echoes(ctx, r)
	}))
}

// process is such a bot.
type process struct {
	t      testing.TB
	cmd    *exec.Cmd
	stdin  io.WriteCloser
	stderr strings.Builder
	begun  chan string  // the lines that it has begun to answer
	heap   atomic.Int64 // bytes in use, as it last said
}

func startChild(t testing.TB, settings config.Matrix, env ...string) *process {
	t.Helper()
	raw, err := json.Marshal(settings)
	if err != nil {
		t.Fatal(err)
	}
	p := &process{t: t, cmd: exec.Command(os.Args[0]), begun: make(chan string, 1000)}
	p.cmd.Env = append(append(os.Environ(), childVar+"="+string(raw)), env...)
	p.cmd.Stderr = &p.stderr
	if p.stdin, err = p.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(p.begun)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if heap, ok := strings.CutPrefix(lines.Text(), "heap "); ok {
				n, _ := strconv.ParseInt(heap, 10, 64)
				p.heap.Store(n)
				continue
			}
			select {
			case p.begun <- lines.Text():
			default: // nobody listens
			}
		}
	}()
	return p
}

// kill ends it as a power cut would.
func (p *process) kill() {
	p.t.Helper()
	_ = p.cmd.Process.Kill()
	if err := p.cmd.Wait(); err == nil || p.cmd.ProcessState.ExitCode() >= 0 {
		p.t.Errorf("it had ended by itself: %v\n%s", err, p.stderr.String())
	}
	p.stdin.Close()
}

// stop asks it to end.
func (p *process) stop() {
	p.t.Helper()
	p.stdin.Close()
	if err := p.cmd.Wait(); err != nil {
		p.t.Errorf("%v\n%s", err, p.stderr.String())
	}
}

// until waits until it has begun to answer a line.
func (p *process) until(line string) {
	p.t.Helper()
	over := time.After(matrixtest.Patience)
	for {
		select {
		case got, ok := <-p.begun:
			if got == "begun "+line {
				return
			}
			if !ok {
				p.t.Fatalf("it has ended\n%s", p.stderr.String())
			}
		case <-over:
			p.t.Fatalf("%q was not begun\n%s", line, p.stderr.String())
		}
	}
}

// TestTrap4KilledInBetween kills the bot in the middle of a command, when the
// place in the stream of a naive client is behind it already.
func TestTrap4KilledInBetween(t *testing.T) {
	t.Parallel()
	for _, encrypted := range []bool{false, true} {
		t.Run(fmt.Sprint("encrypted ", encrypted), func(t *testing.T) {
			t.Parallel()
			s := matrixtest.Shared(t)
			d := newDevice(t, s)
			ada := s.Student(t, "ada")
			d.up(echoes)
			room := class(t, ada, d, encrypted)
			d.stop()
			p := startChild(t, d.settings, "WEFTROOM_MATRIX_HANG=yes")
			ada.Say(t, room, "!before")
			wantOnce(t, ada, room, "you said before")
			ada.Say(t, room, "!hang")
			p.until("hang")
			p.kill()
			ada.Say(t, room, "!while it is away")
			p = startChild(t, d.settings)
			wantOnce(t, ada, room, "you said before", "you said hang", "you said while it is away")
			ada.Say(t, room, "!after")
			wantOnce(t, ada, room, "you said before", "you said hang", "you said while it is away", "you said after")
			p.stop()
		})
	}
}

// TestKilledBeforeTheMark kills the bot when the server has its answer, and the
// bot does not know that yet.
func TestKilledBeforeTheMark(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	ada := s.Student(t, "ada")
	d.up(echoes)
	room := class(t, ada, d, true)
	d.stop()
	proxy := s.Proxy(t)
	behind := d.settings
	behind.Homeserver = proxy.URL
	there := make(chan bool, 1)
	var n atomic.Int32
	proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if isSend(r) && n.Add(1) == 1 {
			return matrixtest.Hold
		}
		return matrixtest.Pass
	}, func(*http.Request) { there <- true })
	p := startChild(t, behind)
	ada.Say(t, room, "!hello")
	<-there
	p.kill()
	p = startChild(t, d.settings)
	ada.Say(t, room, "!after")
	wantOnce(t, ada, room, "you said hello", "you said after")
	p.stop()
}

// TestKilledOften kills the bot at moments of no choice while people ask.
func TestKilledOften(t *testing.T) {
	t.Parallel()
	const people, each, kills = 3, 12, 8
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	ada := s.Student(t, "ada")
	all := []*matrixtest.Student{ada}
	room := ada.Room(t, true) // all are in it before the bot, whose welcome they can read then
	for n := 1; n < people; n++ {
		p := s.Student(t, fmt.Sprint("student-", n))
		ada.Invite(t, room, p.ID)
		ada.UntilJoined(t, room, p.ID)
		p.UntilJoined(t, room, p.ID)
		all = append(all, p)
	}
	ada.Invite(t, room, d.account.ID)
	ada.UntilText(t, room, string(bot.KeyWelcomeRoom))
	d.stop()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 0))
	var talking sync.WaitGroup
	var want []string
	for n, p := range all {
		for i := range each {
			want = append(want, fmt.Sprintf("you said %d of %d", i, n))
		}
		talking.Go(func() {
			for i := range each {
				p.Say(t, room, fmt.Sprintf("!%d of %d", i, n))
			}
		})
	}
	child := startChild(t, d.settings)
	for range kills {
		select { // after some answers, or while it starts
		case <-child.begun:
			for range random.IntN(3) {
				select {
				case <-child.begun:
				case <-time.After(100 * time.Millisecond):
				}
			}
		case <-time.After(time.Duration(random.IntN(2000)) * time.Millisecond):
		}
		child.kill()
		child = startChild(t, d.settings)
	}
	talking.Wait()
	t.Cleanup(func() {
		if t.Failed() {
			have := counts(ada.Texts(room))
			for _, text := range want {
				if have[text] != 1 {
					t.Logf("%q came %d times", text, have[text])
				}
			}
			t.Logf("not read: %v; the last process said:\n%s", ada.Undecryptable(), child.stderr.String())
		}
	})
	ada.UntilWithin(t, 3*matrixtest.Patience, "all answers", func() bool {
		have := counts(ada.Texts(room))
		for _, text := range want {
			if have[text] == 0 {
				return false
			}
		}
		return true
	})
	ada.Say(t, room, "!the end")
	wantOnce(t, ada, room, append(want, "you said the end")...)
	child.stop()
	for _, p := range all {
		if failed := p.Undecryptable(); len(failed) > 0 {
			t.Errorf("%s could not read %v", p.ID, failed)
		}
	}
}
