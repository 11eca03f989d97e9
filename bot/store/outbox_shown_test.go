package store_test

import (
	"errors"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// ofSession is a post about a session.
func ofSession(room, name, session string, due int) timetable.Post {
	p := post(room, name, due)
	p.Session, p.Kind = class.ID(session), timetable.KindAdded
	return p
}

// shownOf names the posts that are shown of a session.
func shownOf(t *testing.T, o *store.Outbox, session string, now time.Time) string {
	t.Helper()
	posts, err := o.Shown(t.Context(), class.ID(session), now)
	if err != nil {
		t.Fatal(err)
	}
	return names(posts)
}

func TestWhichPostsAreShown(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		alone := ofSession("@ada", "alone", "s1", 0)
		add(t, o, noon, ofSession("a", "first", "s1", 0), ofSession("b", "other", "s2", 0), ofSession("a", "second", "s1", 1),
			ofSession("c", "late", "s1", 90), ofSession("d", "none", "", 0), alone)
		if got := shownOf(t, o, "s1", after(0)); got != "first" {
			t.Errorf("what could be sent at any moment: %q", got)
		}
		c := take(t, o, turnAt(after(0)))
		if got := shownOf(t, o, "s1", after(0)); got != "first" {
			t.Errorf("what is being sent: %q", got)
		}
		var done []timetable.Mark
		for i, p := range c.Posts {
			m := sent(p, after(i))
			if p.To.Room[0] != '@' {
				m.Message = "message of " + name(p)
			}
			done = append(done, m)
		}
		done[0].Then = []timetable.Post{post("e", "then", 0)} // a mark that is written by itself
		c = take(t, o, turnAt(after(5), done...))
		for _, want := range []string{"first", "other", "none"} {
			p, err := o.ByKey(t.Context(), timetable.PostKey(map[string]string{"first": "a", "other": "b", "none": "d"}[want], want))
			if err != nil || p.Message != "message of "+want || p.State != timetable.Sent {
				t.Errorf("%s: %+v, %v", want, p, err)
			}
		}
		for _, p := range c.Posts {
			if name(p) == "second" {
				m := sent(p, after(9))
				m.Message = "message of second"
				take(t, o, turnAt(after(10), m))
			}
		}
		if got := shownOf(t, o, "s1", after(10)); got != "second first" {
			t.Errorf("the newest first: %q", got)
		}
		if got := shownOf(t, o, "s1", after(91)); got != "late second first" {
			t.Errorf("and what is due: %q", got)
		}
		if got := shownOf(t, o, "", after(91)); got != "" {
			t.Errorf("of no session: %q", got)
		}
		if _, err := o.ByKey(t.Context(), "nothing"); !errors.Is(err, class.ErrNone) {
			t.Errorf("of no key: %v", err)
		}
	})
}

// TestAChangeThatGrowsStaleIsNobodysBusiness: tried or not, it is not dead.
func TestAChangeThatGrowsStaleIsNobodysBusiness(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		change := post("a", "change", 0)
		change.Kind, change.To = timetable.KindCount, bot.Place{Chat: "loopback", Room: "a"}
		add(t, o, noon, change, post("b", "words", 0))
		var done []timetable.Mark
		for _, p := range take(t, o, turnAt(after(0))).Posts {
			done = append(done, timetable.Mark{Post: p, State: timetable.Queued, Next: after(4000), Reason: "out of reach"})
		}
		c := take(t, o, turnAt(after(4000), done...))
		states := map[string]timetable.State{}
		for _, p := range c.Expired {
			states[name(p)] = p.State
		}
		if states["change"] != timetable.Cancelled || states["words"] != timetable.Dead {
			t.Errorf("ended as %v", states)
		}
	})
}
