package timetable

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestParseReminders(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"the default, written out", "1w 1d 1h start after", "1w 1d 1h start after"},
		{"the default by its name", "default", "1w 1d 1h start after"},
		{"none", "None", "none"},
		{"off", "off", "none"},
		{"words in full", "2 weeks, 1 day before, 90 minutes before, start", "2w 1d 90m start"},
		{"in any order", "after 1h start 1d", "1d 1h start after"},
		{"each once", "7d 1w 60m 1h", "1w 1h"},
		{"a day is not 24 hours", "1d 24h", "1d 24h"},
		{"days that are no weeks", "10 days", "10d"},
		{"the bounds", "8w 72h 5m", "8w 72h 5m"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseReminders(tt.text)
			if err != nil || FormatReminders(got) != tt.want {
				t.Fatalf("%q is %q, %v", tt.text, FormatReminders(got), err)
			}
			again, err := ParseReminders(FormatReminders(got))
			if err != nil || !slices.Equal(got, again) {
				t.Errorf("its own form is %v, %v", again, err)
			}
		})
	}
	if got, _ := ParseReminders("1w 1d 1h start after"); !slices.Equal(got, DefaultReminders()) {
		t.Errorf("the default is %v", DefaultReminders())
	}
}

func TestParseRemindersRefuses(t *testing.T) {
	const least, mostHours, mostDays = "5m", "72h", "8w"
	for _, tt := range []refusal{
		{"nothing", "", KeyEmpty, nil, "1w 1d 1h start after"},
		{"an unknown word", "1w sometimes", KeyReminder, []any{"sometimes"}, ""},
		{"an unknown unit", "3 fortnights", KeyReminder, []any{"3fortnights"}, ""},
		{"a number alone", "1w 3", KeyReminder, []any{"3"}, ""},
		{"none of it among others", "1w none", KeyReminder, []any{"none"}, ""},
		{"no time at all", "0h", KeyReminderRange, []any{"0h", least, mostHours, mostDays}, ""},
		{"too near", "4m", KeyReminderRange, []any{"4m", least, mostHours, mostDays}, ""},
		{"too many hours", "73h", KeyReminderRange, []any{"73h", least, mostHours, mostDays}, ""},
		{"too many weeks", "9w", KeyReminderRange, []any{"9w", least, mostHours, mostDays}, ""},
		{"beyond numbers", "99999999999999999999d", KeyReminderRange, []any{"99999999999999999999d", least, mostHours, mostDays}, ""},
		{"too many weeks for a number of days", "2635249153387078803w", KeyReminderRange, []any{"2635249153387078803w", least, mostHours, mostDays}, ""},
		{"too many", "1d 2d 3d 4d 5d 6d 8d 9d 10d", KeyReminders, []any{8}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseReminders(tt.text)
			tt.check(t, err)
		})
	}
}

func TestParseQuiet(t *testing.T) {
	for text, want := range map[string]string{
		"22:00-07:00": "22:00-07:00", "10pm to 7am": "22:00-07:00", "from 10 pm until 7:30 a.m.": "22:00-07:30", "22:00 – 7:00": "22:00-07:00",
		"noon-13:00": "12:00-13:00", "none": "none", "OFF": "none", "0:00-20:00": "00:00-20:00",
	} {
		got, err := ParseQuiet(text)
		if err != nil || got.String() != want {
			t.Errorf("%q is %v, %v", text, got, err)
		}
		if again, err := ParseQuiet(got.String()); err != nil || again != got {
			t.Errorf("%q: its own form is %v, %v", text, again, err)
		}
	}
	for _, tt := range []refusal{
		{"nothing", "", KeyEmpty, nil, "22:00-07:00"},
		{"one time", "22:00", KeyQuiet, nil, "22:00-07:00"},
		{"a bare hour", "22-7", KeyHourAlone, []any{"22"}, "22:00-07:00"},
		{"a second one that is none", "22:00-25:00", KeyRange, []any{"25:00"}, "22:00-07:00"},
		{"three times", "22:00-23:00-24:00", KeyClock, []any{"23:00-24:00"}, ""},
		{"the whole day", "8:00-8:00", KeyQuietLong, []any{4}, ""},
		{"nearly the whole day", "8:00-4:01", KeyQuietLong, []any{4}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseQuiet(tt.text)
			tt.check(t, err)
		})
	}
}

func TestQuietCovers(t *testing.T) {
	night, day := Quiet{22 * 60, 7 * 60}, Quiet{9 * 60, 17 * 60}
	for _, c := range []struct {
		q    Quiet
		at   Clock
		want bool
	}{
		{night, 22*60 - 1, false}, {night, 22 * 60, true}, {night, 0, true}, {night, 7*60 - 1, true}, {night, 7 * 60, false},
		{day, 9*60 - 1, false}, {day, 9 * 60, true}, {day, 17*60 - 1, true}, {day, 17 * 60, false}, {day, 0, false},
		{Quiet{}, 0, false}, {Quiet{60, 60}, 60, false},
	} {
		if c.q.Covers(c.at) != c.want {
			t.Errorf("%s covers %s: %v", c.q, c.at, !c.want)
		}
	}
}

func TestDue(t *testing.T) {
	night := Quiet{22 * 60, 7 * 60}
	tests := []struct {
		name, zone, start string
		reminder          Reminder
		quiet             Quiet
		want              string
		moved             bool
	}{
		{"an hour before", "Europe/Berlin", "2026-12-01T18:00:00Z", Reminder{Before: time.Hour}, night, "2026-12-01T17:00:00Z", false},
		{"at the start", "Europe/Berlin", "2026-12-01T18:00:00Z", Reminder{}, night, "2026-12-01T18:00:00Z", false},
		{"after", "Europe/Berlin", "2026-12-01T18:00:00Z", Reminder{After: true}, night, "2026-12-01T19:30:00Z", false},
		{"a day before is the same wall time", "Europe/Berlin", "2026-10-25T18:00:00Z", Reminder{Days: 1}, night, "2026-10-24T17:00:00Z", false},
		{"24 hours before are not", "Europe/Berlin", "2026-10-25T18:00:00Z", Reminder{Before: 24 * time.Hour}, night, "2026-10-24T18:00:00Z", false},
		{"a week before, in a zone that has not changed yet", "America/New_York", "2026-11-01T18:00:00Z", Reminder{Days: 7}, night, "2026-10-25T17:00:00Z", false},
		{"a day before, at a skipped time", "Europe/Berlin", "2026-03-30T00:30:00Z", Reminder{Days: 1}, Quiet{}, "2026-03-29T01:30:00Z", false},
		{"a day before, at a repeated time", "Europe/Berlin", "2026-10-26T01:30:00Z", Reminder{Days: 1}, Quiet{}, "2026-10-25T00:30:00Z", false},

		// Start is 3:00 in New York.
		{"at the start, in the night", "America/New_York", "2026-12-02T08:00:00Z", Reminder{}, night, "2026-12-02T02:59:00Z", true},
		{"an hour before, in the night", "America/New_York", "2026-12-02T08:00:00Z", Reminder{Before: time.Hour}, night, "2026-12-02T02:59:00Z", true},
		{"a day before, in the night", "America/New_York", "2026-12-02T08:00:00Z", Reminder{Days: 1}, night, "2026-12-01T02:59:00Z", true},
		{"six hours before, just not in the night", "America/New_York", "2026-12-02T08:59:00Z", Reminder{Before: 6 * time.Hour}, night, "2026-12-02T02:59:00Z", false},
		{"six hours before, the first quiet minute", "America/New_York", "2026-12-02T09:00:00Z", Reminder{Before: 6 * time.Hour}, night, "2026-12-02T02:59:00Z", true},
		{"the minute when the night is over", "America/New_York", "2026-12-02T12:00:00Z", Reminder{}, night, "2026-12-02T12:00:00Z", false},
		{"after, in the night, waits for the morning", "America/New_York", "2026-12-02T08:00:00Z", Reminder{After: true}, night, "2026-12-02T12:00:00Z", true},
		{"quiet at noon", "America/New_York", "2026-12-02T17:30:00Z", Reminder{}, Quiet{12 * 60, 13 * 60}, "2026-12-02T16:59:00Z", true},

		// Quiet hours that begin or end in a clock change.
		{"quiet hours that begin in a gap", "Europe/Berlin", "2026-03-29T01:10:00Z", Reminder{}, Quiet{2*60 + 30, 7 * 60}, "2026-03-29T00:59:00Z", true},
		{"quiet hours that the clocks leave and enter again", "Europe/Berlin", "2026-10-25T01:45:00Z", Reminder{}, Quiet{2*60 + 30, 7 * 60}, "2026-10-25T01:29:00Z", true},
		{"the night of the gap", "Europe/Berlin", "2026-03-29T02:00:00Z", Reminder{}, night, "2026-03-28T20:59:00Z", true},
		{"the night of 25 hours", "Europe/Berlin", "2026-10-25T03:00:00Z", Reminder{}, night, "2026-10-24T19:59:00Z", true},
		{"after, when the end of the quiet hours is in a gap", "Europe/Berlin", "2026-03-28T23:00:00Z", Reminder{After: true}, Quiet{22 * 60, 2*60 + 30}, "2026-03-29T01:00:00Z", true},
		{"after, when the clocks go back into the quiet hours", "Europe/Berlin", "2026-10-24T22:45:00Z", Reminder{After: true}, Quiet{22 * 60, 2*60 + 30}, "2026-10-25T00:30:00Z", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, moved := Due(utc(t, tt.start).In(must(t, "Asia/Tokyo")), 90*time.Minute, tt.reminder, must(t, tt.zone), tt.quiet)
			if !got.Equal(utc(t, tt.want)) || moved != tt.moved || got.Location() != time.UTC {
				t.Errorf("%s, %v; want %s, %v", got, moved, tt.want, tt.moved)
			}
		})
	}
}

func drawReminder(t *rapid.T) Reminder {
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		return Reminder{Days: rapid.IntRange(1, MaxDays).Draw(t, "days")}
	case 1:
		return Reminder{Before: time.Duration(rapid.IntRange(5, 72*60).Draw(t, "minutes")) * time.Minute}
	case 2:
		return Reminder{}
	}
	return Reminder{After: true}
}

// drawQuiet is any quiet hours that a person can set.
func drawQuiet(t *rapid.T) Quiet {
	from := Clock(rapid.IntRange(0, minutesOfDay-1).Draw(t, "from"))
	length := Clock(rapid.IntRange(0, minutesOfDay-MinAwake*60).Draw(t, "quiet minutes"))
	return Quiet{from, (from + length) % minutesOfDay}
}

// asked is when a reminder would come if nobody had quiet hours.
func asked(start time.Time, length time.Duration, r Reminder, loc *time.Location) time.Time {
	t, _ := Due(start, length, r, loc, Quiet{})
	return t
}

// TestDueHolds: never in quiet hours; a reminder never later than asked, never
// after the start and not more than a day early; a follow-up never before the
// end and not more than a day late; and moved tells the truth.
func TestDueHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := drawZone(t)
		start, length := drawNearChange(t, loc), time.Duration(rapid.IntRange(1, 600).Draw(t, "length"))*time.Minute
		r, q := drawReminder(t), drawQuiet(t)
		at := asked(start, length, r, loc)
		got, moved := Due(start, length, r, loc, q)
		if q.covers(got, loc) {
			t.Fatalf("due at %s, within %s", got.In(loc), q)
		}
		if moved != !got.Equal(at) || moved != q.covers(at, loc) {
			t.Fatalf("moved is %v: asked %s, due %s", moved, at, got)
		}
		early := at.Sub(got)
		if r.After {
			early = -early
		}
		if early < 0 || early > 48*time.Hour {
			t.Fatalf("asked %s, due %s", at.In(loc), got.In(loc))
		}
		if !r.After && got.After(start) {
			t.Fatalf("due %s, after the start %s", got, start)
		}
		for m := at; moved && !r.After && m.After(got); m = m.Add(-time.Minute) {
			if !q.covers(m, loc) {
				t.Fatalf("due %s, though %s is later and not quiet", got.In(loc), m.In(loc))
			}
		}
	})
}

// TestDueKeepsTheOrder: of two reminders the one asked for earlier is never due
// later.
func TestDueKeepsTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := drawZone(t)
		start, length := drawNearChange(t, loc), time.Duration(rapid.IntRange(1, 600).Draw(t, "length"))*time.Minute
		a, b, q := drawReminder(t), drawReminder(t), drawQuiet(t)
		if asked(start, length, b, loc).Before(asked(start, length, a, loc)) {
			a, b = b, a
		}
		dueA, _ := Due(start, length, a, loc, q)
		dueB, _ := Due(start, length, b, loc, q)
		if dueB.Before(dueA) {
			t.Fatalf("%s is due %s and %s %s", a, dueA, b, dueB)
		}
	})
}

func TestPlan(t *testing.T) {
	night := Quiet{22 * 60, 7 * 60}
	got := Plan(utc(t, "2026-12-02T08:00:00Z"), time.Hour, DefaultReminders(), must(t, "New York"), night)
	want := []Planned{
		{Reminder{Days: 7}, utc(t, "2026-11-25T02:59:00Z"), true},
		{Reminder{Days: 1}, utc(t, "2026-12-01T02:59:00Z"), true},
		{Reminder{}, utc(t, "2026-12-02T02:59:00Z"), true}, // and not the hour before as well
		{Reminder{After: true}, utc(t, "2026-12-02T12:00:00Z"), true},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if got := Plan(utc(t, "2026-12-02T08:00:00Z"), time.Hour, nil, time.UTC, night); len(got) != 0 {
		t.Errorf("no reminders: %v", got)
	}
}

func FuzzParseReminders(f *testing.F) {
	for _, text := range []string{"1w 1d 1h start after", "2 weeks, 90 min", "none", "0h", "default"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := ParseReminders(text)
		sound(t, text, err, func(example string) error { _, err := ParseReminders(example); return err })
		if err != nil {
			return
		}
		again, err := ParseReminders(FormatReminders(got))
		if err != nil || !slices.Equal(got, again) {
			t.Errorf("%q is %v, written %q, read %v, %v", text, got, FormatReminders(got), again, err)
		}
	})
}

func FuzzParseQuiet(f *testing.F) {
	for _, text := range []string{"22:00-07:00", "10pm to 7am", "none", "1-2-3", "from noon until midnight"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := ParseQuiet(text)
		sound(t, text, err, func(example string) error { _, err := ParseQuiet(example); return err })
		if again, errAgain := ParseQuiet(got.String()); err == nil && (errAgain != nil || again != got) {
			t.Errorf("%q is %v, read again %v, %v", text, got, again, errAgain)
		}
	})
}
