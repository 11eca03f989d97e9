package lesson

import (
	"bytes"
	"fmt"
	"image/png"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/bot/timetable"
	"weftroom/calc/measure"

	"github.com/google/go-cmp/cmp"
)

// picturesIn are the pictures in a reply, by name.
func picturesIn(r bot.Reply) map[string]bot.Picture {
	all := map[string]bot.Picture{}
	for _, b := range r.Body {
		if p, ok := b.(bot.Picture); ok {
			all[p.Name] = p
		}
	}
	return all
}

// Each kind of row has its diagram, and the whole its look; each can be drawn,
// and says in words what it shows.
func TestPicturesOfAPlan(t *testing.T) {
	tests := []struct {
		line string
		alts map[string]string // by name: what must be said of it
	}{
		{"row ends:24 raised:3 rows:2 rightmost:hole", map[string]string{
			"row-1.png": "4 groups, each woven 3 times", "lace.png": "2 rows of holes, hole above hole"}},
		{"row ends:40 raised:3 rows:4 repeat:halfdrop from:left", map[string]string{
			"row-1.png": "from the left edge", "row-2.png": "rows 2, 4, all alike", "lace.png": "half a group aside"}},
		{"row ends:24 raised:3 rows:2 way:two", map[string]string{
			"row-1.png": "from the right edge", "row-2.png": "from the left edge", "lace.png": "out and home"}},
		{"row ends:400 raised:3 rows:100", map[string]string{
			"row-1.png": "Not all of its groups, ends and passes", "lace.png": "72 of 400 ends, from the right edge"}},
		{"row ends:12 raised:4 rows:2", map[string]string{"row-1.png": "rows 1–2, all alike", "lace.png": "plain weave from edge to edge"}},
		{"row ends:12 raised:4", map[string]string{"row-1.png": "no hole opens", "lace.png": "plain weave from edge to edge"}},
	}
	for _, tt := range tests {
		t.Run(tt.line, func(t *testing.T) {
			pictures := picturesIn(newRoom().say(tt.line))
			for name, p := range pictures {
				if want, ok := tt.alts[name]; !ok || !strings.Contains(p.Alt, want) {
					t.Errorf("%s says %q, want %q", name, p.Alt, want)
				}
				drawn(t, p)
			}
			if len(pictures) != len(tt.alts) {
				t.Errorf("%d pictures, want %d", len(pictures), len(tt.alts))
			}
		})
	}
}

func drawn(t *testing.T, p bot.Picture) {
	t.Helper()
	raw, err := p.Draw()
	if err != nil {
		t.Fatal(err)
	}
	size, err := png.DecodeConfig(bytes.NewReader(raw))
	if err != nil || size.Width != p.Width || size.Height < 200 {
		t.Errorf("%s: %+v, %v", p.Name, size, err)
	}
}

// The question about the rightmost end comes with a picture of the loom that she
// has, and other questions come with none.
func TestPictureOfTheRightmostEnd(t *testing.T) {
	for line, want := range map[string]string{
		`loom kind:"rigid heddle" width:15in heddle:10 ends:150`: "through a hole",
		`loom kind:"floor loom" width:15in sett:10 ends:150`:     "on shaft 1",
		`loom kind:"rigid heddle" width:15in`:                    "",
	} {
		p, ok := picturesIn(newRoom().say(line))["rightmost.png"]
		if ok != (want != "") || !strings.Contains(p.Alt, want) {
			t.Errorf("%s: %v, %q", line, ok, p.Alt)
		}
		if ok {
			drawn(t, p)
		}
	}
}

// Who has told all of a rigid heddle sees how it holds her ends; a warp that goes
// into a reed otherwise than one to a dent is shown in it.
func TestPicturesOfHeddleAndReed(t *testing.T) {
	for line, want := range map[string]map[string]string{
		`loom kind:"rigid heddle" width:15in heddle:10 ends:150 rightmost:hole from:right units:inches`: {"heddle.png": "is in a hole; end 150, at the left edge, in a slot"},
		`loom kind:"rigid heddle" width:15in heddle:10 ends:151 rightmost:slot from:right units:inches`: {"heddle.png": "is in a slot; end 151, at the left edge, in a slot"},
		`loom kind:"floor loom" width:15in sett:10 ends:150 rightmost:shaft1 from:right units:inches`:   {},
		`warp wide:8in long:60in sett:20 heddle:8`:                                                      {"reed.png": "ends, over and over"},
		`warp wide:8in long:60in heddle:10`:                                                             {},
	} {
		pictures := picturesIn(newRoom().say(line))
		delete(pictures, "row-1.png")
		delete(pictures, "lace.png")
		if len(pictures) != len(want) {
			t.Errorf("%s: %d pictures", line, len(pictures))
		}
		for name, alt := range want {
			p := pictures[name]
			if !strings.Contains(p.Alt, alt) {
				t.Errorf("%s: %s says %q", line, name, p.Alt)
				continue
			}
			drawn(t, p)
		}
	}
}

// A picture goes on where words can be taken back: no link, and nobody's name.
func TestCardHoldsNothingPrivate(t *testing.T) {
	const link, name = "https://meet.example/lace-4711", "Yori"
	r := rendering{c: (&Desk{}).speaker(timetable.Truth{}), post: timetable.Post{Kind: timetable.KindReminder}, Truth: timetable.Truth{
		Class:   class.Class{Name: "Evening lace", Zone: "Europe/Berlin"},
		Session: class.Session{Number: 3, Topic: "Half-drop", Link: link, Minutes: 90, Zone: "Europe/Berlin", Start: time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC), Work: class.Work{Row: "raised:3 rows:2"}},
		Person:  class.Person{Name: name, Zone: "Europe/Berlin"},
	}}
	said := fmt.Sprintf("%+v", r.cardWords())
	for _, private := range []string{link, "meet.example", name} {
		if strings.Contains(said, private) {
			t.Errorf("the card says %s: %s", private, said)
		}
	}
	for _, needed := range []string{"Evening lace", "Half-drop", "1 December 2026, 19:00", "groups of 3"} {
		if !strings.Contains(said, needed) {
			t.Errorf("the card does not say %s: %s", needed, said)
		}
	}
	drawn(t, r.card().(bot.Picture))
}

// Every letter of the words on pictures is in the fonts.
func TestWordsOnPicturesCanBeSet(t *testing.T) {
	for key, text := range englishPictures {
		if !paper.Covered(text) {
			t.Errorf("%s: %q", key, text)
		}
	}
}

func TestBarOf(t *testing.T) {
	for _, tt := range []struct {
		name  string
		units measure.Units
		ends  int
		sett  measure.Sett
		want  measure.Length
	}{
		{"97 ends at 10 per inch", measure.Imperial, 97, 10 * measure.PerInch, 4 * measure.Inch},
		{"97 ends at 40 per 10 cm", measure.Metric, 97, 40 * measure.PerDecimetre, 10 * measure.Centimetre},
		{"narrower than any bar", measure.Imperial, 8, 10 * measure.PerInch, 0},
		{"sett not known", measure.Imperial, 97, 0, 0},
	} {
		if diff := cmp.Diff(tt.want, barOf(tt.units, tt.ends, tt.sett)); diff != "" {
			t.Errorf("%s: %s", tt.name, diff)
		}
	}
}
