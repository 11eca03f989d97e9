package timetable

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Posts about a session say in rooms how many are coming. When that changes the
// newest of them is changed, and nothing is posted: a post of KindCount falls due
// at the next boundary of countEvery, at most one for each message and boundary,
// so that many answers within it make one change. It goes through the outbox like
// any other, in the room's order, so that it outlives a crash; but it is given up
// quietly, for the next answer brings another.

const (
	countEvery  = 10 * time.Second
	countOfUse  = 10 * time.Minute
	mostChanges = 4 // attempts at one change
)

// Counts are the posts that have the newest posts about a session changed, one in
// each room. Add them in the transaction of an answer.
func Counts(ctx context.Context, box Outbox, session class.ID, now time.Time) ([]Post, error) {
	shown, err := box.Shown(ctx, session, now)
	if err != nil {
		return nil, err
	}
	due := now.Truncate(countEvery).Add(countEvery)
	var out []Post
	told := map[bot.Place]bool{}
	for _, p := range shown {
		if told[p.To] || !Counting(p) {
			continue
		}
		told[p.To] = true
		out = append(out, Post{
			Key: PostKey("count", p.Key, instant(due)),
			To:  p.To, Class: p.Class, Session: p.Session, Kind: KindCount,
			Payload: Details{Of: p.Key}.payload(),
			Due:     due, Expires: due.Add(countOfUse),
		})
	}
	return out, nil
}

// Counting tells whether a post is one that says how many are coming: to a room,
// about one session that is still to come.
func Counting(p Post) bool {
	return p.Session != "" && !direct(p) && slices.Contains([]Kind{KindAdded, KindMoved, KindReminder}, p.Kind)
}

// change makes one attempt at changing the message that an earlier post became,
// to the whole of what that post says now: a chat replaces a message whole, with
// its pictures and files.
func (s *Sender) change(ctx context.Context, p Post, claimed time.Time) Mark {
	editor, ok := s.adapters[p.To.Chat].(bot.Editor)
	if !ok {
		return given(p, "this chat changes no messages")
	}
	d, err := DetailsOf(p)
	if err != nil {
		return given(p, err.Error())
	}
	of, err := s.box.ByKey(ctx, d.Of)
	switch {
	case errors.Is(err, class.ErrNone) || err == nil && of.Message == "":
		return given(p, "no message to change")
	case err != nil:
		return s.unchanged(ctx, p, err)
	}
	reply, verdict, err := s.render(ctx, of)
	switch {
	case err != nil:
		return s.unchanged(ctx, p, err)
	case verdict != Send:
		return given(p, string(verdict))
	}
	if s.late(claimed) {
		return s.unchanged(ctx, p, errLate)
	}
	if err := editor.Edit(ctx, of.To, of.Message, reply); err != nil {
		return s.unchanged(ctx, p, err)
	}
	return Mark{Post: p, State: Sent, Sent: s.o.Now()}
}

// given gives a change up.
func given(p Post, why string) Mark { return Mark{Post: p, State: Cancelled, Reason: briefly(why)} }

// unchanged decides what becomes of a change that failed. It must not hold up the
// room for long, nor wait for anyone to look at it.
func (s *Sender) unchanged(ctx context.Context, p Post, err error) Mark {
	m := s.unsent(ctx, p, err)
	if m.State != Queued || p.Attempts >= mostChanges && !m.Uncounted || !m.Next.Before(p.Expires) {
		return given(p, strings.TrimSpace("not changed: "+err.Error()))
	}
	return m
}
