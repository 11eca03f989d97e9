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
	whole := withReference(t, fresh)
	if !*update && whole != fresh {
		t.Error("README.md: the list of commands is out of date; make docs rewrites it")
	}
	if *update {
		if err := os.WriteFile(readme, []byte(whole), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// readmeDispatcher answers as the README shows it: to a teacher of whom nothing
// is kept.
func readmeDispatcher() *bot.Dispatcher {
	m := store.NewMemory()
	desk := &lesson.Desk{Store: class.Bare{Looms: m}, Now: time.Now}
	return bot.NewDispatcher(lesson.Commands(desk), m, lesson.English(), slog.New(slog.DiscardHandler))
}

func replyTo(t *testing.T, line string) bot.Reply {
	r := readmeDispatcher().Handle(context.Background(), bot.Request{ID: "readme", Role: bot.Teacher, Direct: true, Line: line})
	if r.Problem != nil && r.Problem.Code == bot.Internal {
		t.Fatalf("%q: %s", line, r.Problem.Sentence())
	}
	return r
}

func answerTo(t *testing.T, line string) string { return bot.Plain(replyTo(t, line)) }

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
