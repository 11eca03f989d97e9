//go:build unix

package chats_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/discord/discordtest"
)

const jsFolder = "../../../../adapters/discord/testdata/judges"

// person is a member of a class whose loom is stored.
type person struct {
	user *discordtest.User
	room *discordtest.Channel
}

// bench is one bot in a process of its own, on a server of its own.
type bench struct {
	t      testing.TB
	name   string
	server *discordtest.Server
	people []person
	cmd    *exec.Cmd
	ask    io.Writer
	told   *bufio.Scanner
	began  time.Duration // from the start of the process to READY
}

// discordBots are the bots that are compared, ours first. The last is left out
// where there is no Node.
func discordBots(t testing.TB, people int) []*bench {
	t.Helper()
	bots := []*bench{startBot(t, "weftroom", people, nil), startBot(t, "discordgo", people, nil)}
	if _, err := os.Stat(filepath.Join(jsFolder, "node_modules", "discord.js")); err != nil {
		t.Log("SKIP: discord.js is not installed, so there is no comparison with it (npm ci in adapters/discord/testdata/judges)")
		return bots
	}
	return append(bots, startBot(t, "discord.js", people, []string{"node", filepath.Join(jsFolder, "echo.mjs")}))
}

func startBot(t testing.TB, name string, people int, command []string) *bench {
	t.Helper()
	// Its clock stands still, so that on a busy machine no answer is too late.
	now := time.Now()
	s := discordtest.New(t, discordtest.Options{Keep: 1024, Now: func() time.Time { return now }})
	b := &bench{t: t, name: name, server: s}
	g := s.Guild("Tarnholm")
	for n := range people {
		p := person{s.User(fmt.Sprint("Student ", n)), g.Channel(fmt.Sprint("loom-", n))}
		g.Join(p.user)
		b.people = append(b.people, p)
	}
	raw, err := json.Marshal(orders{Bot: name, Server: addressOf(s.URL), Token: s.Token, Database: filepath.Join(t.TempDir(), "weftroom.sqlite")})
	if err != nil {
		t.Fatal(err)
	}
	b.cmd = exec.Command(os.Args[0])
	b.cmd.Env = append(os.Environ(), ordersVar+"="+string(raw))
	if command != nil {
		b.cmd = exec.Command(command[0], append(command[1:], s.URL, s.Token)...)
	}
	var errs bytes.Buffer
	b.cmd.Stderr = &errs
	in, err := b.cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := b.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	b.ask, b.told = in, bufio.NewScanner(out)
	begun := time.Now()
	if err := b.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = b.cmd.Process.Kill()
		_ = b.cmd.Wait()
		if t.Failed() {
			t.Logf("%s: %s", name, errs.String())
		}
	})
	ctx := patience(t)
	if err := s.AwaitGateway(ctx, discordtest.Ready); err != nil {
		t.Fatalf("%s is not ready: %v; %s", name, err, errs.String())
	}
	b.began = time.Since(begun)
	if err := s.AwaitCommands(ctx); err != nil {
		t.Fatalf("%s has no commands: %v", name, err)
	}
	if name == "weftroom" {
		b.dressLooms()
	}
	return b
}

func patience(t testing.TB) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// dressLooms has everyone store her loom, in her own way.
func (b *bench) dressLooms() {
	b.t.Helper()
	for n, p := range b.people {
		values := discordtest.Values{"kind": "rigid heddle", "heddle": "10", "ends": 97 + n, "rightmost": "hole"}
		m := b.answered(p, "loom", values)
		if !strings.Contains(m.Text(), "loom") {
			b.t.Fatalf("the loom of %d: %s", n, m.Text())
		}
	}
	if m := b.answered(b.people[0], "row", nil); !strings.Contains(m.Text(), "raise") && !strings.Contains(m.Text(), "under") {
		b.t.Fatalf("no plan: %s", m.Text())
	} else {
		b.t.Logf("row answers with %d characters, %d buttons, %d files", len(m.Text()), len(m.Buttons()), len(m.Files))
	}
}

func (b *bench) answered(p person, name string, values discordtest.Values) discordtest.Message {
	b.t.Helper()
	i, err := p.user.Slash(p.room, name, values)
	if err != nil {
		b.t.Fatal(err)
	}
	m, err := i.Message(b.t.Context())
	if err != nil {
		b.t.Fatalf("%s: %v", b.name, err)
	}
	return m
}

// timed has a person ask, and gives the time from the interaction to its first
// answer.
func (b *bench) timed(p person, q question) time.Duration {
	begun := time.Now()
	i, err := p.user.Slash(p.room, q.command, q.values)
	if err == nil {
		ctx, cancel := context.WithTimeout(b.t.Context(), 30*time.Second)
		defer cancel()
		_, err = i.Message(ctx)
	}
	took := time.Since(begun)
	if err != nil {
		b.t.Errorf("%s: no answer: %v; refused: %v", b.name, err, b.server.Refused())
	}
	return took
}

// question is what is asked.
type question struct {
	command string
	values  discordtest.Values
}

// row is a plan with its pictures, sett an answer in words. Both look at the
// stored loom. The bots that echo have one command.
var (
	row  = question{"row", nil}
	sett = question{"sett", discordtest.Values{"yarn": "8/2 cotton"}}
)

func (b *bench) words() question {
	if b.name == "weftroom" {
		return sett
	}
	return row
}

// pictured waits until pictures are on a screen, so that what is measured next does
// not share the machine with their sending. The server keeps only the newest
// interactions, and would refuse pictures of older ones.
func (b *bench) pictured(screen *discordtest.View) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.t.Context(), 30*time.Second)
	defer cancel()
	for {
		if m, err := screen.Next(ctx); err != nil {
			b.t.Errorf("%s: no pictures: %v; refused: %v", b.name, err, b.server.Refused())
			return
		} else if len(m.Files) > 0 {
			return
		}
	}
}

// asked has people ask, so many at once, and gives the times in order of size.
func (b *bench) asked(q question, n, atOnce int) (took []time.Duration, all time.Duration) {
	b.t.Helper()
	took = make([]time.Duration, n)
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	var group sync.WaitGroup
	begun := time.Now()
	for w := range atOnce {
		group.Go(func() {
			p := b.people[w%len(b.people)]
			screen := p.user.View(p.room)
			for i := range next {
				took[i] = b.timed(p, q)
				if b.name == "weftroom" && q.command == row.command {
					b.pictured(screen)
				}
			}
		})
	}
	group.Wait()
	all = time.Since(begun)
	slices.Sort(took)
	return took, all
}

// resident is the memory of the process, in bytes.
func (b *bench) resident() float64 {
	b.t.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", b.cmd.Process.Pid))
	if err != nil {
		b.t.Skip("SKIP: the memory of a process can be read on Linux only")
	}
	for line := range strings.Lines(string(raw)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			kb, err := strconv.Atoi(strings.Fields(rest)[0])
			if err != nil {
				b.t.Fatal(err)
			}
			return float64(kb) * 1024
		}
	}
	b.t.Fatal("no VmRSS")
	return 0
}

// heap is what lives on the heap of a bot in Go.
func (b *bench) heap() float64 {
	b.t.Helper()
	if _, err := io.WriteString(b.ask, "heap\n"); err != nil {
		b.t.Fatal(err)
	}
	if !b.told.Scan() {
		b.t.Fatalf("%s does not say how large its heap is", b.name)
	}
	n, err := strconv.ParseFloat(b.told.Text(), 64)
	if err != nil {
		b.t.Fatal(err)
	}
	return n
}

func quantile(sorted []time.Duration, q float64) time.Duration {
	return sorted[min(int(float64(len(sorted))*q), len(sorted)-1)]
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

const mib = 1 << 20

// BenchmarkDiscord asks for N rows of a stored loom. The bots take turns, so that
// a busy machine is busy for all of them. The differences are what counts; the
// times themselves hold the server, the same for all. They are those of the words:
// the pictures of a row come after them, and are drawn once and then kept.
func BenchmarkDiscord(b *testing.B) {
	bots := discordBots(b, 1)
	took, words := make([][]time.Duration, len(bots)), []time.Duration{}
	screen := bots[0].people[0].user.View(bots[0].people[0].room)
	for range b.N {
		for i, bot := range bots {
			took[i] = append(took[i], bot.timed(bot.people[0], row))
			if i == 0 {
				bot.pictured(screen)
			}
			bot.timed(bot.people[0], bot.words())
			if again := bot.timed(bot.people[0], bot.words()); i == 0 {
				words = append(words, again)
			}
		}
	}
	slices.Sort(words)
	b.ReportMetric(ms(quantile(words, 0.5)), "ms-p50-words-weftroom")
	b.ReportMetric(ms(quantile(words, 0.99)), "ms-p99-words-weftroom")
	for i, bot := range bots {
		slices.Sort(took[i])
		p50, p99 := quantile(took[i], 0.5), quantile(took[i], 0.99)
		b.ReportMetric(ms(p50), "ms-p50-"+bot.name)
		b.ReportMetric(ms(p99), "ms-p99-"+bot.name)
		b.ReportMetric(ms(bot.began), "ms-to-ready-"+bot.name)
		if i > 0 {
			b.ReportMetric(ms(quantile(took[0], 0.5)-p50), "ms-p50-over-"+bot.name)
			b.ReportMetric(ms(quantile(took[0], 0.99)-p99), "ms-p99-over-"+bot.name)
		}
	}
	b.ReportMetric(0, "ns/op")
}

// BenchmarkDiscordStep presses Next under a plan N times, each of which changes the
// message that holds the button; the floors' button changes theirs. The plan is of
// the stored loom, so that at each new row it is looked up whether it still holds.
func BenchmarkDiscordStep(b *testing.B) {
	bots := discordBots(b, 1)
	shown, took := make([]discordtest.Message, len(bots)), make([][]time.Duration, len(bots))
	for i, bot := range bots {
		values := discordtest.Values(nil)
		if i == 0 {
			values = discordtest.Values{"rows": 1000}
		}
		shown[i] = bot.answered(bot.people[0], "start", values)
	}
	for range b.N {
		for i, bot := range bots {
			var d time.Duration
			shown[i], d = bot.stepped(bot.people[0], shown[i])
			took[i] = append(took[i], d)
		}
	}
	if !strings.Contains(shown[0].Text(), "of 1000, move") {
		b.Fatalf("no step: %s", shown[0].Text())
	}
	for i, bot := range bots {
		slices.Sort(took[i])
		p50, p99 := quantile(took[i], 0.5), quantile(took[i], 0.99)
		b.ReportMetric(ms(p50), "ms-p50-"+bot.name)
		b.ReportMetric(ms(p99), "ms-p99-"+bot.name)
		if i > 0 {
			own50, own99 := quantile(took[0], 0.5), quantile(took[0], 0.99)
			b.ReportMetric(ms(own50-p50), "ms-p50-over-"+bot.name)
			b.ReportMetric(ms(own99-p99), "ms-p99-over-"+bot.name)
			b.ReportMetric(float64(own50)/float64(p50), "x-p50-"+bot.name)
		}
	}
	b.ReportMetric(0, "ns/op")
}

// stepped presses Next, and gives the message as it is then and the time to it.
func (b *bench) stepped(p person, m discordtest.Message) (discordtest.Message, time.Duration) {
	b.t.Helper()
	before, begun := m.Text(), time.Now()
	i, err := p.user.Press(m, "Next")
	if err != nil {
		b.t.Fatalf("%s: %v", b.name, err)
	}
	ctx, cancel := context.WithTimeout(b.t.Context(), 30*time.Second)
	defer cancel()
	if m, err = i.Message(ctx); err != nil {
		b.t.Fatalf("%s: no answer: %v; refused: %v", b.name, err, b.server.Refused())
	}
	took := time.Since(begun)
	if b.name == "weftroom" && m.Text() == before {
		b.t.Fatalf("the message is as before: %s", before)
	}
	return m, took
}

// BenchmarkDiscordInFlight has 64 people ask at once, for words, N times.
func BenchmarkDiscordInFlight(b *testing.B) {
	const people = 64
	bots := discordBots(b, people)
	rate := make([]float64, len(bots))
	for i, bot := range bots {
		bot.asked(bot.words(), people*2, people) // warm
		took, all := bot.asked(bot.words(), b.N, people)
		rate[i] = float64(b.N) / all.Seconds()
		b.ReportMetric(rate[i], "answers/s-"+bot.name)
		b.ReportMetric(ms(quantile(took, 0.5)), "ms-p50-"+bot.name)
	}
	for i, bot := range bots[1:] {
		b.ReportMetric(rate[0]/rate[i+1], "x-"+bot.name)
	}
	b.ReportMetric(0, "ns/op")
}

// BenchmarkDiscordMemory has N interactions, of which each hundredth asks for
// pictures, and looks at the memory before, half way, and after.
func BenchmarkDiscordMemory(b *testing.B) {
	const people = 16
	for _, bot := range discordBots(b, people) {
		b.ReportMetric(bot.resident()/mib, "MiB-idle-"+bot.name)
		bot.work(b.N/2, people)
		if bot.name != "discord.js" {
			b.ReportMetric(bot.heap()/mib, "MiB-heap-half-"+bot.name)
		}
		bot.work(b.N-b.N/2, people)
		b.ReportMetric(bot.resident()/mib, "MiB-after-"+bot.name)
		if bot.name != "discord.js" {
			b.ReportMetric(bot.heap()/mib, "MiB-heap-whole-"+bot.name)
		}
	}
	b.ReportMetric(0, "ns/op")
}

// work asks n times, for pictures each hundredth time.
func (b *bench) work(n, atOnce int) {
	b.t.Helper()
	b.asked(row, n/100, atOnce)
	b.asked(b.words(), n-n/100, atOnce)
}
