package lesson

import (
	"slices"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// TestFitAndRowAgree: the line that fit offers for an option makes the groups
// that fit shows for it, on any warp.
func TestFitAndRowAgree(t *testing.T) {
	shared := 0
	for ends := 8; ends <= 140; ends++ {
		for raised := range min(9, ends/2+1) {
			options, err := lace.Fit(ends, raised)
			if err != nil && raised > 1 {
				t.Fatal(err)
			}
			for _, o := range options {
				line := planLine(&bot.Call{}, theWarp{ends: ends}, o)
				reply := newRoom().say(line)
				if reply.Problem != nil {
					t.Fatalf("%q: %s", line, reply.Problem.Sentence())
				}
				if got := reply.Data.(rowData).plan.Design.Rows[0]; !slices.Equal([]int(got), o.Sizes) {
					t.Errorf("%q makes %v, fit shows %v", line, got, o.Sizes)
				}
				if o.Placement == lace.Both && o.Groups > 1 {
					shared++
				}
			}
		}
	}
	if shared < 50 {
		t.Errorf("only %d options share a leftover", shared)
	}
	if text := newRoom().answer(t, "fit ends:100 raised:8"); !strings.Contains(text, "leftover:both") {
		t.Errorf("who types the row herself is not told of leftover:both: %s", text)
	}
}

func TestLeftoverIsShared(t *testing.T) {
	rows := []struct {
		shows, line string
		told        bool
	}{
		{"two pairs on the far group", "row ends:100 raised:3", true},
		{"one pair is no matter", "row ends:98 raised:3", false},
		{"nothing left over", "row ends:96 raised:3", false},
		{"shared already", "row ends:100 raised:3 leftover:both", false},
		{"one group over the whole warp", "row ends:20 raised:8", false},
		{"edges take some of it", "row ends:108 raised:3 edge:2", true},
	}
	for _, row := range rows {
		if got := strings.Contains(unwrapped(newRoom().answer(t, row.line)), "leftover:both shares them"); got != row.told {
			t.Errorf("%s: %v, want %v", row.shows, got, row.told)
		}
	}
}

// TestExamplesInHerUnits: whoever reads centimetres is not told to say ppi:10.
func TestExamplesInHerUnits(t *testing.T) {
	r := newRoom()
	r.say("loom width:38cm heddle:40/10cm")
	for _, line := range []string{"row", "warp wide:30cm long:1.8m", "yardage warp:3m"} {
		text := unwrapped(r.answer(t, line))
		if !strings.Contains(text, "ppi:40/10cm") || strings.Contains(text, "ppi:10") {
			t.Errorf("%q: %s", line, text)
		}
	}
	r = newRoom()
	r.say("loom width:38cm")
	if p := r.say("fit width:20cm").Problem; p == nil || p.Hint != "heddle:40/10cm" {
		t.Errorf("%+v", p)
	}
}

// TestJoiningOn follows the advice for a header that ended in the wrong shed,
// in simulation: the weft must lie at the edge where the plan begins, and the
// last pick must have gone through with the other shed than its first move.
func TestJoiningOn(t *testing.T) {
	type place struct {
		side lace.Side // where the weft lies
		shed lace.Shed // of the last pick
	}
	first := func(ends int, from lace.Side) lace.Shed {
		plan, err := planned(lace.Pattern{Ends: ends, Raised: 3, Passes: 3, From: from, Rows: 1})
		if err != nil {
			t.Fatal(err)
		}
		return plan.Rows[0].Moves[0].Shed
	}
	joins := func(ends int, p place) bool { return first(ends, p.side) == p.shed.Other() }
	pick := func(p place) place { return place{p.side.Other(), p.shed.Other()} } // woven or taken out
	for _, from := range []lace.Side{lace.Right, lace.Left} {
		for _, ends := range []int{96, 97} {
			wrong := place{from, first(ends, from)}
			entered := place{from.Other(), wrong.shed} // cut, and entered at the other edge
			if joins(ends, wrong) {
				t.Errorf("%d ends: nothing is wrong", ends)
			}
			if odd := ends%2 == 1; joins(ends, pick(wrong)) != odd {
				t.Errorf("%d ends: one pick more or less mends it: %v", ends, !odd)
			}
			if even := ends%2 == 0; joins(ends, entered) != even {
				t.Errorf("%d ends: entering at the other edge mends it: %v", ends, !even)
			}
		}
	}
}

// TestSettWritten: what an example says is read as the same sett.
func TestSettWritten(t *testing.T) {
	for want, s := range map[string]measure.Sett{"40/10cm": 40 * measure.PerDecimetre, "12.5/10cm": 12.5 * measure.PerDecimetre} {
		if got := settWritten(s, measure.Metric); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := settWritten(12.5*measure.PerInch, measure.Imperial); got != "12.5" {
		t.Errorf("%q", got)
	}
}
