package discord

import (
	"context"
	"log/slog"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/adaptertest"
	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
	"weftroom/config"
)

// TestAdapter holds the chat to the suite, over a faithful server: in a channel,
// where lines are given to the command that takes them and answers are for her
// alone, and in a direct message, where she just writes.
func TestAdapter(t *testing.T) {
	t.Run("in a channel", func(t *testing.T) {
		adaptertest.Run(t, func(t *testing.T) adaptertest.Fixture {
			srv := newServer(t, discordtest.Options{})
			guild := srv.Guild("Far looms")
			room := guild.Channel("loom-room")
			ann := srv.User("Ann")
			guild.Join(ann)
			return fixture(t, srv, ann, room, false)
		})
	})
	t.Run("in a direct message", func(t *testing.T) {
		adaptertest.Run(t, func(t *testing.T) adaptertest.Fixture {
			srv := newServer(t, discordtest.Options{})
			ann := srv.User("Ann")
			return fixture(t, srv, ann, ann.DM(), true)
		})
	})
}

func fixture(t *testing.T, srv *discordtest.Server, ann *discordtest.User, room *discordtest.Channel, direct bool) adaptertest.Fixture {
	chat := newChat(t, srv, Options{})
	p := &person{user: ann, room: room, view: ann.View(room)}
	f := adaptertest.Fixture{
		Adapter: chat, User: bot.Account{Chat: ChatName, User: ann.ID}, Place: bot.Place{Chat: ChatName, Room: room.ID}, Direct: direct,
		Next:   p.next,
		Press:  p.press,
		Server: []string{"net/http.(*conn)", "net/http.(*Server)", "discordtest.", "net/http/httptest"},
	}
	f.Say = func(t *testing.T, line string) {
		t.Helper()
		ready(t, srv, ann, room)
		if direct {
			if size(line) <= 2000 { // her client takes no more
				ann.Write(room, line)
			}
			return
		}
		if _, err := ann.Slash(room, "ask", discordtest.Values{"line": line}); err != nil && size(line) <= bot.MaxLine {
			t.Fatal(err)
		}
	}
	return f
}

// ready waits until the bot is connected and its commands are there.
func ready(t *testing.T, srv *discordtest.Server, who *discordtest.User, room *discordtest.Channel) {
	t.Helper()
	ctx := patience(t)
	if err := srv.AwaitGateway(ctx, discordtest.Ready); err != nil {
		t.Fatal(err)
	}
	for len(who.Offered(room)) == 0 {
		if runtime.Gosched(); ctx.Err() != nil {
			t.Fatal("no command has been registered")
		}
	}
}

// newServer makes a server whose clock stands still unless it has another: nothing
// is too late on a busy machine.
func newServer(t *testing.T, o discordtest.Options) *discordtest.Server {
	t.Helper()
	if o.Now == nil {
		o.Now = newStill().now
	}
	return discordtest.New(t, o)
}

// patience is for what must come; nothing waits for it to pass.
func patience(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// person is who looks at a channel, and remembers what she has seen.
type person struct {
	user *discordtest.User
	room *discordtest.Channel
	view *discordtest.View

	mu   sync.Mutex
	seen []discordtest.Message
}

// next reads a message as she reads it: the marks of the text are not words, the
// alternative text of a file is, and a text file is opened.
func (p *person) next(ctx context.Context) (adaptertest.Message, error) {
	m, err := p.view.Next(ctx)
	if err != nil {
		return adaptertest.Message{}, err
	}
	p.mu.Lock()
	p.seen = append(p.seen, m)
	p.mu.Unlock()
	out := adaptertest.Message{ID: m.ID, Text: read(m.Content).text}
	for _, b := range m.Buttons() {
		out.Text += "\n" + b.Label
		for _, o := range b.Options {
			out.Text += "\n" + o.Label
		}
	}
	for _, f := range m.Files {
		if strings.HasPrefix(f.MediaType, "text/plain") && f.Name == "answer.txt" {
			out.Text += "\n" + string(f.Bytes)
		}
		out.Text += "\n" + f.Alt
		out.Files = append(out.Files, adaptertest.File{Name: f.Name, Alt: f.Alt, Bytes: f.Bytes})
	}
	return out, nil
}

func (p *person) press(t *testing.T, label string) {
	t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for i := len(p.seen) - 1; i >= 0; i-- {
		if _, err := p.user.Press(p.seen[i], label); err == nil {
			return
		}
	}
	t.Fatalf("no button %q in %d messages", label, len(p.seen))
}

// newChat is a chat on a server, with notes in memory and times for tests.
func newChat(t *testing.T, srv *discordtest.Server, o Options) *Chat {
	t.Helper()
	if o.Notes == nil {
		o.Notes = newMemory()
	}
	if o.Texts == nil {
		o.Texts = texts
	}
	if o.Log == nil {
		o.Log = slog.New(slog.NewTextHandler(testWriter{t}, nil))
	}
	o.Transport, o.Dial = srv.Transport(), srv.Dial
	if o.Pace.Retry == 0 {
		o.Pace.Retry = time.Millisecond
	}
	if o.Pace.PerSecond == 0 {
		o.Pace.PerSecond = 5000
	}
	chat, err := New(config.Discord{Token: srv.Token, Shards: "1", Open: "yes"}, o)
	if err != nil {
		t.Fatal(err)
	}
	return chat
}

type testWriter struct{ t *testing.T }

// Write implements io.Writer.
func (w testWriter) Write(p []byte) (int, error) {
	w.t.Logf("%s", p)
	return len(p), nil
}

// memory is bot.Notes without storage.
type memory struct {
	mu    sync.Mutex
	notes map[string]bot.Note
	wrote int
}

func newMemory() *memory { return &memory{notes: map[string]bot.Note{}} }

// Note implements bot.Notes.
func (m *memory) Note(_ context.Context, chat, name string) (bot.Note, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.notes[chat+" "+name], nil
}

// PutNote implements bot.Notes.
func (m *memory) PutNote(_ context.Context, chat string, n bot.Note) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.wrote++
	if n.Value == "" {
		delete(m.notes, chat+" "+n.Name)
		return nil
	}
	m.notes[chat+" "+n.Name] = n
	return nil
}

// forget deletes the notes whose names begin so.
func (m *memory) forget(beginning string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for name := range m.notes {
		if strings.HasPrefix(name, ChatName+" "+beginning) {
			delete(m.notes, name)
		}
	}
}

// texts are the catalogue's sentences that the chat says itself.
var texts = bot.Texts{
	bot.KeyPart: "part %d of %d", bot.KeyOnItsWay: "I have written to you alone", bot.KeyNotAlone: "You take no direct messages from me, so here it is",
	bot.KeyShare: "Show everyone", bot.KeyAnswerIt: "Answer", bot.KeyWornOut: "I no longer know what that button did",
	bot.KeyCut: "There is more than fits here", bot.KeyFlood: "That was too much at once", bot.KeyWhole: "The whole of it is in the file answer.txt",
	bot.KeyHere: "In the chat of this class", bot.KeyLine: "Ask in one line", bot.KeyLineArg: "for example: help",
	bot.KeyWorking: "One moment", bot.KeyInternal: "Something went wrong, reference %s", bot.KeyUnsure: "i don't know|no idea|?",
}
