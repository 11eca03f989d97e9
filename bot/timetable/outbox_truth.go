package timetable

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Verdict says whether a post is still worth sending: Send, or why not.
type Verdict string

// The verdicts.
const (
	Send             Verdict = ""
	SessionMoved     Verdict = "session moved"     // or changed in what the post says; another post tells
	SessionCancelled Verdict = "session cancelled" // or gone altogether
	SessionStands    Verdict = "session stands"    // it was to be cancelled, and was not
	PersonGone       Verdict = "person gone"       // forgotten, no longer in the class, or the account is no longer hers
	ClassOver        Verdict = "class over"
	NotWanted        Verdict = "not wanted" // by the class's settings as they are now
)

// Details are the Payload of the posts that this package makes.
type Details struct {
	Start    time.Time `json:"start,omitzero"`     // of the session, when the post was made
	Was      time.Time `json:"was,omitzero"`       // its start before it was moved
	Reminder string    `json:"reminder,omitempty"` // which, as Reminder.String writes it
	Schedule class.ID  `json:"schedule,omitempty"` // whose words are posted
	Series   class.ID  `json:"series,omitempty"`   // of the sessions that were added together
	Text     string    `json:"text,omitempty"`     // the words of a post without a schedule
	Of       string    `json:"of,omitempty"`       // the Key of the post that is changed
}

func (d Details) payload() json.RawMessage {
	raw, _ := json.Marshal(d) // nothing in it can fail
	return raw
}

// DetailsOf reads a Payload that this package made.
func DetailsOf(p Post) (Details, error) {
	var d Details
	if len(p.Payload) == 0 {
		return d, nil
	}
	if err := json.Unmarshal(p.Payload, &d); err != nil {
		return d, fmt.Errorf("payload of post %d: %w", p.ID, err)
	}
	return d, nil
}

// Truth is what a post is about as it is when the post is sent. What the post
// is not about is zero.
type Truth struct {
	Details  Details
	Class    class.Class
	Session  class.Session
	Person   class.Person
	Schedule class.Schedule
}

// ReadTruth reads what a post is about and whether it is still worth sending;
// with a Verdict other than Send the Truth may be incomplete. It blocks on
// storage. What is read within one Tx of st is of one moment.
func ReadTruth(ctx context.Context, st class.Store, p Post) (Truth, Verdict, error) {
	var t Truth
	var err error
	if t.Details, err = DetailsOf(p); err != nil {
		return t, Send, err
	}
	for _, read := range []func(context.Context, class.Store, Post) (Verdict, error){
		t.readClass, t.readSession, t.readPerson, t.readSchedule,
	} {
		if v, err := read(ctx, st, p); err != nil || v != Send {
			return t, v, err
		}
	}
	if p.Kind == KindReminder && !t.planned() {
		return t, NotWanted, nil
	}
	return t, Send, nil
}

func (t *Truth) readClass(ctx context.Context, st class.Store, p Post) (Verdict, error) {
	if p.Class == "" {
		return Send, nil
	}
	var err error
	if t.Class, err = st.Class(ctx, p.Class); err != nil {
		return unless(ClassOver, err)
	}
	if !t.Class.Closed.IsZero() && p.Kind != KindClosed {
		return ClassOver, nil
	}
	if direct(p) {
		if !t.Class.WritesDirect() {
			return NotWanted, nil
		}
		return Send, nil
	}
	places, err := st.Places(ctx, p.Class)
	if err == nil && !slices.Contains(places, p.To) {
		return NotWanted, nil
	}
	return Send, err
}

func (t *Truth) readSession(ctx context.Context, st class.Store, p Post) (Verdict, error) {
	if p.Session == "" {
		return Send, nil
	}
	var err error
	if t.Session, err = st.Session(ctx, p.Session); err != nil {
		return unless(SessionCancelled, err)
	}
	start := t.Details.Start
	switch {
	case p.Kind == KindCancelled && !t.Session.Cancelled:
		return SessionStands, nil
	case p.Kind != KindCancelled && t.Session.Cancelled:
		return SessionCancelled, nil
	case !start.IsZero() && !start.Equal(t.Session.Start):
		return SessionMoved, nil
	}
	return Send, nil
}

func (t *Truth) readPerson(ctx context.Context, st class.Store, p Post) (Verdict, error) {
	if p.Person == "" {
		return Send, nil
	}
	var err error
	if t.Person, err = st.Person(ctx, p.Person); err != nil {
		return unless(PersonGone, err)
	}
	if direct(p) {
		accounts, err := st.Accounts(ctx, p.Person)
		if err != nil || !slices.ContainsFunc(accounts, func(a bot.Account) bool { return bot.DirectRoom(a) == p.To }) {
			return PersonGone, err
		}
	}
	if p.Class == "" {
		return Send, nil
	}
	_, err = st.Member(ctx, p.Class, p.Person)
	return unless(PersonGone, err)
}

func (t *Truth) readSchedule(ctx context.Context, st class.Store, p Post) (Verdict, error) {
	id := t.Details.Schedule
	if id == "" {
		return Send, nil
	}
	all, err := st.SchedulesOf(ctx, p.Class)
	if err != nil {
		return Send, err
	}
	i := slices.IndexFunc(all, func(s class.Schedule) bool { return s.ID == id })
	if i < 0 {
		return NotWanted, nil
	}
	t.Schedule = all[i]
	return Send, nil
}

// unless is v when err says that something is not kept, and err otherwise.
func unless(v Verdict, err error) (Verdict, error) {
	if errors.Is(err, class.ErrNone) {
		return v, nil
	}
	return Send, err
}

// planned tells whether a reminder is still one that its reader gets: by the
// class's setting, and by her quiet hours, which may leave out all but the last
// of several.
func (t *Truth) planned() bool {
	return slices.ContainsFunc(planFor(t.Class, t.Session, t.Person), func(p Planned) bool {
		return p.Reminder.String() == t.Details.Reminder
	})
}

func direct(p Post) bool { return strings.HasPrefix(p.To.Room, "@") }
