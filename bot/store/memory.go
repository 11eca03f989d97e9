package store

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Memory keeps looms in memory and, when it has a file, writes the whole of it
// at each change: the new file is complete on disk before it takes the old
// one's name, so that a crash leaves one or the other.
type Memory struct {
	mu    sync.Mutex
	path  string
	looms map[bot.Account]class.Loom
}

// entry is one loom in the file.
type entry struct {
	Chat string     `json:"chat"`
	User string     `json:"user"`
	Loom class.Loom `json:"loom"`
}

// NewMemory is a store without a file.
func NewMemory() *Memory { return &Memory{looms: map[bot.Account]class.Loom{}} }

// Open reads the file at path, which need not exist yet.
func Open(path string) (*Memory, error) {
	m := NewMemory()
	m.path = path
	raw, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return m, nil
	}
	if err != nil {
		return nil, err
	}
	entries, err := readEntries(raw)
	if err != nil {
		return nil, fmt.Errorf("state file %s cannot be read and is left as it is: %w", path, err)
	}
	for _, e := range entries {
		m.looms[bot.Account{Chat: e.Chat, User: e.User}] = e.Loom
	}
	return m, nil
}

// readEntries refuses what write does not write: writing the file again would
// lose it.
func readEntries(raw []byte) ([]entry, error) {
	var entries []entry
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(&entries); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("there is more after its end")
	}
	return entries, nil
}

// Loom implements class.Looms.
func (m *Memory) Loom(_ context.Context, a bot.Account) (class.Loom, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return apart(m.looms[a]), nil
}

// apart is a loom that shares nothing with l.
func apart(l class.Loom) class.Loom {
	l.Unsure = slices.Clone(l.Unsure)
	return l
}

// Asker implements bot.People.
func (m *Memory) Asker(ctx context.Context, r bot.Request) (bot.Asker, error) {
	l, err := m.Loom(ctx, r.From)
	return bot.Asker{Units: l.Units}, err
}

// KeepLoom implements class.Looms.
func (m *Memory) KeepLoom(_ context.Context, a bot.Account, l class.Loom) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	old, had := m.looms[a]
	m.looms[a] = apart(l)
	if err := m.write(); err != nil {
		if m.looms[a] = old; !had {
			delete(m.looms, a)
		}
		return err
	}
	return nil
}

func (m *Memory) write() error {
	if m.path == "" {
		return nil
	}
	entries := make([]entry, 0, len(m.looms))
	for a, l := range m.looms {
		entries = append(entries, entry{a.Chat, a.User, l})
	}
	slices.SortFunc(entries, func(a, b entry) int { return cmp.Or(cmp.Compare(a.Chat, b.Chat), cmp.Compare(a.User, b.User)) })
	raw, err := json.MarshalIndent(entries, "", "  ")
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(m.path), ".state-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // does nothing once renamed
	_, err = f.Write(raw)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), m.path)
}
