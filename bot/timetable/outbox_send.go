package timetable

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"
	"time"

	"weftroom/bot"
)

// maxReason bounds what is kept of an error, in bytes.
const maxReason = 300

// send makes one attempt at a post and never fails or panics: whatever goes
// wrong is in the Mark. claimed is when the turn that claimed it began.
func (s *Sender) send(ctx context.Context, p Post, claimed time.Time) (m Mark) {
	defer func() {
		if r := recover(); r != nil {
			s.o.Log.Error("panic while sending", append(attributes(p), "panic", fmt.Sprint(r), "stack", string(debug.Stack()))...)
			m = s.again(p, "panic, see the log")
		}
	}()
	ctx, cancel := context.WithTimeout(ctx, s.o.SendTimeout)
	defer cancel()
	if p.Kind == KindCount {
		return s.change(ctx, p, claimed)
	}
	reply, verdict, err := s.render(ctx, p)
	switch {
	case err != nil:
		return s.unsent(ctx, p, fmt.Errorf("render: %w", err))
	case verdict != Send:
		return Mark{Post: p, State: Cancelled, Reason: string(verdict)}
	}
	id, err := s.deliver(ctx, p, reply, claimed)
	if err != nil {
		return s.unsent(ctx, p, err)
	}
	m = Mark{Post: p, State: Sent, Sent: s.o.Now()}
	if !direct(p) {
		m.Message = id
	}
	return m
}

// errLate says that the lease is nearly over, as after the process was stopped
// for a while: another may have the post now.
var errLate = &bot.SendError{Err: errors.New("lease nearly over"), RetryAfter: time.Millisecond}

// late tells that the lease of a post that was claimed then is nearly over.
func (s *Sender) late(claimed time.Time) bool {
	return time.Since(claimed) > s.o.Lease-s.o.SendTimeout
}

// deliver hands a reply to the post's chat, unless it is there already, and
// gives the message's id.
func (s *Sender) deliver(ctx context.Context, p Post, r bot.Reply, claimed time.Time) (id string, err error) {
	a := s.adapters[p.To.Chat]
	to, err := roomFor(ctx, a, p.To)
	if err != nil {
		return "", err
	}
	// Nobody knows how an earlier attempt that counted ended.
	if old, ok := a.(bot.Reconciler); ok && p.Attempts > 1 {
		id, err := old.Sent(ctx, to, p.Key)
		if err != nil || id != "" {
			return id, err
		}
	}
	if s.late(claimed) {
		return "", errLate
	}
	return a.Post(ctx, to, p.Key, r)
}

// roomFor finds the real room of a post to a person alone.
func roomFor(ctx context.Context, a bot.Adapter, to bot.Place) (bot.Place, error) {
	user, direct := strings.CutPrefix(to.Room, "@")
	if !direct {
		return to, nil
	}
	d, ok := a.(bot.DirectPoster)
	if !ok {
		return bot.Place{}, &bot.SendError{Err: errors.New("this chat has no direct messages"), Permanent: true, Refused: true}
	}
	return d.Direct(ctx, user)
}

// unsent decides what becomes of a post that did not arrive, or about which
// nobody can tell.
func (s *Sender) unsent(ctx context.Context, p Post, err error) Mark {
	e := bot.AsSendError(err)
	switch {
	case e.Refused:
		return s.refused(ctx, p, err)
	case e.Permanent:
		return Mark{Post: p, State: Dead, Reason: briefly(err.Error())}
	case e.RetryAfter > 0:
		pause := min(e.RetryAfter, MaxRetryAfter)
		return Mark{Post: p, State: Queued, Next: s.o.Now().Add(pause), Uncounted: true, Reason: briefly(err.Error())}
	}
	return s.again(p, briefly(err.Error()))
}

// again queues a post for another attempt, if it has one left.
func (s *Sender) again(p Post, reason string) Mark {
	if p.Attempts >= MaxAttempts {
		return Mark{Post: p, State: Dead, Reason: reason}
	}
	return Mark{Post: p, State: Queued, Next: s.o.Now().Add(Backoff(p.Attempts, s.o.Jitter())), Reason: reason}
}

// refused gives up a direct message and adds what is posted instead.
func (s *Sender) refused(ctx context.Context, p Post, err error) Mark {
	m := Mark{Post: p, State: Dead, Reason: briefly(err.Error())}
	if s.o.Refused == nil {
		return m
	}
	m.Then, err = s.o.Refused(ctx, p)
	if err != nil {
		return s.again(p, briefly(err.Error()))
	}
	return m
}

// Backoff is the pause after the attempt of that number: doubled each time from
// a second up to MaxBackoff, then cut by up to half, jitter in [0, 1) of it.
func Backoff(attempt int, jitter float64) time.Duration {
	d := MaxBackoff
	if n := max(attempt-1, 0); n < 12 {
		d = min(d, firstBackoff<<n)
	}
	return d - time.Duration(jitter*float64(d)/2)
}

// briefly bounds an error's text without cutting a character in two.
func briefly(text string) string {
	return strings.ToValidUTF8(text[:min(len(text), maxReason)], "")
}
