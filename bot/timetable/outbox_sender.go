package timetable

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"slices"
	"time"

	"weftroom/bot"
)

// Bounds of sending, unless Options say otherwise.
const (
	DefaultSendTimeout = 10 * time.Second
	DefaultLease       = 60 * time.Second
	DefaultParallel    = 64
	DefaultMaxSleep    = time.Minute

	// MaxAttempts is after how many attempts a post is dead. With the backoff
	// below they reach over about eight hours.
	MaxAttempts = 25
	// MaxBackoff bounds the pause between two attempts.
	MaxBackoff = 30 * time.Minute
	// MaxRetryAfter bounds the pause that a chat may ask for; one that means
	// longer will say so again.
	MaxRetryAfter = time.Hour

	firstBackoff = time.Second
	turnTimeout  = 15 * time.Second // of one transaction
	lookEvery    = time.Second      // at least, while posts keep coming through
	clockSlack   = 10 * time.Second // by less than this the clock may be corrected unnoticed
	maxTurnPause = 10 * time.Second // between tries while the database is gone
)

// Render reads the truth about a post and makes what is sent. A Verdict other
// than Send cancels the post with the Verdict as its Reason. An error is a
// failed attempt. It may block on storage.
type Render func(ctx context.Context, p Post) (bot.Reply, Verdict, error)

// Options of a Sender. The zero value of a field means what its comment says.
type Options struct {
	Log         *slog.Logger  // slog.Default()
	SendTimeout time.Duration // DefaultSendTimeout: of one attempt, from Render to the chat's answer
	Lease       time.Duration // DefaultLease; more than SendTimeout
	Parallel    int           // DefaultParallel: how many rooms are written to at once
	MaxSleep    time.Duration // DefaultMaxSleep: how long a change of the wall clock may go unnoticed

	Now    func() time.Time // time.Now: the wall clock
	Jitter func() float64   // random numbers in [0, 1)

	// Observe, if set, is told what became of each attempt once that is kept. It
	// must not block.
	Observe func(Outcome)

	// Held, if set, is told when this process gains or loses a chat. It must not
	// block.
	Held func(chat string, held bool)

	// Refused, if set, gives the posts to add when a person takes no direct
	// messages; they are kept together with the fact. It may block on storage.
	Refused func(ctx context.Context, p Post) ([]Post, error)
}

// Outcome is what became of one attempt, for metrics.
type Outcome struct {
	Post   Post          // as it was claimed
	State  State         // Sent, Dead, Cancelled, or Queued when it is tried again
	Late   time.Duration // of a sent post, after Due
	Reason string
}

// Sender takes posts from an Outbox to the chats. Its Run is one loop that
// takes turns with the Outbox and sleeps in between, and one goroutine for each
// post in hand.
type Sender struct {
	box      Outbox
	adapters map[string]bot.Adapter
	chats    []string
	render   Render
	o        Options

	wake chan struct{}
	done chan Mark

	// Only the loop touches what follows.
	hand     map[int64]bool // posts being sent
	marks    []Mark         // what became of posts, not yet written
	lost     bool           // the last turn failed
	failures int            // turns failed in a row
	held     map[string]bool
	until    time.Time // by the monotonic clock: when the held chats' leases run out
	wall     time.Time // the wall clock of the last turn that went through; zero before the first
	at       time.Time // when that was, by the monotonic clock
	look     bool      // something may be due in a room that nothing was sent to
	due      time.Time // by the wall clock: when that will be so; zero for no time known
	looked   time.Time // by the monotonic clock: when it was last looked for
}

// NewSender makes a Sender to adapters of different chats.
func NewSender(box Outbox, adapters []bot.Adapter, render Render, o Options) *Sender {
	s := &Sender{
		box: box, adapters: map[string]bot.Adapter{}, render: render, o: o.withDefaults(),
		wake: make(chan struct{}, 1), hand: map[int64]bool{}, held: map[string]bool{}, look: true,
	}
	s.done = make(chan Mark, s.o.Parallel)
	for _, a := range adapters {
		s.adapters[a.Name()] = a
		s.chats = append(s.chats, a.Name())
	}
	return s
}

func (o Options) withDefaults() Options {
	if o.Log == nil {
		o.Log = slog.Default()
	}
	if o.SendTimeout <= 0 {
		o.SendTimeout = DefaultSendTimeout
	}
	if o.Lease <= 0 {
		o.Lease = DefaultLease
	}
	if o.Parallel <= 0 {
		o.Parallel = DefaultParallel
	}
	if o.MaxSleep <= 0 {
		o.MaxSleep = DefaultMaxSleep
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Jitter == nil {
		o.Jitter = rand.Float64
	}
	if o.Observe == nil {
		o.Observe = func(Outcome) {}
	}
	if o.Held == nil {
		o.Held = func(string, bool) {}
	}
	return o
}

// Wake makes a sleeping Sender look at the Outbox now. It does not block.
func (s *Sender) Wake() {
	select {
	case s.wake <- struct{}{}:
	default:
	}
}

// Run sends until ctx ends, then lets the posts in hand finish, writes what
// became of them and gives up its chats. It returns when every goroutine that
// it started is done. Nothing that goes wrong on the way ends it; the error is
// of the last writing alone.
func (s *Sender) Run(ctx context.Context) error {
	// The identity that Listen holds must outlast the last mark, or another
	// process would take the posts in hand for orphans.
	listening, hush := context.WithCancel(context.WithoutCancel(ctx))
	defer hush()
	ended := make(chan error, 1)
	go func() { ended <- s.box.Listen(listening, s.Wake) }()

	err := s.loop(ctx)
	hush()
	return errors.Join(err, <-ended)
}

func (s *Sender) loop(ctx context.Context) error {
	for ctx.Err() == nil {
		pause := s.step(ctx, true)
		s.await(ctx.Done(), pause)
	}
	for len(s.hand) > 0 {
		pause := s.step(ctx, false)
		s.await(nil, pause)
	}
	return s.leave(ctx)
}

// step takes one turn, begins to send what it claimed and says how long the
// loop may sleep.
func (s *Sender) step(ctx context.Context, claim bool) time.Duration {
	begun := time.Now()
	t := s.next()
	if claim {
		t.Chats, t.Free = s.chats, s.o.Parallel-len(s.hand)
		t.Look = s.look || s.lost || addsPosts(t.Done) || t.MaxWait > 0 || begun.Sub(s.looked) >= lookEvery || !s.due.IsZero() && !t.Now.Before(s.due)
	}
	c, err := s.turn(ctx, t)
	if err != nil {
		return s.failed(err)
	}
	if t.Look {
		s.hold(c.Held, begun.Add(s.o.Lease))
		s.look, s.looked = false, begun
	}
	s.due = c.Next
	for _, p := range c.Posts {
		s.hand[p.ID] = true
		go func() { s.done <- s.send(context.WithoutCancel(ctx), p, begun) }()
	}
	return s.pause(c)
}

// addsPosts tells that marks bring posts with them: they may be due now, in rooms
// in which nothing else happens.
func addsPosts(marks []Mark) bool {
	return slices.ContainsFunc(marks, func(m Mark) bool { return len(m.Then) > 0 })
}

// next is a turn that claims nothing.
func (s *Sender) next() Turn {
	t := Turn{
		Now: s.o.Now(), Done: s.marks, Lost: s.lost, Lease: s.o.Lease,
	}
	if s.setBack(t.Now) {
		t.MaxWait = max(MaxBackoff, MaxRetryAfter)
	}
	for id := range s.hand {
		t.Keep = append(t.Keep, id)
	}
	return t
}

// setBack tells whether the wall clock may have been set back since the last
// turn; before the first, nobody knows.
func (s *Sender) setBack(wall time.Time) bool {
	return s.wall.IsZero() || wall.Sub(s.wall) < time.Since(s.at)-clockSlack
}

// turn runs one transaction, which outlives ctx, and reports what it settled.
func (s *Sender) turn(ctx context.Context, t Turn) (Claim, error) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), turnTimeout)
	defer cancel()
	begun := time.Now()
	c, err := s.box.Turn(ctx, t)
	if err != nil {
		s.lost = true
		return Claim{}, err
	}
	s.marks, s.lost, s.failures = nil, false, 0
	s.wall, s.at = t.Now, begun
	for _, m := range t.Done {
		if slices.Contains(c.Fenced, m.Post.ID) {
			s.o.Log.Warn("post was taken over before its end was kept", attributes(m.Post)...)
			continue
		}
		s.settled(m)
	}
	if c.Freed > 0 {
		s.o.Log.Warn("posts taken back whose sending was cut off", "posts", c.Freed)
	}
	s.expired(c.Expired)
	return c, nil
}

// expired reports what was found past its expiry: one line a kind, for after a
// long downtime there may be many.
func (s *Sender) expired(posts []Post) {
	counts := map[Skip]int{}
	for _, p := range posts {
		counts[Skip{Kind: p.Kind, Reason: p.Reason}]++
		s.o.Observe(Outcome{Post: p, State: p.State, Reason: p.Reason})
	}
	for k, n := range counts {
		s.o.Log.Warn("posts not sent, for they had become too late to be of use", "kind", string(k.Kind), "posts", n, "reason", k.Reason)
	}
}

// settled tells logs and metrics of an attempt whose end is kept.
func (s *Sender) settled(m Mark) {
	o := Outcome{Post: m.Post, State: m.State, Reason: m.Reason}
	a := append(attributes(m.Post), "state", string(m.State))
	switch m.State {
	case Sent:
		o.Late = max(0, m.Sent.Sub(m.Post.Due))
		s.o.Log.Info("post sent", append(a, "late", o.Late)...)
	case Cancelled:
		s.o.Log.Info("post not sent", append(a, "reason", m.Reason)...)
	case Dead:
		s.o.Log.Error("post given up", append(a, "reason", m.Reason)...)
	default:
		level := slog.LevelWarn
		if m.Uncounted { // the chat asked for it
			level = slog.LevelInfo
		}
		s.o.Log.Log(context.Background(), level, "post will be tried again", append(a, "reason", m.Reason, "next", m.Next)...)
	}
	s.o.Observe(o)
}

// attributes name a post in a log; none of them says what it is about in words.
func attributes(p Post) []any {
	return []any{"post", p.ID, "key", p.Key, "kind", string(p.Kind), "chat", p.To.Chat, "class", string(p.Class), "attempt", p.Attempts}
}

// failed says how long to wait after a turn that failed. Once the leases must
// have run out, the chats count as lost.
func (s *Sender) failed(err error) time.Duration {
	s.failures++
	s.o.Log.Error("outbox out of reach", "failures", s.failures, "err", err)
	if !time.Now().Before(s.until) {
		s.hold(nil, s.until)
	}
	return min(maxTurnPause, time.Second<<min(s.failures-1, 10))
}

// hold notes which chats this process holds, and tells what changed.
func (s *Sender) hold(chats []string, until time.Time) {
	s.until = until
	for _, chat := range s.chats {
		if held := slices.Contains(chats, chat); held != s.held[chat] {
			s.held[chat] = held
			s.o.Log.Info("chat lease", "chat", chat, "held", held)
			s.o.Held(chat, held)
		}
	}
}

// pause is how long there is nothing to do unless something happens. It is
// counted by the monotonic clock and bounded, so that a change of the wall
// clock in the meantime is noticed.
func (s *Sender) pause(c Claim) time.Duration {
	longest := min(s.o.MaxSleep, s.box.Poll())
	if c.Next.IsZero() || len(s.hand) >= s.o.Parallel {
		return longest
	}
	// Not at once: what is due and was not claimed is being claimed elsewhere.
	return min(longest, max(c.Next.Sub(s.o.Now()), 2*time.Millisecond))
}

// await sleeps until a post in hand is through, someone wakes the Sender, the
// pause is over or ended closes. While turns fail, a wake does not shorten the
// pause.
func (s *Sender) await(ended <-chan struct{}, pause time.Duration) {
	timer := time.NewTimer(pause)
	defer timer.Stop()
	wake := s.wake
	if s.failures > 0 {
		wake = nil
	}
	select {
	case <-ended:
	case <-timer.C:
		s.look = true
	case <-wake:
		s.look = true
	case m := <-s.done:
		s.take(m)
	}
	for {
		select {
		case m := <-s.done:
			s.take(m)
		default:
			return
		}
	}
}

func (s *Sender) take(m Mark) {
	delete(s.hand, m.Post.ID)
	s.marks = append(s.marks, m)
}

// leave writes what is left and gives up the chats.
func (s *Sender) leave(ctx context.Context) error {
	var err error
	for range 3 {
		t := s.next()
		t.Leave = true
		if _, err = s.turn(ctx, t); err == nil {
			s.hold(nil, time.Time{})
			return nil
		}
		time.Sleep(time.Second)
	}
	return fmt.Errorf("outbox: %d sent posts could not be marked and will be sent again under the same keys: %w", len(s.marks), err)
}
