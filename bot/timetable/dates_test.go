package timetable

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"weftroom/calc"
)

// now is Wednesday, 2026-11-25, 16:00 in Berlin.
var now = time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)

func TestParseWhen(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"the stored form", "2026-12-01 19:00", "2026-12-01 19:00"},
		{"as machines write it", "2026-12-01T19:00", "2026-12-01 19:00"},
		{"day and month", "1 dec 7pm", "2026-12-01 19:00"},
		{"day, month and year", "1 Dec 2026 7:30 pm", "2026-12-01 19:30"},
		{"month and day", "dec 1 19:00", "2026-12-01 19:00"},
		{"month, day and year", "December 1st, 2026, 7 p.m.", "2026-12-01 19:00"},
		{"a dot after the day", "1. dec. 19:00", "2026-12-01 19:00"},
		{"a day that is past this year is next year's", "24 nov 19:00", "2027-11-24 19:00"},
		{"an hour that is past today is next year's", "25 nov 15:00", "2027-11-25 15:00"},
		{"an hour still to come is today's", "25 nov 17:00", "2026-11-25 17:00"},
		{"numbers that are a date in one order, day first", "31.12.2026 19:00", "2026-12-31 19:00"},
		{"numbers that are a date in one order, month first", "12/31/2026 19:00", "2026-12-31 19:00"},
		{"numbers that are the same date in both orders", "5/5/2027 19:00", "2027-05-05 19:00"},
		{"a weekday and numbers", "thu 31-12-2026 19:00", "2026-12-31 19:00"},
		{"a leap day with its year", "29 feb 2028 19:00", "2028-02-29 19:00"},
		{"a weekday", "tue 19:00", "2026-12-01 19:00"},
		{"a weekday written otherwise", "on Thurs at 9:05", "2026-11-26 09:05"},
		{"today's weekday, still to come", "wed 16:01", "2026-11-25 16:01"},
		{"today's weekday at this very minute is a week on", "wed 16:00", "2026-12-02 16:00"},
		{"today's weekday, past", "wed 9am", "2026-12-02 09:00"},
		{"a weekday that fits the date", "tue 1 dec 19:00", "2026-12-01 19:00"},
		{"a weekday that fits the date in full", "Tuesday, 2026-12-01 19:00", "2026-12-01 19:00"},
		{"tomorrow", "tomorrow 18:30", "2026-11-26 18:30"},
		{"today", "today 7pm", "2026-11-25 19:00"},
		{"noon", "tomorrow noon", "2026-11-26 12:00"},
		{"12 pm is noon", "tomorrow 12pm", "2026-11-26 12:00"},
		{"12 am begins the day", "tomorrow 12 am", "2026-11-26 00:00"},
		{"no-break spaces", "tue\u00a07\u202fpm", "2026-12-01 19:00"},
		{"three years ahead to the day", "25 nov 2029 19:00", "2029-11-25 19:00"},
	}
	berlin := must(t, "Berlin")
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseWhen(tt.text, now, berlin)
			if err != nil {
				t.Fatal(err)
			}
			at, how := Resolve(got.Wall, berlin)
			if got.Wall.String() != tt.want || !got.Time.Equal(at) || got.How != how {
				t.Errorf("%q is %v", tt.text, got)
			}
		})
	}
}

func TestParseWhenSaysClockChanges(t *testing.T) {
	tests := []struct {
		name, zone, text, want string
		how                    Resolution
	}{
		{"skipped", "Europe/Berlin", "28 mar 2027 2:30", "2027-03-28T01:30:00Z", Skipped},
		{"twice", "Europe/Berlin", "31 oct 2027 2:30", "2027-10-31T00:30:00Z", Twice},
		{"on another day", "Europe/Berlin", "1 nov 2027 2:30", "2027-11-01T01:30:00Z", Exactly},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseWhen(tt.text, now, must(t, tt.zone))
			if err != nil || !got.Time.Equal(utc(t, tt.want)) || got.How != tt.how {
				t.Errorf("%v, %v", got, err)
			}
		})
	}
}

// TestWeekdayIsOfTheClass: at one instant it is Wednesday in one class and
// Thursday in another.
func TestWeekdayIsOfTheClass(t *testing.T) {
	for zone, want := range map[string]string{"Europe/Berlin": "2026-11-26 03:00", "Pacific/Auckland": "2026-12-03 03:00"} {
		got, err := ParseWhen("thu 3:00", now, must(t, zone))
		if err != nil || got.Wall.String() != want {
			t.Errorf("%s: %v, %v", zone, got, err)
		}
	}
}

// refusal is what a text is answered with: the key, and what follows the text
// itself in Args.
type refusal struct {
	name, text string
	key        calc.Key
	args       []any
	example    string
}

func (r refusal) check(t *testing.T, err error) {
	t.Helper()
	var f *calc.Fault
	if !errors.As(err, &f) {
		t.Fatalf("%q: %v, want %s", r.text, err, r.key)
	}
	if f.Key != r.key || !slices.Equal(f.Args[1:], r.args) {
		t.Errorf("%q: %v, want %s %v", r.text, f, r.key, r.args)
	}
	if r.example != "" && f.Example != r.example {
		t.Errorf("%q: the example is %q, want %q", r.text, f.Example, r.example)
	}
}

func wall(text string) Wall {
	w, err := ParseWall(text)
	if err != nil {
		panic(err)
	}
	return w
}

func TestParseWhenRefuses(t *testing.T) {
	today := wall("2026-11-25 16:00")
	tests := []refusal{
		{"nothing", "", KeyEmpty, nil, "tue 19:00"},
		{"only small words", "at", KeyEmpty, nil, ""},
		{"too much", strings.Repeat("tue ", 40), KeyTooLong, []any{120}, ""},
		{"a mark that turns the text", "tue \u202e19:00", KeyText, nil, ""},
		{"broken bytes", "tue\xff 19:00", KeyText, nil, ""},

		{"a time alone", "19:00", KeyNoDate, nil, "tomorrow 19:00"},
		{"noon alone", "noon", KeyNoDate, nil, "tomorrow 12:00"},
		{"a month without a day", "dec 19:00", KeyNoDate, nil, "tomorrow 19:00"},
		{"a month alone", "dec", KeyNoDate, nil, ""},
		{"a date alone", "1 dec", KeyNoTime, nil, "1 dec 19:00"},
		{"a weekday alone", "tue", KeyNoTime, nil, "tue 19:00"},
		{"a past date alone", "1 dec 2025", KeyNoTime, nil, "tue 19:00"},
		{"a year where the time should be", "1 dec 2026", KeyNoTime, nil, "1 dec 2026 19:00"},
		{"a number alone", "19", KeyHourAlone, []any{"19"}, ""},
		{"a weekday and a number", "tue 7", KeyHourAlone, []any{"7"}, ""},
		{"a date and a number", "1 dec 7", KeyHourAlone, []any{"7"}, ""},
		{"a day without a month", "1 19:00", KeyMonth, []any{"19:00"}, ""},
		{"an ordinal alone", "1st", KeyMonth, []any{""}, ""},
		{"a word for a month", "1 blah 19:00", KeyWord, []any{"blah"}, ""},

		{"next tuesday", "next tuesday 7pm", KeyNext, []any{"next"}, "tue 19:00"},
		{"this friday", "this friday 7pm", KeyNext, []any{"this"}, ""},
		{"a date in numbers", "01/02/2026 19:00", KeyNumeric, []any{"01/02/2026"}, ""},
		{"numbers of no month", "13.13.2026 19:00", KeyMonthNumber, []any{"13"}, ""},
		{"numbers of no day", "31.4.2027 19:00", KeyNoSuchDay, []any{31, MonthKey(time.April), 2027, 30}, ""},
		{"a date in numbers with dots", "1.12.2026 19:00", KeyNumeric, []any{"1.12.2026"}, ""},
		{"a date in numbers after a weekday", "tue 1.12 19:00", KeyNumeric, []any{"1.12"}, ""},
		{"a date in numbers, the year first", "2026/12/01 19:00", KeyNumeric, []any{"2026/12/01"}, ""},
		{"a date in numbers without noughts", "2026-12-1 19:00", KeyNumeric, []any{"2026-12-1"}, ""},
		{"a year of two digits", "1 dec 26 19:00", KeyYear, []any{"26"}, ""},
		{"a zone by city", "1 dec 19:00 berlin", KeySaidZone, []any{"berlin", "Europe/Berlin"}, ""},
		{"a zone of two words", "1 dec 19:00 New York", KeySaidZone, []any{"new york", "Europe/Berlin"}, ""},
		{"a zone by its letters", "1 dec 7pm EST", KeySaidZone, []any{"est", "Europe/Berlin"}, ""},
		{"an offset", "1 dec 19:00 +02:00", KeySaidZone, []any{"+02:00", "Europe/Berlin"}, ""},

		{"the time first", "19:00 1 dec", KeyOrder, []any{"19:00"}, ""},
		{"two times", "1 dec 19:00 20:00", KeyOrder, []any{"20:00"}, ""},
		{"two weekdays", "tue wed 19:00", KeyOrder, []any{"wed"}, ""},
		{"two days", "tomorrow tue 19:00", KeyOrder, []any{"tue"}, ""},
		{"a slip of the pen", "wensday 19:00", KeyWordNear, []any{"wensday", "wednesday"}, ""},
		{"a slip in the month", "1 decembre 19:00", KeyWordNear, []any{"decembre", "december"}, ""},
		{"another word", "in 3 days", KeyWord, []any{"in"}, ""},
		{"a word that is stuck", "1dec 19:00", KeyWord, []any{"1dec"}, ""},
		{"a word after all", "tue 19:00 please", KeyWord, []any{"please"}, ""},
		{"a sign after all", "tue 19:00 !!", KeyWord, []any{"!!"}, ""},
		{"a sign for a month", "1 !! 19:00", KeyMonth, []any{"!!"}, ""},
		{"a sign for a day", "dec !! 19:00", KeyDay, []any{"!!"}, ""},
		{"a wrong ending", "3st dec 19:00", KeyDay, []any{"3st"}, ""},
		{"digits of another script", "１ dec 19:00", KeyWord, []any{"１"}, ""},

		{"the 13th month", "2026-13-01 19:00", KeyMonthNumber, []any{"13"}, ""},
		{"31 November", "31 nov 19:00", KeyNoSuchDay, []any{31, calc.Key("month.nov"), 2026, 30}, ""},
		{"30 February", "2027-02-30 19:00", KeyNoSuchDay, []any{30, calc.Key("month.feb"), 2027, 28}, ""},
		{"29 February of no leap year", "29 feb 2027 19:00", KeyNoSuchDay, []any{29, calc.Key("month.feb"), 2027, 28}, ""},
		{"29 February, the next not being one", "29 feb 19:00", KeyNoSuchDay, []any{29, calc.Key("month.feb"), 2027, 28}, ""},
		{"day nought", "0 dec 19:00", KeyNoSuchDay, []any{0, calc.Key("month.dec"), 2026, 31}, ""},
		{"the wrong weekday", "fri 1 dec 19:00", KeyWeekday, []any{calc.Key("weekday.fri"), wall("2026-12-01 19:00"), calc.Key("weekday.tue")}, "2026-12-01 19:00"},
		{"last year", "1 dec 2025 19:00", KeyPast, []any{wall("2025-12-01 19:00"), today}, "tomorrow 19:00"},
		{"earlier today", "today 3pm", KeyPast, []any{wall("2026-11-25 15:00"), today}, "tomorrow 15:00"},
		{"this very minute", "today 16:00", KeyPast, []any{today, today}, ""},
		{"too far", "26 nov 2029 19:00", KeyFar, []any{wall("2029-11-26 19:00"), 3}, ""},
		{"two digits changed places", "2062-12-01 19:00", KeyFar, []any{wall("2062-12-01 19:00"), 3}, ""},

		{"24:00", "1 dec 24:00", KeyRange, []any{"24:00"}, ""},
		{"7:65", "1 dec 7:65", KeyRange, []any{"7:65"}, ""},
		{"13 pm", "1 dec 13pm", KeyTwelve, []any{"13pm"}, ""},
		{"0 am", "1 dec 0 am", KeyTwelve, []any{"0am"}, ""},
		{"midnight", "tomorrow midnight", KeyMidnight, nil, ""},
		{"a dot in the time", "1 dec 19.00", KeyClock, []any{"19.00"}, ""},
		{"seconds", "1 dec 19:00:00", KeyClock, []any{"19:00:00"}, ""},
		{"hours with an h", "1 dec 19h30", KeyClock, []any{"19h30"}, ""},
		{"a year twice", "1 dec 2026 2027 19:00", KeyClock, []any{"2027"}, ""},
	}
	berlin := must(t, "Berlin")
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseWhen(tt.text, now, berlin)
			if err == nil {
				t.Fatalf("%q is read as %v", tt.text, got)
			}
			tt.check(t, err)
		})
	}
}

func TestLeapDayComesWhenItIsNext(t *testing.T) {
	got, err := ParseWhen("29 feb 19:00", time.Date(2028, 1, 5, 0, 0, 0, 0, time.UTC), time.UTC)
	if err != nil || got.Wall.String() != "2028-02-29 19:00" {
		t.Errorf("%v, %v", got, err)
	}
}

func TestParseClock(t *testing.T) {
	for text, want := range map[string]string{
		"19:00": "19:00", "7:30": "07:30", "0:00": "00:00", "7pm": "19:00", "7:30 P.M.": "19:30", "noon": "12:00", "12am": "00:00", "23:59": "23:59",
	} {
		if got, err := ParseClock(text); err != nil || got.String() != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, tt := range []refusal{
		{"nothing", " ", KeyEmpty, nil, "19:00"},
		{"a date", "1 dec 19:00", KeyClock, []any{"1 dec 19:00"}, ""},
		{"an hour alone", "7", KeyHourAlone, []any{"7"}, ""},
	} {
		_, err := ParseClock(tt.text)
		tt.check(t, err)
	}
}

func TestParseSeries(t *testing.T) {
	for text, want := range map[string]int{
		"weekly x6": 6, "weekly x 6": 6, "Weekly ×6": 6, "weekly 6x": 6, "weekly 6": 6, "weekly 6 times": 6, "weekly for 6 times": 6,
		"every week x6": 6, "each week, 12 times": 12, "weekly x2": 2, "weekly x52": 52,
	} {
		if got, err := ParseSeries(text); err != nil || got != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, tt := range []refusal{
		{"nothing", "", KeyEmpty, nil, "weekly x6"},
		{"no number", "weekly", KeySeries, nil, "weekly x6"},
		{"daily", "daily x6", KeySeries, nil, ""},
		{"a negative number", "weekly x-6", KeySeries, nil, ""},
		{"once", "weekly x1", KeySeriesRange, []any{"1", 2, 52}, ""},
		{"too often", "weekly x53", KeySeriesRange, []any{"53", 2, 52}, ""},
		{"beyond numbers", "weekly x99999999999999999999", KeySeriesRange, []any{"99999999999999999999", 2, 52}, ""},
	} {
		_, err := ParseSeries(tt.text)
		tt.check(t, err)
	}
}

// sound holds whatever a reader says of a text: what is read is right, and a
// refusal has a known key and an example that is read.
func sound(t *testing.T, text string, err error, again func(example string) error) {
	t.Helper()
	if err == nil {
		return
	}
	var f *calc.Fault
	if !errors.As(err, &f) {
		t.Fatalf("%q: not a Fault: %v", text, err)
	}
	if !slices.Contains(Keys, f.Key) {
		t.Errorf("%q: %s is not among Keys", text, f.Key)
	}
	if again(f.Example) != nil {
		t.Errorf("%q: the example %q of %s is refused: %v", text, f.Example, f.Key, again(f.Example))
	}
	for _, a := range f.Args {
		if s, ok := a.(string); ok && (!utf8.ValidString(s) || utf8.RuneCountInString(s) > 41) {
			t.Errorf("%q: %q is not fit to be shown", text, s)
		}
	}
}

func FuzzParseWhen(f *testing.F) {
	for _, text := range []string{
		"2026-12-01 19:00", "1 dec 7pm", "Tuesday, December 1st 2026 at 7:30 p.m.", "tomorrow noon", "next tuesday", "01/02/2026",
		"29 feb 19:00", "31 nov 24:00", "tue 2:30 EST", "28 mar 2027 2:30", "9999-12-31 23:59", "0000-00-00 00:00", "wed 16", "\u00a0,at",
	} {
		f.Add(text, now.Unix(), uint8(1))
		f.Add(text, int64(4102444800), uint8(22))
	}
	f.Fuzz(func(t *testing.T, text string, seconds int64, zone uint8) {
		loc := must(t, someZones[int(zone)%len(someZones)])
		at := time.Unix(max(0, min(seconds, 8e9)), 0)
		got, err := ParseWhen(text, at, loc)
		sound(t, text, err, func(example string) error { _, err := ParseWhen(example, at, loc); return err })
		if err != nil {
			return
		}
		if again, how := Resolve(got.Wall, loc); !got.Time.Equal(again) || got.How != how || !got.Wall.Valid() {
			t.Errorf("%q is %v, resolved %v %v", text, got, again, how)
		}
		if !got.Time.After(at) || got.Time.After(at.AddDate(MaxYears, 0, 3)) {
			t.Errorf("%q at %v is %v", text, at, got)
		}
		same, err := ParseWhen(got.Wall.String(), at, loc)
		if err != nil || same != got {
			t.Errorf("%q is %v, and its own form %v, %v", text, got, same, err)
		}
	})
}

func FuzzParseSeries(f *testing.F) {
	f.Add("weekly x6")
	f.Add("every week 12 times")
	f.Fuzz(func(t *testing.T, text string) {
		n, err := ParseSeries(text)
		sound(t, text, err, func(example string) error { _, err := ParseSeries(example); return err })
		if err == nil && (n < MinSeries || n > MaxSeries) {
			t.Errorf("%q is %d", text, n)
		}
	})
}
