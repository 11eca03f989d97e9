package timetable

import (
	"fmt"
	"strconv"

	"weftroom/calc"
)

// Clock is a time of day in minutes after midnight, 0 to 1439.
type Clock int

const minutesOfDay = 24 * 60

// String is the 24-hour form: "07:05".
func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", int(c)/60, int(c)%60) }

const clockExample = "19:00"

// ParseClock reads a time of day: "19:00", "7:30" (in the morning: without am
// or pm the clock has 24 hours), "7pm", "7:30 pm", "noon". 12 am is 0:00 and
// 12 pm is noon, as clocks with twelve hours have it. Refused, with a Fault: an
// hour alone, 24:00, 13 pm, and midnight, which belongs to two days.
func ParseClock(text string) (Clock, error) {
	words, err := split(text, clockExample)
	if err != nil {
		return 0, err
	}
	if len(words) > 1 {
		return 0, fault(calc.BadValue, KeyClock, text, clockExample, text)
	}
	return readClock(words[0], text, clockExample)
}

var (
	clockForm = compiled(`^(\d{1,2})(?::(\d{2}))?(am|pm)?$`)
	clockLike = compiled(`^(\d{1,2}[:.h]\d*.*|\d+(am|pm)|noon|midnight)$`)
)

// readClock reads the one word w of text as a time of day.
func readClock(w, text, example string) (Clock, error) {
	if w == "noon" {
		return 12 * 60, nil
	}
	if w == "midnight" {
		return 0, fault(calc.BadValue, KeyMidnight, text, example)
	}
	parts := clockForm.FindStringSubmatch(w)
	if parts == nil {
		return 0, fault(calc.BadValue, KeyClock, text, example, clip(w))
	}
	hour, _ := strconv.Atoi(parts[1])
	minute, _ := strconv.Atoi(parts[2]) // 0 where there is none
	half := parts[3]
	if half == "" && parts[2] == "" {
		return 0, fault(calc.BadValue, KeyHourAlone, text, example, w)
	}
	if minute > 59 || half == "" && hour > 23 {
		return 0, fault(calc.OutOfRange, KeyRange, text, example, w)
	}
	if half != "" {
		if hour < 1 || hour > 12 {
			return 0, fault(calc.OutOfRange, KeyTwelve, text, example, w)
		}
		hour %= 12
		if half == "pm" {
			hour += 12
		}
	}
	return Clock(hour*60 + minute), nil
}
