package lesson

import (
	"cmp"
	"strings"
	"time"
	"unicode"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

// calendarType is the media type of a calendar file.
const calendarType = "text/calendar"

// calendarFile is the calendar of sessions of one class, cancelled ones among
// them, so that a reader's calendar learns of that. With links it is a member's
// own and must go to her alone; in every other they are left out. ok is false
// where there is no session.
func calendarFile(c *bot.Call, k class.Class, sessions []class.Session, links bool) (file bot.File, ok bool, err error) {
	var events []timetable.Event
	for _, s := range sessions {
		e := timetable.Event{
			UID:      "session-" + string(s.ID) + "@weftroom",
			Sequence: s.Sequence, Stamp: s.Changed, Start: s.Start, Length: time.Duration(s.Minutes) * time.Minute,
			Summary: cmp.Or(topicOf(k, s), c.Say("sessions.untitled", s.Number)) + " · " + k.Name, Description: topicOf(k, s), Cancelled: s.Cancelled,
		}
		if links {
			e.URL = s.Link
		}
		events = append(events, e)
	}
	if len(events) == 0 {
		return bot.File{}, false, nil
	}
	raw, err := timetable.Calendar(k.Name, events)
	if err != nil {
		return bot.File{}, false, err
	}
	return bot.File{
		Name: fileName(k.Name, "class") + ".ics", MediaType: calendarType, Bytes: raw,
		Alt: c.Texts.Count(c.Units, "sessions.calendar", len(events), k.Name),
	}, true, nil
}

// topicOf is what a session is about, in one line; "" when nobody has said.
func topicOf(k class.Class, s class.Session) string { return cmp.Or(s.Topic, k.Technique) }

// fileName makes a name fit for a file on any system: lower-case letters and
// digits with hyphens between, 40 at most, or instead when nothing is left.
func fileName(name, instead string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	short := strings.Join(words, "-")
	if len(short) > 40 {
		short = strings.Trim(short[:40], "-")
	}
	return cmp.Or(short, instead)
}
