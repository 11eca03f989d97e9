package main

import (
	"context"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

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
	lease    *prometheus.GaugeVec
	panics   *prometheus.CounterVec

	mu      sync.Mutex
	holding map[string]bool // the chats that this process may post to
}

func newGauges() *gauges {
	g := &gauges{
		registry: prometheus.NewRegistry(), holding: map[string]bool{},
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "weftroom_requests_total", Help: "Requests answered, by chat, command and outcome."},
			[]string{"chat", "command", "outcome"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "weftroom_request_seconds", Help: "Time from request to answer.",
			Buckets: prometheus.ExponentialBuckets(0.001, 3, 9)}, []string{"chat"}),
		ignored: prometheus.NewCounter(prometheus.CounterOpts{Name: "weftroom_requests_ignored_total", Help: "Requests older than the restore, left alone."}),
		posts: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "weftroom_posts_total", Help: "Attempts at posts, by kind and what became of them."},
			[]string{"kind", "state"}),
		late: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "weftroom_post_late_seconds", Help: "How long after it was due a post was sent.",
			Buckets: prometheus.ExponentialBuckets(0.01, 4, 9)}),
		lease:  prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "weftroom_chat_lease", Help: "1 while this process may post to the chat."}, []string{"chat"}),
		panics: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "weftroom_panics_total", Help: "Parts of the program that panicked and were begun anew."}, []string{"part"}),
	}
	g.registry.MustRegister(g.requests, g.took, g.ignored, g.posts, g.late, g.lease, g.panics, collectors.NewGoCollector(),
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
	g.mu.Lock()
	defer g.mu.Unlock()
	value := 0.0
	if delete(g.holding, chat); held {
		g.holding[chat], value = true, 1
	}
	g.lease.WithLabelValues(chat).Set(value)
}

func (g *gauges) chats() int {
	g.mu.Lock()
	defer g.mu.Unlock()
	return len(g.holding)
}

// watch adds what is read from the database at each look.
func (g *gauges) watch(h *house) {
	g.registry.MustRegister(shelf{
		h:       h,
		answers: prometheus.NewDesc("weftroom_database_answers", "1 while the database answers within two seconds.", nil, nil),
		held:    prometheus.NewDesc("weftroom_held", "1 while nothing is posted, for a backup was restored and not resumed.", nil, nil),
		waiting: prometheus.NewDesc("weftroom_posts_waiting", "Posts that are planned or being sent.", nil, nil),
		dead:    prometheus.NewDesc("weftroom_posts_dead", "Posts that were given up and wait for someone to look; 500 means 500 or more.", nil, nil),
	})
}

// shelf is what the database tells of itself.
type shelf struct {
	h                            *house
	answers, held, waiting, dead *prometheus.Desc
}

// Describe implements prometheus.Collector.
func (s shelf) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{s.answers, s.held, s.waiting, s.dead} {
		to <- d
	}
}

// Collect implements prometheus.Collector.
func (s shelf) Collect(to chan<- prometheus.Metric) {
	set := func(d *prometheus.Desc, value float64) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, value)
	}
	state := s.h.health(context.Background())
	if state.Database != databaseGood {
		set(s.answers, 0)
		return
	}
	set(s.answers, 1)
	set(s.held, map[bool]float64{true: 1}[state.Held])
	set(s.waiting, float64(state.Waiting))
	set(s.dead, float64(state.Dead))
}
