package timetable

import "time"

// Schedule says when a routine post goes out, in civil times.
type Schedule struct {
	spec string
}

// ParseSchedule reads five cron fields or one of our phrases.
func ParseSchedule(text string) (Schedule, error) { panic("not yet") }

// String is the schedule as five cron fields, which ParseSchedule reads.
func (s Schedule) String() string { return s.spec }

// Next is the first instant strictly after the given one at which the schedule
// fires in loc; false if there is none within five years.
func (s Schedule) Next(after time.Time, loc *time.Location) (time.Time, bool) {
	panic("not yet")
}
