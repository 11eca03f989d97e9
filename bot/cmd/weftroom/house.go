package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"golang.org/x/sync/errgroup"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// Bounds of an end that was asked for. A post in hand has its own, of
// timetable.DefaultSendTimeout.
const (
	defaultRequestGrace = 15 * time.Second
	defaultStopGrace    = 60 * time.Second
)

var _ bot.Suggester = (*house)(nil)

// house is the whole of it, wired: what is kept, what answers, what posts.
type house struct {
	log        *slog.Logger
	db         *store.DB
	box        *store.Outbox
	plan       *timetable.Planner
	desk       *lesson.Desk
	dispatcher *bot.Dispatcher
	gauges     *gauges
	leases     *leases
	alone      map[string]bool // the chats that one process joins at a time
	restored   time.Time       // requests made before it are not answered; zero: all are

	requestGrace time.Duration // for requests that are being answered when the chats close
	stopGrace    time.Duration // for everything that is in hand when it is asked to end
}

// openHouse opens what is kept at where (a SQLite file or a PostgreSQL URL) and
// wires everything but the chats. people may look beyond what is kept; nil is
// the store alone.
func openHouse(ctx context.Context, where string, o store.Options, log *slog.Logger, people func(bot.People) bot.People) (*house, error) {
	o.Log = log
	db, err := store.OpenURL(ctx, where, o)
	if err != nil {
		return nil, err
	}
	h := &house{log: log, db: db, gauges: newGauges(), leases: newLeases(), alone: map[string]bool{}, requestGrace: defaultRequestGrace, stopGrace: defaultStopGrace}
	if err := h.wire(ctx, people); err != nil {
		return nil, errors.Join(err, db.Close())
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
	h.dispatcher.Remember(h.db, time.Now)
	h.gauges.watch(h)
	return nil
}

// Handle implements bot.Handler: it counts, and leaves alone what was asked
// before the restore, since it has been answered by what was restored over. A
// request that has begun is finished, within requestGrace, when ctx ends.
func (h *house) Handle(ctx context.Context, r bot.Request) bot.Reply {
	if !r.At.IsZero() && r.At.Before(h.restored) {
		h.gauges.ignored.Inc()
		h.log.Info("ignored, for it was asked before the restore", "request", r.ID, "chat", r.From.Chat)
		return bot.Reply{}
	}
	if ctx.Err() == nil {
		var done context.CancelFunc
		ctx, done = outlasting(ctx, h.requestGrace)
		defer done()
	}
	begun := time.Now()
	reply := h.dispatcher.Handle(ctx, r)
	took := time.Since(begun)
	h.gauges.answered(r, reply, took)
	h.log.Info("answered", "request", r.ID, "chat", r.From.Chat, "command", reply.Command, "outcome", outcome(reply), "took", took)
	return reply
}

// Suggest implements bot.Suggester.
func (h *house) Suggest(ctx context.Context, r bot.Request, command, param, begun string, most int) []string {
	return h.dispatcher.Suggest(ctx, r, command, param, begun, most)
}

func outcome(r bot.Reply) string {
	if r.Problem == nil {
		return "ok"
	}
	return string(r.Problem.Code)
}

// outlasting is a context that ends by so much later than ctx. The function
// ends it at once and must be called.
func outlasting(ctx context.Context, by time.Duration) (context.Context, context.CancelFunc) {
	own, cancel := context.WithCancel(context.WithoutCancel(ctx))
	unstop := context.AfterFunc(ctx, func() {
		grace := time.NewTimer(by)
		defer grace.Stop()
		select {
		case <-grace.C:
			cancel()
		case <-own.Done():
		}
	})
	return own, func() {
		unstop()
		cancel()
	}
}

// run works until ctx ends, or the first chat that ends of itself. Then it
// finishes what is in hand and returns, after stopGrace at the latest; what is
// not finished by then is done again at the next start, under the same keys.
func (h *house) run(ctx context.Context, chats []bot.Adapter) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- h.work(ctx, stop, chats) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	select {
	case err := <-ended:
		return err
	case <-time.After(h.stopGrace):
		return fmt.Errorf("what was in hand was not finished within %v of being asked to end", h.stopGrace)
	}
}

// work owns two groups. The one that posts (the sender, the planner, the
// pruning) ends first, so that the posts in hand still find their chats open;
// then the one that listens, the chats, each finishing what it is being asked.
func (h *house) work(ctx context.Context, stop context.CancelFunc, chats []bot.Adapter) error {
	var posting, listening errgroup.Group
	open, shut := context.WithCancel(context.WithoutCancel(ctx))
	defer shut()
	for _, chat := range chats {
		listening.Go(func() error {
			defer stop()
			return h.keep(open, "chat "+chat.Name(), func(ctx context.Context) error {
				if h.alone[chat.Name()] {
					return h.leases.whileHeld(ctx, chat.Name(), func(ctx context.Context) error { return chat.Run(ctx, h) })
				}
				return chat.Run(ctx, h)
			})
		})
	}
	for what, part := range map[string]func(context.Context) error{
		"sender":  func(ctx context.Context) error { return h.sender(chats).Run(ctx) },
		"planner": h.plan.Run,
		"pruning": h.prune,
	} {
		posting.Go(func() error {
			defer stop()
			return h.keep(ctx, what, part)
		})
	}
	err := posting.Wait()
	shut()
	return errors.Join(err, listening.Wait())
}

// sender is a new one each time: one that panicked does not know any more what
// it has in hand, and the leases of that run out.
func (h *house) sender(chats []bot.Adapter) *timetable.Sender {
	return timetable.NewSender(steady{h.box, h}, chats, h.desk.Render, timetable.Options{
		Log: h.log, Observe: h.gauges.sent, Held: h.holds,
		Refused: func(ctx context.Context, p timetable.Post) ([]timetable.Post, error) {
			return timetable.RefusedNote(ctx, h.db, p, time.Now())
		},
	})
}

func (h *house) holds(chat string, held bool) {
	h.gauges.holds(chat, held)
	h.leases.set(chat, held)
}

// steady is an Outbox whose listening, which the sender has in a goroutine of
// its own, is begun anew after a panic.
type steady struct {
	*store.Outbox
	h *house
}

// Listen implements timetable.Outbox.
func (s steady) Listen(ctx context.Context, wake func()) error {
	return s.h.keep(ctx, "listening for posts", func(ctx context.Context) error { return s.Outbox.Listen(ctx, wake) })
}

// keep runs a part of the house until it returns of itself. When it panics it
// is begun anew, after a pause that grows from a second to a minute, until ctx
// ends.
func (h *house) keep(ctx context.Context, what string, part func(context.Context) error) error {
	for pause := time.Second; ; pause = min(2*pause, time.Minute) {
		panicked, err := h.try(ctx, what, part)
		if !panicked {
			return err
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(pause):
		}
	}
}

// try runs a part of the house once and survives its panic, which is logged.
func (h *house) try(ctx context.Context, what string, part func(context.Context) error) (panicked bool, err error) {
	defer func() {
		if p := recover(); p != nil {
			h.gauges.panics.WithLabelValues(what).Inc()
			h.log.Error("panic", "in", what, "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
			panicked = true
		}
	}()
	return false, part(ctx)
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

// resumed waits until the database is not held any more, or ctx ends.
func (h *house) resumed(ctx context.Context) error {
	const look = 2 * time.Second
	for said := false; ; {
		since, err := h.db.HeldSince(ctx)
		switch {
		case ctx.Err() != nil:
			return nil
		case err != nil:
			h.log.Error("whether it is held cannot be read", "err", err)
		case since.IsZero() && said:
			h.log.Info("resumed")
			return nil
		case since.IsZero():
			return nil
		case !said:
			h.log.Warn("held: restored from a backup and not resumed, so no chat is joined and nothing is posted; weftroom resume ends that", "since", since)
			said = true
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(look):
		}
	}
}

func (h *house) close() {
	if err := h.db.Close(); err != nil {
		h.log.Error("closing the database", "err", err)
	}
}

// keptIn is where things are kept: what was said on the command line, then the
// settings; a folder that goes with the process when neither says anything.
func keptIn(said, settings string) (where string, remove func(), err error) {
	if where = expanded(said); where == "" {
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
