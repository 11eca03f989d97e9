package timetable

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// read is an event as an outside reader understood it.
type read struct {
	UID         string `json:"uid"`
	Start       string `json:"start"`
	End         string `json:"end"`
	Status      string `json:"status"`
	Sequence    int    `json:"sequence"`
	Summary     string `json:"summary"`
	Description string `json:"description"`
	URL         string `json:"url"`
}

type verdict struct {
	Refused string `json:"refused"`
	Events  []read `json:"events"`
}

// judge is an outside reader of calendars. spoilt names the spoilings (see
// spoilings) that it must refuse; each reader is blind to some.
type judge struct {
	name    string
	command []string
	needs   []string // a command that succeeds where the reader is installed
	install string
	spoilt  []string
	// misread are UIDs whose texts the reader gets wrong by a defect of its own;
	// they are not compared.
	misread []string
}

// The Python readers are packages of the system and belong to its own Python,
// which need not be the one on PATH.
var judges = []judge{
	{
		"vobject", []string{"/usr/bin/python3", "testdata/judges/read_calendar.py", "vobject"},
		[]string{"/usr/bin/python3", "-c", "import vobject, icalendar, recurring_ical_events"},
		"apt-get install python3-vobject python3-recurring-ical-events",
		[]string{"no UID", "no DTSTAMP", "no end of the event", "a line that is no property", "a start that is no time"},
		nil,
	},
	{
		"recurring_ical_events", []string{"/usr/bin/python3", "testdata/judges/read_calendar.py", "recurring_ical_events"},
		[]string{"/usr/bin/python3", "-c", "import vobject, icalendar, recurring_ical_events"},
		"apt-get install python3-vobject python3-recurring-ical-events",
		[]string{"no UID", "no end of the event", "a start that is no time"},
		// Its parser, icalendar 4.0, takes the escaped backslash before an n
		// (\\n) for a line break; the other two readers do not.
		[]string{"hostile-2"},
	},
	{
		"ical.js", []string{"node", "testdata/judges/read_calendar.mjs"},
		[]string{"node", "-e", "require.resolve('ical.js', {paths: ['testdata/judges']})"},
		"npm ci in bot/timetable/testdata/judges",
		[]string{"no end of the event", "a line that is no property", "a start that is no time"},
		nil,
	},
}

// verdicts has the judge read files, and skips the test where it is not there.
func (j judge) verdicts(t *testing.T, files [][]byte) []verdict {
	t.Helper()
	if err := exec.Command(j.needs[0], j.needs[1:]...).Run(); err != nil {
		t.Skipf("SKIP: %s is not installed, so it does not judge our calendars (%s)", j.name, j.install)
	}
	args := slices.Clone(j.command[1:])
	dir := t.TempDir()
	for i, f := range files {
		path := filepath.Join(dir, fmt.Sprintf("%d.ics", i))
		if err := os.WriteFile(path, f, 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	cmd := exec.Command(j.command[0], args...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", j.name, err, &stderr)
	}
	var all []verdict
	for line := range bytes.Lines(out) {
		var v verdict
		if err := json.Unmarshal(line, &v); err != nil {
			t.Fatalf("%s said %q: %v", j.name, line, err)
		}
		all = append(all, v)
	}
	if len(all) != len(files) {
		t.Fatalf("%s gave %d verdicts on %d files", j.name, len(all), len(files))
	}
	return all
}

type calendarCase struct {
	name   string
	events []Event
}

// calendarCases are the files that are judged.
func calendarCases(t *testing.T) []calendarCase {
	berlin := must(t, "Berlin")
	var across []Event // the clocks go back on 2026-10-25, between the second and the third
	for i, w := range Weekly(Wall{2026, time.October, 13, 19, 0}, 6, berlin) {
		e := anEvent
		e.UID, e.Start, e.Sequence = fmt.Sprintf("series-%d@weftroom", i), w.Time, 0
		across = append(across, e)
	}
	moved, cancelled := anEvent, anEvent
	moved.Sequence, moved.Start = 3, anEvent.Start.Add(24*time.Hour)
	cancelled.Sequence, cancelled.Cancelled = 4, true
	cancelled.URL = "https://meet.example/room?a=1,2;b=%20"
	var names []Event
	for i, h := range hostile {
		e := anEvent
		e.UID, e.Summary, e.Description = fmt.Sprintf("hostile-%d", i), h, h+"\n\n"+h
		names = append(names, e)
	}
	var many []Event
	for i := range 200 {
		e := anEvent
		e.UID, e.Start, e.Sequence = fmt.Sprintf("many-%d", i), anEvent.Start.AddDate(0, 0, 7*i), i
		many = append(many, e)
	}
	return []calendarCase{
		{"a series across a clock change", across},
		{"moved", []Event{moved}},
		{"cancelled, with a link", []Event{cancelled}},
		{"hostile names", names},
		{"200 meetings", many},
	}
}

func (c calendarCase) file(t *testing.T) []byte {
	f, err := Calendar(hostile[2], c.events)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// want is what every reader must find, in order of start and UID.
func (c calendarCase) want() []read {
	var out []read
	for _, e := range c.events {
		status := "CONFIRMED"
		if e.Cancelled {
			status = "CANCELLED"
		}
		out = append(out, read{
			e.UID, e.Start.Format(time.RFC3339), e.Start.Add(e.Length).Format(time.RFC3339), status, e.Sequence,
			line(e.Summary, maxSummary), clean(e.Description, maxDescription), e.URL,
		})
	}
	return ordered(out)
}

// texts leaves out the texts that the judge misreads.
func (j judge) texts(events []read) []read {
	for i, e := range events {
		if slices.Contains(j.misread, e.UID) {
			events[i].Summary, events[i].Description = "", ""
		}
	}
	return events
}

func ordered(events []read) []read {
	slices.SortFunc(events, func(a, b read) int { return strings.Compare(a.Start+" "+a.UID, b.Start+" "+b.UID) })
	return events
}

func TestOutsideReadersReadOurCalendars(t *testing.T) {
	for _, j := range judges {
		t.Run(j.name, func(t *testing.T) {
			cases := calendarCases(t)
			var files [][]byte
			for _, c := range cases {
				files = append(files, c.file(t))
			}
			for i, v := range j.verdicts(t, files) {
				if v.Refused != "" {
					t.Errorf("%s: refused: %s", cases[i].name, v.Refused)
				} else if diff := cmp.Diff(j.texts(cases[i].want()), j.texts(ordered(v.Events))); diff != "" {
					t.Errorf("%s: -written +read\n%s", cases[i].name, diff)
				}
			}
		})
	}
}

// spoilings are what a careless writer could get wrong.
var spoilings = []struct{ name, from, to string }{
	{"no UID", "UID:session-7@weftroom\r\n", ""},
	{"no DTSTAMP", "DTSTAMP:20261120T093000Z\r\n", ""},
	{"no end of the event", "END:VEVENT\r\n", ""},
	{"a line that is no property", "SEQUENCE:2\r\n", "SEQUENCE\r\n"},
	{"a start that is no time", "DTSTART:20261201T180000Z", "DTSTART:2026-13-41T99:00"},
}

func TestOutsideReadersCanRefuse(t *testing.T) {
	good, err := Calendar("Lace", []Event{anEvent})
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range judges {
		t.Run(j.name, func(t *testing.T) {
			files := [][]byte{good}
			for _, s := range spoilings {
				bad := bytes.Replace(good, []byte(s.from), []byte(s.to), 1)
				if bytes.Equal(bad, good) {
					t.Fatalf("%s: nothing was spoilt", s.name)
				}
				files = append(files, bad)
			}
			all := j.verdicts(t, files)
			if all[0].Refused != "" {
				t.Errorf("the good file: %s", all[0].Refused)
			}
			for i, s := range spoilings {
				refused := all[i+1].Refused != ""
				t.Logf("%s: %v %s", s.name, refused, all[i+1].Refused)
				if slices.Contains(j.spoilt, s.name) && !refused {
					t.Errorf("%s: taken", s.name)
				}
			}
		})
	}
}

// TestLockFileNamesNoHost: whoever installs the readers uses her own registry.
func TestLockFileNamesNoHost(t *testing.T) {
	for _, name := range []string{"package-lock.json", "package.json", ".npmrc"} {
		data, err := os.ReadFile(filepath.Join("testdata", "judges", name))
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(data, []byte("://")) || bytes.Contains(data, []byte("resolved\":")) {
			t.Errorf("%s names a host", name)
		}
	}
}
