package main

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// health is what /readyz says.
type health struct {
	Database string `json:"database"` // databaseGood, or what is wrong
	Held     bool   `json:"held"`     // restored and not yet resumed: nothing is posted
	Chats    int    `json:"chats"`    // that this process may post to
	Waiting  int    `json:"posts_waiting"`
	Dead     int    `json:"posts_dead"` // given up, up to 500
}

const databaseGood = "ok"

// ready tells whether the house does its work: a process that stands by, since
// another has the chats, is ready as well.
func (s health) ready() bool { return s.Database == databaseGood && !s.Held }

// health looks at the database, for two seconds at most.
func (h *house) health(ctx context.Context) health {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	state, err := h.look(ctx)
	state.Chats = h.gauges.chats()
	if err != nil {
		h.log.Error("not ready", "err", err)
		state.Database = "does not answer"
	}
	return state
}

func (h *house) look(ctx context.Context) (health, error) {
	state := health{Database: databaseGood}
	since, err := h.db.HeldSince(ctx)
	if err != nil {
		return state, err
	}
	state.Held = !since.IsZero()
	if state.Waiting, err = h.box.Waiting(ctx); err != nil {
		return state, err
	}
	dead, err := h.box.DeadOf(ctx, "")
	state.Dead = len(dead)
	return state, err
}

// serveHTTP answers the operator at a loopback address until ctx ends. /healthz
// says that the process lives, /readyz that it does its work.
func (h *house) serveHTTP(ctx context.Context, l net.Listener) error {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(h.gauges.registry, promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("ok\n")) }) // the reader has gone
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, r *http.Request) {
		state := h.health(r.Context())
		w.Header().Set("Content-Type", "application/json")
		if !state.ready() {
			w.WriteHeader(http.StatusServiceUnavailable)
		}
		_ = json.NewEncoder(w).Encode(state) // the reader has gone
	})
	h.log.Info("answering /healthz, /readyz and /metrics", "address", l.Addr().String())
	server := &http.Server{
		Handler: mux, ErrorLog: slog.NewLogLogger(h.log.Handler(), slog.LevelError),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute,
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()
	var err error
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
