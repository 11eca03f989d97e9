package discord

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"testing"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
	"weftroom/bot/lesson"
	"weftroom/calc/measure"
)

// nobodys has everybody unknown.
type nobodys struct{}

// Asker implements bot.People.
func (nobodys) Asker(context.Context, bot.Request) (bot.Asker, error) {
	return bot.Asker{Units: measure.Metric}, nil
}

// tracing answers with what of the files has arrived, by way of the dispatcher.
func tracing() answerer {
	tell := func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
		var said []string
		for _, name := range []string{"picture", "back"} {
			if f, ok := c.Args.File(name); ok {
				raw, err := f.Read(ctx, bot.MaxFile)
				said = append(said, fmt.Sprint(name, " ", f.Name, " ", string(raw)))
				if err != nil {
					return bot.Reply{}, err
				}
			}
		}
		return title("got " + strings.Join(said, ", ") + " " + c.Args.Text("text")), nil
	}
	commands := slices.Clone(testCommands)
	for i, c := range commands {
		copied := *c
		copied.Run, commands[i] = tell, &copied
	}
	d := bot.NewDispatcher(commands, nobodys{}, lesson.English(), slog.New(slog.DiscardHandler))
	return d.Handle
}

func png(name, content string) discordtest.File {
	return discordtest.File{Name: name, MediaType: "image/png", Bytes: []byte(content)}
}

// TestFilesOfCommands: as options of a command, beside a line, in a direct
// message, and kept while a form is filled in.
func TestFilesOfCommands(t *testing.T) {
	s := newScene(t, Options{}, tracing())
	want := func(how string, m discordtest.Message, want string) {
		t.Helper()
		if !strings.Contains(m.Text(), want) {
			t.Errorf("%s: %q", how, m.Text())
		}
	}
	rose, leaf := png("rose.png", "RRR"), png("leaf.png", "LL")
	one := s.slash(s.ann, s.room, "trace", discordtest.Values{"picture": rose, "cell": 3})
	want("an option", one, "got picture rose.png RRR")
	if strings.Contains(fmt.Sprint(one.Buttons()), "Show") {
		t.Errorf("an answer that could not be had again can be shared: %v", one.Buttons())
	}
	want("two options", s.slash(s.ann, s.room, "trace", discordtest.Values{"back": leaf, "picture": rose}), "got picture rose.png RRR, back leaf.png LL")
	want("beside a line", s.slash(s.ann, s.room, "ask", discordtest.Values{"line": "trace cell:3", "file": leaf}), "got picture leaf.png LL")
	want("a line for which it is missing", s.slash(s.ann, s.room, "ask", discordtest.Values{"line": "trace cell:3"}),
		"trace needs a file for picture: choose it in the command's own field for it")
	if _, err := s.ann.Slash(s.room, "trace", nil); err == nil {
		t.Error("Discord does not ask for a file that is needed")
	}
	forced, err := s.ann.Force(s.room, "trace")
	want("a client that does not ask for it", s.answer(s.begun(forced, err)), "trace needs a file for picture")
	want("too large", s.slash(s.ann, s.room, "trace", discordtest.Values{"picture": png("big.png", strings.Repeat("x", bot.MaxFile+1))}),
		"big.png has 5.1 MB; I take up to 5 MB")

	form := s.form(s.begun(s.ann.Slash(s.room, "label", discordtest.Values{"picture": rose})))
	want("kept beside a form", s.answer(s.begun(s.ann.Submit(form, discordtest.Values{"text": "for May"}))), "got picture rose.png RRR for May")
	second := s.form(s.begun(s.ann.Slash(s.room, "label", discordtest.Values{"picture": leaf})))
	if second.CustomID == form.CustomID {
		t.Error("two files share one form")
	}

	view := s.ann.View(s.ann.DM())
	for _, c := range []struct {
		how, line string
		files     []discordtest.File
		want      string
	}{
		{"with a message", "trace", []discordtest.File{rose}, "got picture rose.png RRR"},
		{"two with a message", "trace cell:2", []discordtest.File{rose, leaf}, "got picture rose.png RRR, back leaf.png LL"},
		{"too many with a message", "label x", []discordtest.File{rose, leaf}, "2 files came with that, and label takes 1"},
		{"none with a message", "trace", nil, "trace needs a file for picture: attach it to your message"},
	} {
		s.ann.Write(s.ann.DM(), c.line, c.files...)
		m, err := view.Next(s.ctx)
		if err != nil {
			t.Fatal(err)
		}
		want(c.how, m, c.want)
	}
	for _, refused := range s.srv.Refused() {
		t.Errorf("the server refused: %s", refused)
	}
}

// TestAFileOfWhichNothingIsSaid: an option whose file Discord does not describe
// is as good as none, and no text either.
func TestAFileOfWhichNothingIsSaid(t *testing.T) {
	chat := &Chat{o: Options{Commands: testCommands}}
	data := interactionData{Name: "trace", Options: []option{{Name: "picture", Type: optionFile, Value: []byte(`"12345"`)}, {Name: "cell", Type: optionInteger, Value: []byte("3")}}}
	r := chat.asked(bot.Request{}, data)
	if len(r.Attached) != 0 || len(r.Values) != 1 || r.Values["cell"] != "3" {
		t.Errorf("%+v", r)
	}
	data.Resolved.Attachments = map[string]attachment{"12345": {ID: "12345", Filename: "../rose.png", Size: 7}}
	if r = chat.asked(bot.Request{}, data); len(r.Attached) != 1 || r.Attached[0].For != "picture" || r.Attached[0].Name != "rose.png" && !strings.HasSuffix(r.Attached[0].Name, "-rose.png") {
		t.Errorf("%+v", r.Attached)
	}
}
