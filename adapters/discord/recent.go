package discord

import "sync"

// recent remembers texts by their names, up to a bound; over it half of them,
// the older, are forgotten.
type recent struct {
	mu         sync.Mutex
	most       int
	now, older map[string]string
}

func newRecent(most int) *recent {
	return &recent{most: most, now: map[string]string{}, older: map[string]string{}}
}

// add tells whether the name is new, and remembers it.
func (r *recent) add(name string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, known := r.look(name); known {
		return false
	}
	r.put(name, "")
	return true
}

func (r *recent) set(name, value string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.put(name, value)
}

func (r *recent) remove(name string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.now, name)
	delete(r.older, name)
}

func (r *recent) get(name string) (value string, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.look(name)
}

func (r *recent) look(name string) (value string, ok bool) {
	if value, ok = r.now[name]; ok {
		return value, true
	}
	value, ok = r.older[name]
	return value, ok
}

func (r *recent) put(name, value string) {
	if len(r.now) >= r.most/2 {
		r.older, r.now = r.now, map[string]string{}
	}
	r.now[name] = value
}
