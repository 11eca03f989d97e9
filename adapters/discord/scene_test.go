package discord

import (
	"bytes"
	"context"
	"log/slog"
	"strings"
	"sync"
	"testing"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
)

// scene is a class on a test server, with the chat running.
type scene struct {
	*testing.T
	ctx   context.Context
	srv   *discordtest.Server
	guild *discordtest.Guild
	room  *discordtest.Channel
	ann   *discordtest.User // a student
	bea   *discordtest.User // another
	chat  *Chat
	notes *memory
	log   *logged
	end   func() // ends Run and waits for it

	mu    sync.Mutex
	asked []bot.Request
}

// logged is what the chat logged.
type logged struct {
	mu  sync.Mutex
	all bytes.Buffer
}

// Write implements io.Writer.
func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all.Write(p)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all.String()
}

type answerer func(ctx context.Context, r bot.Request) bot.Reply

// Handle implements bot.Handler.
func (a answerer) Handle(ctx context.Context, r bot.Request) bot.Reply { return a(ctx, r) }

// commands are those of a scene.
var testCommands = []*bot.Command{
	{Name: "row", Params: []bot.Param{
		{Name: "ends", Kind: bot.Count, First: true, Min: "8", Max: "4000"},
		{Name: "way", Kind: bot.Choice, Choices: []string{"one", "two"}},
		{Name: "yarn", Kind: bot.Words, Max: "60", Suggest: func(context.Context, bot.Request) ([]string, error) { return nil, nil }},
		{Name: "place", Kind: bot.Words, Pressed: true},
	}},
	{Name: "loom", Changes: true, Params: []bot.Param{
		{Name: "width", Kind: bot.Length}, {Name: "heddle", Kind: bot.Density}, {Name: "from", Kind: bot.Choice, Choices: []string{"right", "left"}},
	}},
	{Name: "question", Changes: true, Params: []bot.Param{
		{Name: "text", Kind: bot.LongText, Required: true, First: true, Max: "1500"}, {Name: "for", Kind: bot.Words},
	}},
	{Name: "session", Who: bot.Teacher, Subs: []*bot.Command{
		{Name: "add", Params: []bot.Param{{Name: "minutes", Kind: bot.Count}, {Name: "when", Kind: bot.Words, Required: true, Max: "120"}}},
		{Name: "list"},
	}},
	{Name: "trace", Params: []bot.Param{{Name: "cell", Kind: bot.Count}, {Name: "picture", Kind: bot.Enclosed, Required: true}, {Name: "back", Kind: bot.Enclosed}}},
	{Name: "label", Params: []bot.Param{{Name: "text", Kind: bot.LongText, Required: true, First: true, Max: "1500"}, {Name: "picture", Kind: bot.Enclosed}}},
	{Name: "sketch", Params: []bot.Param{{Name: "chart", Kind: bot.LongText, Unless: []string{"ground", "picture"}, Max: "2000"}, {Name: "ground", Kind: bot.Words}, {Name: "picture", Kind: bot.Enclosed}, {Name: "cell", Kind: bot.Count}}},
	{Name: "coming", Changes: true, Params: []bot.Param{{Name: "session", Kind: bot.Count, First: true}}},
}

func newScene(t *testing.T, o Options, h answerer) *scene {
	t.Helper()
	srv := newServer(t, discordtest.Options{Now: o.Now})
	s := &scene{T: t, ctx: patience(t), srv: srv, guild: srv.Guild("Far looms"), log: &logged{}, notes: newMemory()}
	s.room = s.guild.Channel("loom-room")
	s.ann, s.bea = srv.User("Ann"), srv.User("Bea")
	s.guild.Join(s.ann)
	s.guild.Join(s.bea)
	s.run(o, h)
	return s
}

// run begins a chat on what the one before has kept.
func (s *scene) run(o Options, h answerer) {
	s.Helper()
	o.Notes, o.Log = s.notes, slog.New(slog.NewTextHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	if o.Commands == nil {
		o.Commands = testCommands
	}
	s.chat = newChat(s.T, s.srv, o)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() {
		ended <- s.chat.Run(ctx, answerer(func(ctx context.Context, r bot.Request) bot.Reply {
			s.mu.Lock()
			s.asked = append(s.asked, r)
			s.mu.Unlock()
			return h(ctx, r)
		}))
	}()
	var once sync.Once
	s.end = func() {
		once.Do(func() {
			cancel()
			if err := <-ended; err != nil {
				s.Errorf("Run: %v", err)
			}
		})
	}
	s.Cleanup(func() {
		s.end()
		if strings.Contains(s.log.String(), "interaction-token") || strings.Contains(s.log.String(), s.srv.Token) {
			s.Errorf("a token is in the log:\n%s", s.log)
		}
		if s.Failed() {
			s.Logf("the log:\n%s", s.log)
		}
	})
	ready(s.T, s.srv, s.ann, s.room)
}

// requests are those that have reached the handler.
func (s *scene) requests() []bot.Request {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]bot.Request(nil), s.asked...)
}

// last is the last of them.
func (s *scene) last() bot.Request {
	s.Helper()
	all := s.requests()
	if len(all) == 0 {
		s.Fatal("nothing was asked")
	}
	return all[len(all)-1]
}

// begun is an interaction that must be possible.
func (s *scene) begun(i *discordtest.Interaction, err error) *discordtest.Interaction {
	s.Helper()
	if err != nil {
		s.Fatal(err)
	}
	return i
}

// answer waits for the message that answers.
func (s *scene) answer(i *discordtest.Interaction) discordtest.Message {
	s.Helper()
	m, err := i.Message(s.ctx)
	if err != nil {
		s.Fatal(err)
	}
	return m
}

// form waits for the form that answers.
func (s *scene) form(i *discordtest.Interaction) *discordtest.Modal {
	s.Helper()
	m, err := i.Modal(s.ctx)
	if err != nil {
		s.Fatal(err)
	}
	return m
}

// slash runs a command and waits for its answer.
func (s *scene) slash(u *discordtest.User, in *discordtest.Channel, name string, v discordtest.Values) discordtest.Message {
	s.Helper()
	return s.answer(s.begun(u.Slash(in, name, v)))
}

// press presses a button and waits for the answer.
func (s *scene) press(u *discordtest.User, m discordtest.Message, label string) discordtest.Message {
	s.Helper()
	return s.answer(s.begun(u.Press(m, label)))
}

func title(s string) bot.Reply { return bot.Reply{Title: s} }
