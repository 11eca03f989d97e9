package adaptertest

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/calc"
)

func tryBlocks(t *testing.T, open func(t *testing.T) Fixture) {
	s := begin(t, open(t), always(bot.Reply{
		Title: "The title",
		Body: []bot.Block{
			bot.Paragraph("A paragraph of a few words."),
			bot.Heading("The heading"),
			bot.List{"the first item", "the second item"},
			bot.Table{
				Head: []string{"what", "how much"}, Rows: [][]string{{"ends", "97"}, {"sett", "10"}}, Numbers: []bool{false, true},
			},
			bot.Steps{{Label: "1", Text: "heddle up", Short: "← 3 ▲"}, {Label: "2–5", Text: "heddle down", Short: "→ 3 ▼"}},
			bot.Picture{Name: "cloth", Alt: "a picture of cloth", Width: 10, Height: 10, Draw: func() ([]byte, error) { return onePixel, nil }},
		},
	}))
	s.say("all")
	parts := []string{
		"The title", "A paragraph of a few words.", "The heading", "the first item", "the second item",
		"what", "how much", "ends", "97", "sett", "10", "1", "heddle up", "← 3 ▲", "2–5", "heddle down", "→ 3 ▼",
	}
	got := s.until(parts...)
	if !inOrder(got, parts) {
		t.Errorf("not in order: %s", got)
	}
	if !strings.Contains(got, "a picture of cloth") && !s.sawAlt("a picture of cloth") {
		s.until("a picture of cloth")
	}
}

func (s *session) sawAlt(alt string) bool {
	for _, m := range s.heard {
		for _, f := range m.Files {
			if f.Alt == alt {
				return true
			}
		}
	}
	return false
}

// onePixel is a PNG of one black pixel.
var onePixel = func() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic(err) // a buffer takes everything
	}
	return b.Bytes()
}()

func tryButtons(t *testing.T, open func(t *testing.T) Fixture) {
	buttons := []bot.Button{{Label: "10 dents", Line: "loom heddle:10"}, {Label: "I don't know", Line: "loom unsure:heddle"}}
	got := make(chan bot.Request, 2)
	f := open(t)
	s := begin(t, f, handler(func(_ context.Context, r bot.Request) bot.Reply {
		got <- r
		return bot.Reply{Command: "loom", Title: "Which heddle?", Buttons: buttons}
	}))
	s.say("loom")
	asked := receive(s, got, "the request")
	s.until("Which heddle?", "10 dents", "I don't know")
	if f.Press == nil {
		s.until(buttons[0].Line, buttons[1].Line)
		return
	}
	f.Press(t, "I don't know")
	pressed := receive(s, got, "the button's request")
	if pressed.Line != "loom unsure:heddle" {
		t.Errorf("the button ran %q", pressed.Line)
	}
	if pressed.From != f.User || pressed.In != f.Place || pressed.ID == asked.ID || pressed.ID == "" {
		t.Errorf("the button's request is %+v, after %+v", pressed, asked)
	}
}

func tryFiles(t *testing.T, open func(t *testing.T) Fixture) {
	want := bot.File{Name: "plan.png", MediaType: "image/png", Alt: "the plan of a row", Bytes: onePixel}
	s := begin(t, open(t), always(bot.Reply{Title: "With a file", Files: []bot.File{want}}))
	s.say("row")
	got, m := s.file()
	if !bytes.Equal(got.Bytes, want.Bytes) {
		t.Errorf("%d bytes arrived, %d were sent", len(got.Bytes), len(want.Bytes))
	}
	if !strings.HasSuffix(got.Name, ".png") {
		t.Errorf("it is called %q", got.Name)
	}
	if got.Alt != want.Alt && !strings.Contains(strings.Join(strings.Fields(m.Text), " "), want.Alt) {
		t.Errorf("no alternative text; the message says %q", m.Text)
	}
	s.until("With a file")
}

func tryFileName(t *testing.T, open func(t *testing.T) Fixture) {
	s := begin(t, open(t), always(bot.Reply{Files: []bot.File{{Name: "../..\\../\x1b[2Jplan\u202e.txt", MediaType: "text/plain", Bytes: []byte("x")}}}))
	s.say("row")
	got, _ := s.file()
	if strings.ContainsAny(got.Name, `/\`) || strings.HasPrefix(got.Name, ".") || strings.ContainsFunc(got.Name, harmful) {
		t.Errorf("it is called %q", got.Name)
	}
	s.wantHarmless()
}

func tryProblem(t *testing.T, open func(t *testing.T) Fixture) {
	p := &bot.Problem{Code: calc.BadValue, Message: "raised: 1 is outside what is allowed, 2 to 48", Hint: "raised:3"}
	s := begin(t, open(t), always(bot.Reply{Command: "row", Problem: p}))
	s.say("row raised:1")
	s.until(p.Message, p.Hint)
}

// hostile are texts that a screen may obey: it is cleared, its title set, the
// line overwritten, the text turned around, and what is no text at all.
var hostile = []string{
	"\x1b[2J\x1b[H", "\x1b]0;title\x07", "\r", "\b\b\b", "\u009b2J", "\x00", "\x7f", "\u202e", "\u2066", "\u200f", "\xff\xfe", "\u2028",
}

// hostileReply has such texts in all its words, each between two that must arrive.
func hostileReply() (r bot.Reply, want []string) {
	n := 0
	bad := func() string {
		n++
		text := fmt.Sprintf("before-%d-%s-after-%d-", n, strings.Join(hostile, "x"), n)
		want = append(want, fmt.Sprintf("before-%d-", n), fmt.Sprintf("-after-%d-", n))
		return text
	}
	r = bot.Reply{
		Title: bad(),
		Body: []bot.Block{
			bot.Paragraph(bad()), bot.Heading(bad()), bot.List{bad()},
			bot.Table{Head: []string{bad()}, Rows: [][]string{{bad()}}},
			bot.Steps{{Label: "1", Text: bad(), Short: bad()}},
			bot.Picture{Name: "p", Alt: bad(), Width: 1, Height: 1, Draw: func() ([]byte, error) { return onePixel, nil }},
		},
		Buttons: []bot.Button{{Label: bad(), Line: "help"}},
	}
	return r, want
}

func tryHostileReply(t *testing.T, open func(t *testing.T) Fixture) {
	reply, _ := hostileReply()
	problem := bot.Reply{Problem: &bot.Problem{Code: calc.BadValue, Message: "the end\x1b[2J\u202e", Hint: "help\x07"}}
	s := begin(t, open(t), handler(func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line == "problem" {
			return problem
		}
		return reply
	}))
	s.say("hostile")
	s.say("problem")
	_, want := hostileReply()
	s.until(append(want, "the end")...)
	s.wantHarmless()
}

// tryHostileRequest repeats in its replies what was said. A chat may keep such
// a line from the handler.
func tryHostileRequest(t *testing.T, open func(t *testing.T) Fixture) {
	s := begin(t, open(t), handler(func(_ context.Context, r bot.Request) bot.Reply { return title("you said " + r.Line) }))
	for _, h := range hostile {
		s.say("row " + h)
	}
	s.say("goodness")
	s.until("you said goodness")
	s.wantHarmless()
}

func tryLongReply(t *testing.T, open func(t *testing.T) Fixture) {
	var words, want []string
	var steps bot.Steps
	for n := range 3000 {
		words = append(words, fmt.Sprintf("word%04d", n))
	}
	for n := range 400 {
		text := fmt.Sprintf("step%04d", n)
		steps = append(steps, bot.Step{Label: fmt.Sprint(n + 1), Text: text + " under three", Short: "← 3 ▲"})
		want = append(want, text)
	}
	s := begin(t, open(t), always(bot.Reply{Title: "Long", Body: []bot.Block{bot.Paragraph(strings.Join(words, " ") + "."), steps}}))
	s.say("long")
	if got := s.until(words[0], words[len(words)-1], want[len(want)-1]); !inOrder(got, append(words, want...)) {
		t.Error("not all of it has arrived, or not in order")
	}
}

// tryLongRequest says what no chat may take in one message; what matters is the
// one after it.
func tryLongRequest(t *testing.T, open func(t *testing.T) Fixture) {
	s := begin(t, open(t), handler(func(_ context.Context, r bot.Request) bot.Reply {
		return title(fmt.Sprintf("%.20s", r.Line))
	}))
	s.say("row " + strings.Repeat("x", 100_000))
	s.say("short enough")
	s.until("short enough")
}
