package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
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
	"weftroom/bot/store"
	"weftroom/calc"
	"weftroom/calc/measure"
	"weftroom/config"
)

type chatCmd struct {
	Config string `placeholder:"FILE" type:"path" help:"Read the settings from this file (weftroom.toml when there is one)."`
	State  string `placeholder:"FILE" type:"path" help:"Remember what is said in this file; without it only until the end."`
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
	where, remove, err := keptIn(c.State, cmp.Or(settings.State.URL, settings.State.File))
	if err != nil {
		return err
	}
	defer remove()
	log := slog.New(slog.NewTextHandler(std.err, &slog.HandlerOptions{Level: max(settings.Log.Slog(), slog.LevelWarn)}))
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the process as it stands
	units := unitsNamed(settings.Units)
	h, err := openHouse(ctx, where, forgottenIn(settings), log, func(p bot.People) bot.People { return usually{p, units} })
	if err != nil {
		return err
	}
	defer h.close()
	room, err := consoleOf(settings, std, h, c.Files)
	if err != nil {
		return err
	}
	return h.run(ctx, []bot.Adapter{room})
}

func forgottenIn(c *config.Config) store.Options {
	return store.Options{Forgotten: expanded(c.State.Forgotten)}
}

// consoleOf is the room in the terminal.
func consoleOf(settings *config.Config, std *streams, h *house, files string) (*console.Room, error) {
	in, ok := std.in.(*os.File)
	if !ok {
		return nil, errors.New("chat needs a terminal, a pipe or a file as standard input")
	}
	return console.New(console.Options{
		In: in, Out: std.out,
		Commands: h.dispatcher.Commands(),
		User:     settings.Console.Name, Role: bot.Teacher,
		Session:  strconv.FormatInt(time.Now().UnixNano(), 36),
		Greeting: "hello",
		History:  expanded(settings.Console.History),
		Files:    cmp.Or(files, expanded(settings.Console.Files)),
		Words:    consoleWords(lesson.English()),
		Log:      h.log,
	}), nil
}

// expanded replaces ~ at the beginning of a path, and keeps "" for none.
func expanded(path string) string {
	if path == "" {
		return ""
	}
	return kong.ExpandPath(path)
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
		Leave:   strings.Split(say("console.leave"), "|"),
		Bye:     say("console.bye"),
		Saved:   say("console.saved"),
		Unsaved: say("console.unsaved"),
		Failed:  say("console.failed"),
	}
}
