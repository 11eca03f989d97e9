package timetable

import (
	"fmt"
	"strings"
	"time"

	"weftroom/calc"
)

// Moment is an instant as the clocks of one zone show it.
type Moment struct {
	Wall         Wall
	Weekday      calc.Key // "weekday.mon"
	Month        calc.Key // "month.jan"
	Zone         string   // IANA name: "Europe/Berlin"
	Abbreviation string   // "CET", or as Offset where the zone has no letters
	Offset       string   // "UTC+01:00", "UTC+05:45", "UTC" for none
}

// Echoed is what an answer about a time must always say, whatever the asker
// wrote: weekday, full date, time, zone, and the same instant in her own zone.
type Echoed struct {
	Time  time.Time  // the instant, UTC
	Class Moment     // in the zone of the class
	Asker Moment     // in the zone of the asker
	Same  bool       // both clocks show the same at this instant: saying one is enough
	Days  int        // the asker's date less the class's date: mostly -1, 0 or 1
	How   Resolution // what is to be said about a clock change
	Asked Wall       // what was written; differs from Class.Wall only where How is Skipped
}

// Echo describes the instant t to an asker. Of a clock change it can know only
// that the class's clocks show the time Twice; When.Echo knows it all.
func Echo(t time.Time, loc, asker *time.Location) Echoed {
	e := Echoed{Time: t.UTC(), Class: momentOf(t, loc), Asker: momentOf(t, asker)}
	e.Same = e.Class.Offset == e.Asker.Offset
	e.Days = days(e.Asker.Wall) - days(e.Class.Wall)
	e.Asked = e.Class.Wall
	_, e.How = Resolve(e.Asked, loc)
	return e
}

// Echo describes w to an asker; loc is the zone that w was resolved in.
func (w When) Echo(loc, asker *time.Location) Echoed {
	e := Echo(w.Time, loc, asker)
	e.How, e.Asked = w.How, w.Wall
	return e
}

func momentOf(t time.Time, loc *time.Location) Moment {
	w := WallOf(t, loc)
	name, offset := t.In(loc).Zone()
	m := Moment{
		Wall: w, Weekday: WeekdayKey(w.Weekday()), Month: MonthKey(w.Month),
		Zone: loc.String(), Abbreviation: name, Offset: offsetName(offset),
	}
	if strings.ContainsAny(name, "+-0123456789") || name == "" {
		m.Abbreviation = m.Offset // the tz database writes "+04" where nobody uses letters
	}
	return m
}

// offsetName is an offset in seconds east of UTC, to the minute.
func offsetName(seconds int) string {
	if seconds == 0 {
		return "UTC"
	}
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	return fmt.Sprintf("UTC%c%02d:%02d", sign, seconds/3600, seconds/60%60)
}

// days counts the civil days from an arbitrary one.
func days(w Wall) int {
	return int(w.At(0).utc().Unix() / (24 * 60 * 60))
}
