//go:build unix

package delivery_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"os/signal"
	"syscall"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// orders tell a child process what to do.
type orders struct {
	Name     string
	Database string // a path or an URL
	Socket   string // of the receiver
	Chats    []string
	Look     bool // before it sends again
	Parallel int
	Lease    time.Duration
	Timeout  time.Duration
	Commands class.ID // the class that requests are about; "" for none
}

const ordersVar = "WEFTROOM_DELIVERY_ORDERS"

// TestMain is the child's main as well.
func TestMain(m *testing.M) {
	if raw := os.Getenv(ordersVar); raw != "" {
		if err := child(raw); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// child sends, and answers requests, until it is told to stop.
func child(raw string) error {
	var o orders
	if err := json.Unmarshal([]byte(raw), &o); err != nil {
		return err
	}
	go func() { // nobody outlives the test
		_, _ = io.Copy(io.Discard, os.Stdin)
		os.Exit(3)
	}()
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	fmt.Println("it listens to signals")
	db, err := store.OpenURL(ctx, o.Database, store.Options{})
	if err != nil && ctx.Err() != nil {
		return nil // told to stop before it had begun
	}
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelError}))
	box, err := store.NewOutbox(ctx, db, log)
	if err != nil {
		return err
	}
	var adapters []bot.Adapter
	for _, chat := range o.Chats {
		c := newCourier(chat, o.Name, o.Socket)
		if adapters = append(adapters, c); o.Look {
			adapters[len(adapters)-1] = looker{c}
		}
	}
	answering := make(chan error, 1)
	go func() { answering <- answerAll(ctx, o, db, box) }()
	sender := timetable.NewSender(box, adapters, renderNumber, timetable.Options{
		Log: log, Parallel: o.Parallel, Lease: o.Lease, SendTimeout: o.Timeout,
	})
	return errors.Join(sender.Run(ctx), <-answering, db.Close())
}

func renderNumber(_ context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
	d, err := timetable.DetailsOf(p)
	return bot.Reply{Title: d.Text}, timetable.Send, err
}

// answerAll asks for requests and answers them, one after the other. Each asks
// one question and posts one message.
func answerAll(ctx context.Context, o orders, db *store.DB, box *store.Outbox) error {
	if o.Commands == "" {
		return nil
	}
	c := newCourier("", o.Name, o.Socket)
	for ctx.Err() == nil {
		var a asked
		if err := c.do(ctx, http.MethodGet, "/request", nil, &a); err != nil || a.ID == "" {
			sleep(ctx, 5*time.Millisecond)
			continue
		}
		q := bot.Request{ID: a.ID, From: a.From, Line: a.Line}
		reply, err := db.Once(ctx, q, func(ctx context.Context) (bot.Reply, error) { return o.ask(ctx, q, db, box) })
		if err != nil {
			continue // the request will come again
		}
		path := "/answer?id=" + url.QueryEscape(q.ID)
		_ = c.do(ctx, http.MethodPost, path, reply.Title, nil) // and again, if this fails
	}
	return nil
}

func (o orders) ask(ctx context.Context, q bot.Request, db *store.DB, box *store.Outbox) (bot.Reply, error) {
	p, err := db.PersonOf(ctx, q.From, q.From.User)
	if err != nil {
		return bot.Reply{}, err
	}
	asked, err := db.AddQuestion(ctx, class.Question{Class: o.Commands, Person: p.ID, Text: q.Line, Asked: time.Now()})
	if err != nil {
		return bot.Reply{}, err
	}
	_, err = box.Add(ctx, time.Now(), numbered(o.Chats[0], "questions", asked.Number-1))
	return bot.Reply{Title: fmt.Sprint("question ", asked.Number)}, err
}

// numbered is the post number n of a room, due now.
func numbered(chat, room string, n int) timetable.Post {
	now := time.Now()
	raw, _ := json.Marshal(timetable.Details{Text: fmt.Sprint(n)})
	return timetable.Post{
		Key: timetable.PostKey(chat, room, fmt.Sprint(n)), To: bot.Place{Chat: chat, Room: room}, Kind: timetable.KindSay,
		Payload: raw, Due: now, Expires: now.Add(time.Hour),
	}
}

func sleep(ctx context.Context, d time.Duration) {
	select {
	case <-time.After(d):
	case <-ctx.Done():
	}
}

func bytesReader(raw []byte) io.Reader { return bytes.NewReader(raw) }

func decode(r io.Reader, into any) error {
	raw, err := io.ReadAll(r)
	if err != nil || len(raw) == 0 || into == nil {
		return err
	}
	if s, ok := into.(*string); ok {
		*s = string(raw)
		return nil
	}
	return json.Unmarshal(raw, into)
}

// process is a child at work.
type process struct {
	t      testing.TB
	orders orders
	cmd    *exec.Cmd
	stderr bytes.Buffer
	stdin  io.WriteCloser
	stdout io.ReadCloser
}

func start(t testing.TB, o orders) *process {
	t.Helper()
	raw, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	p := &process{t: t, orders: o, cmd: exec.Command(os.Args[0])}
	p.cmd.Env = append(os.Environ(), ordersVar+"="+string(raw))
	p.cmd.Stderr = &p.stderr
	if p.stdin, err = p.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if p.stdout, err = p.cmd.StdoutPipe(); err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return p
}

// kill ends it as a power cut would.
func (p *process) kill() {
	p.t.Helper()
	_ = p.cmd.Process.Kill()
	if err := p.cmd.Wait(); err == nil || p.cmd.ProcessState.ExitCode() >= 0 {
		p.t.Errorf("process %s ended by itself: %v\n%s", p.orders.Name, err, p.stderr.String())
	}
	p.stdin.Close()
}

// stop asks it to end, and it must do so without an error.
func (p *process) stop() {
	p.t.Helper()
	_, _ = p.stdout.Read(make([]byte, 1)) // until then the signal would kill it
	_ = p.cmd.Process.Signal(syscall.SIGTERM)
	if err := p.cmd.Wait(); err != nil {
		p.t.Errorf("process %s: %v\n%s", p.orders.Name, err, p.stderr.String())
	}
	p.stdin.Close()
}
