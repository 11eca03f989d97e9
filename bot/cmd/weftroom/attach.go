package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"weftroom/adapters/console"
	"weftroom/bot"
	"weftroom/bot/lesson"
	"weftroom/calc"
)

// keyFileFlag is the sentence that says how ask is given a file.
const keyFileFlag calc.Key = "ask.file_flag"

// attached are the files that a command line comes with, or what is wrong with
// their names. Standard input is one of them at most, and then not the line.
func (a *askCmd) attached(in io.Reader) ([]bot.Attached, *bot.Problem) {
	var files []bot.Attached
	for i, name := range a.Attach {
		if name == "-" {
			if a.fromInput() || slices.Contains(a.Attach[:i], "-") {
				return nil, &bot.Problem{Code: calc.Conflict, Message: "Standard input can be read once: as the command line or as one file", Hint: "--attach flower.png"}
			}
			files = append(files, inputFile(in))
			continue
		}
		f, err := console.Enclose(name)
		if err != nil {
			message := fmt.Sprintf("There is no file %s that can be read; name one from this folder, or - for standard input", name)
			return nil, &bot.Problem{Code: calc.BadValue, Message: message, Hint: "--attach flower.png"}
		}
		files = append(files, f)
	}
	return files, nil
}

// patience is how long standard input may take to begin when nobody has said that
// there is something: our own bound, since whoever started the program may have
// left it a pipe that nobody writes to.
const patience = 2 * time.Second

// unnamed is standard input as a file, where a file that nobody named is all that
// is missing and one stands there: a pipe, or what the shell put there.
func (a *askCmd) unnamed(r bot.Reply, in io.Reader) ([]bot.Attached, bool) {
	if r.Problem == nil || r.Problem.Code != calc.MissingArgument || len(a.Attach) > 0 || a.fromInput() || !a.takesFile(r) {
		return nil, false
	}
	if f, ok := in.(*os.File); ok && !begins(f, patience) {
		return nil, false
	}
	ahead := bufio.NewReader(in)
	if _, err := ahead.Peek(1); err != nil {
		return nil, false
	}
	return []bot.Attached{inputFile(ahead)}, true
}

// takesFile tells that what is missing is an argument for a file.
func (a *askCmd) takesFile(r bot.Reply) bool {
	for _, c := range lesson.Commands(&lesson.Desk{}) {
		if c.Name == r.Command {
			return slices.ContainsFunc(c.Params, func(p bot.Param) bool { return p.Kind == bot.Enclosed && p.Name == r.Problem.Argument })
		}
	}
	return false
}

// inputFile is standard input as a file. It is read when it is wanted, as far as
// a file may go, and kept for who reads it again.
func inputFile(in io.Reader) bot.Attached {
	var raw []byte
	var err error
	return bot.Attached{Name: "standard input", Read: func(_ context.Context, most int64) ([]byte, error) {
		if raw == nil && err == nil {
			raw, err = bot.ReadMost(in, bot.MaxFile)
		}
		if err != nil {
			return nil, err
		}
		return bot.ReadMost(bytes.NewReader(raw), most)
	}}
}
