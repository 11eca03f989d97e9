package lesson_test

import (
	"strconv"
	"strings"
	"testing"

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
	s.do("maya@dm> designs drop:star1 sure:yes")
	s.do("maya@dm> motif text:I name:one-more")
	if s.reply.Problem != nil {
		t.Errorf("when one is gone: %s", s.reply.Problem.Sentence())
	}
}
