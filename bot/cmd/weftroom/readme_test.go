package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
)

// shown is a place in the README whose text comes from the code: the comment
// names a command line, the fenced block after it is its answer. "N lines of"
// before the line keeps the first N lines.
var shown = regexp.MustCompile("(?s)<!-- (?:(\\d+) lines of )?ask: (.+?) -->\n```text\n(.*?)```\n")

const readme = top + "/README.md"

// TestReadme holds the README to what the commands really answer.
func TestReadme(t *testing.T) {
	raw, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	places := 0
	fresh := shown.ReplaceAllStringFunc(string(raw), func(place string) string {
		places++
		m := shown.FindStringSubmatch(place)
		want := firstLines(answerTo(t, m[2]), m[1])
		if !*update && m[3] != want {
			t.Errorf("README.md: the answer to %q is out of date; make docs rewrites it", m[2])
		}
		return strings.TrimSuffix(place, m[3]+"```\n") + want + "```\n"
	})
	if places < 8 {
		t.Fatalf("only %d answers in the README: the test looks for the wrong marks", places)
	}
	if *update {
		if err := os.WriteFile(readme, []byte(fresh), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range lesson.Commands(&lesson.Desk{Store: class.Bare{Looms: store.NewMemory()}}) {
		if !strings.Contains(fresh, "<!-- ask: help "+c.Name+" -->") && c.Name != "help" {
			t.Errorf("README.md does not show help %s", c.Name)
		}
	}
}

func answerTo(t *testing.T, line string) string {
	m := store.NewMemory()
	d := bot.NewDispatcher(lesson.Commands(&lesson.Desk{Store: class.Bare{Looms: m}, Now: time.Now}), m, lesson.English(), slog.New(slog.DiscardHandler))
	r := d.Handle(context.Background(), bot.Request{ID: "readme", Role: bot.Teacher, Direct: true, Line: line})
	if r.Problem != nil && r.Problem.Code == bot.Internal {
		t.Fatalf("%q: %s", line, r.Problem.Sentence())
	}
	return bot.Plain(r)
}

func firstLines(text, n string) string {
	if n == "" {
		return text
	}
	count := 0
	fmt.Sscan(n, &count)
	lines := strings.SplitAfter(text, "\n")
	if len(lines) <= count {
		return text
	}
	return strings.Join(lines[:count], "") + "…\n"
}
