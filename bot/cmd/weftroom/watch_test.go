package main

import (
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"weftroom/bot"
)

func metrics(t *testing.T, h *house) string {
	t.Helper()
	w := httptest.NewRecorder()
	promhttp.HandlerFor(h.gauges.registry, promhttp.HandlerOpts{}).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	if w.Code != http.StatusOK {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	return w.Body.String()
}

// ourMetrics are all of ours, in the order of their names. Dashboards know them
// by these names.
var ourMetrics = []string{
	"weftroom_chat_lease",
	"weftroom_database_answers",
	"weftroom_held",
	"weftroom_panics_total",
	"weftroom_post_late_seconds",
	"weftroom_posts_dead",
	"weftroom_posts_total",
	"weftroom_posts_waiting",
	"weftroom_request_seconds",
	"weftroom_requests_ignored_total",
	"weftroom_requests_total",
}

func TestMetrics(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	end := n.running()
	n.must("ottilie", `class open "Lace" zone:Berlin`)
	n.ask("ottilie", "row ends:97 passes:4")
	n.post("It begins.")
	eventually(t, "the post", n.shows("It begins."))
	if err := end(); err != nil {
		t.Error(err)
	}
	n.try(t.Context(), "part", func(context.Context) error { panic("on purpose") })
	text := metrics(t, n.house)
	var names []string
	for _, m := range regexp.MustCompile(`(?m)^# TYPE (weftroom_\w+)`).FindAllStringSubmatch(text, -1) {
		names = append(names, m[1])
	}
	if d := cmp.Diff(ourMetrics, names); d != "" {
		t.Error(d)
	}
	for _, want := range []string{
		`weftroom_requests_total{chat="loopback",command="class open",outcome="ok"} 1`,
		`weftroom_requests_total{chat="loopback",command="row",outcome="bad_value"} 1`,
		`weftroom_posts_total{kind="say",state="sent"} 1`,
		`weftroom_post_late_seconds_count 1`,
		`weftroom_chat_lease{chat="loopback"} 0`,
		"weftroom_database_answers 1", "weftroom_held 0", "weftroom_posts_dead 0", "weftroom_posts_waiting 0",
		"go_goroutines ", "process_open_fds ",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
	n.close()
	text = metrics(t, n.house)
	if !strings.Contains(text, "weftroom_database_answers 0") || strings.Contains(text, "weftroom_posts_waiting 0") {
		t.Errorf("without a database:\n%s", text)
	}
}

// TestHealth asks over HTTP, held and resumed and without a database.
func TestHealth(t *testing.T) {
	n := moveIn(t, freshFile(t), nil)
	l, err := listen(t.Context(), "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	end := running(t, func(ctx context.Context) error { return n.serve(ctx, []bot.Adapter{n.chat}, l) })
	get := func(path string) (int, string) {
		t.Helper()
		r, err := http.Get("http://" + l.Addr().String() + path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		body, err := io.ReadAll(r.Body)
		if err != nil {
			t.Fatal(err)
		}
		return r.StatusCode, string(body)
	}
	eventually(t, "the chat held", func() bool { return n.gauges.chats() == 1 })
	code, body := get("/readyz")
	var state map[string]any
	if err := json.Unmarshal([]byte(body), &state); err != nil || code != http.StatusOK {
		t.Fatalf("%d: %s, %v", code, body, err)
	}
	want := map[string]any{"database": "ok", "held": false, "chats": 1., "posts_waiting": 0., "posts_dead": 0.}
	if d := cmp.Diff(want, state); d != "" {
		t.Error(d)
	}
	for _, c := range []struct {
		path string
		code int
		says string
	}{
		{"/healthz", 200, "ok\n"}, {"/metrics", 200, "# HELP weftroom_"}, {"/", 404, ""}, {"/debug/pprof/", 404, ""},
	} {
		if code, body := get(c.path); code != c.code || !strings.Contains(body, c.says) {
			t.Errorf("%s: %d, %s", c.path, code, body)
		}
	}
	if r, err := http.Post("http://"+l.Addr().String()+"/readyz", "", nil); err != nil || r.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("posting to it: %v, %v", r, err)
	}
	n.db.Close()
	if code, body := get("/readyz"); code != http.StatusServiceUnavailable || !strings.Contains(body, "does not answer") {
		t.Errorf("without a database: %d, %s", code, body)
	}
	if code, _ := get("/healthz"); code != http.StatusOK {
		t.Errorf("it lives all the same: %d", code)
	}
	_ = end() // the sender cannot give up its chats
	if _, err := net.Dial("tcp", l.Addr().String()); err == nil {
		t.Error("it answers after its end")
	}
}

// TestListenIsForThisMachine: a flag allows no more than the settings do.
func TestListenIsForThisMachine(t *testing.T) {
	for _, address := range []string{"0.0.0.0:0", ":0", "[::]:0", "192.168.1.2:80", "localhost:0", "127.0.0.1", "somewhere"} {
		l, err := listen(t.Context(), address)
		if err == nil {
			l.Close()
			t.Errorf("%s: allowed", address)
		}
	}
	l, err := listen(t.Context(), "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if _, err := listen(t.Context(), l.Addr().String()); err == nil || !strings.Contains(err.Error(), "choose another port") {
		t.Errorf("twice: %v", err)
	}
	if l, err := listen(t.Context(), ""); l != nil || err != nil {
		t.Errorf("nowhere: %v, %v", l, err)
	}
}
