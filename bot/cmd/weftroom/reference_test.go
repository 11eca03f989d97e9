package main

import (
	"strings"
	"testing"

	"weftroom/bot"
)

// The README's list of commands stands between these marks.
const (
	referenceBegins = "<!-- commands, from the code -->\n"
	referenceEnds   = "<!-- end of commands -->\n"
)

// withReference puts a fresh list of commands, made of what help answers, into
// the README.
func withReference(t *testing.T, readme string) string {
	before, rest, ok := strings.Cut(readme, referenceBegins)
	_, after, ended := strings.Cut(rest, referenceEnds)
	if !ok || !ended {
		t.Fatalf("README.md: the marks of the list of commands are missing: %q and %q", referenceBegins, referenceEnds)
	}
	var b strings.Builder
	for _, c := range readmeDispatcher().Commands() {
		b.WriteString("\n<details><summary><code>" + c.Name + "</code>: " + summaryOf(t, c.Name) + "</summary>\n")
		b.WriteString(pageOf(t, c.Name))
		for _, sub := range c.Subs {
			path := c.Name + " " + sub.Name
			b.WriteString("\n**`" + path + "`**: " + summaryOf(t, path) + "\n" + pageOf(t, path))
		}
		b.WriteString("\n</details>\n")
	}
	return before + referenceBegins + b.String() + "\n" + referenceEnds + after
}

func summaryOf(t *testing.T, path string) string {
	p, ok := replyTo(t, "help "+path).Body[0].(bot.Paragraph)
	if !ok {
		t.Fatalf("help %s does not begin with its summary", path)
	}
	return string(p)
}

// pageOf is the rest of a command's page in Markdown.
func pageOf(t *testing.T, path string) string {
	var b strings.Builder
	for _, block := range replyTo(t, "help "+path).Body[1:] {
		switch block := block.(type) {
		case bot.Table:
			if len(block.Head) == 2 { // its subcommands, which have pages of their own
				continue
			}
			b.WriteString("\n| " + strings.Join(block.Head, " | ") + " |\n|" + strings.Repeat("---|", len(block.Head)) + "\n")
			for _, row := range block.Rows {
				b.WriteString("| `" + row[0] + "` | " + strings.ReplaceAll(strings.Join(row[1:], " | "), "<", "&lt;") + " |\n")
			}
		case bot.List:
			b.WriteString("\n    " + strings.Join(block, "\n    ") + "\n")
		case bot.Paragraph:
			b.WriteString("\n" + string(block) + "\n")
		}
	}
	return b.String()
}
