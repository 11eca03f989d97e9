package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/measure"
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
	var entries []entry
	if err := json.Unmarshal(raw, &entries); err != nil {
		return nil, fmt.Errorf("state file %s: %w", path, err)
	}
	for _, e := range entries {
		m.looms[bot.Account{Chat: e.Chat, User: e.User}] = e.Loom
	}
	return m, nil
}

// Loom implements class.Looms.
func (m *Memory) Loom(_ context.Context, a bot.Account) (class.Loom, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.looms[a], nil
}

// Units implements bot.People.
func (m *Memory) Units(ctx context.Context, a bot.Account) (measure.Units, error) {
	l, err := m.Loom(ctx, a)
	return l.Units, err
}

// KeepLoom implements class.Looms.
func (m *Memory) KeepLoom(_ context.Context, a bot.Account, l class.Loom) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	old, had := m.looms[a]
	m.looms[a] = l
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
