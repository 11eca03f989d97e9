package lesson

import (
	"slices"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/measure"
)

// turn is one thing that she says and what comes of it.
type turn struct {
	says string
	asks string // the argument of the next question, "" when nothing is asked
	plan bool   // the answer carries a row plan
	code string // of the refusal, "" for an answer
	keep func(*class.Loom)
}

// TestStepByStep answers the questions of loom in a person's own words, one at
// a time. What is kept after each turn is exactly what she has said.
func TestStepByStep(t *testing.T) {
	rows := []struct {
		shows string
		turns []turn
	}{
		{"a rigid heddle in inches, in her own words", []turn{
			{"Hello", "", false, "", nil},
			{"loom", "kind", false, "", nil},
			{"A rigid heddle.", "width", false, "", func(l *class.Loom) { l.Kind = class.RigidHeddle }},
			{"15″", "heddle", true, "", func(l *class.Loom) { l.Width, l.Units = 15*measure.Inch, measure.Imperial }},
			{"10 dents per inch", "ends", true, "", func(l *class.Loom) { l.Heddle = 10 * measure.PerInch }},
			{"151", "rightmost", true, "", func(l *class.Loom) { l.Ends = 151 }},
			{"in a hole", "from", true, "", func(l *class.Loom) { l.Rightmost = class.Hole }},
			{"from the left", "", true, "", func(l *class.Loom) { l.From = "left" }},
		}},
		{"shafts in centimetres", []turn{
			{"loom", "kind", false, "", nil},
			{"floor loom", "width", false, "", func(l *class.Loom) { l.Kind = class.FloorLoom }},
			{"24,5 cm", "heddle", true, "", func(l *class.Loom) { l.Width, l.Units = 24.5*measure.Centimetre, measure.Metric }},
			{"60/10cm", "ends", true, "", func(l *class.Loom) { l.Sett = 60 * measure.PerDecimetre }},
			{"147", "rightmost", true, "", func(l *class.Loom) { l.Ends = 147 }},
			{"1", "from", true, "", func(l *class.Loom) { l.Rightmost = class.Shaft1 }},
			{"Right", "", true, "", func(l *class.Loom) { l.From = "right" }},
		}},
		{"she knows nothing but the width", []turn{
			{"loom", "kind", false, "", nil},
			{"I don't know", "width", false, "", unsure("kind")},
			{"?", "width", false, "", unsure("width")},
			{"30 cm", "heddle", true, "", func(l *class.Loom) {
				l.Width, l.Units, l.Unsure = 30*measure.Centimetre, measure.Metric, []string{"kind"}
			}},
			{"I don’t know.", "ends", true, "", unsure("heddle")},
			{"no idea", "rightmost", true, "", unsure("ends")},
			{"idk", "from", true, "", unsure("rightmost")},
			{"NOT SURE", "", true, "", unsure("from")},
		}},
		{"she has counted her ends and never measured", []turn{
			{"loom ends:40", "kind", true, "", func(l *class.Loom) { l.Ends = 40 }},
			{"table loom", "heddle", true, "", func(l *class.Loom) { l.Kind = class.TableLoom }},
			{"I don't know", "rightmost", true, "", unsure("heddle")},
			{"on shaft 2", "from", true, "", func(l *class.Loom) { l.Rightmost = class.Shaft2 }},
			{"left", "units", true, "", func(l *class.Loom) { l.From = "left" }},
			{"centimetres", "", true, "", func(l *class.Loom) { l.Units = measure.Metric }},
		}},
		{"another command leaves the question standing", []turn{
			{"loom", "kind", false, "", nil},
			{"word heddle", "", false, "", nil},
			{"rigid", "width", false, "", func(l *class.Loom) { l.Kind = class.RigidHeddle }},
		}},
		{"what cannot be read is refused and asked again", []turn{
			{"loom", "kind", false, "", nil},
			{"a table loom or a floor loom", "", false, "bad_value", nil},
			{"table loom", "width", false, "", func(l *class.Loom) { l.Kind = class.TableLoom }},
			{"about fifteen", "", false, "bad_value", nil},
			{"15", "", false, "bad_value", nil},
			{"15in", "heddle", true, "", func(l *class.Loom) { l.Width, l.Units = 15*measure.Inch, measure.Imperial }},
		}},
		{"a miscount is refused, whatever else is said with it", []turn{
			{`loom kind:"rigid heddle" width:15in heddle:10`, "ends", true, "", func(l *class.Loom) {
				l.Kind, l.Width, l.Heddle, l.Units = class.RigidHeddle, 15*measure.Inch, 10*measure.PerInch, measure.Imperial
			}},
			{"loom ends:97 rightmost:slot from:left", "", false, "conflict", nil},
			{"loom ends:149", "rightmost", true, "", func(l *class.Loom) { l.Ends = 149 }},
		}},
		{"a new width makes the old count void, and asks for it again", []turn{
			{`loom width:15in heddle:10 ends:150`, "kind", true, "", func(l *class.Loom) {
				l.Width, l.Heddle, l.Ends, l.Units = 15*measure.Inch, 10*measure.PerInch, 150, measure.Imperial
			}},
			{"loom width:8in", "kind", true, "", func(l *class.Loom) { l.Width, l.Ends = 8*measure.Inch, 0 }},
			{`loom kind:"rigid heddle"`, "ends", true, "", func(l *class.Loom) { l.Kind = class.RigidHeddle }},
		}},
		{"a width that still agrees leaves the count", []turn{
			{`loom width:15in heddle:10 ends:150`, "kind", true, "", func(l *class.Loom) {
				l.Width, l.Heddle, l.Ends, l.Units = 15*measure.Inch, 10*measure.PerInch, 150, measure.Imperial
			}},
			{"loom width:38cm", "kind", true, "", func(l *class.Loom) { l.Width = 38 * measure.Centimetre }},
		}},
		{"another kind of loom asks anew where the rightmost end sits", []turn{
			{`loom kind:"rigid heddle" rightmost:hole width:5in`, "heddle", true, "", func(l *class.Loom) {
				l.Kind, l.Rightmost, l.Width, l.Units = class.RigidHeddle, class.Hole, 5*measure.Inch, measure.Imperial
			}},
			{"loom rightmost:shaft1", "", false, "conflict", nil},
			{`loom kind:"table loom"`, "heddle", true, "", func(l *class.Loom) { l.Kind, l.Rightmost = class.TableLoom, "" }},
		}},
		{"a bare heddle from someone in centimetres", []turn{
			{"loom width:38cm heddle:40", "", false, "bad_value", nil},
			{"loom width:38cm", "kind", true, "", func(l *class.Loom) { l.Width, l.Units = 38*measure.Centimetre, measure.Metric }},
			{"loom heddle:10", "", false, "bad_value", nil},
			{"loom heddle:40/10cm", "kind", true, "", func(l *class.Loom) { l.Heddle = 40 * measure.PerDecimetre }},
			{"loom ends:97", "", false, "conflict", nil},
			{"loom ends:152", "kind", true, "", func(l *class.Loom) { l.Ends = 152 }},
		}},
		{"a heddle of 10 is by the inch whatever the width is in", []turn{
			{"loom width:38cm heddle:10", "kind", true, "", func(l *class.Loom) {
				l.Width, l.Heddle, l.Units = 38*measure.Centimetre, 10*measure.PerInch, measure.Metric
			}},
		}},
		{"units said in the line are those of its bare numbers", []turn{
			{"loom width:15in", "kind", true, "", func(l *class.Loom) { l.Width, l.Units = 15*measure.Inch, measure.Imperial }},
			{"loom units:cm width:38", "kind", true, "", func(l *class.Loom) { l.Width, l.Units = 38*measure.Centimetre, measure.Metric }},
			{"loom units:in width:15 heddle:10", "kind", true, "", func(l *class.Loom) {
				l.Width, l.Heddle, l.Units = 15*measure.Inch, 10*measure.PerInch, measure.Imperial
			}},
		}},
		{"feet typed for inches", []turn{
			{"loom width:15.5'", "", false, "out_of_range", nil},
			{`loom width:15.5"`, "kind", true, "", func(l *class.Loom) { l.Width, l.Units = 15.5*measure.Inch, measure.Imperial }},
		}},
		{"a heddle takes the place of a sett", []turn{
			{"loom width:10in sett:20 ends:200", "kind", true, "", func(l *class.Loom) {
				l.Width, l.Sett, l.Ends, l.Units = 10*measure.Inch, 20*measure.PerInch, 200, measure.Imperial
			}},
			{"loom heddle:12", "kind", true, "", func(l *class.Loom) { l.Heddle, l.Sett, l.Ends = 12*measure.PerInch, 0, 0 }},
		}},
		{"all forgotten, or all but what is said with it", []turn{
			{"loom width:10in heddle:10 from:left", "kind", true, "", func(l *class.Loom) {
				l.Width, l.Heddle, l.From, l.Units = 10*measure.Inch, 10*measure.PerInch, "left", measure.Imperial
			}},
			{"loom clear:yes width:50cm", "kind", true, "", func(l *class.Loom) {
				*l = class.Loom{Width: 50 * measure.Centimetre, Units: measure.Metric}
			}},
			{"loom clear:yes", "kind", false, "", func(l *class.Loom) { *l = class.Loom{} }},
		}},
	}
	for _, row := range rows {
		t.Run(row.shows, func(t *testing.T) {
			r := newRoom()
			var want class.Loom
			for _, turn := range row.turns {
				if turn.keep != nil {
					turn.keep(&want)
				}
				turn.check(t, r, want)
			}
		})
	}
}

func unsure(question string) func(*class.Loom) {
	return func(l *class.Loom) { l.Unsure = append(l.Unsure, question) }
}

func (turn turn) check(t *testing.T, r *room, want class.Loom) {
	t.Helper()
	reply := r.say(turn.says)
	code := ""
	if reply.Problem != nil {
		code = string(reply.Problem.Code)
	}
	if code != turn.code {
		t.Fatalf("%q: code %q, want %q: %s", turn.says, code, turn.code, bot.Plain(reply))
	}
	asks := ""
	if reply.Ask != nil {
		data := reply.Data.(loomData)
		asks = *data.Asks
		if (data.Row != nil) != turn.plan {
			t.Errorf("%q: a plan: %v, want %v", turn.says, data.Row != nil, turn.plan)
		}
	}
	if asks != turn.asks {
		t.Errorf("%q: asks %q, want %q", turn.says, asks, turn.asks)
	}
	got := r.looms.kept[bot.Account{Chat: "test", User: "she"}]
	if !same(got, want) {
		t.Errorf("%q: kept %+v, want %+v", turn.says, got, want)
	}
}

// TestButtonsAreRight: the line behind each button is answered, and each usual
// answer can be typed as the button says it.
func TestButtonsAreRight(t *testing.T) {
	pressed := 0
	for _, lines := range conversations {
		r := newRoom()
		for i, line := range lines {
			for _, b := range r.say(line).Buttons {
				again := newRoom()
				for _, before := range lines[:i+1] {
					again.say(before)
				}
				pressed++
				if p := again.say(b.Line).Problem; p != nil {
					t.Errorf("after %q, the button %q runs %q: %s", line, b.Label, b.Line, p.Sentence())
				}
			}
		}
	}
	if pressed < 60 {
		t.Errorf("only %d buttons pressed", pressed)
	}
}

// TestLabelsAreAnswers: typing what a button says does what pressing it does.
func TestLabelsAreAnswers(t *testing.T) {
	lines := []string{"loom", "rigid heddle", "15in", "10", "150", "hole", "left"}
	typed := 0
	for i := range lines {
		asked := newRoom()
		var reply bot.Reply
		for _, line := range lines[:i+1] {
			reply = asked.say(line)
		}
		for _, b := range reply.Buttons {
			byButton, byWords := newRoom(), newRoom()
			for _, line := range lines[:i+1] {
				byButton.say(line)
				byWords.say(line)
			}
			byButton.say(b.Line)
			if p := byWords.say(b.Label).Problem; p != nil {
				t.Errorf("%q: %s", b.Label, p.Sentence())
			}
			typed++
			she := bot.Account{Chat: "test", User: "she"}
			if one, two := byButton.looms.kept[she], byWords.looms.kept[she]; !same(one, two) {
				t.Errorf("%q makes %+v, its button %+v", b.Label, two, one)
			}
		}
	}
	if typed < 15 {
		t.Errorf("only %d labels typed", typed)
	}
}

// TestMiscountExample: the heddle that would make ends and width agree is shown,
// and is taken.
func TestMiscountExample(t *testing.T) {
	rows := []struct {
		shows     string
		lines     []string
		says, try string
	}{
		{"ends and width at once", nil, "loom ends:152 width:38cm heddle:10.5", "loom ends:152 heddle:40/10cm"},
		{"a heddle misread before", []string{"loom width:38cm", "loom heddle:30/10cm"}, "loom ends:152", "loom ends:152 heddle:40/10cm"},
		{"in inches", []string{"loom width:15in heddle:12"}, "loom ends:150", "loom ends:150 heddle:10"},
		{"no heddle would do", []string{"loom width:15in heddle:12"}, "loom ends:97", `loom ends:97 width:"8 1/8 in"`},
	}
	for _, row := range rows {
		r := newRoom()
		for _, line := range row.lines {
			r.say(line)
		}
		p := r.say(row.says).Problem
		if p == nil || p.Hint != row.try || !strings.Contains(p.Message, "heddle again") {
			t.Errorf("%s: %+v, want %q", row.shows, p, row.try)
		}
	}
}

// TestShortPlan: while questions are open the plan is short and the question
// last; once all is known, or all was told at once, it is whole.
func TestShortPlan(t *testing.T) {
	rows := []struct {
		shows, line string
		whole       bool
	}{
		{"the width alone", "loom width:15in", false},
		{"all but the side", `loom kind:"rigid heddle" width:15in heddle:10 ends:150 rightmost:hole`, false},
		{"all in one line but the count", `loom kind:"rigid heddle" width:15in heddle:10 rightmost:hole from:right`, true},
		{"all", `loom kind:"rigid heddle" width:15in heddle:10 ends:150 rightmost:hole from:right`, true},
	}
	for _, row := range rows {
		text := newRoom().answer(t, row.line)
		if !strings.Contains(text, "Row 1, from the right: ") || !strings.Contains(text, "Counted from the right: ") {
			t.Errorf("%s: no plan in %s", row.shows, text)
		}
		whole := strings.Contains(text, "How to read a move\n") && strings.Contains(text, "Around the rows") && strings.Contains(text, "Proven: ")
		brief := strings.Contains(text, "the plan in short")
		if whole != row.whole || brief == row.whole {
			t.Errorf("%s: whole %v, brief %v", row.shows, whole, brief)
		}
	}
}

// TestNoCountIsOffered: the number worked out from her width is no count of hers.
func TestNoCountIsOffered(t *testing.T) {
	reply := newRoom().say(`loom kind:"rigid heddle" width:15in heddle:10`)
	if len(reply.Buttons) != 1 || reply.Buttons[0].Line != "loom unsure:ends" {
		t.Errorf("%+v", reply.Buttons)
	}
}

// TestAskedOnlyOnce: a question that was answered, or answered with "I don't
// know", is not asked again.
func TestAskedOnlyOnce(t *testing.T) {
	r := newRoom()
	reply := r.say("loom width:15in")
	var asked []string
	for reply.Ask != nil {
		asks := *reply.Data.(loomData).Asks
		if slices.Contains(asked, asks) {
			t.Fatalf("%s is asked twice: %q", asks, asked)
		}
		asked = append(asked, asks)
		reply = r.say("I don't know")
	}
	if want := []string{"kind", "heddle", "ends", "rightmost", "from"}; !slices.Equal(asked, want) {
		t.Errorf("asked %q, want %q", asked, want)
	}
}
