package timetable

import (
	"strconv"
	"strings"
	"time"

	"weftroom/calc"
)

// The bounds of a weekly series: one meeting is no series, and a year is
// enough to plan.
const (
	MinSeries = 2
	MaxSeries = 52
)

const seriesExample = "weekly x6"

var seriesForm = compiled(`^(?:weekly|(?:every|each) week) (?:for )?(?:[x×] ?(\d+)|(\d+) ?[x×]|(\d+)(?: times)?)$`)

// ParseSeries reads how many times a weekly session meets, MinSeries to
// MaxSeries: "weekly x6", "every week x6", "weekly 6 times". Every error is a
// *calc.Fault.
func ParseSeries(text string) (int, error) {
	words, err := split(text, seriesExample)
	if err != nil {
		return 0, err
	}
	parts := seriesForm.FindStringSubmatch(strings.Join(words, " "))
	if parts == nil {
		return 0, fault(calc.BadValue, KeySeries, text, seriesExample)
	}
	number := parts[1] + parts[2] + parts[3] // two of them are empty
	n, err := strconv.Atoi(number)
	if err != nil || n < MinSeries || n > MaxSeries {
		return 0, fault(calc.OutOfRange, KeySeriesRange, text, seriesExample, number, MinSeries, MaxSeries)
	}
	return n, nil
}

// Weekly is a series of n meetings, one a week from first on, in the zone of
// the class. The civil time is the same in each, so the hour on the wall stays
// across clock changes, and each is resolved by itself.
func Weekly(first Wall, n int, loc *time.Location) []When {
	out := make([]When, 0, max(n, 0))
	for i := range n {
		w := first.AddDays(7 * i)
		t, how := Resolve(w, loc)
		out = append(out, When{Wall: w, Time: t, How: how})
	}
	return out
}
