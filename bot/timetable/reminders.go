package timetable

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"weftroom/calc"
)

// Reminder is one of the posts that go with a session. At most one field is
// set; the zero Reminder is sent at the start. Reminders can be compared with ==.
type Reminder struct {
	Days   int           // civil days before the start, at the same wall time in the person's zone; up to MaxDays
	Before time.Duration // exactly so long before the start; whole minutes, MinBefore to MaxBefore
	After  bool          // the follow-up, at the session's end
}

// The bounds of what a class can set.
const (
	MaxReminders = 8
	MaxDays      = 8 * 7
	MinBefore    = 5 * time.Minute
	MaxBefore    = 72 * time.Hour
)

// DefaultReminders is what a class sends until it is told otherwise: a week, a
// day and an hour before, at the start, and a follow-up.
func DefaultReminders() []Reminder {
	return []Reminder{{Days: 7}, {Days: 1}, {Before: time.Hour}, {}, {After: true}}
}

const remindersExample = "1w 1d 1h start after"

// spanUnits are the units of a reminder as people shorten them.
var spanUnits = map[string]string{
	"w": "w", "wk": "w", "week": "w", "weeks": "w",
	"d": "d", "day": "d", "days": "d",
	"h": "h", "hr": "h", "hour": "h", "hours": "h",
	"m": "m", "min": "m", "mins": "m", "minute": "m", "minutes": "m",
}

var span = compiled(`^(\d+)([a-z]+)$`)

// ParseReminders reads a setting such as "1w 1d 1h start after", also "2 weeks,
// 90 minutes, start". A day is a civil day and 24h are 24 hours: they differ
// across a clock change. "none" is no reminders and "default" those of
// DefaultReminders. The result is ordered from the earliest to the last, each
// once. Every error is a *calc.Fault.
func ParseReminders(text string) ([]Reminder, error) {
	words, err := split(text, remindersExample)
	if err != nil {
		return nil, err
	}
	if len(words) == 1 {
		switch words[0] {
		case "none", "off":
			return nil, nil
		case "default":
			return DefaultReminders(), nil
		}
	}
	var out []Reminder
	for _, w := range joinSpans(words) {
		r, err := readReminder(w, text)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	if len(out) > MaxReminders {
		return nil, fault(calc.OutOfRange, KeyReminders, text, remindersExample, MaxReminders)
	}
	slices.SortStableFunc(out, func(a, b Reminder) int { return cmp.Compare(a.order(), b.order()) })
	return out, nil
}

// joinSpans makes "2 weeks" the one word "2weeks", and leaves out "before".
func joinSpans(words []string) []string {
	var out []string
	for _, w := range words {
		last := len(out) - 1
		switch {
		case w == "before":
		case last >= 0 && digits(out[last]) && letters(w):
			out[last] += w
		default:
			out = append(out, w)
		}
	}
	return out
}

func readReminder(w, text string) (Reminder, error) {
	switch w {
	case "start":
		return Reminder{}, nil
	case "after":
		return Reminder{After: true}, nil
	}
	parts := span.FindStringSubmatch(w)
	if parts == nil || spanUnits[parts[2]] == "" {
		return Reminder{}, fault(calc.BadValue, KeyReminder, text, remindersExample, clip(w))
	}
	n, err := strconv.Atoi(parts[1])
	var r Reminder
	switch spanUnits[parts[2]] {
	case "w":
		r.Days = 7 * min(n, MaxDays+1)
	case "d":
		r.Days = n
	case "h":
		r.Before = time.Duration(min(n, 1000)) * time.Hour
	case "m":
		r.Before = time.Duration(min(n, 10000)) * time.Minute
	}
	daysFit := 1 <= r.Days && r.Days <= MaxDays
	beforeFits := MinBefore <= r.Before && r.Before <= MaxBefore
	if err != nil || !daysFit && !beforeFits {
		least, most := Reminder{Before: MinBefore}, Reminder{Days: MaxDays}
		return Reminder{}, fault(calc.OutOfRange, KeyReminderRange, text, remindersExample, clip(w), least.String(), Reminder{Before: MaxBefore}.String(), most.String())
	}
	return r, nil
}

// order counts minutes before the start, less the earlier.
func (r Reminder) order() time.Duration {
	if r.After {
		return 1
	}
	return -r.Before - time.Duration(r.Days)*24*time.Hour
}

// String is the word of a setting: "1w", "2d", "1h", "90m", "start", "after".
func (r Reminder) String() string {
	switch {
	case r.After:
		return "after"
	case r.Days > 0 && r.Days%7 == 0:
		return strconv.Itoa(r.Days/7) + "w"
	case r.Days > 0:
		return strconv.Itoa(r.Days) + "d"
	case r.Before > 0 && r.Before%time.Hour == 0:
		return strconv.Itoa(int(r.Before/time.Hour)) + "h"
	case r.Before > 0:
		return strconv.Itoa(int(r.Before/time.Minute)) + "m"
	}
	return "start"
}

// FormatReminders writes what ParseReminders reads.
func FormatReminders(rs []Reminder) string {
	if len(rs) == 0 {
		return "none"
	}
	var words []string
	for _, r := range rs {
		words = append(words, r.String())
	}
	return strings.Join(words, " ")
}
