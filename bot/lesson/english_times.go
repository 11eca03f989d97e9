package lesson

import "weftroom/bot"

// englishTimes are how times are said, and the refusals of those that cannot be
// read. Each refusal is told what was written first.
var englishTimes = bot.Texts{
	"weekday.mon": "Monday", "weekday.tue": "Tuesday", "weekday.wed": "Wednesday", "weekday.thu": "Thursday",
	"weekday.fri": "Friday", "weekday.sat": "Saturday", "weekday.sun": "Sunday",
	"month.jan": "January", "month.feb": "February", "month.mar": "March", "month.apr": "April", "month.may": "May", "month.jun": "June",
	"month.jul": "July", "month.aug": "August", "month.sep": "September", "month.oct": "October", "month.nov": "November", "month.dec": "December",

	"times.moment":       "%s %d %s %d, %s %s",
	"times.day":          "%s %d %s",
	"times.clock":        "%s %s",
	"times.clock_day":    "%[3]s %[4]d %[5]s, %[1]s %[2]s",
	"times.zone":         "%s (%s)",
	"times.both":         "%s, which for you is %s",
	"times.hers":         "%s (in class: %s)",
	"times.twice":        "The clocks there show %[1]s twice that night; I take the first",
	"times.skipped":      "The clocks there skip %s that night; I take %s",
	"times.hours.one":    "%d hour",
	"times.hours.many":   "%d hours",
	"times.minutes.one":  "%d minute",
	"times.minutes.many": "%d minutes",

	"timetable.empty":    "Please say a day and a time",
	"timetable.too_long": "“%s” is too long for that; up to %d bytes are read",
	"timetable.text":     "“%s” has a character in it that cannot be seen; please type it again",

	"timetable.when.word":         "“%[2]s” is not part of a date that I can read; write a day and then a time",
	"timetable.when.word_near":    "I cannot read “%[2]s” in a date; did you mean %[3]s",
	"timetable.when.order":        "“%[2]s” does not belong there; write the day first and then the time",
	"timetable.when.next":         "“%[2]s” means different days to different people; write the weekday alone for the one that comes next, or the date",
	"timetable.when.numeric":      "“%[2]s” can be read as two different dates; write the month as a word, or the year first",
	"timetable.when.no_date":      "“%s” has no day; write the day before the time",
	"timetable.when.no_time":      "“%s” has no time; write it after the day",
	"timetable.when.month":        "In “%[1]s” a month is missing after the day; write it as a word",
	"timetable.when.month_number": "There is no month %[2]s; months go from 01 to 12",
	"timetable.when.day":          "“%[2]s” cannot be the day of a month; write a number",
	"timetable.when.no_such_day":  "There is no %[2]d %[3]s %[4]d; that month has %[5]d days",
	"timetable.when.year":         "“%[2]s” is not a year; write all four digits, or none for the next such date",
	"timetable.when.weekday":      "%[3]s is a %[4]s, not a %[2]s; say which one you mean",
	"timetable.when.past":         "%[2]s is over already: here it is %[3]s now; write a time that is still to come",
	"timetable.when.far":          "%[2]s is more than %[3]d years from now; write a nearer date",
	"timetable.when.zone":         "Times are read in the zone of the class, %[3]s; leave “%[2]s” out",

	"timetable.clock.form":     "“%[2]s” is not a time of day; write hours and minutes, with am or pm if you like",
	"timetable.clock.hour":     "“%[2]s” could be morning or evening; write minutes with it, or am or pm",
	"timetable.clock.range":    "“%[2]s” is on no clock; times go from 0:00 to 23:59",
	"timetable.clock.twelve":   "“%[2]s” is on no clock; with am or pm the hours go from 1 to 12",
	"timetable.clock.midnight": "Midnight belongs to two days; write 0:00 of the day that begins",

	"timetable.series.form":  "“%s” is not a series that I know; a session can be repeated weekly, so many times",
	"timetable.series.range": "%[2]s times are outside what is allowed; a weekly series has %[3]d to %[4]d sessions",

	"timetable.zone.unknown":      "I know no place “%s”; write a larger city near you, or the name of a time zone",
	"timetable.zone.near":         "I know no place “%s”; did you mean %s",
	"timetable.zone.ambiguous":    "There are several places called “%s”: %s; write one of them",
	"timetable.zone.abbreviation": "“%s” stands for more than one place, or for half of the year; write a city instead, such as one of %s",
	"timetable.zone.offset":       "“%s” does not follow the clock changes of a place; write a city instead",

	"timetable.reminder.word":  "“%[2]s” is not a reminder that I know; write how long before (2w, 1d, 1h, 30m), start, after or none",
	"timetable.reminder.range": "“%[2]s” is outside what is allowed; minutes and hours from %[3]s to %[4]s, days and weeks up to %[5]s",
	"timetable.reminder.many":  "“%s” are too many reminders; up to %d are allowed",

	"timetable.quiet.form": "“%s” are not quiet hours; write from when to when, or none",
	"timetable.quiet.long": "Quiet hours of “%s” leave too little of the day; at least %d hours must be left",

	"timetable.schedule.form":  "“%s” is not a schedule that I can read; write weekdays and a time, or five cron fields",
	"timetable.schedule.field": "In the schedule “%s” the %s “%s” cannot be read",
	"timetable.schedule.often": "“%s” would post too often; at least %d minutes must lie between two posts",
	"timetable.schedule.never": "“%s” never comes; no calendar has such a day",
	"timetable.cron.minute":    "minute", "timetable.cron.hour": "hour", "timetable.cron.day": "day of the month",
	"timetable.cron.month": "month", "timetable.cron.weekday": "weekday",
}
