package timetable

import "time"

// Event is one meeting in a calendar.
type Event struct {
	UID         string        // stable for the life of the session
	Sequence    int           // 0, one more each time that the session is moved or cancelled
	Stamp       time.Time     // when the session last changed
	Start       time.Time     // whole seconds
	Length      time.Duration // positive, whole seconds
	Summary     string
	Description string
	URL         string // the meeting link; empty in any calendar that is not personal
	Cancelled   bool
}

// Calendar writes events as an iCalendar file.
func Calendar(name string, events []Event) ([]byte, error) { panic("not yet") }
