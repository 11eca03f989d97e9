package timetable

import (
	"time"

	"weftroom/calc"
)

// Every Fault here comes from reading a text. Its Field is empty (only the
// caller knows it), its Example is always something that the same reader takes,
// and its Args begin with the text as written (string, shortened, without
// control characters). What follows is said beside each key.
const (
	KeyEmpty   calc.Key = "timetable.empty"    // nothing was written
	KeyTooLong calc.Key = "timetable.too_long" // then int, the bytes allowed
	KeyText    calc.Key = "timetable.text"     // not valid UTF-8, or an invisible character in it

	KeyWord        calc.Key = "timetable.when.word"         // then string, a word that no date has
	KeyWordNear    calc.Key = "timetable.when.word_near"    // then string, a word that no date has; string, the nearest that one has
	KeyOrder       calc.Key = "timetable.when.order"        // then string, a word that belongs elsewhere, or twice: first the date, then the time
	KeyNext        calc.Key = "timetable.when.next"         // then string: "next", "this" and the like mean different days to different people
	KeyNumeric     calc.Key = "timetable.when.numeric"      // then string: 01/02/2026 is read in two ways; the month as a word
	KeyNoDate      calc.Key = "timetable.when.no_date"      // a time, or a month, without a day
	KeyNoTime      calc.Key = "timetable.when.no_time"      // a day without a time
	KeyMonth       calc.Key = "timetable.when.month"        // then string, what stands where a month was expected, maybe nothing
	KeyMonthNumber calc.Key = "timetable.when.month_number" // then string, a month of 2026-13-01
	KeyDay         calc.Key = "timetable.when.day"          // then string, what stands where the day of a month was expected
	KeyNoSuchDay   calc.Key = "timetable.when.no_such_day"  // 31 nov; then int, the day; calc.Key, the month; int, the year; int, the days it has
	KeyYear        calc.Key = "timetable.when.year"         // then string, a year that is not of four digits
	KeyWeekday     calc.Key = "timetable.when.weekday"      // tue on a friday; then calc.Key, the weekday as written; Wall, the date; calc.Key, the weekday it has
	KeyPast        calc.Key = "timetable.when.past"         // then Wall, the time meant; Wall, the time now
	KeyFar         calc.Key = "timetable.when.far"          // then Wall, the time meant; int, the years allowed
	KeySaidZone    calc.Key = "timetable.when.zone"         // then string, a zone in the text; string, the zone in which times are read

	KeyClock     calc.Key = "timetable.clock.form"     // then string, what cannot be read as a time
	KeyHourAlone calc.Key = "timetable.clock.hour"     // then string, a bare number: morning or evening?
	KeyRange     calc.Key = "timetable.clock.range"    // then string: 24:00, 7:65
	KeyTwelve    calc.Key = "timetable.clock.twelve"   // then string: 13pm, 0am
	KeyMidnight  calc.Key = "timetable.clock.midnight" // midnight belongs to two days: 0:00 of the day that begins

	KeySeries      calc.Key = "timetable.series.form"  // not "weekly x6"
	KeySeriesRange calc.Key = "timetable.series.range" // then string, the number; int least; int most

	KeyZone             calc.Key = "timetable.zone.unknown"      // no zone or city that we know
	KeyZoneNear         calc.Key = "timetable.zone.near"         // then []string, the nearest: each can be written instead
	KeyZoneAmbiguous    calc.Key = "timetable.zone.ambiguous"    // then []string, the places of that name: each can be written instead
	KeyZoneAbbreviation calc.Key = "timetable.zone.abbreviation" // EST: several places, or one half of the year; then []string, zones that use it
	KeyZoneOffset       calc.Key = "timetable.zone.offset"       // +02:00 knows no clock changes

	KeyReminder      calc.Key = "timetable.reminder.word"  // then string, a word that is no reminder
	KeyReminderRange calc.Key = "timetable.reminder.range" // then string, the word; string, string, string: "5m", "72h", "8w", the least, the most in hours, the most in days
	KeyReminders     calc.Key = "timetable.reminder.many"  // then int, the reminders allowed

	KeyQuiet     calc.Key = "timetable.quiet.form" // not "22:00-07:00"
	KeyQuietLong calc.Key = "timetable.quiet.long" // then int, the hours of a day that must be left

	KeySchedule      calc.Key = "timetable.schedule.form"  // neither five cron fields nor a phrase
	KeyScheduleField calc.Key = "timetable.schedule.field" // then calc.Key, the field's name (KeyCronMinute …); string, the field
	KeyScheduleOften calc.Key = "timetable.schedule.often" // then int, the least minutes from one post to the next
	KeyScheduleNever calc.Key = "timetable.schedule.never" // 30 feb

	// Words, without Args.
	KeyCronMinute  calc.Key = "timetable.cron.minute"
	KeyCronHour    calc.Key = "timetable.cron.hour"
	KeyCronDay     calc.Key = "timetable.cron.day"
	KeyCronMonth   calc.Key = "timetable.cron.month"
	KeyCronWeekday calc.Key = "timetable.cron.weekday"
)

var weekdayKeys = [7]calc.Key{
	"weekday.sun", "weekday.mon", "weekday.tue", "weekday.wed",
	"weekday.thu", "weekday.fri", "weekday.sat",
}

var monthKeys = [12]calc.Key{
	"month.jan", "month.feb", "month.mar", "month.apr", "month.may", "month.jun",
	"month.jul", "month.aug", "month.sep", "month.oct", "month.nov", "month.dec",
}

// WeekdayKey names a weekday: "weekday.mon".
func WeekdayKey(d time.Weekday) calc.Key { return weekdayKeys[d] }

// MonthKey names a month: "month.jan".
func MonthKey(m time.Month) calc.Key { return monthKeys[m-1] }

// Keys lists every key that this package can return, the names of weekdays and
// months among them.
var Keys = append([]calc.Key{
	KeyEmpty, KeyTooLong, KeyText,
	KeyWord, KeyWordNear, KeyOrder, KeyNext, KeyNumeric, KeyNoDate, KeyNoTime,
	KeyMonth, KeyMonthNumber, KeyDay, KeyNoSuchDay, KeyYear, KeyWeekday,
	KeyPast, KeyFar, KeySaidZone,
	KeyClock, KeyHourAlone, KeyRange, KeyTwelve, KeyMidnight,
	KeySeries, KeySeriesRange,
	KeyZone, KeyZoneNear, KeyZoneAmbiguous, KeyZoneAbbreviation, KeyZoneOffset,
	KeyReminder, KeyReminderRange, KeyReminders,
	KeyQuiet, KeyQuietLong,
	KeySchedule, KeyScheduleField, KeyScheduleOften, KeyScheduleNever,
	KeyCronMinute, KeyCronHour, KeyCronDay, KeyCronMonth, KeyCronWeekday,
}, append(weekdayKeys[:], monthKeys[:]...)...)
