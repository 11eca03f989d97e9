//go:build goolm

package matrix

import (
	"context"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"testing"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
	"weftroom/config"
)

// memory is Notes that last as long as the test.
type memory struct {
	mu    sync.Mutex
	notes map[string]bot.Note
}

func (m *memory) Note(_ context.Context, _, name string) (bot.Note, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.notes[name], nil
}

func (m *memory) PutNote(_ context.Context, _ string, n bot.Note) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.notes == nil {
		m.notes = map[string]bot.Note{}
	}
	if m.notes[n.Name] = n; n.Value == "" {
		delete(m.notes, n.Name)
	}
	return nil
}

// words are a catalogue in which each sentence is its own key.
var words = bot.Texts{}

// answers is a Handler made of a function.
type answers func(ctx context.Context, r bot.Request) bot.Reply

// Handle implements bot.Handler.
func (f answers) Handle(ctx context.Context, r bot.Request) bot.Reply { return f(ctx, r) }

// echoes answers every request with its line.
func echoes(_ context.Context, r bot.Request) bot.Reply {
	return bot.Reply{Title: "you said " + r.Line}
}

// device is the bot with all that it keeps. It can be run again and again.
type device struct {
	t        testing.TB
	account  matrixtest.Account
	settings config.Matrix
	options  Options
	chat     *Chat

	mu        sync.Mutex
	recovery  []string // the recovery keys that were shown
	end       context.CancelFunc
	ended     chan error
	wantError bool
}

// newDevice makes a bot with an account of its own, which does not run yet.
func newDevice(t testing.TB, s *matrixtest.Server) *device {
	t.Helper()
	d := &device{t: t, account: s.Account(t, "bot")}
	d.settings = config.Matrix{
		Homeserver: s.URL, User: string(d.account.ID), Password: d.account.Password,
		Keys: t.TempDir(), Prefix: "!", Open: "yes",
	}
	d.options = Options{Notes: &memory{}, Texts: words, Log: slog.New(slog.NewTextHandler(logTo{t}, nil)), Show: func(key string) {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.recovery = append(d.recovery, key)
	}}
	return d
}

// logTo writes the log into the test's.
type logTo struct{ t testing.TB }

func (l logTo) Write(b []byte) (int, error) {
	l.t.Log(string(b))
	return len(b), nil
}

// run runs it until stop or the end of the test.
func (d *device) run(h answers) *Chat {
	d.t.Helper()
	chat, err := New(d.settings, d.options)
	if err != nil {
		d.t.Fatal(err)
	}
	d.chat = chat
	ctx, end := context.WithCancel(context.Background())
	d.end, d.ended = end, make(chan error, 1)
	go func() { d.ended <- chat.Run(ctx, h) }()
	d.t.Cleanup(d.stop)
	return chat
}

// up runs it and waits until it is connected.
func (d *device) up(h answers) *Chat {
	d.t.Helper()
	chat := d.run(h)
	ctx, cancel := context.WithTimeout(d.t.Context(), matrixtest.Patience)
	defer cancel()
	if _, err := chat.connected(ctx); err != nil {
		select {
		case err = <-d.ended:
			d.ended <- nil
		default:
		}
		d.t.Fatalf("not connected: %v", err)
	}
	return chat
}

// stop ends the run, and is harmless when there is none.
func (d *device) stop() {
	d.t.Helper()
	if d.end == nil {
		return
	}
	d.end()
	if err := <-d.ended; err != nil && !d.wantError {
		d.t.Errorf("Run: %v", err)
	}
	d.end = nil
}

// class is a room with the bot in it and a student who may write there.
func class(t testing.TB, p *matrixtest.Student, d *device, encrypted bool) id.RoomID {
	t.Helper()
	room := p.Room(t, encrypted, d.account.ID)
	p.UntilJoined(t, room, d.account.ID)
	p.Until(t, "the welcome", func() bool { return slices.Contains(p.Texts(room), string(bot.KeyWelcomeRoom)) })
	return room
}

// counts is how often each text was read.
func counts(texts []string) map[string]int {
	out := map[string]int{}
	for _, text := range texts {
		out[text]++
	}
	return out
}

// wantOnce holds that each text was read once, and gives up on those that have
// not come.
func wantOnce(t testing.TB, p *matrixtest.Student, room id.RoomID, texts ...string) {
	t.Helper()
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("%s has read %q, and not %v", p.ID, p.Texts(room), p.Undecryptable())
		}
	})
	p.Until(t, "all answers", func() bool {
		have := counts(p.Texts(room))
		for _, text := range texts {
			if have[text] == 0 {
				return false
			}
		}
		return true
	})
	have := counts(p.Texts(room))
	for _, text := range slices.Sorted(maps.Keys(have)) {
		if slices.Contains(texts, text) && have[text] != 1 {
			t.Errorf("%q came %d times", text, have[text])
		}
	}
}

// sealed tells whether the server got a message encrypted.
func sealed(t testing.TB, p *matrixtest.Student, room id.RoomID, message id.EventID) bool {
	t.Helper()
	evt, err := p.Client.GetEvent(t.Context(), room, message)
	if err != nil {
		t.Fatal(err)
	}
	return evt.Type.Type == event.EventEncrypted.Type
}
