//go:build unix

// Package delivery_test kills, stops and restarts processes that send posts, and
// counts what arrives.
package delivery_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"weftroom/bot"
)

// parcel is a post on its way to the receiver.
type parcel struct {
	Process string
	Chat    string
	Room    string
	Key     string
	N       int // its place in the order of the room, from 0
}

// receiver stands for the chats. It lives in the test's own process and so
// outlives those that are killed. It shows a message once for a key, as a chat
// does, and notes every arrival.
type receiver struct {
	socket string
	delay  time.Duration // of each answer

	mu       sync.Mutex
	changed  chan struct{} // closed and replaced at each arrival
	shown    map[string][]int
	times    map[string]int    // arrivals by key
	last     map[string]string // the key shown last in a room
	writing  map[string]int    // posts under way in a room
	arrivals int
	repeats  int // of a key that was there
	overlaps int // two at once in a room
	disorder []string
	active   string // the process that posted last

	requests []asked
	answers  map[string][]string // by request id
}

// asked is a request on its way to the process that answers.
type asked struct {
	ID   string
	From bot.Account
	Line string
}

func newReceiver(t testing.TB) *receiver {
	t.Helper()
	// A socket's path may hold some hundred bytes, so not under the folder of a test.
	dir, err := os.MkdirTemp("", "weftroom-")
	if err != nil {
		t.Fatal(err)
	}
	r := &receiver{
		socket: filepath.Join(dir, "chat"), changed: make(chan struct{}),
		shown: map[string][]int{}, times: map[string]int{}, last: map[string]string{}, writing: map[string]int{},
		answers: map[string][]string{},
	}
	l, err := net.Listen("unix", r.socket)
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.HandleFunc("POST /post", r.post)
	mux.HandleFunc("GET /sent", r.sent)
	mux.HandleFunc("GET /request", r.request)
	mux.HandleFunc("POST /answer", r.answer)
	server := &http.Server{Handler: mux}
	done := make(chan error, 1)
	go func() { done <- server.Serve(l) }()
	t.Cleanup(func() {
		server.Close()
		<-done
		os.RemoveAll(dir)
	})
	return r
}

func (r *receiver) post(w http.ResponseWriter, q *http.Request) {
	var p parcel
	if err := json.NewDecoder(q.Body).Decode(&p); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	room := p.Chat + " " + p.Room
	r.arrive(p, room)
	select { // the sender may be killed while it waits for the answer
	case <-time.After(r.delay):
	case <-q.Context().Done():
	}
	r.mu.Lock()
	r.writing[room]--
	r.mu.Unlock()
	fmt.Fprintf(w, `{"id":%q}`, p.Key)
}

func (r *receiver) arrive(p parcel, room string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.arrivals++
	r.active = p.Process
	if r.writing[room]++; r.writing[room] > 1 {
		r.overlaps++
	}
	r.times[p.Key]++
	if r.times[p.Key] > 1 {
		r.repeats++
		if r.last[room] != p.Key {
			r.disorder = append(r.disorder, fmt.Sprintf("%s: %d came again after a later one", room, p.N))
		}
	} else {
		if want := len(r.shown[room]); p.N != want {
			r.disorder = append(r.disorder, fmt.Sprintf("%s: %d came where %d was next", room, p.N, want))
		}
		r.shown[room] = append(r.shown[room], p.N)
		r.last[room] = p.Key
	}
	close(r.changed)
	r.changed = make(chan struct{})
}

func (r *receiver) sent(w http.ResponseWriter, q *http.Request) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if key := q.FormValue("key"); r.times[key] > 0 {
		fmt.Fprint(w, key)
	}
}

// request hands out one that has no answer yet.
func (r *receiver) request(w http.ResponseWriter, _ *http.Request) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, q := range r.requests {
		if len(r.answers[q.ID]) == 0 {
			_ = json.NewEncoder(w).Encode(q)
			return
		}
	}
}

func (r *receiver) answer(_ http.ResponseWriter, q *http.Request) {
	var text string
	_ = json.NewDecoder(q.Body).Decode(&text)
	r.mu.Lock()
	defer r.mu.Unlock()
	r.arrivals++
	id := q.FormValue("id")
	r.answers[id] = append(r.answers[id], text)
	close(r.changed)
	r.changed = make(chan struct{})
}

// shownSoFar counts messages that stand in rooms.
func (r *receiver) shownSoFar() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	n := 0
	for _, room := range r.shown {
		n += len(room)
	}
	return n
}

// answered counts requests that have an answer.
func (r *receiver) answered() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return len(r.answers)
}

// wait waits until what count gives has reached n, and tells whether it has
// within d.
func (r *receiver) wait(d time.Duration, n int, count func() int) bool {
	over := time.After(d)
	for {
		r.mu.Lock()
		changed := r.changed
		r.mu.Unlock()
		if count() >= n {
			return true
		}
		select {
		case <-changed:
		case <-over:
			return false
		}
	}
}

// courier is an adapter to the receiver.
type courier struct {
	name    string
	process string
	http    *http.Client
}

func newCourier(name, process, socket string) *courier {
	t := &http.Transport{
		DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
			var d net.Dialer
			return d.DialContext(ctx, "unix", socket)
		},
		MaxIdleConnsPerHost: 100,
	}
	return &courier{name, process, &http.Client{Transport: t}}
}

func (c *courier) Name() string { return c.name }

func (c *courier) Run(ctx context.Context, _ bot.Handler) error {
	<-ctx.Done()
	return nil
}

func (c *courier) Post(ctx context.Context, to bot.Place, key string, r bot.Reply) (string, error) {
	p := parcel{Process: c.process, Chat: to.Chat, Room: to.Room, Key: key}
	if _, err := fmt.Sscan(r.Title, &p.N); err != nil {
		return "", err
	}
	var id struct{ ID string }
	err := c.do(ctx, http.MethodPost, "/post", p, &id)
	return id.ID, err
}

// do speaks with the receiver; an empty answer leaves into as it is.
func (c *courier) do(ctx context.Context, method, path string, body, into any) error {
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	q, err := http.NewRequestWithContext(ctx, method, "http://chat"+path, bytesReader(raw))
	if err != nil {
		return err
	}
	a, err := c.http.Do(q)
	if err != nil {
		return err
	}
	defer a.Body.Close()
	if a.StatusCode != http.StatusOK {
		return errors.New(a.Status)
	}
	return decode(a.Body, into)
}

// looker is a courier to a chat that offers no keys and must be looked into.
type looker struct{ *courier }

func (l looker) Sent(ctx context.Context, _ bot.Place, key string) (string, error) {
	var id string
	err := l.do(ctx, http.MethodGet, "/sent?key="+key, nil, &id)
	return id, err
}
