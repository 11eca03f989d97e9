package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"weftroom/bot/class"
	"weftroom/bot/store"
)

// opener is one of the store's ways to open a database.
type opener func(ctx context.Context, where string, o store.Options) (*store.DB, error)

// open opens what the settings name, for a command of the operator.
func (s settingsOf) open(ctx context.Context, std *streams, open opener) (*store.DB, *slog.Logger, error) {
	c, log, where, err := s.loadWhere(std)
	if err != nil {
		return nil, nil, err
	}
	o := forgottenIn(c)
	o.Log = log
	db, err := open(ctx, where, o)
	return db, log, explained(err)
}

type backupCmd struct {
	settingsOf
	To string `arg:"" type:"path" help:"The file to write; it must not exist yet."`
}

// Run writes a consistent copy, also while serve runs.
func (s *backupCmd) Run(std *streams) error {
	ctx := context.Background()
	db, _, err := s.open(ctx, std, store.OpenBeside)
	if err != nil {
		return err
	}
	if err := errors.Join(db.Backup(ctx, s.To), db.Close()); err != nil {
		return explained(err)
	}
	fmt.Fprintf(std.out, "written and checked: %s\n", s.To)
	return nil
}

type restoreCmd struct {
	settingsOf
	From      string   `arg:"" type:"existingfile" help:"A file that backup wrote."`
	Forgotten []string `placeholder:"FILE" type:"existingfile" help:"A further list of who was forgotten, such as that of the machine which wrote the backup."`
	Sure      bool     `required:"" help:"Everything now in the database is replaced; say that you are sure."`
}

// Run replaces everything by a backup; the house is held until resume.
func (s *restoreCmd) Run(std *streams) error {
	ctx := context.Background()
	db, _, err := s.open(ctx, std, store.OpenURL)
	if err != nil {
		return err
	}
	r, err := s.restore(ctx, db)
	if err := errors.Join(err, db.Close()); err != nil {
		return explained(err)
	}
	fmt.Fprintf(std.out, "restored the backup of %s\n"+
		"forgotten again, for they were deleted since: %d\n"+
		"past posts cancelled: %d\n"+
		"held: nothing is posted and no chat is joined until you say weftroom resume\n", r.Backup.Format(time.RFC3339), r.Forgotten, r.Cancelled)
	return nil
}

func (s *restoreCmd) restore(ctx context.Context, db *store.DB) (store.Restored, error) {
	// On SQLite the lock has seen to it.
	if db.Dialect() == store.PostgreSQL {
		running, _, err := db.Running(ctx)
		if err != nil {
			return store.Restored{}, err
		}
		if running {
			return store.Restored{}, errors.New("a weftroom works with this database; stop it first")
		}
	}
	return db.Restore(ctx, s.From, s.Forgotten...)
}

type resumeCmd struct{ settingsOf }

// Run ends the hold that restore began, also while serve waits for that.
func (s *resumeCmd) Run(std *streams) error {
	ctx := context.Background()
	db, _, err := s.open(ctx, std, store.OpenBeside)
	if err != nil {
		return err
	}
	since, err := db.HeldSince(ctx)
	if err == nil {
		err = db.Resume(ctx)
	}
	if err := errors.Join(err, db.Close()); err != nil {
		return explained(err)
	}
	if since.IsZero() {
		fmt.Fprintln(std.out, "nothing was held")
		return nil
	}
	fmt.Fprintln(std.out, "resumed: posts go out again")
	return nil
}

type requeueCmd struct {
	settingsOf
	Posts []int64 `arg:"" name:"POST" help:"The number of a post, as check lists it."`
}

// requeuedFor is how long a post is tried again. What it is about is read anew
// when it is sent, so that one about a session which was moved is not.
const requeuedFor = 24 * time.Hour

// Run queues posts again, also while serve runs, which finds them within a
// minute.
func (s *requeueCmd) Run(std *streams) error {
	ctx := context.Background()
	db, log, err := s.open(ctx, std, store.OpenBeside)
	if err != nil {
		return err
	}
	defer db.Close() // what was written has been committed
	box, err := store.NewOutbox(ctx, db, log)
	if err != nil {
		return explained(err)
	}
	for _, id := range s.Posts {
		now := time.Now()
		switch err := box.Requeue(ctx, id, now, now.Add(requeuedFor)); {
		case errors.Is(err, class.ErrNone):
			return fmt.Errorf("no post %d was given up; check lists those that were", id)
		case err != nil:
			return explained(err)
		}
		fmt.Fprintf(std.out, "%d: is tried again\n", id)
	}
	return nil
}
