package lesson

import (
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/calc/measure"
	"weftroom/calc/yarn"
)

// TestSettAnswer: one number in a sentence comes first, and nothing is said that
// does not concern the weave.
func TestSettAnswer(t *testing.T) {
	rows := []struct {
		shows, line string
		first       string
		says, not   []string
	}{
		{"plain weave", `sett yarn:"8/2 cotton"`, "Set it at 20 per inch (79 per 10 cm). 2 ends to each dent of a reed of 10 per inch (39 per 10 cm).",
			[]string{"balanced plain weave jams", "(Peirce)", "weave:lace"}, []string{"k ="}},
		{"twill", `sett yarn:"8/2 cotton" weave:twill`, "Set it at ", []string{"(Ashenhurst)."}, []string{"jams", "Peirce", "weave:lace"}},
		{"lace", `sett yarn:"3/2 cotton" weave:lace`, "Set it at 10 per inch (39 per 10 cm). One end to each dent of a heddle or reed of 10 per inch (39 per 10 cm).",
			[]string{"(Peirce)"}, []string{"weave:lace"}},
		{"an open heddle for lace", `sett yarn:"8/2 cotton" weave:lace heddle:8`, "Set it at ", []string{"it suits 4 strands wound together"}, nil},
	}
	for _, row := range rows {
		reply := newRoom().say(row.line)
		if first := bot.PlainBlock(reply.Body[0]); !strings.HasPrefix(unwrapped(first), row.first) {
			t.Errorf("%s: begins with %q", row.shows, first)
		}
		text := unwrapped(bot.Plain(reply))
		for _, s := range row.says {
			if !strings.Contains(text, s) {
				t.Errorf("%s: %q is not in %s", row.shows, s, text)
			}
		}
		for _, s := range row.not {
			if strings.Contains(text, s) {
				t.Errorf("%s: %q is in %s", row.shows, s, text)
			}
		}
	}
}

// TestStrandsLieInTheRange: several strands are advised only where the sett lies
// within their range.
func TestStrandsLieInTheRange(t *testing.T) {
	y, err := measure.ParseYarn("8/2 cotton")
	if err != nil {
		t.Fatal(err)
	}
	a, err := yarn.Advise(y, yarn.Lace, nil)
	if err != nil {
		t.Fatal(err)
	}
	for epi, want := range map[float64]int{16: 1, 20: 1, 14: 1, 12: 2, 10: 2, 8: 4, 5: 0, 25: 0} {
		if got := strandsFor(measure.Sett(epi)*measure.PerInch, a); got != want {
			t.Errorf("%v per inch (one strand %.2f to %.2f): %d strands, want %d", epi, a.Low.In(measure.PerInch), a.High.In(measure.PerInch), got, want)
		}
	}
}

// TestWarpWarnsOfItsSett: a yarn that is too fine or too thick for lace at a
// sett is told of.
func TestWarpWarnsOfItsSett(t *testing.T) {
	for line, want := range map[string]string{
		`warp wide:12in long:72in heddle:10 yarn:"8/2 cotton"`: "wind 2 strands together as one end",
		`warp wide:12in long:72in heddle:5 yarn:"8/2 cotton"`:  "take a finer heddle, or a thicker yarn",
		`warp wide:12in long:72in sett:25 yarn:"8/2 cotton"`:   "take a coarser heddle, or a finer yarn",
		`warp wide:12in long:72in sett:18 yarn:"8/2 cotton"`:   "",
		`warp wide:12in long:72in heddle:10`:                   "",
	} {
		text := unwrapped(newRoom().answer(t, line))
		if warned := strings.Contains(text, "For lace"); warned != (want != "") || !strings.Contains(text, want) {
			t.Errorf("%q: %s", line, text)
		}
	}
}

// TestWarpIsNotShownShort: read back in either unit, the warp is as long as it
// has to be, in the title and in the table.
func TestWarpIsNotShownShort(t *testing.T) {
	for _, line := range []string{"warp wide:12in long:71.1in heddle:10", "warp wide:30cm long:1.83m heddle:40/10cm", "warp wide:30cm long:97.77m heddle:40/10cm"} {
		reply := newRoom().say(line)
		exact := reply.Data.(warpData).WarpLengthM
		_, title, _ := strings.Cut(reply.Title, " ends, ")
		one, two, _ := strings.Cut(strings.TrimSuffix(title, ") long"), " (")
		for _, shown := range []string{one, two} {
			if l, err := measure.ParseLength(shown, measure.Unset); err != nil || float64(l) < exact*(1-1e-9) {
				t.Errorf("%q shows %q for %v m, %v", line, shown, exact, err)
			}
		}
		if !strings.Contains(bot.Plain(reply), one) || strings.Count(unwrapped(bot.Plain(reply)), title[:len(title)-len(" long")]) < 2 {
			t.Errorf("%q: the title and the table differ: %s", line, bot.Plain(reply))
		}
	}
}
