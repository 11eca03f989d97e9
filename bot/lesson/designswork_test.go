package lesson_test

import (
	"strings"
	"testing"

	"weftroom/bot"
)

// TestWorkIsNotReplaced: what a session to come is about stays what the teacher
// chose, whoever shared it.
func TestWorkIsNotReplaced(t *testing.T) {
	s := classOfDesigns(t)
	s.play("yori@dm> motif text:I name:el", "yori@dm> designs share:el", "maren@room> session work next design:el", "yori@dm> motif text:L")
	for _, line := range []string{"designs keep:el", "designs keep:el sure:yes"} {
		if got := s.do("yori@dm> " + line); !strings.Contains(got, "is the work of session 1") {
			t.Errorf("%s: %s", line, got)
		}
	}
	d, err := s.db.Design(t.Context(), bot.Account{Chat: home, User: "yori"}, "", "el")
	if err != nil {
		t.Fatal(err)
	}
	s.play("maren@room> session work next design:" + string(d.ID)) // as a chat without buttons writes it out
	if got := s.do("yori@dm> designs unshare:el"); !strings.Contains(got, "is the work of session 1") {
		t.Errorf("named by its id: %s", got)
	}
	s.play("maren@room> session work next raised:3", "yori@dm> designs keep:el sure:yes")
	s.do("rae@dm> row design:el ends:48 heddle:10")
	if got := s.reply.Data; got == nil || s.reply.Problem != nil {
		t.Errorf("when it is no work any more: %+v", s.reply.Problem)
	}
}

// TestSharedWithOneClass: a design that goes to another class is missed in the
// first, so this is refused where it is work there, and told where it is not.
func TestSharedWithOneClass(t *testing.T) {
	s := classOfDesigns(t)
	s.do("@room hall")
	s.play("maren@hall> class open name:Knots zone:Berlin", "maren@room> motif text:I name:el ends:48", "maren@room> designs share:el session:next")
	if got := s.do("maren@hall> designs share:el"); !strings.Contains(got, "is the work of session 1") {
		t.Errorf("as it is work of the first: %s", got)
	}
	s.play("maren@room> session work next raised:3", "maren@hall> session add \"2026-12-02 19:00\" topic:Knots")
	if got := s.do("maren@hall> designs share:el session:next"); !strings.Contains(got, "the class Lace has it no more") {
		t.Errorf("to the other: %s", got)
	}
	if got := s.do("maren@hall> designs share:el"); strings.Contains(got, "no more") {
		t.Errorf("once more: %s", got)
	}
}

// TestWorkOfAnothersDesign: a teacher who has a design of the name herself reads
// that the class gets another.
func TestWorkOfAnothersDesign(t *testing.T) {
	s := classOfDesigns(t)
	s.play("yori@dm> motif text:I name:leaf", "yori@dm> designs share:leaf")
	if got := s.do("maren@room> session work next design:leaf"); strings.Contains(got, "not yours") {
		t.Errorf("without one of her own: %s", got)
	}
	s.play("maren@room> motif text:L name:Leaf ends:48")
	if got := s.do("maren@room> session work next design:leaf"); !strings.Contains(got, "made by Yori, and not yours") {
		t.Errorf("with one of her own: %s", got)
	}
	if got := s.do("maren@room> designs share:leaf"); !strings.Contains(got, `motif design:Leaf name:"Leaf 2"`) {
		t.Errorf("the way out: %s", got)
	}
	s.play(`maren@room> motif design:Leaf name:"Leaf 2" ends:48`, `maren@room> designs share:"leaf 2" session:next`)
}

// classOfDesigns is a class with a teacher, two students and a session to come.
func classOfDesigns(t *testing.T) *stage {
	t.Helper()
	s := newStage(t)
	s.do("@power maren")
	s.play(
		"maren@room> class open name:Lace zone:Berlin", "yori@room> join", "rae@room> join",
		"yori@dm> loom ends:48 heddle:10 rightmost:hole", `maren@room> session add "2026-12-01 19:00" topic:Letters`)
	return s
}

// TestPictureOfAskedRows: that a picture keeps its shape is said where it does.
func TestPictureOfAskedRows(t *testing.T) {
	s := classOfDesigns(t)
	for _, row := range []struct{ ask, says, not string }{
		{"motif", "rows keep the picture's shape", "whatever its shape"},
		{"motif rows:2", "whatever its shape", "rows keep the picture's shape"},
		{"motif rows:2 way:two", "whatever its shape", "rows keep the picture's shape"},
	} {
		s.do("@send leaf.png")
		got := s.do("yori@dm> " + row.ask)
		got = strings.Join(strings.Fields(got), " ")
		if !strings.Contains(got, row.says) || strings.Contains(got, row.not) {
			t.Errorf("%s: %s", row.ask, got)
		}
		_, after, found := strings.Cut(got, "whatever its shape; ")
		if !found {
			continue
		}
		rows, _, _ := strings.Cut(after, " ")
		s.do("@send leaf.png")
		again := s.do("yori@dm> " + strings.Replace(row.ask, "rows:2", rows, 1))
		if again = strings.Join(strings.Fields(again), " "); !strings.Contains(again, row.not) {
			t.Errorf("%s instead of rows:2: %s", rows, again)
		}
	}
}

// TestReplanOfADesign: who weaves a design, her own or the evening's, is told how
// to have it laid out on fewer ends, and can do so.
func TestReplanOfADesign(t *testing.T) {
	s := classOfDesigns(t)
	s.play("maren@room> motif text:I name:tall ends:97", "maren@room> designs share:tall session:next")
	for _, begin := range []string{"start", "start design:tall again:yes"} {
		s.play("yori@dm> " + begin)
		got := s.do("yori@dm> replan ends:16")
		if !strings.Contains(got, "on 16 ends there is no room for the rows") {
			t.Fatalf("%s: %s", begin, got)
		}
		s.play("yori@dm> " + s.reply.Problem.Hint)
	}
	s.play("yori@dm> start groups:\"12 12\" work:none ends:48 again:yes")
	if got := s.do("yori@dm> replan ends:16"); !strings.Contains(got, "groups: row 1 needs 24 raised ends") {
		t.Errorf("of listed groups: %s", got)
	}
}
