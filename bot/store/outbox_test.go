package store_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// noon is when these tests begin; their clocks are moved by hand.
var noon = time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)

// bothOutboxes runs a test on the outbox of either database, listening.
func bothOutboxes(t *testing.T, test func(t *testing.T, db *store.DB, o *store.Outbox)) {
	both(t, func(t *testing.T, db *store.DB) { test(t, db, outboxOf(t, db)) })
}

func outboxOf(t testing.TB, db *store.DB) *store.Outbox {
	t.Helper()
	o, err := store.NewOutbox(t.Context(), db, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	listen(t, o)
	return o
}

// listen has an outbox listen until the test is over, and returns a channel
// that gets what it wakes for. On PostgreSQL the first wake, when the outbox
// knows who it is, has been taken out.
func listen(t testing.TB, o *store.Outbox) <-chan bool {
	t.Helper()
	ctx, end := context.WithCancel(context.Background())
	ended, woken := make(chan error, 1), make(chan bool, 100)
	go func() { ended <- o.Listen(ctx, func() { woken <- true }) }()
	t.Cleanup(func() {
		end()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	if o.Poll() <= time.Second { // PostgreSQL
		wantWake(t, woken)
	}
	return woken
}

func wantWake(t testing.TB, woken <-chan bool) {
	t.Helper()
	select {
	case <-woken:
	case <-time.After(time.Minute):
		t.Fatal("nobody was woken")
	}
}

// post is a post to a room, due so many seconds after noon and good for an hour.
func post(room, name string, due int) timetable.Post {
	at := noon.Add(time.Duration(due) * time.Second)
	return timetable.Post{
		Key: timetable.PostKey(room, name), To: bot.Place{Chat: "loopback", Room: room}, Kind: timetable.KindSay,
		Payload: json.RawMessage(fmt.Sprintf(`{"text":%q}`, name)), Due: at, Expires: at.Add(time.Hour),
	}
}

// name is what post called it.
func name(p timetable.Post) string {
	var d timetable.Details
	_ = json.Unmarshal(p.Payload, &d)
	return d.Text
}

func names(posts []timetable.Post) string {
	var out []string
	for _, p := range posts {
		out = append(out, name(p))
	}
	return strings.Join(out, " ")
}

func add(t testing.TB, o *store.Outbox, at time.Time, posts ...timetable.Post) int {
	t.Helper()
	n, err := o.Add(t.Context(), at, posts...)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// turnAt is a turn of a sender to the chat "loopback" that takes what it can.
func turnAt(at time.Time, done ...timetable.Mark) timetable.Turn {
	return timetable.Turn{Now: at, Done: done, Chats: []string{"loopback"}, Free: 100, Look: true, Lease: time.Minute}
}

func take(t testing.TB, o *store.Outbox, turn timetable.Turn) timetable.Claim {
	t.Helper()
	c, err := o.Turn(t.Context(), turn)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func sent(p timetable.Post, at time.Time) timetable.Mark {
	return timetable.Mark{Post: p, State: timetable.Sent, Sent: at}
}

func after(seconds int) time.Time { return noon.Add(time.Duration(seconds) * time.Second) }

func TestPostComesBackWhole(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		p := post("a", "ö “quoted” \u2066", 0)
		p.Class, p.Session, p.Person, p.Kind = "class1", "session1", "person1", timetable.KindReminder
		add(t, o, noon, p)
		got := take(t, o, turnAt(noon)).Posts
		if len(got) != 1 {
			t.Fatalf("claimed %v", got)
		}
		p.ID, p.State, p.Attempts, p.Next = got[0].ID, timetable.Sending, 1, p.Due
		if g, w := fmt.Sprintf("%+v", got[0]), fmt.Sprintf("%+v", p); g != w {
			t.Errorf("got  %s\nwant %s", g, w)
		}
	})
}

func TestOnlyHeadsAreClaimedInOrder(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a2", 2), post("a", "a1", 1), post("b", "b1", 1), post("a", "a1later", 1), post("c", "c9", 9))
		c := take(t, o, turnAt(after(5)))
		if got := names(c.Posts); got != "a1 b1" {
			t.Fatalf("first turn claims %q", got)
		}
		if !c.Next.Equal(after(9)) {
			t.Errorf("next is %v, want that of the room that is free", c.Next)
		}
		if got := names(take(t, o, turnAt(after(5))).Posts); got != "" {
			t.Errorf("a second turn claims %q from rooms that are being written to", got)
		}
		var got []string
		done := []timetable.Mark{sent(c.Posts[0], after(5))}
		for len(done) > 0 {
			c = take(t, o, turnAt(after(6), done...))
			done = nil
			for _, p := range c.Posts {
				got = append(got, name(p))
				done = append(done, sent(p, after(6)))
			}
		}
		if strings.Join(got, " ") != "a1later a2" {
			t.Errorf("then %v", got)
		}
		if n, err := o.Waiting(t.Context()); err != nil || n != 2 { // b1 and c9
			t.Errorf("%d are waiting, %v", n, err)
		}
	})
}

func TestClaimsNoMoreThanAsked(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		for i := range 10 {
			add(t, o, noon, post(fmt.Sprint(i), fmt.Sprint(i), 10-i))
		}
		turn := turnAt(after(20))
		turn.Free = 3
		c := take(t, o, turn)
		if got := names(c.Posts); got != "9 8 7" {
			t.Errorf("claims %q, want the three that are due longest", got)
		}
		if !c.Next.Equal(after(20)) {
			t.Errorf("next is %v, want at once", c.Next)
		}
	})
}

// TestATurnThatDoesNotLook claims what comes after what was sent, and no more.
func TestATurnThatDoesNotLook(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("a", "a2", 1), post("a", "a3", 1), post("b", "b1", 0))
		c := take(t, o, turnAt(after(1)))
		add(t, o, noon, post("c", "c1", 0))
		done := []timetable.Mark{sent(c.Posts[0], after(1)), {Post: c.Posts[1], State: timetable.Queued, Next: after(9), Reason: "x"}}
		turn := turnAt(after(1), done...)
		turn.Look = false
		if c = take(t, o, turn); names(c.Posts) != "a2" {
			t.Errorf("claims %q, want what is next in the room that was written to", names(c.Posts))
		}
		turn = turnAt(after(1))
		if c = take(t, o, turn); names(c.Posts) != "c1" || !c.Next.Equal(after(9)) {
			t.Errorf("looking, it claims %q, next %v", names(c.Posts), c.Next)
		}
	})
}

func TestAFailingHeadHoldsUpItsRoomAlone(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("a", "a2", 1), post("b", "b1", 1))
		c := take(t, o, turnAt(noon))
		failed := timetable.Mark{Post: c.Posts[0], State: timetable.Queued, Next: after(30), Reason: "out of reach"}
		c = take(t, o, turnAt(after(2), failed))
		if got := names(c.Posts); got != "b1" {
			t.Fatalf("claims %q", got)
		}
		c = take(t, o, turnAt(after(29), sent(c.Posts[0], after(2))))
		if len(c.Posts) != 0 || !c.Next.Equal(after(30)) {
			t.Errorf("claims %q, next %v: a2 must wait for a1's retry", names(c.Posts), c.Next)
		}
		c = take(t, o, turnAt(after(30)))
		if names(c.Posts) != "a1" || c.Posts[0].Attempts != 2 {
			t.Errorf("at the retry %q, attempt %d", names(c.Posts), c.Posts[0].Attempts)
		}
	})
}

func TestPutOffByTheChatDoesNotCount(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0))
		at := noon
		for range 3 {
			c := take(t, o, turnAt(at))
			if len(c.Posts) != 1 || c.Posts[0].Attempts != 1 {
				t.Fatalf("at %v: %+v", at, c.Posts)
			}
			at = at.Add(time.Minute)
			take(t, o, turnAt(noon, timetable.Mark{Post: c.Posts[0], State: timetable.Queued, Next: at, Uncounted: true, Reason: "too many"}))
		}
	})
}

func TestMarksAreFenced(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0))
		first := take(t, o, turnAt(noon)).Posts[0]
		c := take(t, o, turnAt(after(61))) // the lease of the first has run out
		if c.Freed != 1 || names(c.Posts) != "a1" || c.Posts[0].Attempts != 2 {
			t.Fatalf("after the lease: %+v", c)
		}
		dead := timetable.Mark{Post: first, State: timetable.Dead, Reason: "too late a word"}
		c2 := take(t, o, turnAt(after(62), dead))
		if !slices.Equal(c2.Fenced, []int64{first.ID}) {
			t.Errorf("the first attempt's mark was not fenced: %+v", c2)
		}
		if c2 = take(t, o, turnAt(after(62), sent(first, after(62)))); !slices.Equal(c2.Fenced, []int64{first.ID}) {
			t.Errorf("nor was its other mark: %+v", c2)
		}
		c3 := take(t, o, turnAt(after(63), sent(c.Posts[0], after(62))))
		if len(c3.Fenced) != 0 {
			t.Error("the second attempt's mark was fenced")
		}
		if c4 := take(t, o, turnAt(after(64), sent(c.Posts[0], after(62)))); len(c4.Fenced) != 1 {
			t.Error("the same mark counted twice")
		}
	})
}

func TestWhatIsInHandIsKept(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("b", "b1", 0))
		c := take(t, o, turnAt(noon))
		turn := turnAt(after(120))
		turn.Keep = []int64{c.Posts[0].ID}
		if got := names(take(t, o, turn).Posts); got != name(c.Posts[1]) {
			t.Errorf("long after the lease %q was freed", got)
		}
	})
}

// TestALostTurnIsMadeGood claims without the sender ever hearing of it.
func TestALostTurnIsMadeGood(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("b", "b1", 0))
		c := take(t, o, turnAt(noon))
		turn := turnAt(after(1))
		turn.Keep, turn.Lost = []int64{c.Posts[0].ID}, true
		if got := names(take(t, o, turn).Posts); got != name(c.Posts[1]) {
			t.Errorf("%q was taken back, want what is not in hand", got)
		}
	})
}

func TestAddingAgain(t *testing.T) {
	due := func(p timetable.Post, at int) timetable.Post {
		p.Due, p.Expires = after(at), after(at+100)
		return p
	}
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		p := post("a", "a1", 10)
		if n := add(t, o, noon, p, p); n != 1 {
			t.Errorf("%d were new", n)
		}
		if n := add(t, o, noon, due(p, 20)); n != 0 {
			t.Errorf("%d were new", n)
		}
		if c := take(t, o, turnAt(after(15))); len(c.Posts) != 0 || !c.Next.Equal(after(20)) {
			t.Fatalf("an untried post does not take the new time: %+v", c)
		}
		elsewhere := due(p, 20)
		elsewhere.To.Room = "b"
		if n := add(t, o, noon, elsewhere); n != 0 {
			t.Errorf("%d were new", n)
		}
		c := take(t, o, turnAt(after(20)))
		if len(c.Posts) != 1 || c.Posts[0].To != elsewhere.To {
			t.Fatalf("an untried post does not go to the new place: %+v", c)
		}
		add(t, o, after(20), due(p, 30)) // it is being sent
		take(t, o, turnAt(after(21), timetable.Mark{Post: c.Posts[0], State: timetable.Queued, Next: after(25), Reason: "x"}))
		add(t, o, after(22), due(p, 30)) // it was tried
		c = take(t, o, turnAt(after(25)))
		if names(c.Posts) != "a1" {
			t.Fatalf("a tried post was moved: %+v", c)
		}
		take(t, o, turnAt(after(26), sent(c.Posts[0], after(26))))
		add(t, o, after(27), due(p, 40))
		if c := take(t, o, turnAt(after(50))); len(c.Posts) != 0 {
			t.Error("a post that was sent is sent again")
		}
	})
}

// TestAStalePostThatIsNotAfterAll has the clock go far ahead and back again.
func TestAStalePostThatIsNotAfterAll(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		p := post("a", "a1", 100)
		add(t, o, noon, p)
		if c := take(t, o, turnAt(noon.AddDate(1, 0, 0))); len(c.Expired) != 1 {
			t.Fatalf("a year later: %+v", c)
		}
		add(t, o, noon.AddDate(1, 0, 0), p)
		if c := take(t, o, turnAt(noon.AddDate(1, 0, 0))); len(c.Posts) != 0 {
			t.Errorf("a stale post was revived while it is stale: %+v", c)
		}
		add(t, o, noon, p)
		if c := take(t, o, turnAt(after(100))); names(c.Posts) != "a1" {
			t.Errorf("it does not come back: %+v", c)
		}
	})
}

func TestExpiry(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		tried := post("b", "tried", 0)
		tried.Class = "class1"
		add(t, o, noon, tried)
		c := take(t, o, turnAt(noon))
		add(t, o, noon, post("a", "never tried", 0), post("a", "too", 1), post("c", "in time", 3000))
		failed := timetable.Mark{Post: c.Posts[0], State: timetable.Queued, Next: noon.Add(24 * time.Hour), Reason: "out of reach"}
		take(t, o, timetable.Turn{Now: noon, Done: []timetable.Mark{failed}})
		c = take(t, o, turnAt(after(3601)))
		if got := names(c.Posts); got != "in time" {
			t.Errorf("claims %q", got)
		}
		for _, p := range c.Expired {
			want := timetable.Cancelled
			if name(p) == "tried" {
				want = timetable.Dead
			}
			if p.State != want || want == timetable.Cancelled && p.Reason != timetable.Stale {
				t.Errorf("%s is %s for %q", name(p), p.State, p.Reason)
			}
		}
		if len(c.Expired) != 3 {
			t.Errorf("%d have expired", len(c.Expired))
		}
		skips, err := o.Skipped(t.Context(), noon)
		if err != nil || !slices.Equal(skips, []timetable.Skip{{Kind: timetable.KindSay, Reason: timetable.Stale, Posts: 2}}) {
			t.Errorf("skipped: %v, %v", skips, err)
		}
		for _, of := range []struct {
			class class.ID
			want  int
		}{{"", 1}, {"class1", 1}, {"class2", 0}} {
			if dead, err := o.DeadOf(t.Context(), of.class); err != nil || len(dead) != of.want {
				t.Errorf("dead of %q: %v, %v", of.class, dead, err)
			}
		}
	})
}

// TestManyExpire shows that a mass of stale posts takes several turns and that
// none of them is sent meanwhile.
func TestManyExpire(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		const many = 1200
		var posts []timetable.Post
		for i := range many {
			posts = append(posts, post(fmt.Sprint(i%7), fmt.Sprint(i), i%11))
		}
		add(t, o, noon, posts...)
		late, ended := after(10_000), 0
		for range 10 {
			c := take(t, o, turnAt(late))
			if len(c.Posts) > 0 {
				t.Fatalf("sent: %q", names(c.Posts))
			}
			ended += len(c.Expired)
			if c.Next.IsZero() {
				break
			}
		}
		if ended != many {
			t.Errorf("%d of %d have ended", ended, many)
		}
	})
}

func TestDeadPosts(t *testing.T) {
	bothOutboxes(t, func(t *testing.T, _ *store.DB, o *store.Outbox) {
		add(t, o, noon, post("a", "a1", 0), post("a", "a2", 1))
		c := take(t, o, turnAt(after(1)))
		c = take(t, o, turnAt(after(2), timetable.Mark{Post: c.Posts[0], State: timetable.Dead, Reason: "no such room"}))
		if names(c.Posts) != "a2" {
			t.Fatalf("a dead post holds up its room: %+v", c)
		}
		take(t, o, turnAt(after(2), sent(c.Posts[0], after(2))))
		dead, err := o.DeadOf(t.Context(), "")
		if err != nil || names(dead) != "a1" || dead[0].Reason != "no such room" {
			t.Fatalf("dead: %+v, %v", dead, err)
		}
		if err := o.Requeue(t.Context(), dead[0].ID, after(7200), after(9000)); err != nil {
			t.Fatal(err)
		}
		c = take(t, o, turnAt(after(7200)))
		if names(c.Posts) != "a1" || c.Posts[0].Attempts != 2 {
			t.Errorf("requeued: %+v; an adapter that can must look before it sends", c.Posts)
		}
		for _, id := range []int64{dead[0].ID, 4711} {
			if err := o.Requeue(t.Context(), id, noon, after(9000)); !errors.Is(err, class.ErrNone) {
				t.Errorf("requeue of what is not dead: %v", err)
			}
		}
	})
}
