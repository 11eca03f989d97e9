package console

import (
	"errors"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"

	"weftroom/bot"
)

// history keeps the lines typed in a file that only its owner can read.
type history struct {
	path string // "" for none
	log  *slog.Logger
}

// remembers is the part of the line editor that knows what was typed.
type remembers interface {
	ReadHistory(io.Reader) (int, error)
	WriteHistory(io.Writer) (int, error)
	AppendHistory(string)
}

// load reads the file, which need not exist. A room is not kept shut by a
// history that cannot be read.
func (h history) load(to remembers) {
	if h.path == "" {
		return
	}
	f, err := os.Open(h.path)
	if errors.Is(err, fs.ErrNotExist) {
		return
	}
	if err == nil {
		_, err = to.ReadHistory(f)
		f.Close()
	}
	if err != nil {
		h.log.Warn("the history could not be read", "file", h.path, "err", err)
	}
}

// add keeps a line that is safe to show again.
func (history) add(to remembers, s string) {
	if s != "" && len(s) <= bot.MaxLine && s == line(s) {
		to.AppendHistory(s)
	}
}

// save writes the file anew: complete before it takes the old one's name.
func (h history) save(from remembers) error {
	if h.path == "" {
		return nil
	}
	folder := filepath.Dir(h.path)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(folder, ".history-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // does nothing once renamed
	_, err = from.WriteHistory(f)
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), h.path)
}
