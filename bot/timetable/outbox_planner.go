package timetable

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Bounds of planning.
const (
	// Horizon is how far ahead posts are in the outbox. It is longer than a day,
	// so that a planner that fails all night leaves no gap.
	Horizon = 36 * time.Hour
	// Retention is how long posts that are over are kept: longer than a clock is
	// likely to be wrong, for what is deleted would be planned again.
	Retention = 180 * 24 * time.Hour

	planEvery    = time.Hour
	lookBack     = 48 * time.Hour // sessions that started so long ago may still have a follow-up
	lookAhead    = (MaxDays + 2) * 24 * time.Hour
	catchUp      = 7 * 24 * time.Hour // firings of a schedule longer ago are not even counted as stale
	dayOfUse     = 24 * time.Hour     // a reminder is of use no longer than this
	startOfUse   = 30 * time.Minute   // and one at the start no longer than this
	routineOfUse = 12 * time.Hour     // and a routine post
)

// PlanOptions of a Planner. The zero value of a field means what its comment says.
type PlanOptions struct {
	Log *slog.Logger     // slog.Default()
	Now func() time.Time // time.Now

	// NotBefore is an instant before which nothing is planned: when the database
	// was restored from a backup that may not know what was sent since.
	NotBefore time.Time
}

// Planner puts into the outbox what sessions and schedules make due within the
// Horizon. Planning again changes nothing but what has changed: each post has a
// key made of what it is for. It is safe for use from many goroutines.
//
// What needs no planning any more is left where it is; ReadTruth cancels it
// when its time comes.
type Planner struct {
	store class.Store
	box   Outbox
	o     PlanOptions
}

// NewPlanner is a Planner of the classes in st.
func NewPlanner(st class.Store, box Outbox, o PlanOptions) *Planner {
	if o.Log == nil {
		o.Log = slog.Default()
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Planner{store: st, box: box, o: o}
}

// Run plans everything at once and then every hour of the wall clock, until ctx
// ends. It looks at the clock every minute, so that one that is set forward or
// back does not leave it asleep; what fails is tried again in a minute.
func (p *Planner) Run(ctx context.Context) error {
	var last time.Time
	for {
		now := p.o.Now()
		if last.IsZero() || now.Before(last) || now.Sub(last) >= planEvery {
			if err := p.All(ctx); err == nil {
				last = now
			} else if ctx.Err() == nil {
				p.o.Log.Error("planning failed in part", "err", err)
			}
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(DefaultMaxSleep):
		}
	}
}

// All plans every class, and deletes what is past its Retention. A class that
// fails does not keep the others from being planned. It blocks on storage.
func (p *Planner) All(ctx context.Context) error {
	now := p.o.Now()
	sessions, err := p.store.SessionsBetween(ctx, now.Add(-lookBack), now.Add(lookAhead))
	if err != nil {
		return err
	}
	var errs []error
	slices.SortStableFunc(sessions, func(a, b class.Session) int { return strings.Compare(string(a.Class), string(b.Class)) })
	for len(sessions) > 0 {
		id := sessions[0].Class
		n := slices.IndexFunc(sessions, func(s class.Session) bool { return s.Class != id })
		if n < 0 {
			n = len(sessions)
		}
		errs = append(errs, p.sessions(ctx, id, sessions[:n], p.readers))
		sessions = sessions[n:]
	}
	schedules, err := p.store.AllSchedules(ctx)
	errs = append(errs, err)
	for _, s := range schedules {
		errs = append(errs, p.Schedule(ctx, s))
	}
	_, err = p.box.Prune(ctx, now.Add(-Retention))
	return errors.Join(append(errs, err)...)
}

// Class plans the sessions of one class. Call it in the transaction in which
// its settings or places changed.
func (p *Planner) Class(ctx context.Context, id class.ID) error {
	return p.class(ctx, id, p.readers)
}

// Member plans the sessions of one class for one of its members, whatever the
// size of the class. Call it in the transaction in which she joined, or in which
// her zone, her quiet hours or her accounts changed.
func (p *Planner) Member(ctx context.Context, id, person class.ID) error {
	return p.class(ctx, id, func(ctx context.Context, c class.Class) ([]reader, error) {
		return p.member(ctx, c, person)
	})
}

// readersOf finds who gets the reminders of a class.
type readersOf func(ctx context.Context, c class.Class) ([]reader, error)

func (p *Planner) class(ctx context.Context, id class.ID, to readersOf) error {
	now := p.o.Now()
	sessions, err := p.store.SessionsOf(ctx, id, now.Add(-lookBack))
	if err != nil {
		return err
	}
	sessions = slices.DeleteFunc(sessions, func(s class.Session) bool { return s.Start.After(now.Add(lookAhead)) })
	return p.sessions(ctx, id, sessions, to)
}

// Session plans one session. Call it in the transaction in which it was added
// or moved.
func (p *Planner) Session(ctx context.Context, s class.Session) error {
	return p.sessions(ctx, s.Class, []class.Session{s}, p.readers)
}

// sessions plans sessions of one class.
func (p *Planner) sessions(ctx context.Context, id class.ID, sessions []class.Session, readers readersOf) error {
	c, err := p.store.Class(ctx, id)
	if err != nil || !c.Closed.IsZero() {
		return err
	}
	to, err := readers(ctx, c)
	if err != nil {
		return fmt.Errorf("plan class %s: %w", id, err)
	}
	var posts []Post
	for _, s := range sessions {
		if s.Cancelled {
			continue
		}
		for _, r := range to {
			posts = append(posts, p.reminders(c, s, r)...)
		}
	}
	if _, err := p.box.Add(ctx, p.o.Now(), posts...); err != nil {
		return fmt.Errorf("plan class %s: %w", id, err)
	}
	return nil
}

// reader is who gets reminders: a member, or a room when members cannot be
// written to.
type reader struct {
	person class.Person // zero for a room
	joined time.Time
	to     bot.Place
}

// readers are those of a class.
func (p *Planner) readers(ctx context.Context, c class.Class) ([]reader, error) {
	places, err := p.store.Places(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	var out []reader
	if !c.WritesDirect() {
		for _, place := range places {
			out = append(out, reader{to: place})
		}
		return out, nil
	}
	members, err := p.store.Members(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	persons, err := p.store.PersonsOf(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	for _, m := range members {
		accounts, err := p.store.Accounts(ctx, m.Person)
		if err != nil {
			return nil, err
		}
		if a, ok := accountIn(accounts, places); ok {
			out = append(out, reader{person: persons[m.Person], joined: m.Joined, to: bot.DirectRoom(a)})
		}
	}
	return out, nil
}

// member is one reader of a class, none when she is in it no more, or when its
// reminders go to rooms, which she changes nothing about.
func (p *Planner) member(ctx context.Context, c class.Class, id class.ID) ([]reader, error) {
	m, err := p.store.Member(ctx, c.ID, id)
	if errors.Is(err, class.ErrNone) || !c.WritesDirect() {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	person, err := p.store.Person(ctx, id)
	if err != nil {
		return nil, err
	}
	places, err := p.store.Places(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	accounts, err := p.store.Accounts(ctx, id)
	if err != nil {
		return nil, err
	}
	a, ok := accountIn(accounts, places)
	if !ok {
		return nil, nil
	}
	return []reader{{person: person, joined: m.Joined, to: bot.DirectRoom(a)}}, nil
}

// accountIn chooses where a member is written to: her oldest account in a chat
// where the class meets, else her oldest.
func accountIn(accounts []bot.Account, places []bot.Place) (bot.Account, bool) {
	for _, a := range accounts {
		if slices.ContainsFunc(places, func(p bot.Place) bool { return p.Chat == a.Chat }) {
			return a, true
		}
	}
	if len(accounts) == 0 {
		return bot.Account{}, false
	}
	return accounts[0], true
}

// reminders are the posts of a session to one reader that fall due within the
// Horizon. Those that were due before the session was what it is, or before she
// joined, are not made up for. Those that were missed for another reason are
// added however late they are, so that they are sent or counted as stale.
func (p *Planner) reminders(c class.Class, s class.Session, r reader) []Post {
	after, until := latest(s.Changed, r.joined, p.o.NotBefore), p.o.Now().Add(Horizon)
	planned := planFor(c, s, r.person)
	var out []Post
	for i, pl := range planned {
		if !pl.Due.After(after) || pl.Due.After(until) {
			continue
		}
		who := string(r.person.ID)
		if who == "" {
			who = r.to.Chat + " " + r.to.Room
		}
		reminder := pl.Reminder.String()
		out = append(out, Post{
			// By the start and not by the sequence: a change of topic must neither
			// repeat a reminder nor lose one that is on its way.
			Key: PostKey("reminder", string(s.ID), instant(s.Start), reminder, who),
			To:  r.to, Class: c.ID, Session: s.ID, Person: r.person.ID, Kind: KindReminder,
			Payload: Details{Start: s.Start, Reminder: reminder}.payload(),
			Due:     pl.Due, Expires: expiry(s, planned, i),
		})
	}
	return out
}

// planFor is Plan of a session for a person as she is now; the zero Person is
// the whole room.
func planFor(c class.Class, s class.Session, person class.Person) []Planned {
	rs, err := remindersOf(c.Reminders)
	if err != nil {
		rs = DefaultReminders()
	}
	q := Quiet{From: Clock(person.Quiet.From), To: Clock(person.Quiet.To)}
	return Plan(s.Start, time.Duration(s.Minutes)*time.Minute, rs, zoneOf(person.Zone, c.Zone, s.Zone), q)
}

// remindersOf reads a class's setting; "" is one that was never made.
func remindersOf(setting string) ([]Reminder, error) {
	if setting == "" {
		return DefaultReminders(), nil
	}
	return ParseReminders(setting)
}

// zoneOf is the first zone that there is, UTC if none.
func zoneOf(names ...string) *time.Location {
	for _, name := range names {
		if name == "" {
			continue
		}
		if loc, err := time.LoadLocation(name); err == nil {
			return loc
		}
	}
	return time.UTC
}

// expiry is when a reminder is of no more use: when the next one is due, and
// never later than a day after its own time or than what it announces.
func expiry(s class.Session, planned []Planned, i int) time.Time {
	e := planned[i].Due.Add(dayOfUse)
	switch r := planned[i].Reminder; {
	case r.After:
	case r == Reminder{}:
		e = earliest(e, s.Start.Add(startOfUse))
	default:
		e = earliest(e, s.Start)
	}
	if i+1 < len(planned) {
		e = earliest(e, planned[i+1].Due)
	}
	return e
}

// Schedule plans the firings of one schedule and notes how far, in one
// transaction. Call it in the transaction in which it was added.
func (p *Planner) Schedule(ctx context.Context, s class.Schedule) error {
	fires, err := ParseSchedule(s.Spec)
	if err != nil {
		return fmt.Errorf("schedule %s: %w", s.ID, err)
	}
	err = p.store.Tx(ctx, func(ctx context.Context) error {
		s, err := p.current(ctx, s)
		if err != nil {
			return err
		}
		now := p.o.Now()
		if _, err := p.box.Add(ctx, now, p.firings(s, fires, now)...); err != nil {
			return err
		}
		s.Planned = now.Add(Horizon)
		return p.store.PutSchedule(ctx, s)
	})
	if errors.Is(err, class.ErrNone) {
		return nil // it has ended meanwhile
	}
	return err
}

// current is a schedule as it is in this transaction; class.ErrNone when it has
// ended.
func (p *Planner) current(ctx context.Context, s class.Schedule) (class.Schedule, error) {
	all, err := p.store.SchedulesOf(ctx, s.Class)
	if err != nil {
		return s, err
	}
	i := slices.IndexFunc(all, func(other class.Schedule) bool { return other.ID == s.ID })
	if i < 0 {
		return s, class.ErrNone
	}
	return all[i], nil
}

// firings are the posts of a schedule that are not planned yet, each good until
// the next, but for half a day at most.
func (p *Planner) firings(s class.Schedule, fires Schedule, now time.Time) []Post {
	until := now.Add(Horizon)
	from := latest(s.Made, s.Planned, p.o.NotBefore, now.Add(-catchUp))
	if s.Planned.After(until) { // planned by a clock that was ahead
		from = now
	}
	loc := zoneOf(s.Zone)
	var out []Post
	at, ok := fires.Next(from, loc)
	for ok && !at.After(until) {
		next, more := fires.Next(at, loc)
		expires := at.Add(routineOfUse)
		if more {
			expires = earliest(expires, next)
		}
		out = append(out, Post{
			Key: PostKey("schedule", string(s.ID), instant(at)),
			To:  s.To, Class: s.Class, Kind: KindSay,
			Payload: Details{Schedule: s.ID}.payload(),
			Due:     at, Expires: expires,
		})
		at, ok = next, more
	}
	return out
}

// instant writes a time for a key.
func instant(t time.Time) string { return strconv.FormatInt(t.UnixMilli(), 10) }

func latest(times ...time.Time) time.Time { return slices.MaxFunc(times, time.Time.Compare) }

func earliest(times ...time.Time) time.Time { return slices.MinFunc(times, time.Time.Compare) }
