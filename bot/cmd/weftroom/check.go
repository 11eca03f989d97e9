package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/config"
)

type checkCmd struct{ settingsOf }

// Run says in words whether serve would start and do its work. It changes
// nothing, and may run beside serve.
func (s *checkCmd) Run(std *streams) error {
	c, log, err := s.load(std)
	if err != nil {
		return err
	}
	f := &findings{out: std.out}
	f.good("settings", "good")
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	where, err := s.where(c)
	if err != nil {
		f.wrong("database", err)
		return f.end()
	}
	if running := f.database(ctx, where, c); running {
		f.good("chats", "not tried, for a process that runs has them")
		return f.end()
	}
	if c.Serve.Listen != "" {
		f.address(ctx, c.Serve.Listen)
	}
	chats, err := chatsOf(c, noNotes{}, nil, log, std.err)
	if err != nil {
		f.wrong("chats", err)
		return f.end()
	}
	f.chats(ctx, chats)
	return f.end()
}

// findings are what check says, one line each, and what to do below what is
// wrong.
type findings struct {
	out io.Writer
	bad bool
}

func (f *findings) good(what, text string) { fmt.Fprintf(f.out, "%s: %s\n", what, text) }

func (f *findings) wrong(what string, err error) {
	f.bad = true
	fmt.Fprintf(f.out, "%s: WRONG: %s\n", what, said(err))
	if advice := store.Advice(err); advice != "" {
		fmt.Fprintf(f.out, "  what to do: %s\n", advice)
	}
}

func (f *findings) end() error {
	if f.bad {
		return exit(exitFault)
	}
	return nil
}

// database looks at it from beside, and tells whether another process has it.
func (f *findings) database(ctx context.Context, where string, c *config.Config) (running bool) {
	db, err := store.OpenBeside(ctx, where, forgottenIn(c))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.absent(where)
		return false
	case errors.Is(err, store.ErrNotOurs):
		f.good("database", "empty; serve makes its tables")
		return false
	case err != nil:
		f.wrong("database", err)
		return false
	}
	defer db.Close() // nothing was written
	running = f.who(ctx, db)
	if err := f.inside(ctx, db); err != nil {
		f.wrong("database", err)
	}
	return running
}

// absent looks whether serve could make the file.
func (f *findings) absent(path string) {
	probe, err := os.CreateTemp(filepath.Dir(path), ".weftroom-check-*")
	if err == nil {
		err = errors.Join(probe.Close(), os.Remove(probe.Name()))
	}
	if err != nil {
		f.wrong("database", err)
		return
	}
	f.good("database", "not there yet; serve makes it")
}

func (f *findings) who(ctx context.Context, db *store.DB) bool {
	running, pid, err := db.Running(ctx)
	switch {
	case err != nil:
		f.wrong("database", err)
	case running && db.Dialect() == store.PostgreSQL:
		f.good("database", "another process works with it; a second one would stand by")
	case running && pid > 0:
		f.good("database", fmt.Sprintf("in use by process %d; a second serve would be refused", pid))
	case running:
		f.good("database", "in use by another process; a second serve would be refused")
	}
	return running
}

// inside looks at what the database holds.
func (f *findings) inside(ctx context.Context, db *store.DB) error {
	if err := db.Writable(ctx); err != nil {
		return err
	}
	if have, newest, err := db.Schema(ctx); err != nil {
		return err
	} else if have < newest {
		f.good("database", fmt.Sprintf("has schema %d; serve brings it to %d", have, newest))
		return nil
	}
	h := &house{db: db}
	var err error
	if h.box, err = store.NewOutbox(ctx, db, nil); err != nil {
		return err
	}
	state, err := h.look(ctx)
	if err != nil {
		return err
	}
	f.good("database", "good")
	if state.Held {
		f.good("held", "restored from a backup and not resumed, so nothing is posted; weftroom resume ends that")
	}
	f.good("posts waiting", fmt.Sprint(state.Waiting))
	return f.dead(ctx, h)
}

// dead lists the posts that were given up.
func (f *findings) dead(ctx context.Context, h *house) error {
	posts, err := h.box.DeadOf(ctx, "")
	if err != nil {
		return err
	}
	f.good("posts given up", fmt.Sprint(len(posts)))
	for _, p := range posts {
		fmt.Fprintf(f.out, "  %d: %s, due %s: %s\n", p.ID, p.Kind, p.Due.Format(time.RFC3339), withoutAddresses(p.Reason))
	}
	return nil
}

func (f *findings) address(ctx context.Context, address string) {
	l, err := listen(ctx, address)
	if err != nil {
		f.wrong("address", err)
		return
	}
	l.Close() // it was only tried
	f.good("address", address+" is free")
}

// noNotes keeps nothing: trying to log in needs no notes.
type noNotes struct{}

// Note implements bot.Notes.
func (noNotes) Note(context.Context, string, string) (bot.Note, error) { return bot.Note{}, nil }

// PutNote implements bot.Notes.
func (noNotes) PutNote(context.Context, string, bot.Note) error { return nil }

// chats tries to log in to each that can.
func (f *findings) chats(ctx context.Context, chats []bot.Adapter) {
	if len(chats) == 0 {
		f.good("chats", "none is set up; serve opens a room in its terminal, or in a pipe")
	}
	for _, chat := range chats {
		checker, ok := chat.(bot.Checker)
		if !ok {
			continue
		}
		if err := checker.Check(ctx); err != nil {
			f.wrong(chat.Name(), errors.New(withoutAddresses(err.Error())))
			continue
		}
		f.good(chat.Name(), "lets us in")
	}
}
