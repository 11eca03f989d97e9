package lesson_test

import (
	"encoding/json"
	"strings"
	"testing"
)

// TestTextsSideBySideDoNotTouch: between two of them lie plain places, as between
// two words, and none at their outer sides; mirrored they share a place instead. So
// it is with the empty places of a ground.
func TestTextsSideBySideDoNotTouch(t *testing.T) {
	for _, c := range []struct {
		line        string
		repeats     int
		apart       string // the foot of the chart, which is the first row
		left, right int
	}{
		{"motif text:I across:2", 2, "ooo...ooo", 7, 7},
		{"motif text:I across:0", 2, "ooo...ooo", 7, 7},
		{"motif text:I", 1, "ooo", 16, 16},
		{`motif text:"I I" cell:3`, 1, "ooo...ooo", 7, 7},
		{"motif text:I across:2 mirror:yes", 2, "ooooo", 13, 13},
		{`motif chart:"oo" across:2`, 2, "oooo", 15, 14},
		{"motif ground:rain size:2 across:2", 2, "o...o..", 10, 10},
		{"motif ground:rain size:2 across:2 mirror:yes", 2, "o.....o", 10, 10},
		{"motif ground:diamond size:3 gap:9", 1, "...o...", 10, 10},
	} {
		s := newStage(t)
		s.do("maya@dm> loom ends:76 heddle:10 rightmost:hole from:right")
		s.do("maya@dm> " + c.line)
		if s.reply.Problem != nil {
			t.Fatalf("%s: %s", c.line, s.reply.Problem.Sentence())
		}
		raw, err := json.Marshal(s.reply.Data)
		if err != nil {
			t.Fatal(err)
		}
		var told struct {
			Chart   []string `json:"chart"`
			Repeats int      `json:"repeats"`
			Left    int      `json:"margin_left"`
			Right   int      `json:"margin_right"`
		}
		if err := json.Unmarshal(raw, &told); err != nil {
			t.Fatal(err)
		}
		if len(told.Chart) == 0 || told.Chart[0] != c.apart || told.Repeats != c.repeats || told.Left != c.left || told.Right != c.right {
			t.Errorf("%s: %d times, margins %d and %d\n%s", c.line, told.Repeats, told.Left, told.Right, strings.Join(told.Chart, "\n"))
		}
	}
}

// TestOnePlainPlaceIsSaid between two repeats.
func TestOnePlainPlaceIsSaid(t *testing.T) {
	s := newStage(t)
	got := strings.Join(strings.Fields(s.do("maya@dm> motif ground:rain size:2 across:2 ends:76")), " ")
	if !strings.Contains(got, "It stands 2 times side by side, with 1 plain place between each two.") {
		t.Error(got)
	}
}
