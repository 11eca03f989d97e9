package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/alecthomas/kong"

	"weftroom/adapters/console"
	"weftroom/bot"
	"weftroom/bot/lesson"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/config"
)

type chatCmd struct {
	Config string `placeholder:"FILE" type:"path" help:"Read the settings from this file (weftroom.toml when there is one)."`
	State  string `placeholder:"FILE" help:"Keep the class in this database: a file, or a postgres:// URL; without it only until the end."`
	Files  string `placeholder:"DIR" type:"path" help:"Write the files of answers into this folder (out)."`
}

// Run opens the room in the terminal and answers until the person leaves or
// the process is asked to end. With standard input from a pipe it answers one
// line after the other.
func (c *chatCmd) Run(std *streams) error {
	settings, err := config.Load(c.Config, os.Environ())
	if err != nil {
		fmt.Fprintf(std.err, "weftroom: %v\n", err)
		return exit(exitAsker)
	}
	in, ok := std.in.(*os.File)
	if !ok {
		return errors.New("chat needs a terminal, a pipe or a file as standard input")
	}
	where, remove, err := keptIn(c.State, cmp.Or(settings.State.URL, settings.State.File))
	if err != nil {
		return err
	}
	defer remove()
	log := newLog(std.err, max(settings.Log.Slog(), slog.LevelWarn))
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the process as it stands
	h, err := openHouse(ctx, where, forgottenIn(settings), log, usual(settings))
	if err != nil {
		return explained(err)
	}
	defer h.close()
	if since, err := h.db.HeldSince(ctx); err == nil && !since.IsZero() { // the first question will tell of an error
		log.Warn("held: restored from a backup and not resumed, so nothing is posted; weftroom resume ends that", "since", since)
	}
	return h.run(ctx, []bot.Adapter{consoleOf(settings, in, std.out, h, c.Files, false)})
}

// consoleOf is the room in the terminal, or in a pipe, which may stay when the
// pipe is at its end.
func consoleOf(settings *config.Config, in *os.File, out io.Writer, h *house, files string, stay bool) *console.Room {
	return console.New(console.Options{
		In: in, Out: out,
		Commands: h.dispatcher.Commands(),
		User:     settings.Console.Name, Role: bot.Teacher,
		Session:  session(),
		Greeting: "hello",
		Stay:     stay,
		History:  expanded(settings.Console.History),
		Files:    cmp.Or(files, expanded(settings.Console.Files)),
		Words:    consoleWords(lesson.English()),
		Log:      h.log,
	})
}

// session sets the requests of this process apart from those of any other.
func session() string {
	return strconv.FormatInt(time.Now().UnixNano(), 36) + "-" + strconv.Itoa(os.Getpid())
}

// expanded replaces ~ at the beginning of a path, and keeps "" for none and the
// URL of a database as they are.
func expanded(path string) string {
	if path == "" || strings.Contains(path, "://") {
		return path
	}
	return kong.ExpandPath(path)
}

// usual has people answered in the units of the settings.
func usual(c *config.Config) func(bot.People) bot.People {
	units := unitsNamed(c.Units)
	return func(p bot.People) bot.People { return usually{p, units} }
}

// usually gives people who have not said their units those of the settings.
type usually struct {
	bot.People
	units measure.Units
}

// Asker implements bot.People.
func (u usually) Asker(ctx context.Context, r bot.Request) (bot.Asker, error) {
	a, err := u.People.Asker(ctx, r)
	a.Units = cmp.Or(a.Units, u.units)
	return a, err
}

func unitsNamed(name string) measure.Units {
	switch name {
	case "inches":
		return measure.Imperial
	case "centimetres":
		return measure.Metric
	}
	return measure.Unset
}

func consoleWords(t bot.Texts) console.Words {
	say := func(key calc.Key) string { return t.Say(measure.Unset, key) }
	return console.Words{
		Prompt:  say("console.prompt"),
		More:    say("console.more"),
		Leave:   strings.Split(say("console.leave"), "|"),
		Bye:     say("console.bye"),
		Saved:   say("console.saved"),
		Unsaved: say("console.unsaved"),
		Failed:  say("console.failed"),
		NoFile:  say("console.no_file"),
	}
}
