package timetable

import (
	"bytes"
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/emersion/go-ical"
)

// Event is one meeting in a calendar.
type Event struct {
	UID         string        // the same for the life of the session: 1 to 255 printable ASCII characters, no space
	Sequence    int           // 0, and one more each time that the session is moved or cancelled
	Stamp       time.Time     // when the session last changed; given, so that equal sessions make equal bytes
	Start       time.Time     // seconds are kept, what is finer is dropped
	Length      time.Duration // at least a minute
	Summary     string        // one line; cut at 200 characters
	Description string        // cut at 4000 characters
	URL         string        // the meeting link, http or https; left empty in every calendar but a member's own
	Cancelled   bool
}

const (
	product        = "-//weftroom//weftroom//EN"
	maxUID         = 255
	maxSummary     = 200
	maxDescription = 4000
)

// ErrNoEvents is returned for a calendar without events, which RFC 5545 §3.6
// does not allow.
var ErrNoEvents = errors.New("a calendar needs an event")

// Calendar writes events as an iCalendar file (RFC 5545): each in UTC, so that
// no zone has to be defined, and nothing that rings by itself, because reminders
// come by chat. The bytes depend on the arguments alone. Names may hold
// anything: control characters are taken out and the rest is escaped.
//
// There is no METHOD: with one, PUBLISH and CANCEL alike, RFC 5546 asks for the
// mail address of an organiser, and a class has none. Without one the file is a
// snapshot (RFC 5545 §3.7.2); a meeting that was moved or cancelled is the same
// UID with a higher SEQUENCE, and its STATUS is CANCELLED.
//
// An error means a defect of the caller (an empty UID, two events with one UID,
// no length, a URL that is none), not of the asker.
func Calendar(name string, events []Event) ([]byte, error) {
	if len(events) == 0 {
		return nil, ErrNoEvents
	}
	cal := ical.NewCalendar()
	cal.Props.SetText(ical.PropVersion, "2.0")
	cal.Props.SetText(ical.PropProductID, product)
	cal.Props.SetText(ical.PropCalendarScale, "GREGORIAN")
	title := ical.NewProp("X-WR-CALNAME") // what most calendars show as the name; text, without saying so
	title.SetText(line(name, maxSummary))
	title.Params.Del(ical.ParamValue)
	cal.Props.Set(title)
	seen := map[string]bool{}
	for _, e := range events {
		if seen[e.UID] {
			return nil, fmt.Errorf("two events have the UID %q", e.UID)
		}
		seen[e.UID] = true
		c, err := e.component()
		if err != nil {
			return nil, fmt.Errorf("event %q: %w", e.UID, err)
		}
		cal.Children = append(cal.Children, c)
	}
	var plain bytes.Buffer
	if err := ical.NewEncoder(&plain).Encode(cal); err != nil {
		return nil, err
	}
	return foldLines(plain.Bytes()), nil
}

func (e Event) component() (*ical.Component, error) {
	if err := e.check(); err != nil {
		return nil, err
	}
	c := ical.NewComponent(ical.CompEvent)
	c.Props.SetText(ical.PropUID, e.UID)
	c.Props.SetDateTime(ical.PropDateTimeStamp, e.Stamp.UTC())
	c.Props.SetDateTime(ical.PropDateTimeStart, e.Start.UTC())
	c.Props.SetDateTime(ical.PropDateTimeEnd, e.Start.Add(e.Length).UTC())
	c.Props.Set(&ical.Prop{Name: ical.PropSequence, Value: strconv.Itoa(e.Sequence)})
	status := ical.EventConfirmed
	if e.Cancelled {
		status = ical.EventCancelled
	}
	c.Props.SetText(ical.PropStatus, string(status))
	c.Props.SetText(ical.PropSummary, line(e.Summary, maxSummary))
	if d := clean(e.Description, maxDescription); d != "" {
		c.Props.SetText(ical.PropDescription, d)
	}
	if e.URL != "" {
		u, err := link(e.URL)
		if err != nil {
			return nil, err
		}
		c.Props.SetURI(ical.PropURL, u)
	}
	return c, nil
}

func (e Event) check() error {
	if e.UID == "" || len(e.UID) > maxUID || strings.ContainsFunc(e.UID, func(r rune) bool { return r <= ' ' || r > '~' }) {
		return errors.New("the UID cannot be used")
	}
	if e.Length < time.Minute {
		return fmt.Errorf("the length is %v", e.Length)
	}
	if e.Sequence < 0 {
		return fmt.Errorf("the sequence is %d", e.Sequence)
	}
	if y := e.Start.UTC().Year(); y < 1970 || y > 9998 || e.Stamp.IsZero() {
		return errors.New("the start or the stamp is missing")
	}
	return nil
}

// link reads a URL; the error does not hold it, since links are kept out of logs.
func link(text string) (*url.URL, error) {
	u, err := url.Parse(text)
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" {
		return nil, errors.New("the URL is none of http or https")
	}
	return u, nil
}

// line is clean on one line.
func line(text string, most int) string {
	return strings.Join(strings.Fields(clean(text, most)), " ")
}

// clean takes out what a calendar must not hold (control characters) or would
// show in a misleading order (marks that turn the direction of writing), makes
// every line end a newline, and cuts at so many characters.
func clean(text string, most int) string {
	text = strings.ReplaceAll(strings.ToValidUTF8(text, "\uFFFD"), "\r\n", "\n")
	text = strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\r', r == '\u2028', r == '\u2029', r == '\u0085':
			return '\n'
		case r == '\t':
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), r == '\uFEFF':
			return -1
		}
		return r
	}, text)
	text = strings.TrimSpace(text)
	if utf8.RuneCountInString(text) > most {
		text = string([]rune(text)[:most-1]) + "…"
	}
	return text
}

// maxOctets is the longest line of RFC 5545 §3.1, its CRLF not counted.
const maxOctets = 75

// foldLines breaks longer lines, never within a character; the space that
// begins a continuation counts.
func foldLines(plain []byte) []byte {
	var out bytes.Buffer
	for l := range bytes.Lines(plain) {
		l = bytes.TrimSuffix(l, []byte("\r\n"))
		room := maxOctets
		for len(l) > room {
			cut := room
			for !utf8.RuneStart(l[cut]) {
				cut--
			}
			out.Write(l[:cut])
			out.WriteString("\r\n ")
			l, room = l[cut:], maxOctets-1
		}
		out.Write(l)
		out.WriteString("\r\n")
	}
	return out.Bytes()
}
