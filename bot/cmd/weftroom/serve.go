package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
	"time"

	"golang.org/x/sync/errgroup"

	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/config"
)

// settingsOf are the flags that every command of the operator has.
type settingsOf struct {
	Config string `placeholder:"FILE" type:"path" help:"Read the settings from this file (weftroom.toml when there is one)."`
	State  string `placeholder:"FILE" help:"The database: a file, or a postgres:// URL. Over what the settings say."`
}

// load reads the settings; what is wrong with them is said in one sentence.
func (s settingsOf) load(std *streams) (*config.Config, *slog.Logger, error) {
	c, err := config.Load(s.Config, os.Environ())
	if err != nil {
		fmt.Fprintf(std.err, "weftroom: %v\n", err)
		return nil, nil, exit(exitAsker)
	}
	return c, slog.New(slog.NewTextHandler(std.err, &slog.HandlerOptions{Level: c.Log.Slog()})), nil
}

// where is the database; an operator's command must be told.
func (s settingsOf) where(c *config.Config) (string, error) {
	if w := cmp.Or(s.State, c.State.URL, expanded(c.State.File)); w != "" {
		return w, nil
	}
	return "", errors.New(`nothing says where the class is kept; set file = "weftroom.db" under [state], or say --state weftroom.db`)
}

type serveCmd struct {
	settingsOf
	Listen string `placeholder:"ADDRESS" help:"Answer /healthz, /readyz and /metrics here, on loopback."`
}

// Run serves the chats of the settings until it is asked to end. A second
// signal ends it at once.
func (s *serveCmd) Run(std *streams) error {
	c, log, err := s.load(std)
	if err != nil {
		return err
	}
	where, err := s.where(c)
	if err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	h, err := openHouse(ctx, where, forgottenIn(c), log, nil)
	if err != nil {
		return err
	}
	defer h.close()
	if since, err := h.db.HeldSince(ctx); err != nil {
		return err
	} else if !since.IsZero() {
		log.Warn("held: restored and not resumed, so nothing is posted; weftroom resume ends that", "since", since)
	}
	room, err := consoleOf(c, std, h, "")
	if err != nil {
		return err
	}
	g, ctx := errgroup.WithContext(ctx)
	ctx, end := context.WithCancel(ctx)
	g.Go(func() error {
		defer end()
		return h.run(ctx, []bot.Adapter{room})
	})
	if listen := cmp.Or(s.Listen, c.Serve.Listen); listen != "" {
		g.Go(func() error { return h.serveHTTP(ctx, listen) })
	}
	return g.Wait()
}

func (h *house) close() {
	if err := h.db.Close(); err != nil {
		h.log.Error("closing the database", "err", err)
	}
}

type checkCmd struct{ settingsOf }

// Run says in words whether serve would start.
func (s *checkCmd) Run(std *streams) error {
	c, log, err := s.load(std)
	if err != nil {
		return err
	}
	fmt.Fprintln(std.out, "settings: good")
	where, err := s.where(c)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	h, err := openHouse(ctx, where, forgottenIn(c), log, nil)
	if inUse, ok := errors.AsType[*store.InUse](err); ok {
		fmt.Fprintf(std.out, "database: in use (%v); stop that process to check further\n", inUse)
		return exit(exitFault)
	}
	if err != nil {
		fmt.Fprintf(std.out, "database: cannot be opened: %v\n", err)
		return exit(exitFault)
	}
	defer h.close()
	state := h.health(ctx)
	fmt.Fprintf(std.out, "database: %s, %d posts waiting\n", state.Database, state.Waiting)
	if state.Held {
		fmt.Fprintln(std.out, "held: restored from a backup and not resumed, so nothing is posted; weftroom resume ends that")
	}
	return s.dead(ctx, std, h)
}

// dead lists the posts that were given up.
func (s *checkCmd) dead(ctx context.Context, std *streams, h *house) error {
	posts, err := h.box.DeadOf(ctx, "")
	if err != nil {
		return err
	}
	fmt.Fprintf(std.out, "posts given up: %d\n", len(posts))
	for _, p := range posts {
		fmt.Fprintf(std.out, "  %d: %s, due %s, %s\n", p.ID, p.Kind, p.Due.Format(time.RFC3339), p.Reason)
	}
	return nil
}

type backupCmd struct {
	settingsOf
	To string `arg:"" type:"path" help:"The file to write; it must not exist yet."`
}

// Run writes a consistent copy while others go on.
func (s *backupCmd) Run(std *streams) error {
	c, _, err := s.load(std)
	if err != nil {
		return err
	}
	where, err := s.where(c)
	if err != nil {
		return err
	}
	ctx := context.Background()
	db, err := store.OpenURL(ctx, where, forgottenIn(c))
	if err != nil {
		return err
	}
	if err := errors.Join(db.Backup(ctx, s.To), db.Close()); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "written and checked: %s\n", s.To)
	return nil
}

type restoreCmd struct {
	settingsOf
	From string `arg:"" type:"existingfile" help:"A file that backup wrote."`
	Sure bool   `required:"" help:"Everything now in the database is replaced; say that you are sure."`
}

// Run replaces everything by a backup; the house is held until resume.
func (s *restoreCmd) Run(std *streams) error {
	c, _, err := s.load(std)
	if err != nil {
		return err
	}
	where, err := s.where(c)
	if err != nil {
		return err
	}
	ctx := context.Background()
	db, err := store.OpenURL(ctx, where, forgottenIn(c))
	if err != nil {
		return err
	}
	r, err := db.Restore(ctx, s.From)
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "restored the backup of %s: %d people forgotten since were forgotten again, %d past posts cancelled.\n"+
		"It is held: nothing is posted until you say: weftroom resume\n", r.Backup.Format(time.RFC3339), r.Forgotten, r.Cancelled)
	return nil
}

type resumeCmd struct{ settingsOf }

// Run ends the hold that restore began.
func (s *resumeCmd) Run(std *streams) error {
	c, _, err := s.load(std)
	if err != nil {
		return err
	}
	where, err := s.where(c)
	if err != nil {
		return err
	}
	ctx := context.Background()
	db, err := store.OpenURL(ctx, where, forgottenIn(c))
	if err != nil {
		return err
	}
	if err := errors.Join(db.Resume(ctx), db.Close()); err != nil {
		return err
	}
	fmt.Fprintln(std.out, "resumed: posts go out again")
	return nil
}
