package console

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"mime"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"weftroom/bot"
)

// sign begins the name of a file at the end of a line.
const sign = "@"

// enclosed takes the files off the end of a line whose command takes any: the
// person at the terminal is the user of this machine, and may have whatever she
// can read sent along. lost is the first name that is no file of hers.
func (r *Room) enclosed(line string) (words string, files []bot.Attached, lost string) {
	command := begun(r.o.Commands, line)
	if command == nil || !command.Encloses() {
		return line, nil, ""
	}
	for {
		before, name, ok := cutFile(line)
		if !ok {
			return line, files, lost
		}
		f, err := Enclose(name)
		if err != nil {
			lost = name
		}
		line, files = before, append([]bot.Attached{f}, files...)
	}
}

// begun is the command that a line begins with.
func begun(commands []*bot.Command, line string) *bot.Command {
	var found *bot.Command
	for _, word := range strings.Fields(line) {
		c := called(commands, word)
		if c == nil {
			break
		}
		found, commands = c, c.Subs
	}
	return found
}

// cutFile cuts the last word off a line when it names a file: @flower.png, or
// @"my flower.png".
func cutFile(line string) (before, name string, ok bool) {
	line = strings.TrimRightFunc(line, unicode.IsSpace)
	at := strings.LastIndexFunc(line, unicode.IsSpace) + 1
	if quoted, found := strings.CutSuffix(line, `"`); found {
		if i := strings.LastIndex(quoted, sign+`"`); i >= 0 && !strings.Contains(quoted[i+2:], `"`) {
			at = i
		}
	}
	name, ok = strings.CutPrefix(line[at:], sign)
	name = strings.Trim(name, `"`)
	before = strings.TrimRightFunc(line[:at], unicode.IsSpace)
	return before, name, ok && name != "" && len(before) < at
}

// Enclose is a file of this machine as one that comes with a request. What is
// not there, or is no plain file, is an error.
func Enclose(name string) (bot.Attached, error) {
	path := fromHome(name)
	about, err := os.Stat(path)
	if err == nil && !about.Mode().IsRegular() {
		err = fmt.Errorf("%s: %w", name, errors.ErrUnsupported)
	}
	if err != nil {
		return bot.Attached{}, err
	}
	media, _, _ := mime.ParseMediaType(mime.TypeByExtension(filepath.Ext(path)))
	return bot.Attached{
		Name: filepath.Base(path), MediaType: media, Size: about.Size(),
		Read: func(_ context.Context, most int64) ([]byte, error) { return readFile(path, most) },
	}, nil
}

func readFile(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return bot.ReadMost(f, most)
}

// fromHome replaces ~ at the beginning of a path, as shells do.
func fromHome(path string) string {
	rest, ok := strings.CutPrefix(path, "~/")
	home, err := os.UserHomeDir()
	if !ok || err != nil {
		return path
	}
	return filepath.Join(home, rest)
}

// maxNames is how many files are listed to choose from.
const maxNames = 100

// fileNames completes the name of a file that comes with a command.
func fileNames(word string) []string {
	dir, start := filepath.Split(strings.TrimPrefix(word, sign))
	entries, err := os.ReadDir(fromHome(dir + "."))
	if err != nil {
		return nil
	}
	var list []string
	for _, e := range entries {
		name := e.Name()
		hidden := strings.HasPrefix(name, ".") && !strings.HasPrefix(start, ".")
		if hidden || !strings.HasPrefix(name, start) || line(name) != name || len(list) == maxNames {
			continue
		}
		list = append(list, fileWord(dir+name, e))
	}
	return list
}

// fileWord is a file or a folder as it is written behind a command.
func fileWord(path string, e fs.DirEntry) string {
	switch {
	case e.IsDir():
		return sign + path + "/"
	case strings.ContainsFunc(path, unicode.IsSpace):
		return sign + `"` + path + `" `
	}
	return sign + path + " "
}
