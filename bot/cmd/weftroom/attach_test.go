package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"weftroom/bot"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
)

// tracing answers with the files that came.
func tracing() *bot.Dispatcher {
	tell := func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
		said := "got"
		for _, name := range []string{"picture", "back"} {
			if f, ok := c.Args.File(name); ok {
				raw, err := f.Read(ctx, bot.MaxFile)
				if err != nil {
					return bot.Reply{}, err
				}
				said += fmt.Sprintf(" %s %s (%s)", f.Name, raw, f.MediaType)
			}
		}
		return bot.Reply{Title: said}, nil
	}
	commands := []*bot.Command{{Name: "trace", Run: tell, Examples: []string{"trace cell:3"}, Params: []bot.Param{
		{Name: "picture", Kind: bot.Enclosed, Required: true}, {Name: "back", Kind: bot.Enclosed}, {Name: "cell", Kind: bot.Count}}}}
	return bot.NewDispatcher(commands, store.NewMemory(), lesson.English(), slog.New(slog.DiscardHandler))
}

// parsed is ask with arguments as main reads them.
func parsed(t *testing.T, args ...string) askCmd {
	t.Helper()
	grammar := struct {
		Ask askCmd `cmd:""`
	}{}
	parser, err := kong.New(&grammar)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parser.Parse(append([]string{"ask"}, args...)); err != nil {
		t.Fatal(err)
	}
	return grammar.Ask
}

func TestAskAttaches(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, what := range map[string]string{"rose.png": "RRR", "a,b.png": "AB"} {
		if err := os.WriteFile(name, []byte(what), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	large := strings.Repeat("x", bot.MaxFile+1)
	for _, c := range []struct {
		name  string
		args  []string
		input string
		want  string
	}{
		{"a file", []string{"--attach", "rose.png", "trace cell:3"}, "", "got rose.png RRR (image/png)"},
		{"with an equals sign", []string{"--attach=rose.png", "trace"}, "", "got rose.png RRR (image/png)"},
		{"a name with a comma", []string{"--attach", "a,b.png", "trace"}, "", "got a,b.png AB (image/png)"},
		{"two", []string{"--attach", "rose.png", "--attach", "a,b.png", "trace"}, "", "got rose.png RRR (image/png) a,b.png AB (image/png)"},
		{"standard input", []string{"--attach", "-", "trace"}, "SSS", "got standard input SSS ()"},
		{"standard input after a file", []string{"--attach=rose.png", "--attach=-", "trace"}, "SSS", "got rose.png RRR (image/png) standard input SSS ()"},
		{"the line on standard input", []string{"--attach", "rose.png", "-"}, "trace cell:3\n", "got rose.png RRR (image/png)"},

		{"none", []string{"trace"}, "", "trace needs a file for picture: name it before the command, as --attach flower.png, for example `trace cell:3`."},
		{"behind the command", []string{"trace", "--attach", "rose.png"}, "", ", for example `trace cell:3`."},
		{"one too many", []string{"--attach=rose.png", "--attach=rose.png", "--attach=rose.png", "trace"}, "", "3 files came with that, and trace takes 2"},
		{"one that is not there", []string{"--attach", "rise.png", "trace"}, "", "There is no file rise.png that can be read"},
		{"a folder", []string{"--attach", ".", "trace"}, "", "There is no file . that can be read"},
		{"too large", []string{"--attach", "-", "trace"}, large, "picture: standard input has 5.1 MB; I take up to 5 MB"},
		{"standard input twice", []string{"--attach=-", "--attach=-", "trace"}, "", "Standard input can be read once"},
		{"standard input for the line as well", []string{"--attach=-", "-"}, "trace", "Standard input can be read once"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := parsed(t, c.args...)
			line, err := a.line(io.LimitReader(strings.NewReader(c.input), 1<<20))
			if err != nil {
				t.Fatal(err)
			}
			q, wrong := a.request(line, strings.NewReader(c.input))
			r := bot.Reply{Problem: wrong}
			if wrong == nil {
				r = tracing().Handle(t.Context(), q)
			}
			said := r.Title
			if r.Problem != nil {
				said = r.Problem.Sentence()
			}
			if !strings.Contains(said, c.want) {
				t.Errorf("%.300s", said)
			}
		})
	}
}

// TestAskWithoutItsFile: the mistake is the asker's, for people and for scripts.
func TestAskWithoutItsFile(t *testing.T) {
	var out, complaint bytes.Buffer
	code := run([]string{"ask", "--json", "--attach", "rise.png", "word"}, streams{strings.NewReader(""), &out, &complaint})
	if want := "There is no file rise.png that can be read; name one from this folder, or - for standard input, for example `--attach flower.png`.\n"; code != exitAsker || complaint.String() != want {
		t.Errorf("exit %d: %s", code, &complaint)
	}
	var o answer
	if err := json.Unmarshal(out.Bytes(), &o); err != nil || o.OK || o.Error == nil || o.Error.Code != "bad_value" {
		t.Errorf("%v: %s", err, &out)
	}
	if err := validate(answerSchema(t), out.Bytes()); err != nil {
		t.Error(err)
	}
}
