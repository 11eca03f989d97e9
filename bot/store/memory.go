package store

import (
	"context"
	"slices"
	"sync"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Memory keeps looms in memory, for questions that nobody will remember.
type Memory struct {
	mu    sync.Mutex
	looms map[bot.Account]class.Loom
}

// NewMemory keeps nothing yet.
func NewMemory() *Memory { return &Memory{looms: map[bot.Account]class.Loom{}} }

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
	m.looms[a] = apart(l)
	return nil
}
