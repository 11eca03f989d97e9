package main

import (
	"context"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"weftroom/bot"
	"weftroom/bot/timetable"
)

// gauges are what the operator can watch. No label names a person, a room or a
// word of a message.
type gauges struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	took     *prometheus.HistogramVec
	ignored  prometheus.Counter
	posts    *prometheus.CounterVec
	late     prometheus.Histogram
	held     *prometheus.GaugeVec
	holding  atomic.Int64 // chats that this process holds
}

func newGauges() *gauges {
	g := &gauges{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "weftroom_requests_total", Help: "Requests answered, by chat, command and outcome."},
			[]string{"chat", "command", "outcome"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "weftroom_request_seconds", Help: "Time from request to answer.",
			Buckets: prometheus.ExponentialBuckets(0.001, 3, 9)}, []string{"chat"}),
		ignored: prometheus.NewCounter(prometheus.CounterOpts{Name: "weftroom_requests_ignored_total", Help: "Requests older than the restore, left alone."}),
		posts: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "weftroom_posts_total", Help: "Attempts at posts, by kind and what became of them."},
			[]string{"kind", "state"}),
		late: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "weftroom_post_late_seconds", Help: "How long after it was due a post was sent.",
			Buckets: prometheus.ExponentialBuckets(0.01, 4, 9)}),
		held: prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "weftroom_chat_held", Help: "1 while this process may post to the chat."}, []string{"chat"}),
	}
	g.registry.MustRegister(g.requests, g.took, g.ignored, g.posts, g.late, g.held, collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return g
}

func (g *gauges) answered(r bot.Request, reply bot.Reply, took time.Duration) {
	g.requests.WithLabelValues(r.From.Chat, reply.Command, outcome(reply)).Inc()
	g.took.WithLabelValues(r.From.Chat).Observe(took.Seconds())
}

func (g *gauges) sent(o timetable.Outcome) {
	g.posts.WithLabelValues(string(o.Post.Kind), string(o.State)).Inc()
	if o.State == timetable.Sent {
		g.late.Observe(o.Late.Seconds())
	}
}

func (g *gauges) holds(chat string, held bool) {
	if held {
		g.held.WithLabelValues(chat).Set(1)
		g.holding.Add(1)
		return
	}
	g.held.WithLabelValues(chat).Set(0)
	g.holding.Add(-1)
}

// health is what /healthz and /readyz say.
type health struct {
	Database string `json:"database"` // ok, or what is wrong
	Held     bool   `json:"held"`     // restored and not yet resumed: nothing is posted
	Chats    int64  `json:"chats"`    // that this process may post to
	Waiting  int    `json:"posts_waiting"`
}

// serveHTTP answers the operator on a loopback address until ctx ends.
func (h *house) serveHTTP(ctx context.Context, listen string) error {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(h.gauges.registry, promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, r *http.Request) { w.Write([]byte("ok\n")) })
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, r *http.Request) {
		state := h.health(r.Context())
		w.Header().Set("Content-Type", "application/json")
		if state.Database != "ok" {
			w.WriteHeader(http.StatusServiceUnavailable)
		}
		_ = json.NewEncoder(w).Encode(state) // the reader has gone
	})
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", listen)
	if err != nil {
		return err
	}
	h.log.Info("watch at", "address", l.Addr().String())
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 5 * time.Second}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()
	select {
	case err = <-ended:
	case <-ctx.Done():
		grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
		defer cancel()
		err = errors.Join(server.Shutdown(grace), <-ended)
	}
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

func (h *house) health(ctx context.Context) health {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	state := health{Database: "ok", Chats: h.gauges.holding.Load()}
	since, err := h.db.HeldSince(ctx)
	if err == nil {
		state.Held = !since.IsZero()
		state.Waiting, err = h.box.Waiting(ctx)
	}
	if err != nil {
		h.log.Error("not ready", "err", err)
		state.Database = "does not answer"
	}
	return state
}
