package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

var lobby = bot.Place{Chat: "loopback", Room: "hall"}

// tenant is a house on a database, with a chat in memory.
type tenant struct {
	*house
	t     *testing.T
	where string
	chat  *loopback.Chat
	said  *log
	asks  atomic.Int64
}

// log is what was logged.
type log struct {
	mu   sync.Mutex
	text strings.Builder
}

// Write implements io.Writer.
func (l *log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// moveIn opens a house that the test closes when it is over.
func moveIn(t *testing.T, where string, people func(bot.People) bot.People) *tenant {
	t.Helper()
	said := &log{}
	h, err := openHouse(t.Context(), where, store.Options{}, newLog(said, slog.LevelDebug), people)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.close)
	return &tenant{house: h, t: t, where: where, chat: loopback.New("loopback", "hall", "ottilie", "zephyrine"), said: said}
}

func freshFile(t *testing.T) string { return filepath.Join(t.TempDir(), "class.db") }

// running begins work in the background. The function asks it to end and gives
// what came of it; it may be called again.
func running(t *testing.T, work func(ctx context.Context) error) (end func() error) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- work(ctx) }()
	end = func() error {
		t.Helper()
		cancel()
		select {
		case err := <-ended:
			ended <- err
			return err
		case <-time.After(time.Minute):
			t.Fatal("it does not end")
			return nil
		}
	}
	t.Cleanup(func() { _ = end() }) // who wants to know has asked
	return end
}

func (n *tenant) running() (end func() error) {
	return running(n.t, func(ctx context.Context) error { return n.run(ctx, []bot.Adapter{n.chat}) })
}

// request is a line of ottilie's in the hall, which she may run, or of another's.
func (n *tenant) request(user, line string) bot.Request {
	return bot.Request{
		ID: fmt.Sprint("request-", n.asks.Add(1)), From: bot.Account{Chat: "loopback", User: user}, In: lobby,
		Power: user == "ottilie", Name: user, At: time.Now(), Line: line,
	}
}

// ask has a line answered.
func (n *tenant) ask(user, line string) bot.Reply {
	n.t.Helper()
	return n.Handle(n.t.Context(), n.request(user, line))
}

func (n *tenant) must(user, line string) bot.Reply {
	n.t.Helper()
	r := n.ask(user, line)
	if r.Problem != nil {
		n.t.Fatalf("%s: %s", line, r.Problem.Sentence())
	}
	return r
}

// post adds a post to the hall, due now, and gives its key.
func (n *tenant) post(text string) string {
	n.t.Helper()
	now := time.Now()
	key := timetable.PostKey("test", text)
	_, err := n.box.Add(n.t.Context(), now, timetable.Post{
		Key: key, To: lobby, Kind: timetable.KindSay, Payload: []byte(`{"text":"` + text + `"}`), Due: now, Expires: now.Add(time.Hour),
	})
	if err != nil {
		n.t.Fatal(err)
	}
	return key
}

// eventually waits until something is so.
func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		if is() {
			return
		}
	}
	t.Fatalf("%s: it does not come true", what)
}

func (n *tenant) shows(text string) func() bool {
	return func() bool { return strings.Contains(n.chat.String(), text) }
}

// TestNothingOfATalkIsLogged: a class's talk and posts, with every way to fail
// that is at hand, leaves ids in the log and nothing of what anyone wrote.
func TestNothingOfATalkIsLogged(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	n.chat.Script(func(_ bot.Place, _ string, try int) loopback.Fault {
		if try == 1 {
			return loopback.Fault{Err: errors.New(`Post "https://chat.example/hooks/t0ken-of-ours": EOF`)}
		}
		return loopback.Fault{}
	})
	end := n.running()
	soon := time.Now().AddDate(0, 0, 7).Format(time.DateOnly)
	for _, l := range [][2]string{
		{"ottilie", `class open "Flamingo lace" zone:Berlin`},
		{"ottilie", `session add "` + soon + ` 19:00" topic:"Tortoise stitch" link:https://meet.example/s3cret-room`},
		{"zephyrine", "join name:Zephyrine"},
		{"zephyrine", "question Why do my pelicans slip?"},
		{"zephyrine", "loom colour:vermilion"},
		{"zephyrine", "class open Ostrich zone:Berlin"},
		{"zephyrine", "link code:WRNG-C0DE"},
		{"ottilie", `say sure:yes text:"Bring a marmalade comb."`},
		{"ottilie", "session link 1 link:https://meet.example/an0ther-room"},
	} {
		n.ask(l[0], l[1])
	}
	alone := n.request("zephyrine", "link")
	alone.In, alone.Direct = bot.Place{Chat: "loopback", Room: "direct:zephyrine"}, true
	code := regexp.MustCompile(`[A-Z0-9]{4}-[A-Z0-9]{4}`).FindString(bot.Plain(n.Handle(t.Context(), alone)))
	if code == "" {
		t.Fatal("no code was given")
	}
	eventually(t, "the words of the teacher", n.shows("marmalade"))
	eventually(t, "the new link", n.shows("an0ther-room"))
	n.try(t.Context(), "part", func(context.Context) error { panic("the pelicans of Zephyrine") })
	if err := end(); err != nil {
		t.Error(err)
	}
	n.close()
	n.ask("zephyrine", "question And who feeds the pelicans?") // there is no database any more

	logged := n.said.String()
	for _, secret := range []string{ // none that ids and addresses, in hexadecimal, could be by chance
		"flamingo", "tortoise", "s3cret", "an0ther", "meet.example", "pelican", "vermilion", "ostrich", "wrng", code, "marmalade",
		"zephyrine", "ottilie", "t0ken", "chat.example", "Berlin",
	} {
		if i := strings.Index(strings.ToLower(logged), strings.ToLower(secret)); i >= 0 {
			t.Errorf("%q is logged: …%s…", secret, logged[max(0, i-150):min(len(logged), i+50)])
		}
	}
	for i := range n.asks.Load() {
		if id := fmt.Sprint("request=request-", i+1, " "); !strings.Contains(logged, id) {
			t.Errorf("no line about %s", id)
		}
	}
	for _, want := range []string{`msg="post sent" post=`, `msg="post will be tried again" post=`, `https://…`, "panic=", `msg="request failed" reference=`} {
		if !strings.Contains(logged, want) {
			t.Errorf("no line with %s in\n%s", want, logged)
		}
	}
}

// TestLogIsHarmless: whatever a library puts into an error.
func TestLogIsHarmless(t *testing.T) {
	for _, c := range []struct {
		name string
		args []any
		want string
	}{
		{"an address", []any{"err", errors.New(`Get "https://h/x?token=t": EOF`)}, `err="Get \"https://…\": EOF"`},
		{"a database with its password", []any{"err", errors.New("dial postgres://a:b@h/d now")}, `err="dial postgres://… now"`},
		{"an address in a text", []any{"reason", "see matrix+https://h/x"}, `reason="see matrix+https://…"`},
		{"a panic in words", []any{"panic", "the words of somebody"}, `panic="not shown; see the stack"`},
		{"a panic of the runtime", []any{"panic", "runtime error: index out of range [3] with length 3"}, `panic="runtime error: index out of range [3] with length 3"`},
		{"ids and numbers as they are", []any{"post", 7, "took", time.Second, "held", true}, "post=7 took=1s held=true"},
	} {
		said := &log{}
		newLog(said, slog.LevelInfo).Info("it happened", c.args...)
		if !strings.HasSuffix(said.String(), ` level=INFO msg="it happened" `+c.want+"\n") {
			t.Errorf("%s: %s", c.name, said)
		}
	}
}

// slow is people whom the database does not find at once when they only ask. (A change
// is a transaction by then, for which on SQLite all wait that end before the chats.)
type slow struct {
	bot.People
	begun   chan string
	release chan struct{}
}

// Asker implements bot.People.
func (s slow) Asker(ctx context.Context, r bot.Request) (bot.Asker, error) {
	if r.Line == "class show" {
		s.begun <- r.ID
		<-s.release
	}
	return s.People.Asker(ctx, r)
}

// TestRequestInHandIsFinished: the database is slow, and the chats are told to
// end meanwhile.
func TestRequestInHandIsFinished(t *testing.T) {
	begun, release := make(chan string, 10), make(chan struct{})
	n := moveIn(t, freshFile(t), func(p bot.People) bot.People { return slow{p, begun, release} })
	told := make(chan struct{})
	chat := overheard{n.chat, told}
	end := running(t, func(ctx context.Context) error { return n.run(ctx, []bot.Adapter{chat}) })
	n.chat.Ask(n.request("ottilie", `class open "Lace" zone:Berlin`))
	n.chat.Ask(n.request("ottilie", "class show"))
	<-begun
	go func() {
		<-told
		close(release)
	}()
	if err := end(); err != nil {
		t.Error(err)
	}
	got := n.chat.String()
	for _, answer := range []string{"The class Lace meets here", "zone: Europe/Berlin"} {
		if !strings.Contains(got, answer) {
			t.Errorf("%q is not answered: %q", answer, got)
		}
	}
	if _, err := n.db.ClassIn(t.Context(), lobby); err != nil {
		t.Errorf("the class: %v", err)
	}
}

// TestRequestInHandIsCutOff: not for ever.
func TestRequestInHandIsCutOff(t *testing.T) {
	begun := make(chan string, 10)
	n := moveIn(t, freshFile(t), func(p bot.People) bot.People { return stuck{p, begun} })
	n.requestGrace = 50 * time.Millisecond
	end := n.running()
	n.chat.Ask(n.request("ottilie", "class show"))
	<-begun
	if err := end(); err != nil {
		t.Error(err)
	}
	if got := n.said.String(); !strings.Contains(got, "outcome=busy") {
		t.Errorf("the log:\n%s", got)
	}
}

// stuck is people whom the database never finds.
type stuck struct {
	bot.People
	begun chan string
}

// Asker implements bot.People.
func (s stuck) Asker(ctx context.Context, r bot.Request) (bot.Asker, error) {
	s.begun <- r.ID
	<-ctx.Done()
	return bot.Asker{}, ctx.Err()
}

// overheard closes told once its chat is told to end.
type overheard struct {
	*loopback.Chat
	told chan struct{}
}

// Run implements bot.Adapter.
func (o overheard) Run(ctx context.Context, h bot.Handler) error {
	context.AfterFunc(ctx, func() { close(o.told) })
	return o.Chat.Run(ctx, h)
}

// TestPostInHandIsFinished: and the chat is still there for it.
func TestPostInHandIsFinished(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	n.chat.Script(func(bot.Place, string, int) loopback.Fault { return loopback.Fault{Wait: 200 * time.Millisecond} })
	end := n.running()
	key := n.post("Half past seven.")
	eventually(t, "the first try", func() bool { return n.chat.Tries(key) == 1 })
	if err := end(); err != nil {
		t.Error(err)
	}
	if !n.shows("Half past seven.")() {
		t.Error("the post was cut off")
	}
	if waiting, err := n.box.Waiting(t.Context()); err != nil || waiting != 0 {
		t.Errorf("%d posts wait still, %v", waiting, err)
	}
}

// stubborn is a chat whose Run does what a test says.
type stubborn struct {
	*loopback.Chat
	run func(ctx context.Context) error
}

// Run implements bot.Adapter.
func (s stubborn) Run(ctx context.Context, _ bot.Handler) error { return s.run(ctx) }

func TestTheEndIsBounded(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	n.stopGrace = 100 * time.Millisecond
	release := make(chan struct{})
	defer close(release)
	deaf := stubborn{n.chat, func(context.Context) error { <-release; return nil }}
	end := running(t, func(ctx context.Context) error { return n.run(ctx, []bot.Adapter{deaf}) })
	if err := end(); err == nil || !strings.Contains(err.Error(), "within 100ms") {
		t.Errorf("ended with %v", err)
	}
}

// TestAChatThatFailsEndsTheHouse: it is for the service manager to start anew.
func TestAChatThatFailsEndsTheHouse(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	over := errors.New("the chat does not know us any more")
	err := n.run(t.Context(), []bot.Adapter{n.chat, stubborn{loopback.New("other", "hall"), func(context.Context) error { return over }}})
	if !errors.Is(err, over) {
		t.Errorf("ended with %v", err)
	}
}

// TestPanics: a part that panics is begun anew; the others have not noticed.
func TestPanics(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	var runs atomic.Int64
	shaky := stubborn{loopback.New("other", "hall"), func(ctx context.Context) error {
		if runs.Add(1) == 1 {
			var none []int
			_ = none[3]
		}
		<-ctx.Done()
		return nil
	}}
	end := running(t, func(ctx context.Context) error { return n.run(ctx, []bot.Adapter{n.chat, shaky}) })
	n.post("Before.")
	eventually(t, "a post while a chat is down", n.shows("Before."))
	eventually(t, "the chat begun anew", func() bool { return runs.Load() == 2 })
	n.post("After.")
	eventually(t, "a post", n.shows("After."))
	if err := end(); err != nil {
		t.Error(err)
	}
	if got := n.said.String(); !strings.Contains(got, `level=ERROR msg=panic in="chat other" panic="runtime error: index out of range [3]`) || !strings.Contains(got, "house_test.go") {
		t.Errorf("the log:\n%s", got)
	}
	if got := metrics(t, n.house); !strings.Contains(got, `weftroom_panics_total{part="chat other"} 1`) {
		t.Errorf("the metrics:\n%s", got)
	}
}

// TestListeningPanics: the sender listens in a goroutine of its own.
func TestListeningPanics(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	s := steady{nil, n.house} // a method of nothing panics
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if err := s.Listen(ctx, func() {}); err != nil {
		t.Error(err)
	}
	if got := n.said.String(); !strings.Contains(got, `in="listening for posts"`) {
		t.Errorf("the log:\n%s", got)
	}
}
