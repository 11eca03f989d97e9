package discord

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
)

var longLine = "say sure:yes text:\"" + strings.Repeat("Bring a comb. ", 30) + "\""

// buttons answers "row" with two buttons, one of a line that fits no custom id,
// and anything else with what was asked.
func buttons(_ context.Context, r bot.Request) bot.Reply {
	if r.Command == "row" {
		return bot.Reply{Command: "row", Title: "Which?", Buttons: []bot.Button{{Label: "Ten", Line: "loom heddle:10"}, {Label: "Long", Line: longLine}}}
	}
	return title("you asked " + r.Line)
}

func TestAButtonWorksAfterARestart(t *testing.T) {
	s := newScene(t, Options{}, buttons)
	m := s.slash(s.ann, s.room, "row", nil)
	s.end()
	s.run(Options{}, buttons)
	if got := s.press(s.ann, m, "Ten"); got.Content != "you asked loom heddle:10" || !got.Ephemeral {
		t.Errorf("a short line: %+v", got)
	}
	s.press(s.ann, m, "Long")
	if got := s.last(); got.Line != longLine || got.ID == s.requests()[0].ID || got.From.User != s.ann.ID {
		t.Errorf("a long line: %+v", got)
	}
	s.notes.forget("button ")
	if got := s.press(s.ann, m, "Long"); !strings.Contains(got.Content, "no longer know") {
		t.Errorf("one that nobody knows any more: %q", got.Content)
	}
	if got := s.press(s.ann, m, "Ten"); got.Content != "you asked loom heddle:10" {
		t.Errorf("a short line without notes: %q", got.Content)
	}
}

// TestAButtonOfARoomRunsAsWhoPresses: the answer is hers alone.
func TestAButtonOfARoomRunsAsWhoPresses(t *testing.T) {
	s := newScene(t, Options{}, buttons)
	view := s.bea.View(s.room)
	post := bot.Reply{Title: "We meet", Audience: bot.Room, Buttons: []bot.Button{{Label: "I am coming", Line: "coming session:3"}}}
	if _, err := s.chat.Post(s.ctx, bot.Place{Chat: ChatName, Room: s.room.ID}, "post-1", post); err != nil {
		t.Fatal(err)
	}
	m, err := view.Next(s.ctx)
	if err != nil {
		t.Fatal(err)
	}
	if got := s.press(s.bea, m, "I am coming"); got.Content != "you asked coming session:3" || !got.Ephemeral || s.last().From.User != s.bea.ID {
		t.Errorf("%+v, asked by %v", got, s.last().From)
	}
}

func TestAnAnswerTakesThePlaceOfItsQuestion(t *testing.T) {
	picture := bot.Picture{Name: "cloth", Alt: "cloth", Width: 1, Height: 1, Draw: func() ([]byte, error) { return []byte("png"), nil }}
	h := func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line == "" {
			return bot.Reply{Title: "Which heddle?", Body: []bot.Block{picture}, Buttons: []bot.Button{{Label: "Ten", Line: "loom heddle:10"}}}
		}
		return bot.Reply{Title: "Ten it is", Instead: true}
	}
	for _, c := range []struct {
		name string
		pace Pace
	}{{"at once", Pace{}}, {"after a while", Pace{Defer: 1}}} {
		t.Run(c.name, func(t *testing.T) {
			s := newScene(t, Options{Pace: c.pace}, h)
			view := s.ann.View(s.room)
			s.begun(s.ann.Slash(s.room, "row", nil))
			m, err := view.Next(s.ctx)
			for err == nil && len(m.Files) == 0 { // the words come first
				m, err = view.Next(s.ctx)
			}
			if err != nil || m.Files[0].Alt != "cloth" || !strings.Contains(m.Content, "Which heddle?") || len(m.Buttons()) != 1 {
				t.Fatalf("with the picture: %+v, %v", m, err)
			}
			s.begun(s.ann.Press(m, "Ten"))
			got, err := view.Next(s.ctx)
			if err != nil || got.ID != m.ID || got.Content != "Ten it is" || len(got.Buttons()) != 0 || len(got.Files) != 0 {
				t.Errorf("after the press: %+v", got)
			}
			if all := s.ann.Messages(s.room); len(all) != 1 {
				t.Errorf("she sees %d messages", len(all))
			}
		})
	}
	t.Run("but not of a post that all read", func(t *testing.T) {
		s := newScene(t, Options{}, h)
		view := s.ann.View(s.room)
		if _, err := s.chat.Post(s.ctx, bot.Place{Chat: ChatName, Room: s.room.ID}, "post-1", h(s.ctx, bot.Request{})); err != nil {
			t.Fatal(err)
		}
		m, err := view.Next(s.ctx)
		if err != nil {
			t.Fatal(err)
		}
		if got := s.press(s.ann, m, "Ten"); got.ID == m.ID || !got.Ephemeral {
			t.Errorf("%+v", got)
		}
	})
}

// TestSharing shows everyone, once, what she saw alone.
func TestSharing(t *testing.T) {
	s := newScene(t, Options{}, func(_ context.Context, r bot.Request) bot.Reply {
		return bot.Reply{Command: "row", Title: "The plan", Body: []bot.Block{bot.Steps{{Label: "1", Text: "up"}}}, Buttons: []bot.Button{{Label: "More", Line: "row ends:12"}}}
	})
	view := s.bea.View(s.room)
	m := s.slash(s.ann, s.room, "row", discordtest.Values{"ends": 97, "yarn": "8/2 \"fine\" cotton"})
	s.begun(s.ann.Press(m, "Show everyone"))
	shared, err := view.Next(s.ctx)
	if err != nil {
		t.Fatal(err)
	}
	if shared.Ephemeral || !strings.HasPrefix(shared.Content, "<@"+s.ann.ID+">\n### The plan") || len(shared.Buttons()) != 0 || len(shared.Alerted) != 0 {
		t.Errorf("Bea sees %+v", shared)
	}
	if want := `row ends:97 yarn:'8/2 "fine" cotton'`; s.last().Line != want {
		t.Errorf("asked again for %q, want %q", s.last().Line, want)
	}
	all := s.ann.Messages(s.room)
	if left := all[0].Buttons(); len(left) != 1 || left[0].Label != "More" {
		t.Errorf("her own message has the buttons %+v", left)
	}
	if _, err := s.ann.Press(all[0], "Show everyone"); err == nil {
		t.Error("it can be shown again")
	}
	if got := len(s.room.All()); got != 1 {
		t.Errorf("%d messages for everyone", got)
	}
}

// TestASharedAnswerIsMadeForAll: what only she may know, as a meeting link, is
// not in what everyone reads, and what is hers alone is not shown.
func TestASharedAnswerIsMadeForAll(t *testing.T) {
	for _, c := range []struct {
		name   string
		shared bot.Reply // when it is asked for again
		all    string    // what everyone reads
		her    string    // what she reads
	}{
		{"without what is hers", bot.Reply{Title: "we meet"}, "we meet", ""},
		{"not at all", bot.Reply{Problem: &bot.Problem{Code: bot.NotAllowed, Message: "that is for you alone"}}, "", "for you alone"},
		{"by direct message", bot.Reply{Title: "in private", Audience: bot.Direct}, "", "written to you alone"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newScene(t, Options{}, func(_ context.Context, r bot.Request) bot.Reply {
				reply := bot.Reply{Command: "row", Title: "we meet at the secret place"}
				if !r.Alone() {
					reply = c.shared
				}
				reply.Command = "row"
				return reply
			})
			m := s.slash(s.ann, s.room, "row", nil)
			view := s.bea.View(s.room)
			i := s.begun(s.ann.Press(m, "Show everyone"))
			if c.all != "" {
				if got, err := view.Next(s.ctx); err != nil || !strings.HasSuffix(got.Content, c.all) {
					t.Errorf("all read %q, %v", got.Content, err)
				}
			} else if got := s.answer(i); !strings.Contains(got.Content, c.her) || !got.Ephemeral {
				t.Errorf("she reads %q", got.Content)
			}
			s.end()
			for _, m := range s.bea.Messages(s.room) {
				if strings.Contains(m.Text(), "secret") || c.all == "" {
					t.Errorf("all read %q", m.Content)
				}
			}
		})
	}
}

func TestWhatCannotBeShared(t *testing.T) {
	for _, c := range []struct {
		name, command string
		reply         bot.Reply
		direct        bool
	}{
		{"what changed something", "coming", bot.Reply{Command: "coming", Title: "you are coming"}, false},
		{"what asks something", "row", bot.Reply{Command: "row", Title: "which?", Ask: &bot.Question{Line: "row ends:"}}, false},
		{"what all see already", "row", bot.Reply{Command: "row", Title: "all", Audience: bot.Room}, false},
		{"what is said in private", "row", bot.Reply{Command: "row", Title: "the plan"}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return c.reply })
			room := s.room
			if c.direct {
				room = s.ann.DM()
			}
			for _, b := range s.slash(s.ann, room, c.command, nil).Buttons() {
				if b.Label == "Show everyone" {
					t.Error("it can be shared")
				}
			}
		})
	}
}

func TestManyButtonsBecomeSelects(t *testing.T) {
	var many []bot.Button
	for n := range 60 {
		many = append(many, bot.Button{Label: fmt.Sprintf("Choice %d", n), Line: fmt.Sprintf("loom width:%din", n)})
	}
	s := newScene(t, Options{}, func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line != "" {
			return title("you asked " + r.Line)
		}
		return bot.Reply{Title: "Which?", Buttons: many, Ask: &bot.Question{Line: "loom width:"}}
	})
	m := s.slash(s.ann, s.room, "row", nil)
	if n := len(m.Components); n != 4 {
		t.Fatalf("%d rows", n)
	}
	menu := m.Components[2].Components[0]
	i := s.begun(s.ann.Select(m, menu.CustomID, "Choice 55"))
	if got := s.answer(i); got.Content != "you asked loom width:55in" {
		t.Errorf("%q", got.Content)
	}
}

func TestAFormForSeveralAnswers(t *testing.T) {
	s := newScene(t, Options{}, func(_ context.Context, r bot.Request) bot.Reply {
		if r.Command == "loom" && r.Values["width"] == "" {
			return bot.Reply{Command: "loom", Title: "How wide is it?", Ask: &bot.Question{Line: "loom width:", Fields: []string{"width", "heddle", "from"}}}
		}
		return bot.Reply{Title: "noted", Instead: true}
	})
	m := s.slash(s.ann, s.room, "loom", nil)
	s.end()
	s.run(Options{}, func(context.Context, bot.Request) bot.Reply { return bot.Reply{Title: "noted", Instead: true} })
	form := s.form(s.begun(s.ann.Press(m, "Answer")))
	if form.Title != "How wide is it?" || len(form.Inputs) != 3 || form.Inputs[0].Required {
		t.Errorf("the form is %+v", form)
	}
	got := s.answer(s.begun(s.ann.Submit(form, discordtest.Values{"width": "15 in", "from": " "})))
	if got.ID != m.ID || got.Content != "noted" {
		t.Errorf("the answer is %+v", got)
	}
	if diff := cmp.Diff(map[string]string{"width": "15 in"}, s.last().Values); diff != "" || s.last().Command != "loom" {
		t.Errorf("asked for %q: %s", s.last().Command, diff)
	}
}

func TestAFormForOneAnswer(t *testing.T) {
	for _, c := range []struct{ answer, want string }{
		{"15in", "loom width: 15in"},
		{"15 1/2 in", `loom width: "15 1/2 in"`},
		{"I don’t know.", "loom unsure:width"},
	} {
		t.Run(c.answer, func(t *testing.T) {
			s := newScene(t, Options{}, func(_ context.Context, r bot.Request) bot.Reply {
				if r.Line == "" {
					return bot.Reply{Title: "How wide?", Ask: &bot.Question{Line: "loom width:", Unsure: "loom unsure:width"}}
				}
				return title("noted")
			})
			form := s.form(s.begun(s.ann.Press(s.slash(s.ann, s.room, "row", nil), "Answer")))
			if len(form.Inputs) != 1 || !form.Inputs[0].Required {
				t.Fatalf("the form is %+v", form)
			}
			s.answer(s.begun(s.ann.Submit(form, discordtest.Values{"width": c.answer})))
			if got := s.last().Line; got != c.want {
				t.Errorf("asked %q, want %q", got, c.want)
			}
		})
	}
}

// TestALongTextIsAskedForByAForm: one that is required and was left out, so that
// it can have several lines.
func TestALongTextIsAskedForByAForm(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return title("noted") })
	form := s.form(s.begun(s.ann.Slash(s.room, "question", discordtest.Values{"for": "Tea"})))
	if len(form.Inputs) != 1 || !form.Inputs[0].Long || form.Inputs[0].Max != 1500 {
		t.Errorf("the form is %+v", form)
	}
	const text = "Which shed?\nAnd why?"
	s.answer(s.begun(s.ann.Submit(form, discordtest.Values{"text": text})))
	if diff := cmp.Diff(map[string]string{"text": text, "for": "Tea"}, s.last().Values); diff != "" || s.last().Command != "question" {
		t.Errorf("asked for %q: %s", s.last().Command, diff)
	}
	s.slash(s.ann, s.room, "question", discordtest.Values{"text": "at once"})
	if s.last().Values["text"] != "at once" {
		t.Errorf("with its text: %+v", s.last())
	}
}

// TestALongTextIsAskedForUnlessThereIsAnother: the form opens when neither the
// text is given nor anything instead of it; what else was given is kept.
func TestALongTextIsAskedForUnlessThereIsAnother(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return title("laid") })
	for _, v := range []discordtest.Values{nil, {"cell": 2}} {
		form := s.form(s.begun(s.ann.Slash(s.room, "sketch", v)))
		if len(form.Inputs) != 1 || !form.Inputs[0].Long || form.Inputs[0].CustomID != "chart" {
			t.Fatalf("the form is %+v", form)
		}
		s.answer(s.begun(s.ann.Submit(form, discordtest.Values{"chart": "..o\n.o."})))
		want := map[string]string{"chart": "..o\n.o."}
		if v != nil {
			want["cell"] = "2"
		}
		if diff := cmp.Diff(want, s.last().Values); diff != "" || s.last().Command != "sketch" {
			t.Errorf("asked for %q: %s", s.last().Command, diff)
		}
	}
	for _, v := range []discordtest.Values{{"ground": "diamond"}, {"picture": png("rose.png", "RRR")}, {"chart": "..o/.o."}} {
		before := len(s.requests())
		if s.slash(s.ann, s.room, "sketch", v); len(s.requests()) != before+1 {
			t.Errorf("%v: a form was asked for", v)
		}
	}
}

// TestIDsReadBack: whatever a button runs, its custom id fits Discord's bounds
// and means the same when it comes back.
func TestIDsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line, whom := rapid.String().Draw(t, "line"), rapid.StringMatching(`[0-9]{0,19}`).Draw(t, "whom")
		kind, n := rapid.SampledFrom([]byte{markRun, markShare}).Draw(t, "kind"), rapid.IntRange(0, 199).Draw(t, "number")
		chat := &Chat{o: Options{Now: time.Now}, notes: notes{newMemory()}}
		id, err := chat.idOf(context.Background(), kind, n, line, whom)
		if err != nil || size(id) > maxCustomID {
			t.Fatalf("%q, %v", id, err)
		}
		m, ok := readMark(id)
		if !ok || m.kind != kind {
			t.Fatalf("%q is read as %+v, %v", id, m, ok)
		}
		if got, err := chat.lineOf(context.Background(), m); err != nil || got != line {
			t.Fatalf("%q comes back as %q, %v", line, got, err)
		}
	})
}

// FuzzMark: what comes back from a client that is not Discord's does no harm.
func FuzzMark(f *testing.F) {
	for _, seed := range []string{"", "w1", "w1r0:row", "w1r0#abc", "w1r0#", "w1x0:row", "w1f99:", "w2r0:row", "w1r0:a\nb", "w1r9999:x"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, id string) {
		m, ok := readMark(id)
		if ok && (!strings.HasPrefix(id, idVersion) || m.kept != "" && m.line != "" || !strings.HasSuffix(id, m.kept+m.line)) {
			t.Errorf("%q is read as %+v", id, m)
		}
	})
}
