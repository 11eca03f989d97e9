package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/mattn/go-isatty"
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
	return c, newLog(std.err, c.Log.Slog()), nil
}

var errNowhere = errors.New(`nothing says where the class is kept; set file = "weftroom.db" under [state], or say --state weftroom.db`)

// where is the database; an operator's command must be told.
func (s settingsOf) where(c *config.Config) (string, error) {
	if w := cmp.Or(expanded(s.State), c.State.URL, expanded(c.State.File)); w != "" {
		return w, nil
	}
	return "", errNowhere
}

// loadWhere is load and where.
func (s settingsOf) loadWhere(std *streams) (*config.Config, *slog.Logger, string, error) {
	c, log, err := s.load(std)
	if err != nil {
		return nil, nil, "", err
	}
	where, err := s.where(c)
	return c, log, where, err
}

func forgottenIn(c *config.Config) store.Options {
	return store.Options{Forgotten: expanded(c.State.Forgotten)}
}

// explained is an error of the database in one line, with what to do about it.
func explained(err error) error {
	if err == nil {
		return nil
	}
	text := said(err)
	if advice := store.Advice(err); advice != "" {
		text += "; " + advice
	}
	return errors.New(text)
}

// said is an error's text in one line.
func said(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }

type serveCmd struct {
	settingsOf
	Listen string `placeholder:"ADDRESS" help:"Answer /healthz, /readyz and /metrics here, on loopback."`
}

// Run serves the chats of the settings until it is asked to end. A second
// signal ends it at once.
func (s *serveCmd) Run(std *streams) error {
	c, log, where, err := s.loadWhere(std)
	if err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, func() {
		stop()
		log.Info("ending; a second signal ends at once")
	})
	l, err := listen(ctx, cmp.Or(s.Listen, c.Serve.Listen))
	if err != nil {
		return err
	}
	if l != nil {
		defer l.Close() // again, when all went well
	}
	h, err := openHouse(ctx, where, forgottenIn(c), log, usual(c))
	if err != nil {
		return explained(err)
	}
	defer h.close()
	chats, err := chatsOf(c, h.db, h.dispatcher.Commands(), log, std.err)
	if err != nil {
		return err
	}
	for _, chat := range chats {
		h.alone[chat.Name()] = true
	}
	if room := roomOf(c, std, h); room != nil {
		chats = append(chats, room)
	}
	log.Info("serving", "pid", os.Getpid(), "chats", len(chats))
	err = h.serve(ctx, chats, l)
	log.Info("ended")
	return err
}

// serve owns one group: the HTTP server, which ends last so that the end can be
// watched, and once nothing is held any more everything that run owns.
func (h *house) serve(ctx context.Context, chats []bot.Adapter, l net.Listener) error {
	g, ctx := errgroup.WithContext(ctx)
	watched, unwatch := context.WithCancel(context.WithoutCancel(ctx))
	defer unwatch()
	g.Go(func() error {
		defer unwatch()
		if err := h.resumed(ctx); err != nil || ctx.Err() != nil {
			return err
		}
		return h.run(ctx, chats)
	})
	if l != nil {
		g.Go(func() error {
			_, err := h.try(watched, "http", func(ctx context.Context) error { return h.serveHTTP(ctx, l) })
			return err
		})
	}
	return g.Wait()
}

// listen opens an address that the settings would allow as well; nil for "".
func listen(ctx context.Context, address string) (net.Listener, error) {
	if address == "" {
		return nil, nil
	}
	if err := config.Allowed("serve.listen", address); err != nil {
		return nil, err
	}
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", address)
	if errors.Is(err, syscall.EADDRINUSE) {
		return nil, fmt.Errorf("serve.listen: another program answers at %s; choose another port", address)
	}
	if err != nil {
		return nil, fmt.Errorf("serve.listen: %s", said(err))
	}
	return l, nil
}

// roomOf is the room in the terminal or in a pipe, nil when nobody is there, as
// under a service manager.
func roomOf(c *config.Config, std *streams, h *house) bot.Adapter {
	f, who := earOf(std.in)
	if who == nobody {
		h.log.Info("standard input is neither a terminal nor a pipe, so there is no room in it")
		return nil
	}
	return consoleOf(c, f, std.out, h, "", who == pipe)
}

// ear is who may write on standard input.
type ear int

const (
	nobody ear = iota // it is closed, or /dev/null
	pipe              // a program, or a file; posts appear after its end as well
	person            // who leaves, ends the program
)

func earOf(in io.Reader) (*os.File, ear) {
	f, ok := in.(*os.File)
	if !ok {
		return nil, nobody
	}
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, nobody
	case isatty.IsTerminal(f.Fd()):
		return f, person
	case info.Mode()&fs.ModeCharDevice != 0, info.IsDir():
		return nil, nobody
	}
	return f, pipe
}
