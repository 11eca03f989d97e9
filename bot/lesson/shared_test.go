package lesson_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"weftroom/bot"
)

// TestNoSharedAnswerHoldsALink asks whatever changes nothing as a teacher, a
// student and a stranger who show the answer to everyone in the room, and looks
// for the link of a session in all that a chat may show. That the same is told
// to members alone says that the test can fail.
func TestNoSharedAnswerHoldsALink(t *testing.T) {
	s := newStage(t)
	for _, line := range []string{
		"@power maren", `maren@room> class open name:"Lace of Tarnholm" zone:Berlin`, "@member yori", "@zone yori Asia/Tokyo",
		`maren@dm> session add "2026-12-01 19:00" link:` + secretLink, "yori@dm> coming", "yori@dm> loom width:15in heddle:10 ends:150 from:right rightmost:hole",
		"maren@dm> session work 1 row:\"raised:3\"", "yori@dm> question Which shed?",
	} {
		if said := s.do(line); s.reply.Problem != nil && !strings.Contains(line, "work") {
			t.Fatalf("%s: %s", line, said)
		}
	}
	told := map[string]int{}
	for _, line := range unchanging("", s.dispatcher.Commands()) {
		for _, who := range []string{"maren", "yori", "wilke"} {
			for _, shared := range []bool{true, false} {
				s.asked++
				r := s.dispatcher.Handle(t.Context(), bot.Request{
					ID: fmt.Sprint("shared-", s.asked), From: bot.Account{Chat: home, User: who}, In: bot.Place{Chat: home, Room: "room"},
					Name: who, Line: line, Apart: true, Shared: shared, At: s.now.Now(),
				})
				holds := strings.Contains(everythingOf(t, r), secretLink)
				switch {
				case holds && shared && r.Audience != bot.Direct:
					t.Errorf("%s shows to all, with %q:\n%s", who, line, bot.Plain(r))
				case holds:
					told[who]++
				}
			}
		}
	}
	if told["maren"] < 2 || told["yori"] < 1 || told["wilke"] > 0 {
		t.Errorf("alone, the link was told %v times", told)
	}
}

// unchanging are lines of all commands that change nothing: bare, and as their
// examples say.
func unchanging(before string, commands []*bot.Command) (lines []string) {
	for _, c := range commands {
		path := strings.TrimSpace(before + " " + c.Name)
		if len(c.Subs) > 0 {
			lines = append(lines, unchanging(path, c.Subs)...)
		} else if !c.Changes {
			lines = append(append(lines, path), c.Examples...)
		}
	}
	return lines
}

// everythingOf is all of an answer that a chat may show or keep.
func everythingOf(t *testing.T, r bot.Reply) string {
	t.Helper()
	var b strings.Builder
	b.WriteString(bot.Plain(r))
	for _, block := range r.Body {
		if p, ok := block.(bot.Picture); ok {
			b.WriteString(p.Alt + " " + p.Name)
		}
	}
	for _, f := range r.Files {
		b.WriteString(f.Name + " " + f.Alt + " " + strings.ReplaceAll(string(f.Bytes), "\r\n ", "")) // unfolded
	}
	rest, err := json.Marshal([]any{r.Buttons, r.Ask, r.Moments, r.Events, r.Problem})
	if err != nil {
		t.Fatal(err)
	}
	return b.String() + string(rest)
}
