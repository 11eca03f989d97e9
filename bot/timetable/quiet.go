package timetable

import "time"

// Quiet are the hours of the day, on a person's own clock, in which she wants
// no message: from From until before To. From after To crosses midnight. The
// zero Quiet, like any with From equal to To, is no quiet hours.
type Quiet struct{ From, To Clock }

// ParseQuiet reads "22:00-07:00", "10pm to 7am" or "none".
func ParseQuiet(text string) (Quiet, error) { panic("not yet") }

// String is the form that ParseQuiet reads.
func (q Quiet) String() string { panic("not yet") }

// Covers tells whether a clock that shows c is in the quiet hours.
func (q Quiet) Covers(c Clock) bool { panic("not yet") }

// Due is the instant at which a person gets a reminder of a session; moved
// tells that her quiet hours changed it.
func Due(start time.Time, length time.Duration, r Reminder, loc *time.Location, q Quiet) (due time.Time, moved bool) {
	panic("not yet")
}

// Planned is a reminder with the instant at which it is due.
type Planned struct {
	Reminder Reminder
	Due      time.Time
	Moved    bool
}

// Plan is all reminders of one session for one person in the order in which
// they are due. Of those that quiet hours moved to one instant only the one
// asked for nearest to the session is left.
func Plan(start time.Time, length time.Duration, rs []Reminder, loc *time.Location, q Quiet) []Planned {
	panic("not yet")
}
