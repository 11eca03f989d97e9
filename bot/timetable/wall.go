package timetable

import (
	"fmt"
	"time"
)

// Wall is a civil time: what a calendar and a clock on a wall show, in no zone
// until Resolve is told one. It is exact to the minute. Walls can be compared
// with == and with Before.
type Wall struct {
	Year   int
	Month  time.Month
	Day    int
	Hour   int
	Minute int
}

// WallOf is what a clock in loc shows at t, seconds dropped.
func WallOf(t time.Time, loc *time.Location) Wall {
	t = t.In(loc)
	return Wall{t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute()}
}

// wallLayout is the one form that is stored.
const wallLayout = "2006-01-02 15:04"

// ParseWall reads the stored form, that of String, and nothing else. People's
// writing is read by ParseWhen.
func ParseWall(text string) (Wall, error) {
	t, err := time.Parse(wallLayout, text)
	if err != nil || t.Format(wallLayout) != text {
		return Wall{}, fmt.Errorf("not a stored wall time: %q", text)
	}
	return WallOf(t, time.UTC), nil
}

// String is the stored form: "2026-12-01 19:00".
func (w Wall) String() string { return w.utc().Format(wallLayout) }

// MarshalText writes the stored form.
func (w Wall) MarshalText() ([]byte, error) { return []byte(w.String()), nil }

// UnmarshalText reads the stored form.
func (w *Wall) UnmarshalText(text []byte) error {
	var err error
	*w, err = ParseWall(string(text))
	return err
}

// Valid tells whether a calendar has such a day and a clock such a time. Years
// are those of four digits.
func (w Wall) Valid() bool {
	return w.Year >= 1 && w.Year <= 9999 && WallOf(w.utc(), time.UTC) == w
}

// AddDays is the same time of day n days later; n may be negative.
func (w Wall) AddDays(n int) Wall {
	w.Day += n
	return WallOf(w.utc(), time.UTC)
}

// At is the same day at another time.
func (w Wall) At(c Clock) Wall {
	w.Hour, w.Minute = int(c)/60, int(c)%60
	return w
}

// Clock is the time of day.
func (w Wall) Clock() Clock { return Clock(w.Hour*60 + w.Minute) }

// Weekday is the day of the week.
func (w Wall) Weekday() time.Weekday { return w.utc().Weekday() }

// Before tells whether w is on the calendar before v. Around a clock change
// that is not always the order of the instants.
func (w Wall) Before(v Wall) bool { return w.utc().Before(v.utc()) }

// utc is the instant at which a clock at UTC shows w: a way to count, no more.
func (w Wall) utc() time.Time {
	return time.Date(w.Year, w.Month, w.Day, w.Hour, w.Minute, 0, 0, time.UTC)
}

// Resolution says how a wall time became an instant. Anything but Exactly is
// to be said to the person who wrote the time.
type Resolution int

const (
	Exactly Resolution = iota // the zone's clocks show it once
	Twice                     // they show it twice; the first is meant
	Skipped                   // they never show it; it was read with the offset before the gap
)

// String is for logs and machine-readable answers.
func (r Resolution) String() string {
	switch r {
	case Twice:
		return "twice"
	case Skipped:
		return "skipped"
	}
	return "exactly"
}

// Resolve is the instant, in UTC, that a valid wall time means in a zone, by
// RFC 5545 §3.3.5. time.Date promises neither half of that rule, so the
// stretches of constant offset around w are looked at one by one.
func Resolve(w Wall, loc *time.Location) (t time.Time, how Resolution) {
	reading := w.utc()
	var found []time.Time
	var before int // offset of the stretch before the gap
	// No offset is further than a day from UTC, and no clock change moves a
	// clock by more than a day: only stretches within two days matter.
	start, last := reading.Add(-48*time.Hour), reading.Add(48*time.Hour)
	for start.Before(last) {
		_, offset := start.In(loc).Zone()
		end := mayChange(start, loc)
		if end.IsZero() {
			end = last
		}
		t := reading.Add(-time.Duration(offset) * time.Second)
		if !t.Before(start) {
			before = offset // the last stretch that had begun by this reading
			if t.Before(end) {
				found = append(found, t)
			}
		}
		start = end
	}
	switch len(found) {
	case 0:
		return reading.Add(-time.Duration(before) * time.Second), Skipped
	case 1:
		return found[0], Exactly
	}
	return found[0], Twice
}

// mayChange is an instant after t up to which loc keeps the offset that it has
// at t, zero for none; the offset may well stay the same after it. Beyond the
// table of a zone, where it follows a rule, the library ends each year after
// 365 days and so, on 31 December of a leap year, gives an end that is past;
// embedded zones follow rules already now.
func mayChange(t time.Time, loc *time.Location) time.Time {
	_, end := t.In(loc).ZoneBounds()
	if end.IsZero() || end.After(t) {
		return end.UTC()
	}
	return time.Date(t.UTC().Year()+1, time.January, 1, 0, 0, 0, 0, time.UTC)
}
