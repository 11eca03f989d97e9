package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"golang.org/x/sync/errgroup"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// house is the whole of it, wired: what is kept, what answers, what posts.
type house struct {
	log        *slog.Logger
	db         *store.DB
	box        *store.Outbox
	plan       *timetable.Planner
	desk       *lesson.Desk
	dispatcher *bot.Dispatcher
	gauges     *gauges
	restored   time.Time // requests made before it are not answered; zero: all are
}

// openHouse opens what is kept at where (a SQLite file or a PostgreSQL URL) and
// wires everything but the chats. people may look beyond what is kept; nil is
// the store alone.
func openHouse(ctx context.Context, where string, o store.Options, log *slog.Logger, people func(bot.People) bot.People) (*house, error) {
	db, err := store.OpenURL(ctx, where, o)
	if err != nil {
		return nil, err
	}
	h := &house{log: log, db: db, gauges: newGauges()}
	if err := h.wire(ctx, people); err != nil {
		return nil, fmt.Errorf("%w (and closing: %v)", err, db.Close())
	}
	return h, nil
}

func (h *house) wire(ctx context.Context, people func(bot.People) bot.People) error {
	var err error
	if h.restored, err = h.db.RestoredAt(ctx); err != nil {
		return err
	}
	if h.box, err = store.NewOutbox(ctx, h.db, h.log); err != nil {
		return err
	}
	h.plan = timetable.NewPlanner(h.db, h.box, timetable.PlanOptions{Log: h.log, NotBefore: h.restored})
	h.desk = &lesson.Desk{Store: h.db, Posts: h.box, Plan: h.plan, Now: time.Now}
	asker := bot.People(class.Roll{Store: h.db})
	if people != nil {
		asker = people(asker)
	}
	h.dispatcher = bot.NewDispatcher(lesson.Commands(h.desk), asker, lesson.English(), h.log)
	h.dispatcher.Keep(h.db)
	return nil
}

// Handle implements bot.Handler: it counts, and leaves alone what was asked
// before the restore, since it has been answered by what was restored over.
func (h *house) Handle(ctx context.Context, r bot.Request) bot.Reply {
	if !r.At.IsZero() && r.At.Before(h.restored) {
		h.gauges.ignored.Inc()
		return bot.Reply{}
	}
	begun := time.Now()
	reply := h.dispatcher.Handle(ctx, r)
	h.gauges.answered(r, reply, time.Since(begun))
	h.log.Info("answered", "request", r.ID, "chat", r.From.Chat, "command", reply.Command, "outcome", outcome(reply), "took", time.Since(begun))
	return reply
}

func outcome(r bot.Reply) string {
	if r.Problem == nil {
		return "ok"
	}
	return string(r.Problem.Code)
}

// run works until ctx ends, or the first chat that ends of itself: the chats,
// the sender of posts, the planner, the pruning. It returns when all are done.
func (h *house) run(ctx context.Context, chats []bot.Adapter) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	g, ctx := errgroup.WithContext(ctx)
	sender := timetable.NewSender(h.box, chats, h.desk.Render, timetable.Options{
		Log: h.log, Observe: h.gauges.sent, Held: h.gauges.holds,
		Refused: func(ctx context.Context, p timetable.Post) ([]timetable.Post, error) {
			return timetable.RefusedNote(ctx, h.db, p, time.Now())
		},
	})
	for _, chat := range chats {
		g.Go(func() error {
			defer stop()
			return chat.Run(ctx, h)
		})
	}
	g.Go(func() error { return sender.Run(ctx) })
	g.Go(func() error { return h.plan.Run(ctx) })
	g.Go(func() error { return h.prune(ctx) })
	return g.Wait()
}

// prune deletes once a day what is kept for a time only.
func (h *house) prune(ctx context.Context) error {
	for {
		if n, err := h.db.Prune(ctx); err != nil && ctx.Err() == nil {
			h.log.Error("pruning failed", "err", err)
		} else if n > 0 {
			h.log.Info("pruned", "rows", n)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(24 * time.Hour):
		}
	}
}

// keptIn is where things are kept: what was said on the command line, then the
// settings; a folder that goes with the process when neither says anything.
func keptIn(said, settings string) (where string, remove func(), err error) {
	if where = said; where == "" {
		where = expanded(settings)
	}
	if where != "" {
		return where, func() {}, nil
	}
	dir, err := os.MkdirTemp("", "weftroom-")
	if err != nil {
		return "", nil, err
	}
	return filepath.Join(dir, "weftroom.db"), func() { _ = os.RemoveAll(dir) }, nil
}
