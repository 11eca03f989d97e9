package discord

import (
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/bot"
)

func plainChat() *Chat { return &Chat{o: Options{Texts: texts, Log: slog.New(slog.DiscardHandler)}} }

func contents(messages []message) []string {
	var out []string
	for _, m := range messages {
		out = append(out, m.content)
	}
	return out
}

func TestRender(t *testing.T) {
	at := time.Unix(1_796_148_000, 0)
	for _, c := range []struct {
		name  string
		reply bot.Reply
		want  string
	}{
		{"a title alone is a sentence", bot.Reply{Title: "Noted: 15 in"}, "Noted: 15 in"},
		{
			"a title over more is a heading",
			bot.Reply{Title: "Your row", Body: []bot.Block{bot.Paragraph("One.\nTwo."), bot.Heading("Then"), bot.List{"a", "b"}}},
			"### Your row\nOne.\nTwo.\n\n**Then**\n- a\n- b",
		},
		{
			"steps with their short forms",
			bot.Reply{Body: []bot.Block{bot.Steps{{Label: "1", Text: "heddle up", Short: "← 3 ▲"}, {Label: "2–5", Text: "then"}, {Text: "last"}}}},
			"**1** heddle up `← 3 ▲`\n**2–5** then\nlast",
		},
		{
			"a narrow table in columns",
			bot.Reply{Body: []bot.Block{bot.Table{Head: []string{"what", "how many"}, Rows: [][]string{{"ends", "97"}, {"rows", "7"}}, Numbers: []bool{false, true}}}},
			"```\nwhat  how many\n──────────────\nends        97\nrows         7\n```",
		},
		{
			"a wide table row by row",
			bot.Reply{Body: []bot.Block{bot.Table{
				Head: []string{"command", "takes", "what"}, Rows: [][]string{{"row", "", "a row of lace, laid out on your own warp"}, {"loom", "a width", "your loom"}},
			}}},
			"- **row** · what: a row of lace, laid out on your own warp\n- **loom** · takes: a width · what: your loom",
		},
		{
			"a wide table of two columns needs no head",
			bot.Reply{Body: []bot.Block{bot.Table{Head: []string{"command", "what it does"}, Rows: [][]string{{"row", "a row of lace, laid out on your own warp"}}}}},
			"- **row**: a row of lace, laid out on your own warp",
		},
		{
			"an instant by the reader's clock, behind the class's",
			bot.Reply{Title: "We meet on Tue 1 Dec, 19:00 (Berlin)", Moments: []bot.Moment{{Text: "Tue 1 Dec, 19:00 (Berlin)", At: at}}},
			"We meet on Tue 1 Dec, 19:00 (Berlin) → <t:1796148000:F> (<t:1796148000:R>)",
		},
		{
			"an instant in a table that would fit columns",
			bot.Reply{Body: []bot.Block{bot.Table{Head: []string{"no", "when"}, Rows: [][]string{{"1", "Tue 19:00"}}, Numbers: []bool{true}}}, Moments: []bot.Moment{{Text: "Tue 19:00", At: at}}},
			"- no: 1 · when: Tue 19:00 → <t:1796148000:F> (<t:1796148000:R>)",
		},
		{"a problem without an example", bot.Reply{Problem: &bot.Problem{Message: "that *cannot* be"}}, `that \*cannot\* be.`},
		{"a problem whose example has marks", bot.Reply{Problem: &bot.Problem{Message: "so", Hint: "say `x`"}}, "so, for example `say ˋxˋ`."},
		{"what users wrote", bot.Reply{Title: "@everyone **Maren** asks <@1>"}, `\@everyone \*\*Maren\*\* asks \<\@1\>`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if diff := cmp.Diff([]string{c.want}, contents(plainChat().render(c.reply, ""))); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestStepsAreNotCut: a long plan ends each message after a step, and says which
// part it is.
func TestStepsAreNotCut(t *testing.T) {
	var steps bot.Steps
	for n := range 60 {
		steps = append(steps, bot.Step{Label: fmt.Sprint(n + 1), Text: strings.Repeat("under three, over two, ", 3) + "done.", Short: "← 3 ▲"})
	}
	messages := contents(plainChat().render(bot.Reply{Title: "Long", Body: []bot.Block{steps}}, ""))
	if len(messages) < 2 || len(messages) > mostMessages {
		t.Fatalf("%d messages", len(messages))
	}
	for n, m := range messages {
		body, part, _ := strings.Cut(m, "\n-# ")
		if part != fmt.Sprintf("part %d of %d", n+1, len(messages)) || size(m) > maxContent || !strings.HasSuffix(body, "`← 3 ▲`") {
			t.Errorf("message %d has %d letters and ends in %q", n, size(m), m[max(len(m)-60, 0):])
		}
	}
}

func TestAVeryLongReplyIsFolded(t *testing.T) {
	var steps bot.Steps
	for n := range 400 {
		steps = append(steps, bot.Step{Label: fmt.Sprint(n + 1), Text: "under three, over two", Short: "← 3 ▲"})
	}
	r := bot.Reply{Title: "Long", Body: []bot.Block{steps}, Files: []bot.File{{Name: "plan.pdf", MediaType: "application/pdf", Alt: "the plan", Bytes: []byte("pdf")}}}
	messages := plainChat().render(r, "")
	if len(messages) != 1 || len(messages[0].files) != 2 || size(messages[0].content) > maxContent {
		t.Fatalf("%d messages, the first with %d files", len(messages), len(messages[0].files))
	}
	if f := messages[0].files[0]; string(f.bytes) != bot.Plain(r) || f.name != "answer.txt" || f.alt == "" {
		t.Errorf("the file is %q, %q", f.name, f.alt)
	}
	if !strings.Contains(messages[0].content, "**1** under three") || !strings.HasSuffix(messages[0].content, "answer.txt") {
		t.Errorf("the message is %q", messages[0].content)
	}
}

func TestPictures(t *testing.T) {
	drawn := 0
	r := bot.Reply{Title: "Cloth", Body: []bot.Block{
		bot.Picture{Name: "cloth", Alt: "three eyelets in a row", Draw: func() ([]byte, error) { drawn++; return []byte("png"), nil }},
		bot.Picture{Name: "b", Alt: "words for a picture that fails", Draw: func() ([]byte, error) { return nil, errors.New("no ink") }},
		bot.Picture{Name: "c", Alt: "words for one that panics", Draw: func() ([]byte, error) { panic("no ink") }},
	}}
	messages := plainChat().render(r, "")
	if len(messages) != 1 || drawn != 0 || !messages[0].undrawn() || len(messages[0].payload().Attachments) != 0 {
		t.Fatalf("%d messages, drawn %d times before they are sent", len(messages), drawn)
	}
	p := plainChat().drawn(messages[0]).payload()
	if diff := cmp.Diff([]attachment{{ID: "0", Filename: "cloth.png", Description: "three eyelets in a row"}}, p.Attachments); diff != "" {
		t.Error(diff)
	}
	if !strings.Contains(p.Content, "a picture that fails") || !strings.Contains(p.Content, "one that panics") {
		t.Errorf("the content is %q", p.Content)
	}
}

func TestFilesAreSharedOut(t *testing.T) {
	var files []bot.File
	for n := range 12 {
		files = append(files, bot.File{Name: fmt.Sprintf("%d.txt", n), Bytes: []byte("x")})
	}
	files = append(files, bot.File{Name: "large.pdf", Bytes: make([]byte, maxUpload-5)}, bot.File{Name: "too-large.pdf", Bytes: make([]byte, maxUpload+1)})
	var got []int
	messages := plainChat().render(bot.Reply{Title: "Files", Files: files}, "")
	for _, m := range messages {
		got = append(got, len(m.files))
	}
	if diff := cmp.Diff([]int{10, 3}, got); diff != "" {
		t.Error(diff)
	}
	if all := strings.Join(contents(messages), "\n"); !strings.Contains(all, "more than fits") {
		t.Errorf("nothing is said of the one that is too large: %q", all)
	}
}

// TestNothingIsTooLong: whatever is said, each message fits, and all words of it
// arrive in their order.
func TestNothingIsTooLong(t *testing.T) {
	many := func(word string, most int) *rapid.Generator[string] {
		return rapid.Map(rapid.SliceOfN(rapid.StringMatching(word), 0, most), func(w []string) string { return strings.Join(w, "") })
	}
	text := rapid.OneOf(rapid.String(), rapid.Just(strings.Repeat("a_word*of <@marks> ", 120)), rapid.Just(strings.Repeat("*", 2500)), many(`[a-z*_<@:]{1,12}[ \n]`, 200), many(`[a-z*]{9}`, 200))
	rapid.Check(t, func(t *rapid.T) {
		paragraph, item, step := text.Draw(t, "paragraph"), text.Draw(t, "item"), text.Draw(t, "step")
		r := bot.Reply{Title: text.Draw(t, "title"), Body: []bot.Block{
			bot.Paragraph(paragraph), bot.List{item}, bot.Table{Rows: [][]string{{text.Draw(t, "cell"), "x"}}}, bot.Steps{{Label: "1", Text: step, Short: "s"}},
		}}
		long := bot.Reply{
			Title: paragraph, Problem: &bot.Problem{Message: paragraph, Hint: item},
			Body: []bot.Block{bot.Steps{{Label: paragraph, Text: item, Short: step}}, bot.Table{Head: []string{item, "x", "y"}, Rows: [][]string{{paragraph, step, item}}}},
		}
		rest := plainChat().render(long, "")
		long.Problem = nil
		for _, m := range append(rest, plainChat().render(long, "")...) {
			if size(m.content) > maxContent {
				t.Fatalf("a message of %d letters", size(m.content))
			}
		}
		messages := plainChat().render(r, "")
		letters := ""
		for _, m := range messages {
			if size(m.content) > maxContent || len(m.files) > maxFiles {
				t.Fatalf("a message of %d letters", size(m.content))
			}
			letters += bare(read(m.content).text)
		}
		if len(messages) == 1 && len(messages[0].files) == 1 {
			return // folded; the file is bot.Plain's
		}
		for _, said := range []string{paragraph, item, step} {
			if want := bare(clean(said)); len(messages) == 1 && !strings.Contains(letters, want) {
				t.Fatalf("%q is not in %q", want, letters)
			}
		}
	})
}

// bare is a text without blanks.
func bare(s string) string { return strings.Join(strings.Fields(s), "") }
