package timetable

import "time"

// Reminder is one of the posts that go with a session. At most one field is
// set; the zero Reminder is sent at the start.
type Reminder struct {
	Days   int           // civil days before the start, at the same wall time in the person's zone
	Before time.Duration // exactly so long before the start
	After  bool          // at the session's end
}

// DefaultReminders is what a class sends until it is told otherwise.
func DefaultReminders() []Reminder { panic("not yet") }

// ParseReminders reads a setting such as "1w 1d 1h start after", or "none".
func ParseReminders(text string) ([]Reminder, error) { panic("not yet") }

// FormatReminders writes what ParseReminders reads.
func FormatReminders(rs []Reminder) string { panic("not yet") }

// String is the word of a setting: "1w", "2d", "1h", "30m", "start", "after".
func (r Reminder) String() string { panic("not yet") }
