package lesson_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
)

// TestStepsTakeThePlaceOfTheirQuestion: what answers a question of the assistant
// may replace it, and nothing else may.
func TestStepsTakeThePlaceOfTheirQuestion(t *testing.T) {
	s := newStage(t)
	s.play("@power maren", `maren@room> class open "Tarnholm lace" zone:Berlin`, "@member yori", "@member teodor", `maren@room> session add "1 dec 19:00" weekly:6`, "yori@room> question Why?")
	for _, row := range []struct {
		line string
		want bool
	}{
		{"yori@room> loom", false}, // from under the answer to join
		{"yori@room> loom kind:rigid", true},
		{"yori@room> loom unsure:width", true},
		{"yori@room> loom width:15in", true},
		{"yori@room> loom clear:yes", false},
		{"yori@room> when", false},
		{"yori@room> when all:yes", true},
		{"yori@room> coming session:1", false}, // from under a post
		{"yori@room> away session:1", false},
		{"maren@room> questions", false},
		{"maren@room> questions done:1", false}, // what students ask is told her alone
		{`maren@room> say text:"Bring a comb"`, false},
		{`maren@room> say sure:yes text:"Bring a comb"`, true},
		{"yori@dm> settings", false},
		{"yori@dm> settings zone:Lisbon", false},
		{`yori@dm> settings class:"Tarnholm lace"`, true},
		{"teodor@room> leave", false},
		{"teodor@room> leave sure:yes", true},
		{"teodor@room> forget sure:yes", true},
		{"maren@room> class close sure:yes", false}, // the whole room is told
		{"yori@room> loom ends:few", false},         // a mistake is said below
		{"yori@room> settings answers:direct", false},
		{"yori@room> loom width:16in", false}, // she is answered elsewhere
	} {
		s.do(row.line)
		if s.reply.Instead != row.want {
			t.Errorf("%s: %v", row.line, s.reply.Instead)
		}
	}
}

// TestFormFields: a question that is answered with a number brings those like it
// that are open, and each is an argument of the line.
func TestFormFields(t *testing.T) {
	for _, row := range []struct {
		shows string
		said  []string
		want  []string
	}{
		{"a choice is no field", nil, nil},
		{"all that is typed", []string{"kind:rigid"}, []string{"width", "heddle", "ends"}},
		{"on shafts the sett", []string{"kind:floor"}, []string{"width", "sett", "ends"}},
		{"not what is known", []string{"kind:rigid heddle:10"}, []string{"width", "ends"}},
		{"not what she does not know", []string{"kind:rigid", "unsure:ends"}, []string{"width", "heddle"}},
		{"the last alone", []string{"kind:rigid width:15in heddle:10"}, []string{"ends"}},
		{"then choices again", []string{"kind:rigid ends:97 heddle:10"}, nil},
	} {
		s := newStage(t)
		s.do("yori@dm> loom")
		for _, said := range row.said {
			s.do("yori@dm> loom " + said)
		}
		if s.reply.Ask == nil {
			t.Fatalf("%s: nothing is asked", row.shows)
		}
		if diff := cmp.Diff(row.want, s.reply.Ask.Fields); diff != "" {
			t.Errorf("%s:\n%s", row.shows, diff)
		}
		if f := s.reply.Ask.Fields; len(f) > 0 && s.reply.Ask.Line != "loom "+f[0]+":" {
			t.Errorf("%s: %q begins with another argument than %q", row.shows, s.reply.Ask.Line, f)
		}
	}
}

// TestAFormIsAnsweredAsAWhole: what a form sends is one structured request, in
// which fields may be left empty.
func TestAFormIsAnsweredAsAWhole(t *testing.T) {
	s := newStage(t)
	s.do("yori@dm> loom kind:rigid")
	r := s.last
	r.ID, r.Line, r.Command, r.Values = "form", "", "loom", map[string]string{"width": "15in", "heddle": "10", "ends": " "}
	s.answered(r)
	if s.reply.Problem != nil || s.reply.Ask == nil || s.reply.Ask.Line != "loom ends:" || !s.reply.Instead {
		t.Errorf("%+v asks %+v", s.reply.Problem, s.reply.Ask)
	}
	if len(s.reply.Buttons) == 0 || s.reply.Audience != bot.Personal {
		t.Errorf("%+v", s.reply)
	}
}
