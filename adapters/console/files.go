package console

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"weftroom/bot"
)

// maxCopies is how many files of one name a folder may hold.
const maxCopies = 1000

// save writes a file into a folder, which it makes, and gives the path, relative
// to the working directory where it lies below it. An older file of that name
// stays: the new one is numbered, not with a hyphen: row-1-2 would be rows 1 to 2.
func save(folder string, f bot.File) (path string, err error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return "", err
	}
	name := fileName(f.Name)
	ext := filepath.Ext(name)
	for n := 1; n <= maxCopies; n++ {
		numbered := name
		if n > 1 {
			numbered = fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(name, ext), n, ext)
		}
		path = filepath.Join(folder, numbered)
		err := write(path, f.Bytes)
		if err == nil {
			return relative(path), nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return "", err
		}
	}
	return "", fmt.Errorf("%s: there are %d of them", path, maxCopies)
}

// write makes a new file, never writing over one or through a link.
func write(path string, raw []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(raw)
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(path)
	}
	return err
}

// fileName keeps of a name what every file system takes, and nothing that leads
// out of the folder or hides the file in it.
func fileName(name string) string {
	const most = 100
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r == utf8.RuneError || r <= ' ' || visible(r) != r {
			return '-'
		}
		return r
	}, name)
	for len(name) > most {
		_, n := utf8.DecodeRuneInString(name)
		name = name[n:] // the end tells the kind of file
	}
	name = strings.TrimLeft(name, ".-")
	if name == "" {
		return "file"
	}
	return name
}

func relative(path string) string {
	here, err := os.Getwd()
	if err != nil {
		return path
	}
	full, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	rel, err := filepath.Rel(here, full)
	if err != nil || strings.HasPrefix(rel, "..") {
		return full
	}
	return rel
}
