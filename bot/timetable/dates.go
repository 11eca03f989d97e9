package timetable

import "time"

// When is a time that a person wrote: what she wrote, and what it means.
type When struct {
	Wall Wall      // in the zone of the class, the hour as she said it
	Time time.Time // the instant, UTC
	How  Resolution
}

// ParseWhen reads a date with a time in the zone of the class. The instant is
// strictly after now.
func ParseWhen(text string, now time.Time, loc *time.Location) (When, error) {
	panic("not yet")
}

// ParseClock reads a time of day: "19:00", "7pm", "7:30 pm", "noon".
func ParseClock(text string) (Clock, error) { panic("not yet") }

// ParseSeries reads how often a weekly session meets: "weekly x6", "every week
// x6", "weekly 6 times". 2 to MaxSeries.
func ParseSeries(text string) (int, error) { panic("not yet") }

// MaxSeries is the longest weekly series: a year.
const MaxSeries = 52
