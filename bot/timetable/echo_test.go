package timetable

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
)

func TestEcho(t *testing.T) {
	tests := []struct {
		name, at, class, asker string
		want                   Echoed
	}{
		{"another zone, the day before", "2026-12-01T01:00:00Z", "Europe/Berlin", "America/New_York", Echoed{
			Class: Moment{Wall{2026, time.December, 1, 2, 0}, "weekday.tue", "month.dec", "Europe/Berlin", "CET", "UTC+01:00"},
			Asker: Moment{Wall{2026, time.November, 30, 20, 0}, "weekday.mon", "month.nov", "America/New_York", "EST", "UTC-05:00"},
			Days:  -1,
		}},
		{"a zone without letters, the year after", "2026-12-31T18:30:00Z", "UTC", "Asia/Kathmandu", Echoed{
			Class: Moment{Wall{2026, time.December, 31, 18, 30}, "weekday.thu", "month.dec", "UTC", "UTC", "UTC"},
			Asker: Moment{Wall{2027, time.January, 1, 0, 15}, "weekday.fri", "month.jan", "Asia/Kathmandu", "UTC+05:45", "UTC+05:45"},
			Days:  1,
		}},
		{"two zones, one time", "2026-07-01T18:00:00Z", "Europe/Berlin", "Europe/Oslo", Echoed{
			Class: Moment{Wall{2026, time.July, 1, 20, 0}, "weekday.wed", "month.jul", "Europe/Berlin", "CEST", "UTC+02:00"},
			Asker: Moment{Wall{2026, time.July, 1, 20, 0}, "weekday.wed", "month.jul", "Europe/Oslo", "CEST", "UTC+02:00"},
			Same:  true,
		}},
		{"a time that occurs twice, the first", "2026-10-25T00:30:00Z", "Europe/Berlin", "UTC", Echoed{
			Class: Moment{Wall{2026, time.October, 25, 2, 30}, "weekday.sun", "month.oct", "Europe/Berlin", "CEST", "UTC+02:00"},
			Asker: Moment{Wall{2026, time.October, 25, 0, 30}, "weekday.sun", "month.oct", "UTC", "UTC", "UTC"},
			How:   Twice,
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.want.Time = utc(t, tt.at)
			tt.want.Asked = tt.want.Class.Wall
			got := Echo(tt.want.Time.In(must(t, "Asia/Tokyo")), must(t, tt.class), must(t, tt.asker))
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestEchoSaysWhatWasWritten(t *testing.T) {
	berlin := must(t, "Berlin")
	w, err := ParseWhen("28 mar 2027 2:30", now, berlin)
	if err != nil {
		t.Fatal(err)
	}
	e := w.Echo(berlin, time.UTC)
	if e.How != Skipped || e.Asked != wall("2027-03-28 02:30") || e.Class.Wall != wall("2027-03-28 03:30") || e.Class.Abbreviation != "CEST" {
		t.Errorf("%+v", e)
	}
}

func TestNamesOfDaysAndMonths(t *testing.T) {
	if WeekdayKey(time.Sunday) != "weekday.sun" || WeekdayKey(time.Saturday) != "weekday.sat" || MonthKey(time.January) != "month.jan" || MonthKey(time.December) != "month.dec" {
		t.Error("a name is out of place")
	}
	seen := map[calc.Key]bool{}
	for _, k := range Keys {
		if seen[k] {
			t.Errorf("%s stands twice", k)
		}
		seen[k] = true
	}
	for d := range 7 {
		if !seen[WeekdayKey(time.Weekday(d))] {
			t.Errorf("%s is not among Keys", WeekdayKey(time.Weekday(d)))
		}
	}
	for m := time.January; m <= time.December; m++ {
		if !seen[MonthKey(m)] {
			t.Errorf("%s is not among Keys", MonthKey(m))
		}
	}
}

func TestWeekly(t *testing.T) {
	berlin := must(t, "Berlin")
	got := Weekly(wall("2026-10-11 02:30"), 4, berlin)
	want := []When{
		{wall("2026-10-11 02:30"), utc(t, "2026-10-11T00:30:00Z"), Exactly},
		{wall("2026-10-18 02:30"), utc(t, "2026-10-18T00:30:00Z"), Exactly},
		{wall("2026-10-25 02:30"), utc(t, "2026-10-25T00:30:00Z"), Twice},
		{wall("2026-11-01 02:30"), utc(t, "2026-11-01T01:30:00Z"), Exactly},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	spring := Weekly(wall("2027-03-21 02:30"), 3, berlin)
	if spring[1].How != Skipped || spring[2].Wall.Hour != 2 || !spring[2].Time.Equal(utc(t, "2027-04-04T00:30:00Z")) {
		t.Errorf("a gap moves only its own meeting: %v", spring)
	}
	if len(Weekly(wall("2026-10-11 02:30"), 0, berlin)) != 0 || len(Weekly(wall("2026-10-11 02:30"), -1, berlin)) != 0 {
		t.Error("no meetings")
	}
}
