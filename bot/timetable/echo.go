package timetable

import (
	"time"

	"weftroom/calc"
)

// Moment is an instant as the clocks of one zone show it.
type Moment struct {
	Wall         Wall
	Weekday      calc.Key // "weekday.mon"
	Month        calc.Key // "month.jan"
	Zone         string   // IANA name: "Europe/Berlin"
	Abbreviation string   // "CET", or "UTC+05:45" where the zone has no letters
	Offset       string   // always "UTC+01:00"; "UTC" for none
}

// Echoed is what an answer about a time must always say, whatever the asker
// wrote: weekday, full date, time, zone, and the same instant in her own zone.
type Echoed struct {
	Time  time.Time  // the instant, UTC
	Class Moment     // in the zone of the class
	Asker Moment     // in the zone of the asker
	Same  bool       // both clocks show the same at this instant: saying one is enough
	Days  int        // the asker's date less the class's date: -1, 0 or 1
	How   Resolution // what is to be said about a clock change
	Asked Wall       // what was written; differs from Class.Wall only where How is Skipped
}

// Echo describes the instant t to an asker. Of a clock change it can know only
// that the time occurs Twice; When.Echo knows it all.
func Echo(t time.Time, loc, asker *time.Location) Echoed {
	panic("not yet")
}

// Echo describes w to an asker; loc is the zone that w was resolved in.
func (w When) Echo(loc, asker *time.Location) Echoed {
	panic("not yet")
}

// WeekdayKey names a weekday: "weekday.mon".
func WeekdayKey(d time.Weekday) calc.Key { panic("not yet") }

// MonthKey names a month: "month.jan".
func MonthKey(m time.Month) calc.Key { panic("not yet") }
