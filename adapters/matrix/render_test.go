package matrix

import (
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/bot"
	"weftroom/calc"
)

// spoken are the sentences that the tests of rendering need.
var spoken = bot.Texts{
	bot.KeyPart: "part %d of %d", bot.KeyPress: "%s for: %s", bot.KeyCut: "There is more.", bot.KeyWornOut: "It's worn out.",
	bot.KeyNotYours: "That is hers.",
}

// declared are commands of which one changes something.
var declared = []*bot.Command{
	{Name: "row", Aliases: []string{"plan"}, Params: []bot.Param{{Name: "ends", Kind: bot.Count, First: true}}},
	{Name: "loom", Changes: true},
	{Name: "trace", Params: []bot.Param{{Name: "picture", Kind: bot.Enclosed, Required: true}, {Name: "cell", Kind: bot.Count}}},
	{Name: "class", Subs: []*bot.Command{{Name: "open", Changes: true}}},
	{Name: "say", Changes: true, Params: []bot.Param{{Name: "text", Kind: bot.LongText, First: true}, {Name: "every", Kind: bot.Words}}},
}

func rendering() renderer {
	return renderer{texts: spoken, commands: declared, begins: "!"}
}

func TestParts(t *testing.T) {
	for _, c := range []struct {
		name  string
		reply bot.Reply
		want  []part
	}{
		{"nothing", bot.Reply{}, nil},
		{"a title alone has no tags", bot.Reply{Title: "Good evening"}, []part{{Body: "Good evening"}}},
		{"a title above a body is a heading", bot.Reply{Title: "Rows", Body: []bot.Block{bot.Paragraph("Two of them.")}},
			[]part{{Body: "Rows\n\nTwo of them.", HTML: "<h3>Rows</h3>\n<p>Two of them.</p>"}}},
		{"a list", bot.Reply{Body: []bot.Block{bot.Heading("Bring"), bot.List{"a comb", "a shuttle"}}},
			[]part{{Body: "Bring\n\n- a comb\n- a shuttle", HTML: "<h4>Bring</h4>\n<ul>\n<li>a comb</li>\n<li>a shuttle</li>\n</ul>"}}},
		{"a table keeps its columns in both", bot.Reply{Body: []bot.Block{bot.Table{
			Head: []string{"what", "how many"}, Rows: [][]string{{"ends", "97"}, {"edge ends", "4"}}, Numbers: []bool{false, true}}}},
			[]part{{
				Body: "what       how many\n───────────────────\nends             97\nedge ends         4",
				HTML: "<table>\n<thead>\n<tr><th>what</th> <th>how many</th></tr>\n</thead>\n<tbody>\n" +
					"<tr><td>ends</td> <td>97</td></tr>\n<tr><td>edge ends</td> <td>4</td></tr>\n</tbody>\n</table>",
			}}},
		{"steps keep their numbers and short forms", bot.Reply{Body: []bot.Block{bot.Steps{
			{Label: "1", Text: "Raise 3", Short: "▲3"}, {Label: "2–5", Text: "Pass"}, {Text: "Close"}}}},
			[]part{{
				Body: "    1  Raise 3  ▲3\n  2–5  Pass\n       Close",
				HTML: "<ul>\n<li><strong>1</strong> Raise 3 <code>▲3</code></li>\n<li><strong>2–5</strong> Pass</li>\n<li>Close</li>\n</ul>",
			}}},
		{"words are escaped, marks of code become code", bot.Reply{Body: []bot.Block{bot.Paragraph("<b>&\nwrite `row <3>` or ` alone")}},
			[]part{{Body: "<b>&\nwrite `row <3>` or ` alone", HTML: "<p>&lt;b&gt;&amp;<br>write <code>row &lt;3&gt;</code> or ` alone</p>"}}},
		{"a button says its sign and its command", bot.Reply{Title: "Which heddle?", Buttons: []bot.Button{{Label: "10 dents", Line: "loom heddle:10"}}},
			[]part{{
				Body:    "Which heddle?\n\n- 1️⃣ for: 10 dents · `!loom heddle:10`",
				HTML:    "<h3>Which heddle?</h3>\n<ul>\n<li>1️⃣ for: 10 dents · <code>!loom heddle:10</code></li>\n</ul>",
				Buttons: []press{{Emoji: "1️⃣", Label: "10 dents", Line: "loom heddle:10"}},
			}}},
		{"a mistake is a notice, and its example begins as commands do here",
			bot.Reply{Problem: &bot.Problem{Code: calc.BadValue, Message: "ends: 0 is too few", Hint: "row ends:97"}},
			[]part{{Body: "ends: 0 is too few, for example `!row ends:97`.", HTML: "ends: 0 is too few, for example <code>!row ends:97</code>.", Notice: true}}},
		{"the example of a value stays as it is", bot.Reply{Problem: &bot.Problem{Message: "ends: 0 is too few", Hint: "ends:97"}},
			[]part{{Body: "ends: 0 is too few, for example `ends:97`.", HTML: "ends: 0 is too few, for example <code>ends:97</code>.", Notice: true}}},
		{"a file comes after the words", bot.Reply{Title: "Here", Files: []bot.File{{Name: "a/../plan.txt", MediaType: "text/plain", Alt: "the plan", Bytes: []byte("x")}}},
			[]part{{Body: "Here"}, {Body: "the plan", File: &file{Name: "plan.txt", MediaType: "text/plain", Alt: "the plan", Bytes: []byte("x")}}}},
		{"a picture comes after the words", bot.Reply{Title: "Cloth", Body: []bot.Block{drawnAs(dot, nil), bot.Paragraph("So.")}},
			[]part{
				{Body: "Cloth\n\nSo.", HTML: "<h3>Cloth</h3>\n<p>So.</p>"},
				{Body: "white cloth", File: &file{Name: "cloth.png", MediaType: "image/png", Alt: "white cloth", Bytes: dot, Width: 1, Height: 1}},
			}},
		{"one that cannot be drawn is told in its place", bot.Reply{Title: "Cloth", Body: []bot.Block{drawnAs(nil, errors.New("no")), bot.Paragraph("So.")}},
			[]part{{Body: "Cloth\n\nSo.", HTML: "<h3>Cloth</h3>\n<p>So.</p>"}, {Body: "[white cloth]"}}},
		{"one that breaks off as well", bot.Reply{Body: []bot.Block{bot.Picture{Alt: "white cloth", Draw: func() ([]byte, error) { panic("oh") }}}},
			[]part{{Body: "[white cloth]"}}},
		{"and one that nobody can draw", bot.Reply{Body: []bot.Block{bot.Picture{Alt: "white cloth"}}}, []part{{Body: "[white cloth]"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := rendering().parts(c.reply)
			for i := range got {
				got[i].File = silent.drawn(&got[i])
				got[i].Draw = nil
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// silent is a chat that is there for its log alone.
var silent = &Chat{options: Options{Log: slog.New(slog.DiscardHandler)}}

func drawnAs(raw []byte, err error) bot.Picture {
	return bot.Picture{Name: "cloth", Alt: "white cloth", Width: 1, Height: 1, Draw: func() ([]byte, error) { return raw, err }}
}

func TestNotices(t *testing.T) {
	short := []bot.Block{bot.Paragraph("It is kept.")}
	for _, c := range []struct {
		name  string
		reply bot.Reply
		want  bool
	}{
		{"the short answer to a change", bot.Reply{Command: "loom", Title: "Kept", Body: short}, true},
		{"of a subcommand", bot.Reply{Command: "class open", Title: "Opened"}, true},
		{"what is asked back is not", bot.Reply{Command: "loom", Title: "Which heddle?", Ask: &bot.Question{Line: "loom heddle:"}}, false},
		{"what is for everyone is not", bot.Reply{Command: "class open", Title: "Opened", Audience: bot.Room}, false},
		{"a long one is not", bot.Reply{Command: "loom", Title: "Kept", Body: []bot.Block{bot.Paragraph(strings.Repeat("word ", 100))}}, false},
		{"a table is not", bot.Reply{Command: "loom", Title: "Kept", Body: []bot.Block{bot.Table{Rows: [][]string{{"a"}}}}}, false},
		{"with a button it is not", bot.Reply{Command: "loom", Title: "Kept", Buttons: []bot.Button{{Label: "undo", Line: "loom"}}}, false},
		{"an answer that changes nothing is not", bot.Reply{Command: "row", Title: "Row", Body: short}, false},
		{"a post is not", bot.Reply{Title: "We meet today", Body: short}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := rendering().parts(c.reply)[0].Notice; got != c.want {
				t.Errorf("notice is %v", got)
			}
		})
	}
}

func TestButtonsBeyondTheSigns(t *testing.T) {
	var reply bot.Reply
	for n := range 12 {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("choice %d", n+1), Line: fmt.Sprintf("loom heddle:%d", n+1)})
	}
	got := rendering().parts(reply)
	if len(got) != 1 || len(got[0].Buttons) != len(signs) {
		t.Fatalf("%d parts, of which the first has %d buttons", len(got), len(got[0].Buttons))
	}
	for _, want := range []string{"- 🔟 for: choice 10 · `!loom heddle:10`", "- choice 11 · `!loom heddle:11`", "- choice 12 · `!loom heddle:12`"} {
		if !strings.Contains(got[0].Body, want) {
			t.Errorf("no %q in\n%s", want, got[0].Body)
		}
	}
}

func TestDirectMessagesNeedNoPrefix(t *testing.T) {
	r := rendering()
	r.begins = ""
	got := r.parts(bot.Reply{Buttons: []bot.Button{{Label: "10", Line: "loom heddle:10"}}})
	if want := "- 1️⃣ for: 10 · `loom heddle:10`"; got[0].Body != want {
		t.Errorf("got %q, want %q", got[0].Body, want)
	}
}

func TestEdited(t *testing.T) {
	r := rendering()
	r.most = 900
	whole := bot.Reply{Title: "Coming: 3", Body: []bot.Block{drawnAs(dot, nil)}, Buttons: []bot.Button{{Label: "me too", Line: "coming"}}}
	want := part{
		Body:    "Coming: 3\n\n[white cloth]\n\n- 1️⃣ for: me too · `!coming`",
		HTML:    "<h3>Coming: 3</h3>\n<p>[white cloth]</p>\n<ul>\n<li>1️⃣ for: me too · <code>!coming</code></li>\n</ul>",
		Buttons: []press{{Emoji: "1️⃣", Label: "me too", Line: "coming"}},
	}
	if diff := cmp.Diff(want, r.edited(whole)); diff != "" {
		t.Error(diff)
	}
	whole.Body = []bot.Block{bot.Paragraph(strings.Repeat("many words ", 200))}
	if got := r.edited(whole); !strings.HasSuffix(got.Body, "There is more.") || got.Buttons != nil {
		t.Errorf("a long one is\n%s\nwith %d buttons", got.Body, len(got.Buttons))
	}
}

func TestSplit(t *testing.T) {
	var steps bot.Steps
	var want []string
	for n := range 40 {
		steps = append(steps, bot.Step{Label: fmt.Sprint(n + 1), Text: fmt.Sprintf("step%02d under three", n), Short: "← 3 ▲"})
		want = append(want, fmt.Sprintf("step%02d", n))
	}
	r := rendering()
	r.most = 1500
	parts := r.parts(bot.Reply{Title: "Row", Body: []bot.Block{bot.Heading("First"), bot.Paragraph("Words."), bot.Heading("Second"), steps},
		Buttons: []bot.Button{{Label: "more", Line: "row"}}})
	if len(parts) < 3 {
		t.Fatalf("%d parts", len(parts))
	}
	var all strings.Builder
	for i, p := range parts {
		all.WriteString(p.Body)
		if size := inJSON(p.Body) + inJSON(p.HTML); size > r.most+labelMargin {
			t.Errorf("part %d has %d bytes", i+1, size)
		}
		label := fmt.Sprintf("(part %d of %d)", i+1, len(parts))
		if !strings.HasSuffix(p.Body, label) || !strings.HasSuffix(p.HTML, "<p>"+label+"</p>") {
			t.Errorf("part %d does not say %s:\n%s", i+1, label, p.Body)
		}
		if strings.HasSuffix(strings.TrimSuffix(p.Body, "\n\n"+label), "Second") {
			t.Errorf("part %d ends in a heading:\n%s", i+1, p.Body)
		}
		if (len(p.Buttons) > 0) != (i == len(parts)-1) {
			t.Errorf("part %d has %d buttons", i+1, len(p.Buttons))
		}
	}
	rest := all.String()
	for _, w := range want {
		_, after, ok := strings.Cut(rest, w)
		if !ok {
			t.Fatalf("%s is missing, or not in its place", w)
		}
		rest = after
	}
}

// TestSplitAnything holds the parts of any reply to their bound, and that no word
// of it is lost.
func TestSplitAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := 0
		word := rapid.Custom(func(t *rapid.T) string {
			words++
			return fmt.Sprintf("w%d%s", words, rapid.StringMatching(`[a-zé"<&]{0,6}`).Draw(t, "letters"))
		})
		text := rapid.Custom(func(t *rapid.T) string {
			return strings.Join(rapid.SliceOfN(word, 1, 60).Draw(t, "words"), " ")
		})
		blocks := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) bot.Block { return anyBlock(t, text) }), 1, 6).Draw(t, "blocks")
		r := rendering()
		r.most = rapid.IntRange(1200, 4000).Draw(t, "most")
		reply := bot.Reply{Title: text.Draw(t, "title"), Body: blocks}
		whole := strings.Fields(bot.Plain(reply))
		var seen []string
		for _, p := range r.parts(reply) {
			if size := inJSON(p.Body) + inJSON(p.HTML); size > r.most+labelMargin {
				t.Fatalf("a part has %d bytes, with %d allowed", size, r.most)
			}
			seen = append(seen, strings.Fields(p.Body)...)
		}
		at := 0
		for _, w := range whole {
			if w = strings.Trim(w, ":·─–"); !strings.HasPrefix(w, "w") {
				continue // what lays out a table is laid out anew in each part
			}
			for at < len(seen) && strings.Trim(seen[at], ":·─–") != w {
				at++
			}
			if at == len(seen) {
				t.Fatalf("%q is lost, or not in its place", w)
			}
		}
	})
}

func anyBlock(t *rapid.T, text *rapid.Generator[string]) bot.Block {
	switch rapid.IntRange(0, 4).Draw(t, "kind") {
	case 0:
		return bot.Paragraph(text.Draw(t, "paragraph"))
	case 1:
		return bot.Heading(text.Draw(t, "heading"))
	case 2:
		return bot.List(rapid.SliceOfN(text, 1, 5).Draw(t, "list"))
	case 3:
		return bot.Table{Rows: rapid.SliceOfN(rapid.SliceOfN(text, 2, 2), 1, 6).Draw(t, "rows")}
	}
	var steps bot.Steps
	for i, s := range rapid.SliceOfN(text, 1, 8).Draw(t, "steps") {
		steps = append(steps, bot.Step{Label: fmt.Sprint(i + 1), Text: s})
	}
	return steps
}

// TestOneLongWord is what nobody can divide well.
func TestOneLongWord(t *testing.T) {
	word := strings.Repeat("<&>", 10_000)
	for name, reply := range map[string]bot.Reply{
		"title": {Title: word}, "paragraph": {Body: []bot.Block{bot.Paragraph(word)}}, "item": {Body: []bot.Block{bot.List{word, "next"}}},
		"step": {Body: []bot.Block{bot.Steps{{Text: word}, {Text: "next"}}}}, "row": {Body: []bot.Block{bot.Table{Rows: [][]string{{word, word}, {"next", "one"}}}}},
		"label": {Buttons: []bot.Button{{Label: word, Line: "help"}}},
	} {
		t.Run(name, func(t *testing.T) {
			n := 0
			for _, p := range rendering().parts(reply) {
				if size := inJSON(p.Body) + inJSON(p.HTML); size > maxContent {
					t.Errorf("a part has %d bytes", size)
				}
				n += strings.Count(p.Body, "&")
			}
			if n < 10_000 {
				t.Errorf("%d of 10000 letters have arrived", n)
			}
		})
	}
}
