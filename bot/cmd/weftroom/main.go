// Command weftroom is the assistant of a teacher of hand-manipulated lace whose
// students sit at looms far away. See README.md.
package main

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"time"

	"github.com/alecthomas/kong"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
)

// Exit codes of every subcommand.
const (
	exitOK    = 0
	exitFault = 1 // our fault
	exitAsker = 2 // the asker's mistake
)

type cli struct {
	Chat    chatCmd    `cmd:"" help:"Open a room in this terminal."`
	Ask     askCmd     `cmd:"" help:"Answer one command line, for scripts."`
	Serve   serveCmd   `cmd:"" help:"Run the class: answer, remind and post until asked to end."`
	Check   checkCmd   `cmd:"" help:"Say in words whether serve would start, and what was given up."`
	Backup  backupCmd  `cmd:"" help:"Write a consistent copy of everything to a file."`
	Restore restoreCmd `cmd:"" help:"Replace everything by a backup; nothing is posted until resume."`
	Resume  resumeCmd  `cmd:"" help:"Post again after a restore."`
	Requeue requeueCmd `cmd:"" help:"Try posts again that were given up; check lists them."`
	Demo    demoCmd    `cmd:"" help:"Play an invented class from its looms to its proven plans."`
}

// streams are what a subcommand talks through.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// exit is an error that carries nothing but an exit code: all has been said.
type exit int

func (e exit) Error() string { return fmt.Sprintf("exit %d", int(e)) }

func main() { os.Exit(run(os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr})) }

func run(args []string, std streams) int {
	code := -1
	parser, err := kong.New(grammar(args),
		kong.Name("weftroom"),
		kong.Description("A weaving teacher's assistant: each student's own lace plan, proven before she sees it."),
		kong.Writers(std.out, std.err),
		kong.Exit(func(n int) { code = n }),
		kong.Bind(&std),
	)
	if err != nil {
		fmt.Fprintln(std.err, err)
		return exitFault
	}
	k, err := parser.Parse(args)
	if code >= 0 { // --help has been printed
		return code
	}
	if err != nil {
		fmt.Fprintf(std.err, "weftroom: %v (weftroom --help says what is allowed)\n", err)
		return exitAsker
	}
	err = k.Run(&std)
	var e exit
	switch {
	case errors.As(err, &e):
		return int(e)
	case err != nil:
		fmt.Fprintf(std.err, "weftroom: %v\n", err)
		return exitFault
	}
	return exitOK
}

// grammar is what the arguments are read by. A script starts ask for each of its
// questions, so ask alone is read by itself: to lay out the flags of all the
// others takes a twentieth of its time.
func grammar(args []string) any {
	if len(args) == 0 || args[0] != "ask" {
		return &cli{}
	}
	return &struct {
		Ask askCmd `cmd:"" help:"Answer one command line, for scripts."`
	}{}
}

// newDispatcher wires the commands to a store.
func newDispatcher(m *store.Memory, log *slog.Logger) *bot.Dispatcher {
	desk := &lesson.Desk{Store: class.Bare{Looms: m}, Now: time.Now}
	return bot.NewDispatcher(lesson.Commands(desk), m, lesson.English(), log)
}
