package bot

import (
	"maps"
	"strings"
	"testing"
	"time"

	"weftroom/calc/cputime"
	"weftroom/calc/measure"
)

// The seeds of both are in testdata/fuzz, named after what they show.

// FuzzLine: no line makes the reader panic, and whatever it accepts can be
// written down again so that it reads as the same values.
func FuzzLine(f *testing.F) {
	f.Add("row raised:3 passes:3")
	d := testDispatcher()
	f.Fuzz(func(t *testing.T, line string) {
		c, given, err := givenBy(d, line)
		if err != nil {
			return
		}
		if _, err := c.read(given, measure.Imperial); err != nil {
			return
		}
		again := c.path()
		for _, p := range c.Params {
			if text, ok := given[p.Name]; ok {
				again += " " + Written(p.Name, text)
			}
		}
		if len(again) > MaxLine {
			return // quotes and names have made it too long
		}
		c2, given2, err := givenBy(d, again)
		if err != nil || c2 != c || !maps.Equal(given, given2) {
			t.Errorf("%q is %q, written %q, read as %q, %v", line, given, again, given2, err)
		}
	})
}

// FuzzHandle: whatever two lines someone sends, one after the other, she gets an
// answer or a problem that says what is wrong; never a fault of ours.
func FuzzHandle(f *testing.F) {
	f.Add("tell", "15in")
	f.Fuzz(func(t *testing.T, first, second string) {
		d := testDispatcher(curious())
		begun := cputime.Now(t)
		for _, line := range []string{first, second} {
			r := ask(d, line)
			if p := r.Problem; p != nil && (p.Code == "" || p.Message == "" || p.Code == Internal || p.Code == Busy || p.Code == NotAllowed) {
				t.Errorf("%q, %q: %+v", first, second, p)
			}
			text := Plain(r)
			if strings.Contains(text, "\x1b") || strings.Contains(text, "\u202e") || !strings.HasSuffix(text, "\n") {
				t.Errorf("%q, %q: shown as %q", first, second, text)
			}
			if r.Problem != nil {
				wantOneSentence(t, d, line, r)
			}
		}
		// Some thousand times what such lines take: our own bound. Others who use
		// the machine do not count.
		if took := cputime.Now(t) - begun; took > 2*time.Second {
			t.Errorf("%q, %q: took %v", first, second, took)
		}
	})
}
