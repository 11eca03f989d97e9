package timetable

import (
	"archive/zip"
	"encoding/json"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestResolve(t *testing.T) {
	tests := []struct {
		name, zone, wall, want string
		how                    Resolution
		source                 string
	}{
		{"New York springs forward", "America/New_York", "2026-03-08 02:30", "2026-03-08T07:30:00Z", Skipped, "seen: RFC 5545 §3.3.5"},
		{"New York falls back", "America/New_York", "2026-11-01 01:30", "2026-11-01T05:30:00Z", Twice, "seen: RFC 5545 §3.3.5"},
		{"Berlin falls back", "Europe/Berlin", "2026-10-25 02:30", "2026-10-25T00:30:00Z", Twice, "seen: RFC 5545 §3.3.5"},
		{"Berlin springs forward", "Europe/Berlin", "2026-03-29 02:30", "2026-03-29T01:30:00Z", Skipped, "seen: RFC 5545 §3.3.5"},
		{"Sydney falls back", "Australia/Sydney", "2026-04-05 02:30", "2026-04-04T15:30:00Z", Twice, "seen: RFC 5545 §3.3.5"},
		{"Sydney springs forward", "Australia/Sydney", "2026-10-04 02:30", "2026-10-03T16:30:00Z", Skipped, "seen: RFC 5545 §3.3.5"},

		{"Lord Howe springs forward by half an hour", "Australia/Lord_Howe", "2026-10-04 02:15", "2026-10-03T15:45:00Z", Skipped, "derived from +10:30 before the change"},
		{"Lord Howe falls back by half an hour", "Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-04T14:45:00Z", Twice, "derived from +11 before the change"},
		{"Lord Howe, not in its half hour", "Australia/Lord_Howe", "2026-04-05 01:15", "2026-04-04T14:15:00Z", Exactly, "derived from +11"},
		{"Samoa leaves out a day", "Pacific/Apia", "2011-12-30 12:00", "2011-12-30T22:00:00Z", Skipped, "derived from -10 before the gap"},
		{"Samoa, the last minute before", "Pacific/Apia", "2011-12-29 23:59", "2011-12-30T09:59:00Z", Exactly, "derived from -10"},
		{"Samoa, the first minute after", "Pacific/Apia", "2011-12-31 00:00", "2011-12-30T10:00:00Z", Exactly, "derived from +14"},

		{"the first minute of a gap", "Europe/Berlin", "2026-03-29 02:00", "2026-03-29T01:00:00Z", Skipped, "derived"},
		{"the last minute of a gap", "Europe/Berlin", "2026-03-29 02:59", "2026-03-29T01:59:00Z", Skipped, "derived"},
		{"the minute after a gap", "Europe/Berlin", "2026-03-29 03:00", "2026-03-29T01:00:00Z", Exactly, "derived"},
		{"the first minute that is repeated", "Europe/Berlin", "2026-10-25 02:00", "2026-10-25T00:00:00Z", Twice, "derived"},
		{"the last minute that is repeated", "Europe/Berlin", "2026-10-25 02:59", "2026-10-25T00:59:00Z", Twice, "derived"},
		{"the minute after the repeated ones", "Europe/Berlin", "2026-10-25 03:00", "2026-10-25T02:00:00Z", Exactly, "derived"},
		{"no clock changes", "Asia/Kolkata", "2026-03-29 02:30", "2026-03-28T21:00:00Z", Exactly, "derived from +05:30"},
		{"UTC", "UTC", "2026-03-29 02:30", "2026-03-29T02:30:00Z", Exactly, "derived"},
		{"a rule that goes on for ever", "Europe/Berlin", "2126-03-31 02:30", "2126-03-31T01:30:00Z", Skipped, "derived: the last Sunday of March 2126 is the 31st"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w, err := ParseWall(tt.wall)
			if err != nil {
				t.Fatal(err)
			}
			got, how := Resolve(w, must(t, tt.zone))
			if !got.Equal(utc(t, tt.want)) || how != tt.how {
				t.Errorf("%s in %s is %s, %s; want %s, %s (%s)", w, tt.zone, got.Format(time.RFC3339), how, tt.want, tt.how, tt.source)
			}
			if got.Location() != time.UTC {
				t.Errorf("in %v, want UTC", got.Location())
			}
		})
	}
}

// TestTimeDateIsNotEnough says why Resolve exists: of the six cases
// above the standard library gives some otherwise. Should that change, Resolve
// may become shorter.
func TestTimeDateIsNotEnough(t *testing.T) {
	differs := 0
	for _, c := range []struct{ zone, wall string }{
		{"America/New_York", "2026-03-08 02:30"}, {"America/New_York", "2026-11-01 01:30"},
		{"Europe/Berlin", "2026-10-25 02:30"}, {"Europe/Berlin", "2026-03-29 02:30"},
		{"Australia/Sydney", "2026-04-05 02:30"}, {"Australia/Sydney", "2026-10-04 02:30"},
	} {
		w, _ := ParseWall(c.wall)
		loc := must(t, c.zone)
		ours, _ := Resolve(w, loc)
		if !ours.Equal(time.Date(w.Year, w.Month, w.Day, w.Hour, w.Minute, 0, 0, loc)) {
			differs++
		}
	}
	if differs != 3 {
		t.Errorf("time.Date gives %d of 6 otherwise, it was 3", differs)
	}
}

// embedded is a zone as a machine without zones of its own has it: the tables
// end early, and rules follow.
func embedded(t testing.TB, name string) *time.Location {
	t.Helper()
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Skipf("SKIP: the go command is not there: %v", err)
	}
	data, err := zip.OpenReader(filepath.Join(strings.TrimSpace(string(root)), "lib", "time", "zoneinfo.zip"))
	if err != nil {
		t.Skipf("SKIP: the zones of the Go distribution are not there: %v", err)
	}
	defer data.Close()
	f, err := data.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	loc, err := time.LoadLocationFromTZData(name, table)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// TestTheEndOfALeapYear: the library gives stretches that end before they begin
// on 31 December of leap years, once a zone follows a rule.
func TestTheEndOfALeapYear(t *testing.T) {
	for _, loc := range []*time.Location{embedded(t, "Europe/Berlin"), embedded(t, "Australia/Sydney"), must(t, "Berlin"), must(t, "Sydney")} {
		for _, year := range []int{2028, 2040, 2052, 2400} {
			for at := time.Date(year, 12, 28, 0, 0, 0, 0, time.UTC); at.Year() <= year || at.Day() < 4; at = at.Add(7 * time.Minute) {
				if got, how := Resolve(WallOf(at, loc), loc); how != Exactly || !got.Equal(at) {
					t.Fatalf("%s in %s is %s, %s", WallOf(at, loc), loc, got, how)
				}
				for _, r := range []Reminder{{}, {After: true}} {
					if due, _ := Due(at, time.Hour, r, loc, Quiet{22 * 60, 7 * 60}); due.Sub(at).Abs() > 10*time.Hour+time.Minute {
						t.Fatalf("%s of %s is due %s", r, at, due)
					}
				}
			}
		}
	}
}

// TestResolveInEmbeddedZones compares both kinds of data in years whose rules
// are known to all of them.
func TestResolveInEmbeddedZones(t *testing.T) {
	for _, name := range []string{"America/New_York", "Europe/Berlin", "Australia/Sydney", "Australia/Lord_Howe", "Pacific/Apia", "America/Nuuk", "Africa/Cairo"} {
		ours, theirs := embedded(t, name), must(t, name)
		for at := time.Date(2010, 1, 1, 0, 10, 0, 0, time.UTC); at.Year() < 2025; at = at.Add(100 * time.Minute) {
			w := WallOf(at, time.UTC)
			a, howA := Resolve(w, ours)
			b, howB := Resolve(w, theirs)
			if !a.Equal(b) || howA != howB {
				t.Fatalf("%s in %s is %s, %s here and %s, %s there", w, name, a, howA, b, howB)
			}
		}
	}
}

var someZones = []string{
	"UTC", "Europe/Berlin", "Europe/London", "Europe/Lisbon", "America/New_York", "America/St_Johns", "America/Sao_Paulo",
	"America/Santiago", "America/Havana", "America/Nuuk", "Africa/Casablanca", "Africa/Cairo", "Asia/Kolkata", "Asia/Kathmandu",
	"Asia/Tehran", "Asia/Gaza", "Asia/Pyongyang", "Australia/Sydney", "Australia/Lord_Howe", "Australia/Eucla",
	"Pacific/Auckland", "Pacific/Chatham", "Pacific/Apia", "Pacific/Kwajalein", "Pacific/Kiritimati", "Antarctica/Troll",
}

func drawZone(t *rapid.T) *time.Location {
	loc, err := Zone(rapid.SampledFrom(someZones).Draw(t, "zone"))
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// drawNearChange is an instant of the years 1970 to 2100, often within a day
// and a half of a clock change: that is where things go wrong.
func drawNearChange(t *rapid.T, loc *time.Location) time.Time {
	at := time.Unix(60*rapid.Int64Range(0, 130*365*24*60).Draw(t, "minute"), 0).UTC()
	if rapid.Bool().Draw(t, "near a change") {
		if _, end := at.In(loc).ZoneBounds(); !end.IsZero() {
			at = end.UTC().Add(time.Duration(rapid.IntRange(-36*60, 36*60).Draw(t, "from it")) * time.Minute)
		}
	}
	return at.Truncate(time.Minute)
}

// TestResolveAgreesWithReadingBack: whatever a clock shows at an instant
// resolves to that instant or, if the clocks show it twice, to the earlier one;
// and only a time that no clock shows is Skipped.
func TestResolveAgreesWithReadingBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := drawZone(t)
		at := drawNearChange(t, loc)
		shown := WallOf(at, loc)
		got, how := Resolve(shown, loc)
		switch {
		case how == Skipped:
			t.Fatalf("%s is shown at %s in %s, and called skipped", shown, at, loc)
		case how == Exactly && !got.Equal(at):
			t.Fatalf("%s in %s is %s, shown at %s", shown, loc, got, at)
		case WallOf(got, loc) != shown || got.After(at):
			t.Fatalf("%s in %s is %s, shown earlier at %s", shown, loc, got, at)
		}
	})
}

// TestResolveAgainstCounting finds every instant at which the clocks show a
// time by trying each minute of the four days around.
func TestResolveAgainstCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := drawZone(t)
		near := drawNearChange(t, loc)
		w := WallOf(near, time.UTC) // any wall time, shown or not
		var shown []time.Time
		for at := w.utc().Add(-48 * time.Hour); at.Before(w.utc().Add(48 * time.Hour)); at = at.Add(time.Minute) {
			if WallOf(at, loc) == w && at.In(loc).Second() == 0 {
				shown = append(shown, at)
			}
		}
		got, how := Resolve(w, loc)
		switch {
		case len(shown) == 0:
			if how != Skipped {
				t.Fatalf("%s in %s is %s, %s, and never shown", w, loc, got, how)
			}
			if after := WallOf(got, loc); !w.Before(after) {
				t.Fatalf("skipped %s in %s became %s, not later", w, loc, after)
			}
		case !got.Equal(shown[0]) || (how == Twice) != (len(shown) > 1):
			t.Fatalf("%s in %s is %s, %s; shown at %v", w, loc, got, how, shown)
		}
	})
}

func TestWallIsStoredInOneForm(t *testing.T) {
	for _, good := range []string{"2026-12-01 19:00", "2028-02-29 00:00", "0001-01-01 00:00", "9999-12-31 23:59"} {
		w, err := ParseWall(good)
		if err != nil || w.String() != good || !w.Valid() {
			t.Errorf("%q: %v, %v", good, w, err)
		}
	}
	for _, bad := range []string{"", "2026-12-01", "2026-12-01 7:00", "2026-12-01T19:00", "2026-12-01 24:00", "2026-02-29 19:00", "2026-12-01 19:00:00", "2026-12-01 19:00 ", "02026-12-01 19:00"} {
		if w, err := ParseWall(bad); err == nil {
			t.Errorf("%q is read as %v", bad, w)
		}
	}
	type row struct{ At Wall }
	in := row{Wall{2026, time.December, 1, 19, 5}}
	data, err := json.Marshal(in)
	if err != nil || string(data) != `{"At":"2026-12-01 19:05"}` {
		t.Fatalf("%s, %v", data, err)
	}
	var out row
	if err := json.Unmarshal(data, &out); err != nil || out != in {
		t.Errorf("%v, %v", out, err)
	}
	if json.Unmarshal([]byte(`{"At":"tomorrow"}`), &out) == nil {
		t.Error("a word is read")
	}
}

func TestWallCounts(t *testing.T) {
	w := Wall{2028, time.February, 28, 19, 30}
	if got := w.AddDays(2); got != (Wall{2028, time.March, 1, 19, 30}) {
		t.Errorf("two days on: %v", got)
	}
	if got := w.AddDays(-59); got != (Wall{2027, time.December, 31, 19, 30}) {
		t.Errorf("59 days back: %v", got)
	}
	if w.Weekday() != time.Monday || w.Clock() != 19*60+30 || w.At(65) != (Wall{2028, time.February, 28, 1, 5}) {
		t.Errorf("%v, %v, %v", w.Weekday(), w.Clock(), w.At(65))
	}
	if !w.Before(w.At(1439)) || w.Before(w) || w.AddDays(1).Before(w) {
		t.Error("the order is wrong")
	}
	for _, bad := range []Wall{{}, {2027, time.February, 29, 1, 1}, {2027, 13, 1, 1, 1}, {2027, time.May, 1, 24, 0}, {2027, time.May, 1, 1, -1}, {10000, time.May, 1, 1, 1}} {
		if bad.Valid() {
			t.Errorf("%+v is valid", bad)
		}
	}
	if s := Exactly.String() + Twice.String() + Skipped.String(); s != "exactlytwiceskipped" {
		t.Error(s)
	}
}
