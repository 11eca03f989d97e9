package store

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"slices"
)

// The list apart from the database has one oblivion in JSON on each line. It is
// only ever added to, and each line is on disk before the next thing happens. A
// line that a crash cut short is none.

// syncList makes the list and the database agree. What only the database knows
// is added to the list. What only the list knows was forgotten after the state
// that the database is in, which must then be a copy put back by hand: it is
// forgotten again, but not from beside the process that has it open, which may
// be about to do so itself.
func (db *DB) syncList(ctx context.Context) error {
	if db.forgotten == "" {
		return nil
	}
	list, err := readList(db.forgotten)
	if err != nil {
		return err
	}
	if !db.beside {
		if err := db.forgetListed(ctx, list); err != nil {
			return err
		}
	}
	known, err := db.remembered(ctx)
	if err != nil {
		return err
	}
	return db.writeList(missing(known, list))
}

// forgetListed forgets again what only the list knows.
func (db *DB) forgetListed(ctx context.Context, list map[string]oblivion) error {
	return db.Tx(ctx, func(ctx context.Context) error {
		known, err := db.remembered(ctx)
		if err != nil {
			return err
		}
		return db.forgetAgain(ctx, missing(list, known))
	})
}

// missing is what a knows and b does not, oldest first.
func missing(a, b map[string]oblivion) []oblivion {
	var out []oblivion
	for id, o := range a {
		if _, ok := b[id]; !ok {
			out = append(out, o)
		}
	}
	slices.SortFunc(out, func(x, y oblivion) int { return cmp.Or(x.At.Compare(y.At), cmp.Compare(x.ID, y.ID)) })
	return out
}

// readList reads the list at path, which need not exist.
func readList(path string) (map[string]oblivion, error) {
	raw, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return map[string]oblivion{}, nil
	}
	if err != nil {
		return nil, err
	}
	var list []oblivion
	for line := range bytes.Lines(raw) {
		var o oblivion
		if json.Unmarshal(line, &o) == nil && o.ID != "" {
			list = append(list, o)
		}
	}
	return byID(list), nil
}

// writeList adds to the list and waits until it is on disk.
func (db *DB) writeList(add []oblivion) error {
	if db.forgotten == "" || len(add) == 0 {
		return nil
	}
	db.listing.Lock()
	defer db.listing.Unlock()
	f, err := os.OpenFile(db.forgotten, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	if cutShort(f) {
		text.WriteByte('\n')
	}
	for _, o := range add {
		line, err := json.Marshal(o)
		if err != nil {
			return errors.Join(err, f.Close())
		}
		text.Write(append(line, '\n'))
	}
	_, err = f.Write(text.Bytes())
	return errors.Join(err, f.Sync(), f.Close())
}

// cutShort tells whether the last line has no end.
func cutShort(f *os.File) bool {
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil || size == 0 {
		return false
	}
	last := make([]byte, 1)
	_, err = f.ReadAt(last, size-1)
	return err == nil && last[0] != '\n'
}
