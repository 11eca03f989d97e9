package console

import (
	"errors"
	"io"
	"slices"
	"strings"

	"weftroom/bot"
)

// goesOn ends a line whose long text is written in the lines that follow.
const goesOn = "<<"

// several reads the lines of a long text behind a line that announces them, up
// to an empty one, and makes one line of all. A post that comes meanwhile waits.
func (r *Room) several(first string) (string, error) {
	before, name, ok := r.announced(first)
	if !ok {
		return first, nil
	}
	var text []string
	for size := 0; ; {
		next, err := r.next(r.o.Words.More)
		switch {
		case errors.Is(err, errNudged):
			continue
		case err != nil && !errors.Is(err, io.EOF):
			return "", err
		case err != nil || strings.TrimSpace(next) == "":
			return before + " " + bot.Written(name, strings.Join(text, "\n")), nil
		}
		if size += len(next); size <= longest { // it is the handler who refuses what is too long
			text = append(text, next)
		}
	}
}

// announced tells whether a line goes on, with its beginning and the argument
// that the other lines are: the one that it names last, or else the command's
// first long text.
func (r *Room) announced(line string) (before, name string, ok bool) {
	before, ok = strings.CutSuffix(strings.TrimSpace(line), goesOn)
	command := begun(r.o.Commands, before)
	if !ok || command == nil {
		return "", "", false
	}
	isLong := func(p bot.Param) bool { return p.Kind == bot.LongText }
	i := slices.IndexFunc(command.Params, isLong)
	if i < 0 {
		return "", "", false
	}
	words := strings.Fields(before)
	last := words[len(words)-1]
	if p := param(command, strings.TrimRight(last, ":=")); p != nil && isLong(*p) {
		return strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(before), last)), p.Name, true
	}
	return strings.TrimSpace(before), command.Params[i].Name, true
}
