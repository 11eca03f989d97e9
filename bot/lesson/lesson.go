// Package lesson holds the commands, one file each: it reads what a person has
// said (her words through package bot, her loom through package class), asks
// calc, and puts the answer into a Reply. All words for people are in the
// english*.go files; the code names them by key.
package lesson

import (
	"errors"

	"weftroom/bot"
	"weftroom/calc"
)

// The bounds that several commands declare alike.
const (
	minEnds, maxEnds = "8", "4000"
	minSett, maxSett = "0.5/in", "200/in"
)

// Commands are all commands, in the order in which help lists them.
func Commands(d *Desk) []*bot.Command {
	var all []*bot.Command
	all = []*bot.Command{
		loomCommand(d),
		rowCommand(d),
		motifCommand(d),
		designsCommand(d),
		problemCommand(d),
		mendCommand(d),
		startCommand(d),
		nextCommand(d),
		backCommand(d),
		whereCommand(d),
		gotoCommand(d),
		replanCommand(d),
		reachCommand(d),
		paceCommand(d),
		handoutCommand(d),
		fitCommand(d.Store),
		warpCommand(d.Store),
		settCommand(d.Store),
		yardageCommand(d.Store),
		wordCommand(),
		joinCommand(d),
		whenCommand(d),
		comingCommand(d),
		awayCommand(d),
		readyCommand(d),
		questionCommand(d),
		settingsCommand(d),
		linkCommand(d),
		unlinkCommand(d),
		meCommand(d),
		leaveCommand(d),
		forgetCommand(d),
		classCommand(d),
		sessionCommand(d),
		rosterCommand(d),
		progressCommand(d),
		kitCommand(d),
		handoutsCommand(d),
		questionsCommand(d),
		attendanceCommand(d),
		reportCommand(d),
		sayCommand(d),
		bot.Help(func() []*bot.Command { return all }),
	}
	suggesting("", all, d.suggestions())
	stepping(all)
	return all
}

// asFault is errors.As for the mistakes that a person can mend, as a copy.
func asFault(err error) (*calc.Fault, bool) {
	f, ok := errors.AsType[*calc.Fault](err)
	if !ok {
		return nil, false
	}
	own := *f
	return &own, true
}

// missing asks for an argument that no declaration requires by itself.
func missing(key calc.Key, field, example string, args ...any) *calc.Fault {
	return &calc.Fault{Code: bot.MissingArgument, Key: key, Field: field, Args: args, Example: example}
}
