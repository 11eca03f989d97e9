// Package timetable is everything the assistant knows about time: it reads
// dates as people write them, finds zones, carries a class over clock changes,
// says when each reminder is due, and writes calendars.
//
// Half of it is pure: texts and instants in, instants out. It reads no clock
// (the caller gives now), keeps no state and starts nothing. Its files, in the
// order in which a session passes through them:
//
//	words.go      what all readers of texts here have in common
//	pattern.go    expressions, compiled when they are first needed
//	clock.go      a time of day: "19:00", "7pm"
//	wall.go       a civil time (Wall) and the instant that it means (Resolve)
//	dates.go      what a person wrote ("tue 19:00") becomes a When
//	echo.go       what every answer about a time must say, as data
//	zones.go      a zone by its name (zonenames.txt) or by a city (cities.txt)
//	series.go     a weekly series: civil dates, each resolved by itself
//	reminders.go  which reminders a class sends
//	quiet.go      quiet hours, and when a reminder is due around them
//	cron.go       when a routine post is next due
//	calendar.go   sessions as an iCalendar file
//	keys.go       the keys of every Fault, and of weekdays and months
//	testdata/judges/   readers of calendars apart from our own, for the tests
//
// The rule for clock changes is that of RFC 5545 §3.3.5 throughout: a civil
// time that occurs twice means the first, one that is skipped is read with the
// offset in force before the gap. Whoever shows such a time says so; that is
// what Resolution is for.
//
// Mistakes of the asker are *calc.Fault. There are no words for people here.
package timetable
