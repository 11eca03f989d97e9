package timetable

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func must(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := Zone(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func utc(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at.UTC()
}

var anEvent = Event{
	UID: "session-7@weftroom", Sequence: 2,
	Stamp: time.Date(2026, 11, 20, 9, 30, 0, 0, time.UTC),
	Start: time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC), Length: 90 * time.Minute,
	Summary: "Lace on Tuesdays", Description: "Eyelets; three rows,\nand a hem.",
}

func TestCalendarBytes(t *testing.T) {
	got, err := Calendar("Lace, Tuesdays", []Event{anEvent})
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Join([]string{
		"BEGIN:VCALENDAR",
		"CALSCALE:GREGORIAN",
		"PRODID:-//weftroom//weftroom//EN",
		"VERSION:2.0",
		`X-WR-CALNAME:Lace\, Tuesdays`,
		"BEGIN:VEVENT",
		`DESCRIPTION:Eyelets\; three rows\,\nand a hem.`,
		"DTEND:20261201T193000Z",
		"DTSTAMP:20261120T093000Z",
		"DTSTART:20261201T180000Z",
		"SEQUENCE:2",
		"STATUS:CONFIRMED",
		"SUMMARY:Lace on Tuesdays",
		"UID:session-7@weftroom",
		"END:VEVENT",
		"END:VCALENDAR",
		"",
	}, "\r\n")
	if string(got) != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestCalendarRefusals(t *testing.T) {
	with := func(change func(*Event)) []Event {
		e := anEvent
		change(&e)
		return []Event{e}
	}
	tests := []struct {
		name   string
		events []Event
	}{
		{"no event", nil},
		{"no UID", with(func(e *Event) { e.UID = "" })},
		{"a line break in the UID", with(func(e *Event) { e.UID = "a\r\nSUMMARY:b" })},
		{"a UID too long", with(func(e *Event) { e.UID = strings.Repeat("a", 256) })},
		{"one UID twice", []Event{anEvent, anEvent}},
		{"no length", with(func(e *Event) { e.Length = 0 })},
		{"no start", with(func(e *Event) { e.Start = time.Time{} })},
		{"no stamp", with(func(e *Event) { e.Stamp = time.Time{} })},
		{"a negative sequence", with(func(e *Event) { e.Sequence = -1 })},
		{"a URL that runs a script", with(func(e *Event) { e.URL = "javascript:alert(1)" })},
		{"a URL without a host", with(func(e *Event) { e.URL = "https://" })},
		{"a URL with a line break", with(func(e *Event) { e.URL = "https://meet.example/a\r\nX:b" })},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got, err := Calendar("Lace", tt.events); err == nil {
				t.Errorf("written:\n%s", got)
			} else if strings.Contains(err.Error(), "meet.example") {
				t.Errorf("the link stands in the error: %v", err)
			}
		})
	}
	if _, err := Calendar("Lace", nil); !errors.Is(err, ErrNoEvents) {
		t.Errorf("no event: %v", err)
	}
}

func TestCalendarHoldsTheLinkOnlyWhenAsked(t *testing.T) {
	e := anEvent
	if got, _ := Calendar("Lace", []Event{e}); bytes.Contains(got, []byte("URL")) {
		t.Errorf("a link where none was given:\n%s", got)
	}
	e.URL = "https://meet.example/room?a=1,2;b"
	if got, _ := Calendar("Lace", []Event{e}); !bytes.Contains(got, []byte("\r\nURL:https://meet.example/room?a=1,2;b\r\n")) {
		t.Errorf("the link is not as it was given:\n%s", got)
	}
}

// TestCalendarFormat holds for any text at all: what no reader outside checks.
func TestCalendarFormat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.OneOf(rapid.String(), rapid.SampledFrom(hostile)).Draw(t, "name")
		e := anEvent
		e.Summary = rapid.OneOf(rapid.String(), rapid.SampledFrom(hostile)).Draw(t, "summary")
		e.Description = rapid.StringN(-1, 400, -1).Draw(t, "description")
		got, err := Calendar(name, []Event{e})
		if err != nil {
			t.Fatal(err)
		}
		if err := formatOf(got); err != nil {
			t.Fatalf("%v in %q", err, got)
		}
	})
}

// formatOf holds a file against RFC 5545 §3.1: CRLF alone ends a line, no line
// is longer than 75 octets or splits a character, no other control character;
// and against what we write: one VCALENDAR, each property once, in its place.
func formatOf(file []byte) error {
	if !utf8.Valid(file) || !bytes.HasSuffix(file, []byte("\r\n")) {
		return errors.New("not UTF-8, or no last line end")
	}
	physical := bytes.Split(bytes.TrimSuffix(file, []byte("\r\n")), []byte("\r\n"))
	for _, l := range physical {
		if len(l) > 75 || len(l) == 0 || !utf8.Valid(l) {
			return fmt.Errorf("line of %d octets: %q", len(l), l)
		}
		if bytes.ContainsFunc(l, func(r rune) bool { return r < ' ' || r >= 0x7f && r < 0xa0 }) {
			return fmt.Errorf("a control character: %q", l)
		}
	}
	logical := strings.Split(strings.TrimSuffix(strings.ReplaceAll(string(file), "\r\n ", ""), "\r\n"), "\r\n")
	var names []string
	for _, l := range logical {
		name, _, ok := strings.Cut(l, ":")
		if !ok {
			return fmt.Errorf("not a property: %q", l)
		}
		names = append(names, name)
	}
	got := strings.ReplaceAll(strings.Join(names, " "), "DESCRIPTION ", "")
	if want := "BEGIN CALSCALE PRODID VERSION X-WR-CALNAME BEGIN DTEND DTSTAMP DTSTART SEQUENCE STATUS SUMMARY UID END END"; got != want {
		return fmt.Errorf("the properties are %s, want %s", got, want)
	}
	return nil
}

// hostile are names that would spoil a file that was put together carelessly.
var hostile = []string{
	"Lace\r\nEND:VCALENDAR\r\nBEGIN:VCALENDAR",
	"Lace\nATTENDEE:mailto:a@b.example",
	`back\slash, comma; colon: "quotes" \n and \N`,
	"\x00\x01\x1b[31mred\x7f",
	"\u202egnitirw denrut\u202c",
	"\u2028line\u2029paragraph\u0085next",
	strings.Repeat("ü", 37) + "x" + strings.Repeat("𝄞", 40),
	strings.Repeat(",", 200),
	"broken \xff\xfe utf-8 \xe2\x82",
	"👩‍🏫 " + strings.Repeat("👩‍👩‍👧‍👦", 30),
	strings.Repeat("x", 5000),
	" ", "", "\r", "=1+1", "BEGIN:VEVENT",
}

func TestFold(t *testing.T) {
	tests := []struct{ name, plain, want string }{
		{"75 octets stay", strings.Repeat("a", 75), strings.Repeat("a", 75)},
		{"76 are broken", strings.Repeat("a", 76), strings.Repeat("a", 75) + "\r\n a"},
		{"a continuation counts its space", strings.Repeat("a", 75+74+1), strings.Repeat("a", 75) + "\r\n " + strings.Repeat("a", 74) + "\r\n a"},
		{"a character is kept whole", strings.Repeat("a", 74) + "ü", strings.Repeat("a", 74) + "\r\n ü"},
		{"one of four octets too", strings.Repeat("a", 72) + "𝄞", strings.Repeat("a", 72) + "\r\n 𝄞"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := string(foldLines([]byte(tt.plain + "\r\n"))); got != tt.want+"\r\n" {
				t.Errorf("got %q", got)
			}
		})
	}
}

func TestClean(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"line ends of any kind", "a\r\nb\rc\u2028d", "a\nb\nc\nd"},
		{"control characters go", "a\x00b\x1bc\u0090d", "abcd"},
		{"direction marks go", "a\u202eb\u2066c\u200fd", "abcd"},
		{"joined pictures stay", "👩‍🏫", "👩‍🏫"},
		{"a tab is a space", "a\tb", "a b"},
		{"spaces around go", " \n a \n", "a"},
		{"too long", "abcdefghijklm", "abcdefghi…"},
		{"just fits", "abcdefghij", "abcdefghij"},
		{"broken bytes are shown", "a\xffb", "a\uFFFDb"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := clean(tt.text, 10); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
	if got := line("a\n\n b\tc", 100); got != "a b c" {
		t.Errorf("one line: %q", got)
	}
}
