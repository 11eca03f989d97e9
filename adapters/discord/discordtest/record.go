package discordtest

import (
	"encoding/json"
	"os"
	"sync"
)

// recorder adds the bodies of requests to a file. Several servers may add to
// the same one: each line is written at once.
type recorder struct {
	mu sync.Mutex
	f  *os.File
}

// Recorded is one line of the file.
type Recorded struct {
	Route string          `json:"route"` // as "POST /channels/{channel}/messages"
	Body  json.RawMessage `json:"body"`  // of multipart ones, payload_json
	Files int             `json:"files"`
}

// everything is where servers record that were not told; see RecordAll.
var everything string

// RecordAll has every server that is started from now on, and was not told
// otherwise, add what it is sent to a file. It is for a TestMain.
func RecordAll(path string) { everything = path }

func newRecorder(path string) (*recorder, error) {
	if path == "" {
		path = everything
	}
	if path == "" {
		return &recorder{}, nil
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	return &recorder{f: f}, err
}

func (r *recorder) add(e Recorded) {
	if r.f == nil || len(e.Body) == 0 {
		return
	}
	line, err := json.Marshal(e)
	if err != nil {
		return // no JSON at all; the server has refused it
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	_, _ = r.f.Write(append(line, '\n'))
}

func (r *recorder) close() {
	if r.f != nil {
		r.f.Close()
	}
}
