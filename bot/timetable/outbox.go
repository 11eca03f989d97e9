package timetable

import (
	"context"
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// The half of this package that is not pure sends posts:
//
//	outbox.go           what a post is, and the Outbox that keeps it
//	outbox_sender.go    the loop that takes posts to the chats
//	outbox_send.go      one attempt at one post
//	outbox_planner.go   sessions and schedules become posts ahead of time
//	outbox_announce.go  posts that are due at once
//	outbox_count.go     changes of posts that were sent
//	outbox_truth.go     whether a post is still worth sending
//
// Delivery semantics. A post is added in the transaction that makes it due. It
// is sent at least once, always under the same key, which the chat (or, where
// the chat offers none, its adapter's bot.Reconciler) makes once. Within a room
// posts are sent one at a time, by Due and then by the order of adding; the
// first one that fails holds up those behind it until it is through, dead or
// past its expiry. A post that is past its expiry is not sent.
//
// What happens when
//
//   - a process is killed: what it was sending is sent again under the same key;
//     at once when it is started again, within two seconds when another process
//     has the database open (its session, and with it its lock, is gone).
//   - a process is stopped, by SIGSTOP or a machine that sleeps: on PostgreSQL
//     another takes over once the lease has run out. The one that wakes up sends
//     nothing whose lease is nearly over, and its late marks are void.
//   - the database is locked, gone or its disk full: posts in hand are finished
//     and their ends kept in memory until they can be written; nothing is
//     claimed. The loop tries again after 1, 2, 4, 8 and then every 10 seconds.
//     After a lease it counts its chats as lost, since another may hold them.
//   - a turn went through and its answer was lost: the next one that succeeds
//     puts back what was claimed and is not in hand.
//   - the session that listens is lost (PostgreSQL): turns go on once a second;
//     nothing is claimed until a second later the session is there again. A
//     process that stands by may take over meanwhile.
//   - a second process is started on SQLite: it is refused by the file lock.
//   - the clock is set back: sleeping is by the monotonic clock and for a minute
//     at most; what was sent stays sent; a retry and a lease are never further
//     away than they can be by right; a post waits until its due time by the
//     clock as it is then.
//   - the clock is set far ahead: what is due by it is sent or grows stale. When
//     it is right again, planning brings back what is not stale after all.
//   - it was off for long: what is past its expiry is counted and not sent.
//   - Render or an adapter panics, or does not return: that is one failed
//     attempt; one that ignores its context keeps its room until it returns.

// Post is one message that falls due. It carries ids; what it says is read when
// it is sent.
type Post struct {
	ID      int64     // given by the Outbox; rises with adding
	Key     string    // what makes it the same post, however often it is added or sent; see PostKey
	To      bot.Place // bot.DirectRoom for a person alone
	Class   class.ID
	Session class.ID // "" when it is about none
	Person  class.ID // "" when it is for a room
	Kind    Kind
	Payload json.RawMessage // for Render: ids and instants, nil for none
	Due     time.Time       // when it ought to be sent; its place in the room's order
	Next    time.Time       // when it is tried next; the Outbox begins with Due
	Expires time.Time       // from here on it is not worth sending

	State    State
	Attempts int       // times that it was handed out, those the chat put off not counted
	Sent     time.Time // zero until it is
	Message  string    // what the chat calls it; "" until it is sent, and for a message to a person alone
	Reason   string    // why it was cancelled, or what went wrong last
}

// Kind is what a post is for.
type Kind string

// The kinds of post.
const (
	KindReminder  Kind = "reminder"  // of a session
	KindAdded     Kind = "added"     // a session was added
	KindMoved     Kind = "moved"     // a session was moved
	KindCancelled Kind = "cancelled" // a session was cancelled
	KindLink      Kind = "link"      // a session meets elsewhere
	KindSay       Kind = "say"       // the teacher's words, once or by a schedule
	KindNote      Kind = "note"      // to the room, that someone could not be written to alone
	KindClosed    Kind = "closed"    // the class is over
	KindCount     Kind = "count"     // no message: another post is changed, for more or fewer are coming
)

// State is where a post stands.
type State string

// The states of a post. Only Queued and Sending have a future.
const (
	Queued    State = "queued"
	Sending   State = "sending"
	Sent      State = "sent"
	Dead      State = "dead"      // given up; waits for someone to requeue it
	Cancelled State = "cancelled" // not to be sent; Reason says why
)

// Stale is the Reason of a post that was cancelled because its expiry had
// passed before it was tried at all, as happens after a long downtime.
const Stale = "stale"

// keyLength fits the shortest key that a chat takes, a nonce of 25 characters.
const keyLength = 20

// PostKey digests what makes a post the same post into its Key: 20 letters and
// digits, 100 bits of a SHA-256. Parts are kept apart, so that ("a", "bc") and
// ("ab", "c") differ.
func PostKey(parts ...string) string {
	raw, _ := json.Marshal(parts) // strings always marshal
	sum := sha256.Sum256(raw)
	return strings.ToLower(base32.StdEncoding.EncodeToString(sum[:]))[:keyLength]
}

// Outbox keeps posts. All methods may block on storage and are safe for use
// from many goroutines; one called with the context of a class.Store's Tx takes
// part in that transaction, except Turn and Listen. Instants are kept to the
// millisecond.
type Outbox interface {
	// Add keeps posts. One whose Key is kept already is not added again: while
	// that one is Queued and untried it takes the new one's To, Due and Expires, and
	// otherwise it stays as it is, but for a stale one that is due in the future
	// after all (the clock had been wrong), which is queued again. added counts
	// the new ones.
	Add(ctx context.Context, now time.Time, posts ...Post) (added int, err error)

	// Turn is one transaction of a Sender.
	Turn(ctx context.Context, t Turn) (Claim, error)

	// Listen calls wake, which does not block, soon after each commit that added
	// posts, until ctx ends. It returns only when every goroutine that it
	// started is done. An Outbox that several processes share holds its identity
	// while Listen runs, and claims nothing without.
	Listen(ctx context.Context, wake func()) error

	// Poll is how long a Sender may sleep without a Turn.
	Poll() time.Duration

	// ByKey is the post of a key; class.ErrNone when there is none.
	ByKey(ctx context.Context, key string) (Post, error)

	// Shown are the posts to rooms about a session that have been sent, and those
	// that are being sent or could be at any moment, the newest first.
	Shown(ctx context.Context, session class.ID, now time.Time) ([]Post, error)

	// DeadOf are the dead posts of a class, or of all with "", newest first, at
	// most 500.
	DeadOf(ctx context.Context, c class.ID) ([]Post, error)

	// Requeue gives a dead post another round of attempts, until expires. It
	// returns class.ErrNone when there is no such dead post.
	Requeue(ctx context.Context, id int64, now, expires time.Time) error

	// Skipped counts the posts that were due from since on and cancelled, by
	// kind and reason.
	Skipped(ctx context.Context, since time.Time) ([]Skip, error)

	// Waiting is how many posts are queued or being sent.
	Waiting(ctx context.Context) (int, error)

	// Prune deletes posts that were due before an instant and have no future,
	// dead ones excepted.
	Prune(ctx context.Context, before time.Time) (int, error)
}

// Skip is how many posts of one kind were not sent for one reason.
type Skip struct {
	Kind   Kind
	Reason string
	Posts  int
}

// Turn is what a Sender brings to an Outbox. In one transaction the Outbox
// writes Done, claims what comes next in the rooms of Done, up to Free posts,
// and looks when something is due next.
//
// With Look it also takes or renews the leases of Chats, frees leases of posts
// that have run out, ends what is past its expiry, and claims from all rooms in
// the chats that it holds.
type Turn struct {
	Now   time.Time // the wall clock
	Done  []Mark
	Free  int // how many posts to claim at most
	Look  bool
	Chats []string // those that this process can write to
	Keep  []int64  // posts in hand: this process does not free their leases
	Lost  bool     // an earlier Turn failed and may have claimed posts unseen: free those not in Keep
	Leave bool     // the process goes: give up the leases of its chats

	Lease time.Duration // of claims and of chats
	// MaxWait, when not 0, says that the clock may have been set back: a retry
	// that is further away than this is brought nearer.
	MaxWait time.Duration
}

// Mark is what became of a claimed post. It is void when the post has been
// claimed again since.
type Mark struct {
	Post  Post  // as claimed; ID and Attempts are the fence
	State State // Sent, Dead, Cancelled, or Queued to try again at Next

	Next      time.Time
	Uncounted bool // the attempt does not count
	Sent      time.Time
	Message   string // of a sent one
	Reason    string
	Then      []Post // to be added with it
}

// Claim is what a Sender takes away from a Turn.
type Claim struct {
	Posts   []Post    // now Sending, each the only one of its room
	Next    time.Time // when there is something to claim again, Now when not all was; zero when nothing waits
	Held    []string  // those of Chats whose lease this process holds; only with Look
	Expired []Post    // ended in this Turn: Cancelled as Stale, or Dead when they had been tried
	Freed   int       // posts whose lease had run out, or whose process is no more
	Fenced  []int64   // posts whose Mark was void
}
