package lesson_test

import (
	"strconv"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
)

// TestDesignsAreBounded: nobody fills the database with designs.
func TestDesignsAreBounded(t *testing.T) {
	s := newStage(t)
	s.do("maya@dm> loom ends:24 heddle:10")
	for i := range class.MostDesigns {
		s.do("maya@dm> motif text:I name:star" + strconv.Itoa(i))
		if s.reply.Problem != nil {
			t.Fatalf("design %d: %s", i+1, s.reply.Problem.Sentence())
		}
	}
	if got := s.do("maya@dm> motif text:I name:one-more"); !strings.Contains(got, "as many as I keep for one person") {
		t.Errorf("one more: %s", got)
	}
	if got := s.do("maya@dm> motif text:L name:star1"); !strings.Contains(got, "another design under the name") {
		t.Errorf("another of a name: %s", got)
	}
	s.do("maya@dm> motif text:V")
	if got := s.do("maya@dm> designs keep:one-more"); !strings.Contains(got, "as many as I keep for one person") {
		t.Errorf("the last one kept: %s", got)
	}
	s.do("maya@dm> designs drop:star1 sure:yes")
	s.do("maya@dm> designs keep:one-more") // that she has a last one as well takes no place
	if s.reply.Problem != nil {
		t.Errorf("when one is gone: %s", s.reply.Problem.Sentence())
	}
}

// TestSharedDesignsAreBounded: the members of a class can fill its list so far and
// no further.
func TestSharedDesignsAreBounded(t *testing.T) {
	s := classOfDesigns(t)
	k, err := s.db.ClassIn(t.Context(), room)
	if err != nil {
		t.Fatal(err)
	}
	for i := range class.MostShared {
		d, err := s.db.KeepDesign(t.Context(), bot.Account{Chat: home, User: []string{"yori", "rae"}[i%2]}, class.Design{Name: "star" + strconv.Itoa(i), Asked: "text:I"})
		if err == nil {
			err = s.db.ShareDesign(t.Context(), d.ID, k.ID)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	s.play("maren@dm> motif text:I name:one-more ends:48")
	if got := s.do("maren@dm> designs share:one-more"); !strings.Contains(got, "as many as I keep for one class") {
		t.Errorf("one more: %s", got)
	}
	s.play("yori@dm> designs share:star0", "yori@dm> designs unshare:star0", "maren@dm> designs share:one-more")
}

// TestALeaderTakesNothingFromItsMaker: what the teacher takes away from the class
// its maker still has, whichever way she says it.
func TestALeaderTakesNothingFromItsMaker(t *testing.T) {
	s := classOfDesigns(t)
	s.play("yori@dm> motif text:I name:el")
	for _, doing := range []string{"unshare:el", "drop:el", "drop:el sure:yes"} {
		s.play("yori@dm> designs share:el")
		if got := s.do("maren@dm> designs " + doing); !strings.Contains(got, "The class shares “el” no more; whoever made it keeps it") {
			t.Errorf("%s: %s", doing, got)
		}
		s.do("rae@dm> motif design:el ends:48")
		if s.reply.Problem == nil {
			t.Errorf("%s: the class still has it", doing)
		}
		s.play("yori@dm> motif design:el")
	}
}

// TestTheLastIsTheOneAskedForLast, also where she had asked for it before.
func TestTheLastIsTheOneAskedForLast(t *testing.T) {
	s := newStage(t)
	s.play("maya@dm> loom ends:24 heddle:10", "maya@dm> motif text:I", "maya@dm> motif text:L name:el", "maya@dm> motif design:last")
	if !strings.HasPrefix(s.reply.Title, "“el”") {
		t.Errorf("after el: %s", s.reply.Title)
	}
	s.play("maya@dm> motif text:I", "maya@dm> motif design:last")
	if !strings.HasPrefix(s.reply.Title, "“I”") {
		t.Errorf("after I once more: %s", s.reply.Title)
	}
}
