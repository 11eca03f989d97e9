package timetable

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"weftroom/calc"
)

// Quiet are the hours of the day, on a person's own clock, in which she wants
// no message: from From on until just before To. With To before From they cross
// midnight. The zero Quiet, like any with From equal to To, is no quiet hours.
type Quiet struct{ From, To Clock }

// MinAwake is how many hours of the day quiet hours must leave.
const MinAwake = 4

const quietExample = "22:00-07:00"

// ParseQuiet reads "22:00-07:00", "10pm to 7am" or "none"; the times as
// ParseClock reads them. Quiet hours that leave fewer than MinAwake hours, or
// none, are refused. Every error is a *calc.Fault.
func ParseQuiet(text string) (Quiet, error) {
	words, err := split(text, quietExample)
	if err != nil {
		return Quiet{}, err
	}
	line := strings.Join(words, " ")
	if line == "none" || line == "off" {
		return Quiet{}, nil
	}
	line = strings.NewReplacer("–", "-", "—", "-", " to ", "-", " until ", "-").Replace(strings.TrimPrefix(line, "from "))
	from, to, ok := strings.Cut(line, "-")
	if !ok {
		return Quiet{}, fault(calc.BadValue, KeyQuiet, text, quietExample)
	}
	var q Quiet
	if q.From, err = readClock(strings.TrimSpace(from), text, quietExample); err != nil {
		return Quiet{}, err
	}
	if q.To, err = readClock(strings.TrimSpace(to), text, quietExample); err != nil {
		return Quiet{}, err
	}
	if q.From == q.To || cyclic(q.To-q.From) > minutesOfDay-MinAwake*60 {
		return Quiet{}, fault(calc.OutOfRange, KeyQuietLong, text, quietExample, MinAwake)
	}
	return q, nil
}

// String is the form that ParseQuiet reads.
func (q Quiet) String() string {
	if q.From == q.To {
		return "none"
	}
	return q.From.String() + "-" + q.To.String()
}

// Covers tells whether a clock that shows c is in the quiet hours.
func (q Quiet) Covers(c Clock) bool { return cyclic(c-q.From) < cyclic(q.To-q.From) }

// cyclic brings a difference of clocks into one day.
func cyclic(c Clock) Clock { return (c%minutesOfDay + minutesOfDay) % minutesOfDay }

// Due is the instant, in UTC, at which a person in loc gets a reminder of a
// session that starts at start (seconds are dropped); moved tells that her
// quiet hours changed it. It may be before now, and then it is the caller's to
// say that it is too late.
//
// Days are civil: the same wall time as the session has in her zone, so many
// days earlier, resolved by RFC 5545 §3.3.5. Hours and minutes are exact.
//
// What falls in her quiet hours moves earlier, to the last minute before they
// begin, the reminder at the start like all others: to learn at 21:59 that a
// session starts at 3:00 is of use, to learn it at 7:00 is not. The text of a
// reminder must therefore say when the session starts, and not "now". The
// follow-up is the one exception: earlier it would come before the end of what
// it follows, so it waits until the quiet hours are over.
func Due(start time.Time, length time.Duration, r Reminder, loc *time.Location, q Quiet) (due time.Time, moved bool) {
	start = start.UTC().Truncate(time.Minute)
	asked := start.Add(-r.Before)
	switch {
	case r.After:
		asked = start.Add(length.Truncate(time.Minute))
	case r.Days > 0:
		asked, _ = Resolve(WallOf(start, loc).AddDays(-r.Days), loc)
	}
	if !q.covers(asked, loc) {
		return asked, false
	}
	if r.After {
		return q.end(asked, loc), true
	}
	return q.lastBefore(asked, loc), true
}

func (q Quiet) covers(t time.Time, loc *time.Location) bool { return q.Covers(WallOf(t, loc).Clock()) }

// lastBefore is the last minute before the quiet hours that hold t. Within a
// stretch of constant offset the clock runs evenly; a clock change within the
// quiet hours is stepped over.
func (q Quiet) lastBefore(t time.Time, loc *time.Location) time.Time {
	for {
		changed, _ := t.In(loc).ZoneBounds()
		since := cyclic(WallOf(t, loc).Clock() - q.From)
		if last := t.Add(-time.Duration(since+1) * time.Minute); !last.Before(changed) {
			return last
		}
		if t = changed.UTC().Add(-time.Minute); !q.covers(t, loc) {
			return t
		}
	}
}

// end is the first minute after the quiet hours that hold t.
func (q Quiet) end(t time.Time, loc *time.Location) time.Time {
	for {
		changes := mayChange(t, loc)
		left := cyclic(q.To - WallOf(t, loc).Clock())
		if first := t.Add(time.Duration(left) * time.Minute); changes.IsZero() || first.Before(changes) {
			return first
		}
		if t = changes; !q.covers(t, loc) {
			return t
		}
	}
}

// Planned is a reminder with the instant at which it is due.
type Planned struct {
	Reminder Reminder
	Due      time.Time // UTC
	Moved    bool      // by quiet hours
}

// Plan is all reminders of one session for one person in the order in which
// they are due. Of several due at one instant, as quiet hours make them, only
// the one asked for nearest to the session is left.
func Plan(start time.Time, length time.Duration, rs []Reminder, loc *time.Location, q Quiet) []Planned {
	var out []Planned
	for _, r := range rs {
		due, moved := Due(start, length, r, loc, q)
		out = append(out, Planned{r, due, moved})
	}
	slices.SortStableFunc(out, func(a, b Planned) int {
		if c := a.Due.Compare(b.Due); c != 0 {
			return c
		}
		return cmp.Compare(b.Reminder.order(), a.Reminder.order()) // the nearest first, to be kept
	})
	return slices.CompactFunc(out, func(a, b Planned) bool { return a.Due.Equal(b.Due) })
}
