package timetable

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/robfig/cron/v3"

	"weftroom/bot"
	"weftroom/calc"
)

// Schedule says when a routine post goes out, in the civil times of a class.
// The zero Schedule never does.
type Schedule struct {
	spec   string
	fields *cron.SpecSchedule
}

// MinSpacing is the least time, in minutes, from one post of a schedule to the
// next.
const MinSpacing = 15

const scheduleExample = "mon 9:00"

// ParseSchedule reads five cron fields (minute, hour, day of month, month, day
// of week; if both days are restricted either is enough), or a phrase:
//
//	mon 9:00        every mon, thu 7pm
//	daily 8:30      every day 8:30
//	weekdays 18:00  every weekday 18:00
//
// Refused are a schedule that never fires and one with two times of day less
// than MinSpacing apart, midnight between them or not. Every error is a
// *calc.Fault.
func ParseSchedule(text string) (Schedule, error) {
	words, err := split(text, scheduleExample)
	if err != nil {
		return Schedule{}, err
	}
	fields := words
	if strings.ContainsAny(words[0][:1], "0123456789*") {
		err = checkFields(words, text)
	} else {
		fields, err = readPhrase(words, text)
	}
	if err != nil {
		return Schedule{}, err
	}
	return newSchedule(fields, text)
}

func newSchedule(fields []string, text string) (Schedule, error) {
	spec := strings.Join(fields, " ")
	parsed, err := cronParser.Parse(spec)
	if err != nil {
		return Schedule{}, fault(calc.BadValue, KeySchedule, text, scheduleExample)
	}
	s := Schedule{spec, parsed.(*cron.SpecSchedule)}
	// Any day does to start from: the library looks five years ahead, and no
	// date but 29 feb is rarer than once a year.
	if s.fields.Next(time.Date(2023, 1, 1, 0, 0, 0, 0, time.UTC)).IsZero() {
		return Schedule{}, fault(calc.OutOfRange, KeyScheduleNever, text, scheduleExample)
	}
	if s.spacing() < MinSpacing {
		return Schedule{}, fault(calc.OutOfRange, KeyScheduleOften, text, scheduleExample, MinSpacing)
	}
	return s, nil
}

var cronParser = cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow)

var (
	cronNames = [5]calc.Key{KeyCronMinute, KeyCronHour, KeyCronDay, KeyCronMonth, KeyCronWeekday}
	cronField = compiled(`^(\*|[0-9a-z]+(-[0-9a-z]+)?)(/[0-9]+)?$`)
)

// checkFields finds the field that is wrong, each beside four that are not. The
// library takes more than cron does (zones, "1,,2", "*-3"); that stops here.
func checkFields(words []string, text string) error {
	if len(words) != len(cronNames) {
		return fault(calc.BadValue, KeySchedule, text, scheduleExample)
	}
	for i, w := range words {
		alone := [5]string{"*", "*", "*", "*", "*"}
		alone[i] = w
		_, err := cronParser.Parse(strings.Join(alone[:], " "))
		for part := range strings.SplitSeq(w, ",") {
			if err != nil || !cronField.MatchString(part) {
				return fault(calc.BadValue, KeyScheduleField, text, scheduleExample, cronNames[i], clip(w))
			}
		}
	}
	return nil
}

// readPhrase turns a phrase into cron fields.
func readPhrase(words []string, text string) ([]string, error) {
	words = strings.FieldsFunc(strings.Join(words, " "), func(r rune) bool { return r == ' ' || r == ',' })
	words = slices.DeleteFunc(words, func(w string) bool { return w == "at" || w == "on" || w == "and" || w == "every" })
	if len(words) == 0 {
		return nil, fault(calc.BadValue, KeySchedule, text, scheduleExample)
	}
	last := len(words) - 1
	days, err := readDays(words[:last], text)
	if err != nil {
		return nil, err
	}
	if w := words[last]; !clockLike.MatchString(w) && !digits(w) {
		if _, err := readDays(words[last:], text); err != nil {
			return nil, err
		}
		return nil, fault(calc.MissingArgument, KeyNoTime, text, scheduleExample)
	}
	if last == 0 {
		return nil, fault(calc.MissingArgument, KeyNoDate, text, "daily 9:00")
	}
	clock, err := readClock(words[last], text, scheduleExample)
	if err != nil {
		return nil, err
	}
	return []string{fmt.Sprint(int(clock) % 60), fmt.Sprint(int(clock) / 60), "*", "*", days}, nil
}

// readDays turns weekdays, or a word for several, into the last field.
func readDays(words []string, text string) (string, error) {
	var days []string
	for _, w := range words {
		d, ok := weekdays[w]
		switch {
		case ok:
			days = append(days, fmt.Sprint(int(d)))
		case len(words) == 1 && (w == "daily" || w == "day"):
			return "*", nil
		case len(words) == 1 && (w == "weekdays" || w == "weekday"):
			return "1-5", nil
		default:
			return "", unknownDay(w, text)
		}
	}
	slices.Sort(days)
	return strings.Join(slices.Compact(days), ","), nil
}

var dayWords = sync.OnceValue(func() []string {
	return append([]string{"daily", "every", "weekdays"}, vocabularyOf(weekdays)...)
})

func unknownDay(w, text string) error {
	if near := bot.Nearest(w, dayWords(), 1); len(near) > 0 && near[0] != w {
		return fault(calc.BadValue, KeyWordNear, text, scheduleExample, clip(w), near[0])
	}
	return fault(calc.BadValue, KeySchedule, text, scheduleExample)
}

// spacing is the least number of minutes from one time of day to the next, the
// first of the next day among them.
func (s Schedule) spacing() int {
	least := minutesOfDay
	first, last := -1, -1
	for c := range minutesOfDay {
		if s.fields.Hour&(1<<(c/60)) == 0 || s.fields.Minute&(1<<(c%60)) == 0 {
			continue
		}
		if last >= 0 {
			least = min(least, c-last)
		} else {
			first = c
		}
		last = c
	}
	return min(least, first+minutesOfDay-last)
}

// String is the schedule as five cron fields, which ParseSchedule reads; "" for
// the zero Schedule.
func (s Schedule) String() string { return s.spec }

// Next is the first instant, in UTC, strictly after the given one at which the
// schedule fires in loc; false if there is none within five years.
//
// The policy at clock changes: a wall time that is skipped fires once, at the
// instant that RFC 5545 §3.3.5 gives it (2:30 becomes 3:30), and one that is
// repeated fires once, the first time. Two wall times that a change brings to
// the same instant are one firing. An hourly schedule thus pauses during the
// repeated hour.
//
// The library's own Next, in a zone, leaves a skipped wall time out for that
// day and fires a repeated one twice. It is therefore only asked to count wall
// times, in UTC where nothing is skipped, and each is resolved here.
func (s Schedule) Next(after time.Time, loc *time.Location) (next time.Time, found bool) {
	if s.fields == nil {
		return time.Time{}, false
	}
	// Of the wall times before that of after, only skipped ones can be still to
	// come, and no gap is longer than a day.
	wall := WallOf(after, loc).utc().Add(-25 * time.Hour)
	var enough time.Time // wall times from here on come after next
	for {
		wall = s.fields.Next(wall)
		if wall.IsZero() || found && !wall.Before(enough) {
			return next, found
		}
		t, _ := Resolve(WallOf(wall, time.UTC), loc)
		if t.After(after) && (!found || t.Before(next)) {
			next, found = t, true
			enough = WallOf(t, loc).utc()
		}
	}
}
