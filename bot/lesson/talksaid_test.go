package lesson

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weftroom/bot"
)

// notInTalks are sentences that no talk can bring about, and why.
var notInTalks = map[string]string{
	"people.nothing_kept":     "TestMembersWithoutADatabase",
	"timetable.text":          "the dispatcher refuses such a line before",
	"reminder.minutes.one":    "the least is five minutes",
	"designs.many":            "TestDesignsAreBounded",
	"design.across_apart.one": "TestOnePlainPlaceIsSaid",
	"designs.crowd":           "TestSharedDesignsAreBounded",
	"post.note":               "no post to a member alone is about no session yet",
}

// TestTalksSayEverySentence looks for the longest piece without a verb of each
// sentence about a class in what the talks show, so that somebody has read it as
// the person who gets it.
func TestTalksSayEverySentence(t *testing.T) {
	files, err := filepath.Glob("testdata/talk/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatalf("no talks: %v", err)
	}
	var shown strings.Builder
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(raw)) {
			if strings.HasPrefix(line, "  ") || line == "\n" {
				shown.WriteString(line)
			}
		}
	}
	text := unwrapped(shown.String())
	for _, part := range []bot.Texts{englishTimes, englishClass, englishClassCommands, englishSession, englishSessionCommands, englishPosts, englishPeople, englishPeopleCommands, englishDesign} {
		for key, format := range part {
			longest := ""
			for _, piece := range verb.Split(format, -1) {
				if piece = unwrapped(piece); len(piece) > len(longest) {
					longest = piece
				}
			}
			said := strings.Contains(text, longest)
			if _, never := notInTalks[string(key)]; said == never {
				t.Errorf("%s: said %v: %q", key, said, longest)
			}
		}
	}
}
