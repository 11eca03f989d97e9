package lesson

import (
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// timeData is a time for scripts.
type timeData struct {
	Instant     time.Time `json:"instant"`      // UTC
	Wall        string    `json:"wall"`         // in Zone, as the clock there shows it: "2026-12-01 19:00"
	Zone        string    `json:"zone"`         // the class's
	AskerWall   string    `json:"asker_wall"`   // in AskerZone
	AskerZone   string    `json:"asker_zone"`   // the asker's own
	ClockChange string    `json:"clock_change"` // "exactly", "twice" or "skipped": what the zone's clocks do at that time
}

func timeDataOf(e timetable.Echoed) timeData {
	return timeData{
		Instant: e.Time, Wall: e.Class.Wall.String(), Zone: e.Class.Zone,
		AskerWall: e.Asker.Wall.String(), AskerZone: e.Asker.Zone, ClockChange: e.How.String(),
	}
}

// locationOf is a zone that is kept, UTC for "" and for one that no machine
// knows any more.
func locationOf(zone string) *time.Location {
	if loc, err := timetable.Zone(zone); err == nil {
		return loc
	}
	return time.UTC
}

// echoOf is when a session starts, for someone who reads the clock in a zone. It
// knows what the teacher wrote, and so of a clock change.
func echoOf(s class.Session, zone string) timetable.Echoed {
	loc, asker := locationOf(s.Zone), locationOf(zone)
	if w, err := timetable.ParseWall(s.Wall); err == nil {
		if t, how := timetable.Resolve(w, loc); t.Equal(s.Start) {
			return timetable.When{Wall: w, Time: t, How: how}.Echo(loc, asker)
		}
	}
	return timetable.Echo(s.Start, loc, asker)
}

// whenSaid is how an answer says a time: weekday, full date, time and zone of
// the class, the same instant on the asker's clock where it shows another time,
// and what a clock change did. It is one or more sentences without the last
// full stop.
func whenSaid(c *bot.Call, e timetable.Echoed) string {
	said := momentSaid(c, e.Class)
	if !e.Same {
		said = c.Say("times.both", said, otherClock(c, e.Asker, e.Days))
	}
	return withNote(c.Tell(said, e.Time), clockChangeSaid(c, e))
}

// whenSaidToHer is whenSaid with her own clock first, for posts and answers that
// are about her day.
func whenSaidToHer(c *bot.Call, e timetable.Echoed) string {
	said := momentSaid(c, e.Class)
	if !e.Same {
		said = c.Say("times.hers", momentSaid(c, e.Asker), otherClock(c, e.Class, -e.Days))
	}
	return withNote(c.Tell(said, e.Time), clockChangeSaid(c, e))
}

// withNote puts a sentence behind another, if there is one.
func withNote(said, note string) string {
	if note == "" {
		return said
	}
	return said + ". " + note
}

// momentSaid is "Tuesday 1 December 2026, 19:00 CET (Europe/Berlin)".
func momentSaid(c *bot.Call, m timetable.Moment) string {
	return c.Say("times.moment", m.Weekday, m.Wall.Day, m.Month, m.Wall.Year, clockSaid(m), zoneSaid(c, m))
}

// otherClock is the same instant on another clock, with its day only where that
// is another one.
func otherClock(c *bot.Call, m timetable.Moment, days int) string {
	if days == 0 {
		return c.Say("times.clock", clockSaid(m), zoneSaid(c, m))
	}
	return c.Say("times.clock_day", clockSaid(m), zoneSaid(c, m), m.Weekday, m.Wall.Day, m.Month)
}

func clockSaid(m timetable.Moment) string { return m.Wall.Clock().String() }

// zoneSaid is "CET (Europe/Berlin)", or the name alone where it is its own
// abbreviation.
func zoneSaid(c *bot.Call, m timetable.Moment) string {
	if m.Abbreviation == m.Zone {
		return m.Zone
	}
	return c.Say("times.zone", m.Abbreviation, spaced(m.Zone))
}

// spaced is a zone's name as people write it: "America/New York".
func spaced(zone string) string { return strings.ReplaceAll(zone, "_", " ") }

// clockChangeSaid is a sentence without its full stop where a clock change makes
// a time mean two instants or none, and "" everywhere else.
func clockChangeSaid(c *bot.Call, e timetable.Echoed) string {
	key := map[timetable.Resolution]calc.Key{timetable.Twice: "times.twice", timetable.Skipped: "times.skipped"}[e.How]
	if key == "" {
		return ""
	}
	return c.Say(key, e.Asked.Clock().String(), e.Class.Wall.Clock().String())
}

// daySaid is "Tuesday 1 December", for lists in which the year is plain.
func daySaid(c *bot.Call, m timetable.Moment) string {
	return c.Say("times.day", m.Weekday, m.Wall.Day, m.Month)
}

// lengthSaid is "90 minutes" or "2 hours".
func lengthSaid(c *bot.Call, minutes int) string {
	if minutes > 60 && minutes%60 == 0 {
		return c.Texts.Count(c.Units, "times.hours", minutes/60)
	}
	return c.Texts.Count(c.Units, "times.minutes", minutes)
}
