package timetable

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/robfig/cron/v3"
	"pgregory.net/rapid"
)

func TestParseSchedule(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"a weekday", "mon 9:00", "0 9 * * 1"},
		{"every weekday of a name", "Every Monday at 9:30", "30 9 * * 1"},
		{"two weekdays", "thu, mon 7pm", "0 19 * * 1,4"},
		{"two weekdays without a space", "mon,thu 7 pm", "0 19 * * 1,4"},
		{"two weekdays with and", "sun and sat and sun 12:15", "15 12 * * 0,6"},
		{"five words that are no cron", "mon tue wed thu 9:00", "0 9 * * 1,2,3,4"},
		{"daily", "daily 8:30", "30 8 * * *"},
		{"every day", "every day noon", "0 12 * * *"},
		{"weekdays", "weekdays 18:00", "0 18 * * 1-5"},
		{"every weekday", "every weekday 18:00", "0 18 * * 1-5"},

		{"cron", "0 9 * * 1", "0 9 * * 1"},
		{"cron with names", "30 2 1 JAN Mon-Fri", "30 2 1 jan mon-fri"},
		{"cron with lists and steps", "*/15 8-20/4 1,15 * *", "*/15 8-20/4 1,15 * *"},
		{"a leap day", "0 9 29 2 *", "0 9 29 2 *"},
		{"the 31st, or any friday", "0 9 31 2 5", "0 9 31 2 5"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseSchedule(tt.text)
			if err != nil || got.String() != tt.want {
				t.Fatalf("%q is %q, %v", tt.text, got, err)
			}
			if again, err := ParseSchedule(got.String()); err != nil || again.String() != tt.want {
				t.Errorf("its own form is %q, %v", again, err)
			}
		})
	}
}

func TestParseScheduleRefuses(t *testing.T) {
	for _, tt := range []refusal{
		{"nothing", "", KeyEmpty, nil, "mon 9:00"},
		{"only small words", "every", KeySchedule, nil, ""},
		{"four fields", "0 9 * *", KeySchedule, nil, ""},
		{"six fields", "0 0 9 * * 1", KeySchedule, nil, ""},
		{"a word of the library", "@daily", KeyWordNear, []any{"@daily", "daily"}, ""},
		{"a zone in it", "TZ=UTC 0 9 * * 1", KeySchedule, nil, ""},
		{"the zone that the library stumbles over", "TZ=0", KeySchedule, nil, ""},
		{"minute 61", "61 9 * * *", KeyScheduleField, []any{KeyCronMinute, "61"}, ""},
		{"hour 24", "0 24 * * *", KeyScheduleField, []any{KeyCronHour, "24"}, ""},
		{"day 32", "0 9 32 * *", KeyScheduleField, []any{KeyCronDay, "32"}, ""},
		{"an unknown month", "0 9 1 juno *", KeyScheduleField, []any{KeyCronMonth, "juno"}, ""},
		{"sunday as 7", "0 9 * * 7", KeyScheduleField, []any{KeyCronWeekday, "7"}, ""},
		{"no step", "*/0 9 * * *", KeyScheduleField, []any{KeyCronMinute, "*/0"}, ""},
		{"a hole in a list", "1,,2 9 * * *", KeyScheduleField, []any{KeyCronMinute, "1,,2"}, ""},
		{"a range from everything", "*-3 9 * * *", KeyScheduleField, []any{KeyCronMinute, "*-3"}, ""},
		{"a question mark", "0 9 ? * *", KeyScheduleField, []any{KeyCronDay, "?"}, ""},

		{"30 february", "0 9 30 2 *", KeyScheduleNever, nil, ""},
		{"31 june", "0 9 31 6 *", KeyScheduleNever, nil, ""},
		{"every minute", "* * * * *", KeyScheduleOften, []any{15}, ""},
		{"every 14 minutes of an hour", "0,14 9 * * *", KeyScheduleOften, []any{15}, ""},
		{"every ten minutes", "*/10 9 * * *", KeyScheduleOften, []any{15}, ""},
		{"over the hour", "0,50 * * * *", KeyScheduleOften, []any{15}, ""},
		{"over midnight", "0,50 0,23 * * *", KeyScheduleOften, []any{15}, ""},

		{"a slip in the weekday", "mondey 9:00", KeyWordNear, []any{"mondey", "monday"}, ""},
		{"a slip in another word", "dayly 9:00", KeyWordNear, []any{"dayly", "daily"}, ""},
		{"an unknown word", "sometimes 9:00", KeySchedule, nil, ""},
		{"daily and a weekday", "daily mon 9:00", KeySchedule, nil, ""},
		{"no time", "mon", KeyNoTime, nil, ""},
		{"no time, two days", "mon thu", KeyNoTime, nil, ""},
		{"no time, a slip", "mon tursday", KeyWordNear, []any{"tursday", "thursday"}, ""},
		{"no day", "noon", KeyNoDate, nil, "daily 9:00"},
		{"an hour alone", "mon 9", KeyHourAlone, []any{"9"}, ""},
		{"24:00", "mon 24:00", KeyRange, []any{"24:00"}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseSchedule(tt.text)
			if err == nil {
				t.Fatalf("%q is %q", tt.text, got)
			}
			tt.check(t, err)
		})
	}
}

// TestScheduleAtClockChanges shows the policy: a skipped wall time fires once,
// an hour later on the clock; a repeated one fires once, the first time. The
// instants follow from RFC 5545 §3.3.5 (seen) and are derived.
func TestScheduleAtClockChanges(t *testing.T) {
	tests := []struct {
		name, zone, spec, from string
		want                   []string // instants, then nothing else until the last
	}{
		{"New York springs forward", "America/New_York", "30 2 * * *", "2026-03-07T12:00:00Z",
			[]string{"2026-03-08T07:30:00Z", "2026-03-09T06:30:00Z", "2026-03-10T06:30:00Z"}},
		{"New York falls back", "America/New_York", "30 1 * * *", "2026-10-31T12:00:00Z",
			[]string{"2026-11-01T05:30:00Z", "2026-11-02T06:30:00Z", "2026-11-03T06:30:00Z"}},
		{"New York, 2:30 is not repeated", "America/New_York", "30 2 * * *", "2026-10-31T12:00:00Z",
			[]string{"2026-11-01T07:30:00Z", "2026-11-02T07:30:00Z"}},
		{"Berlin springs forward", "Europe/Berlin", "30 2 * * *", "2026-03-28T12:00:00Z",
			[]string{"2026-03-29T01:30:00Z", "2026-03-30T00:30:00Z"}},
		{"Berlin falls back", "Europe/Berlin", "30 2 * * *", "2026-10-24T12:00:00Z",
			[]string{"2026-10-25T00:30:00Z", "2026-10-26T01:30:00Z"}},
		{"Sydney springs forward", "Australia/Sydney", "30 2 * * *", "2026-10-03T00:00:00Z",
			[]string{"2026-10-03T16:30:00Z", "2026-10-04T15:30:00Z"}},
		{"Sydney falls back", "Australia/Sydney", "30 2 * * *", "2026-04-04T00:00:00Z",
			[]string{"2026-04-04T15:30:00Z", "2026-04-05T16:30:00Z"}},
		{"Lord Howe springs forward by half an hour", "Australia/Lord_Howe", "15 2 * * *", "2026-10-03T00:00:00Z",
			[]string{"2026-10-03T15:45:00Z", "2026-10-04T15:15:00Z"}},
		{"Samoa leaves out a day", "Pacific/Apia", "0 12 * * *", "2011-12-29T00:00:00Z",
			[]string{"2011-12-29T22:00:00Z", "2011-12-30T22:00:00Z", "2011-12-31T22:00:00Z"}},
		{"hourly, the repeated hour once", "Europe/Berlin", "0 * * * *", "2026-10-24T23:30:00Z",
			[]string{"2026-10-25T00:00:00Z", "2026-10-25T02:00:00Z", "2026-10-25T03:00:00Z"}},
		{"hourly, the skipped hour with the next", "Europe/Berlin", "0 * * * *", "2026-03-28T23:30:00Z",
			[]string{"2026-03-29T00:00:00Z", "2026-03-29T01:00:00Z", "2026-03-29T02:00:00Z"}},
		{"a skipped time after one that is not", "Europe/Berlin", "0,30 2,3 * * *", "2026-03-28T12:00:00Z",
			[]string{"2026-03-29T01:00:00Z", "2026-03-29T01:30:00Z", "2026-03-30T00:00:00Z"}},
		{"a skipped time becomes later than its successor", "Australia/Lord_Howe", "20,35 2 * * *", "2026-10-03T00:00:00Z",
			[]string{"2026-10-03T15:35:00Z", "2026-10-03T15:50:00Z", "2026-10-04T15:20:00Z"}},
		{"asked within the gap's hour", "Europe/Berlin", "30 2 * * *", "2026-03-29T01:10:00Z",
			[]string{"2026-03-29T01:30:00Z", "2026-03-30T00:30:00Z"}},
		{"asked between the two", "Europe/Berlin", "30 2 * * *", "2026-10-25T01:00:00Z",
			[]string{"2026-10-26T01:30:00Z"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := ParseSchedule(tt.spec)
			if err != nil {
				t.Fatal(err)
			}
			at := utc(t, tt.from)
			for _, want := range tt.want {
				next, ok := s.Next(at, must(t, tt.zone))
				if !ok || !next.Equal(utc(t, want)) || next.Location() != time.UTC {
					t.Fatalf("after %s: %s, %v; want %s", at, next, ok, want)
				}
				at = next
			}
		})
	}
}

// TestScheduleOnAFakedClock lets a clock run through both changes of 2026 and
// sends when it is time: 365 times in a year, on 365 days, at 2:30 but once.
func TestScheduleOnAFakedClock(t *testing.T) {
	for zone, otherwise := range map[string]string{"America/New_York": "03-08 03:30", "Europe/Berlin": "03-29 03:30", "Australia/Sydney": "10-04 03:30"} {
		t.Run(zone, func(t *testing.T) {
			loc := must(t, zone)
			s, err := ParseSchedule("30 2 * * *")
			if err != nil {
				t.Fatal(err)
			}
			synctest.Test(t, func(t *testing.T) {
				time.Sleep(time.Until(time.Date(2026, 1, 1, 0, 0, 0, 0, loc)))
				sent := map[string]bool{}
				var odd []string
				for {
					next, ok := s.Next(time.Now(), loc)
					if !ok {
						t.Fatal("the schedule has ended")
					}
					time.Sleep(time.Until(next))
					now := time.Now().In(loc)
					if now.Year() > 2026 {
						break
					}
					if day := now.Format("01-02"); sent[day] {
						t.Errorf("twice on %s", day)
					} else {
						sent[day] = true
					}
					if now.Format("15:04") != "02:30" {
						odd = append(odd, now.Format("01-02 15:04"))
					}
				}
				if len(sent) != 365 || strings.Join(odd, ", ") != otherwise {
					t.Errorf("%d days, not at 2:30 on %v", len(sent), odd)
				}
			})
		})
	}
}

// TestTheLibraryAloneIsNotEnough says why Next counts in UTC: in a zone the
// library leaves the skipped time out and fires twice at the repeated one.
func TestTheLibraryAloneIsNotEnough(t *testing.T) {
	s, err := cron.ParseStandard("30 2 * * *")
	if err != nil {
		t.Fatal(err)
	}
	berlin := must(t, "Berlin")
	if got := s.Next(utc(t, "2026-03-28T12:00:00Z").In(berlin)); !got.Equal(utc(t, "2026-03-30T00:30:00Z")) {
		t.Errorf("over the gap: %s", got)
	}
	first := s.Next(utc(t, "2026-10-24T12:00:00Z").In(berlin))
	if second := s.Next(first); second.Sub(first) != time.Hour {
		t.Errorf("in the repeated hour: %s and %s", first, second)
	}
}

func TestScheduleThatHasEnded(t *testing.T) {
	if _, ok := (Schedule{}).Next(now, time.UTC); ok || (Schedule{}).String() != "" {
		t.Error("the zero Schedule fires")
	}
	s, err := ParseSchedule("0 9 29 2 *")
	if err != nil {
		t.Fatal(err)
	}
	if got, ok := s.Next(now, time.UTC); !ok || !got.Equal(utc(t, "2028-02-29T09:00:00Z")) {
		t.Errorf("%s, %v", got, ok)
	}
	if got, ok := s.Next(time.Date(2096, 3, 1, 0, 0, 0, 0, time.UTC), time.UTC); ok {
		t.Errorf("2100 is no leap year, and yet %s", got)
	}
}

// leapDay fires on leap days. After the last one of this century the next is eight
// years away, since 2100 has none, and none is found so far ahead; from
// lastLeapDay on, in every zone, that may be so.
const leapDay = "0 12 29 2 *"

var lastLeapDay = time.Date(2096, 2, 28, 0, 0, 0, 0, time.UTC)

// TestNextAgainstResolving: the instants of a schedule are those of its wall
// times, each resolved, in order and each once.
func TestNextAgainstResolving(t *testing.T) {
	specs := []string{"30 2 * * *", "0 * * * *", "*/15 0-4 * * *", "0,30 2,3 * * sun", "15 0 * * *", "45 23 * * *", "20,35 2 * * *", leapDay}
	rapid.Check(t, func(t *rapid.T) {
		loc := drawZone(t)
		from := drawNearChange(t, loc)
		text := rapid.SampledFrom(specs).Draw(t, "schedule")
		s, err := ParseSchedule(text)
		if err != nil {
			t.Fatal(err)
		}
		next, ok := s.Next(from, loc)
		if !ok && text == leapDay && from.After(lastLeapDay) {
			return
		}
		if !ok || !next.After(from) {
			t.Fatalf("%s, %v", next, ok)
		}
		// Every wall time from three days before to the one found, minute by minute.
		var want time.Time
		for w := WallOf(from, loc).utc().Add(-72 * time.Hour); w.Before(from.Add(96 * time.Hour)); w = w.Add(time.Minute) {
			if s.fields.Minute&(1<<w.Minute()) == 0 || s.fields.Hour&(1<<w.Hour()) == 0 || !s.fields.Next(w.Add(-time.Second)).Equal(w) {
				continue
			}
			if at, _ := Resolve(WallOf(w, time.UTC), loc); at.After(from) && (want.IsZero() || at.Before(want)) {
				want = at
			}
		}
		if want.IsZero() {
			want = next // further away than was looked
			if next.Sub(from) < 72*time.Hour {
				t.Fatalf("%s after %s is no wall time of %s", next, from, text)
			}
		}
		if !next.Equal(want) {
			t.Fatalf("after %s in %s: %s, want %s", from.In(loc), loc, next.In(loc), want.In(loc))
		}
	})
}

func FuzzParseSchedule(f *testing.F) {
	for _, text := range []string{"mon 9:00", "every mon, thu 7pm", "daily 8:30", "30 2 * * *", "*/15 8-20/4 1,15 jan mon-fri", "TZ=0", "@every 1s", "0 9 30 2 *", "0 0 ? * L"} {
		f.Add(text, now.Unix(), uint8(1))
	}
	f.Fuzz(func(t *testing.T, text string, seconds int64, zone uint8) {
		s, err := ParseSchedule(text)
		sound(t, text, err, func(example string) error { _, err := ParseSchedule(example); return err })
		if err != nil {
			return
		}
		if again, err := ParseSchedule(s.String()); err != nil || again.String() != s.String() {
			t.Errorf("%q is %q, read again %q, %v", text, s, again, err)
		}
		from := time.Unix(max(0, min(seconds, 3e9)), 0)
		if next, ok := s.Next(from, must(t, someZones[int(zone)%len(someZones)])); !ok || !next.After(from) {
			t.Errorf("%q after %v: %v, %v", text, from, next, ok)
		}
	})
}
