package lesson

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// room is a dispatcher with all commands and one person in it.
type room struct {
	*bot.Dispatcher
	looms *looms
	asked int
}

// looms keeps looms in memory.
type looms struct {
	mu    sync.Mutex
	kept  map[bot.Account]class.Loom
	times int // that a loom was kept
}

func (l *looms) Loom(_ context.Context, a bot.Account) (class.Loom, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.kept[a], nil
}

func (l *looms) KeepLoom(_ context.Context, a bot.Account, loom class.Loom) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.kept[a] = loom
	l.times++
	return nil
}

func (l *looms) Asker(ctx context.Context, r bot.Request) (bot.Asker, error) {
	loom, err := l.Loom(ctx, r.From)
	return bot.Asker{Units: loom.Units}, err
}

// onePlan is a store of looms and of the plan that the last who began one walks.
type onePlan struct {
	class.Bare
	mu   sync.Mutex
	walk class.Walk
}

func (o *onePlan) Walk(context.Context, bot.Account) (class.Walk, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.walk.Plan == "" {
		return class.Walk{}, class.ErrNone
	}
	return o.walk, nil
}

func (o *onePlan) KeepWalk(_ context.Context, _ bot.Account, w class.Walk) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.walk = w
	return nil
}

func bareDesk(l *looms) *Desk {
	return &Desk{Store: &onePlan{Bare: class.Bare{Looms: l}}, Now: time.Now}
}

func newRoom() *room {
	l := &looms{kept: map[bot.Account]class.Loom{}}
	return &room{Dispatcher: bot.NewDispatcher(Commands(bareDesk(l)), l, English(), slog.New(slog.NewTextHandler(io.Discard, nil))), looms: l}
}

// say is what the person in the room types, and the answer.
func (r *room) say(line string) bot.Reply {
	r.asked++
	return r.Handle(context.Background(), bot.Request{
		ID: fmt.Sprint(r.asked), From: bot.Account{Chat: "test", User: "she"}, In: bot.Place{Chat: "test", Room: "hers"}, Direct: true, Line: line,
	})
}

// answer is the plain text of an answer that must not be a refusal.
func (r *room) answer(t *testing.T, line string) string {
	t.Helper()
	reply := r.say(line)
	if reply.Problem != nil {
		t.Fatalf("%s: %s", line, reply.Problem.Sentence())
	}
	return bot.Plain(reply)
}

// unwrapped is a plain text with its paragraphs on one line each, so that a
// sentence can be looked for wherever the line was broken.
func unwrapped(text string) string { return strings.Join(strings.Fields(text), " ") }
