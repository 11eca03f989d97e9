package discord

import (
	"context"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
	"weftroom/bot/lesson"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestRegistration compares what Discord is told of a few commands of every kind
// with testdata/commands.json.
func TestRegistration(t *testing.T) {
	said := bot.Texts{
		"cmd.row": "Plan a row", "cmd.loom": "Tell about your loom", "cmd.question": "Ask the teacher", "cmd.session": "The sessions",
		"cmd.session.add": "Add one", "cmd.session.list": "List them", "cmd.coming": "Say that you come",
		"arg.ends": "how many ends", "arg.row.way": "in one direction or two", "arg.text": "the words",
		bot.KeyLine: "Ask in one line", bot.KeyLineArg: "for example: help",
	}
	german := bot.Texts{
		"cmd.row": "Plant eine Reihe", "name.row": "reihe", "name.session.add": "Not A Name", "cmd.session.add": "Fügt eines hinzu",
		"arg.ends": "wie viele Fäden", "name.ends": "fäden",
	}
	chat := &Chat{o: Options{Commands: testCommands, Texts: said, Tongues: map[string]bot.Texts{"de": german}}}
	got, err := json.MarshalIndent(chat.commands(), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	golden := filepath.Join("testdata", "commands.json")
	if *update {
		if err := os.WriteFile(golden, append(got, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)+"\n"); diff != "" {
		t.Error(diff)
	}
}

// TestAllCommandsFit holds what is really declared to Discord's bounds
// (documentation, Application Commands, Naming and Limits).
func TestAllCommandsFit(t *testing.T) {
	chat := &Chat{o: Options{Commands: lesson.Commands(&lesson.Desk{}), Texts: lesson.English()}}
	commands := chat.commands()
	if n := len(commands); n < 20 || n > maxCommands {
		t.Fatalf("%d commands", n)
	}
	if n := len(commands); n != len(chat.o.Commands)+1 {
		t.Errorf("%d commands of %d declarations", n, len(chat.o.Commands))
	}
	for _, c := range commands {
		if n := lettersOf(c.Name, c.Description, c.Options); n > maxCommandWords {
			t.Errorf("/%s has %d letters in all", c.Name, n)
		}
		checkParameter(t, c.Name, parameter{Name: c.Name, Description: c.Description, Options: c.Options})
	}
}

func checkParameter(t *testing.T, path string, p parameter) {
	t.Helper()
	if !nameForm().MatchString(p.Name) {
		t.Errorf("%s: the name cannot be had", path)
	}
	if n := size(p.Description); n < 1 || n > maxDescription || p.Description == p.Name {
		t.Errorf("%s: the description %q has %d letters", path, p.Description, n)
	}
	if len(p.Options) > maxOptions || len(p.Choices) > maxOptions || p.Autocomplete && len(p.Choices) > 0 {
		t.Errorf("%s: %d options, %d choices, autocomplete %v", path, len(p.Options), len(p.Choices), p.Autocomplete)
	}
	optional := false
	for _, o := range p.Options {
		if o.Required && optional {
			t.Errorf("%s: %s is required and comes late", path, o.Name)
		}
		optional = optional || !o.Required
		checkParameter(t, path+" "+o.Name, o)
	}
}

func lettersOf(name, description string, options []parameter) int {
	n := size(name) + size(description)
	for _, o := range options {
		n += lettersOf(o.Name, o.Description, o.Options)
		for _, c := range o.Choices {
			n += size(c.Name)
			if text, ok := c.Value.(string); ok {
				n += size(text)
			}
		}
	}
	return n
}

// TestAllCommandsAreTaken registers what is really declared with the test
// server, and looks at who is offered what.
func TestAllCommandsAreTaken(t *testing.T) {
	s := newScene(t, Options{Commands: lesson.Commands(&lesson.Desk{}), Texts: lesson.English()}, func(context.Context, bot.Request) bot.Reply { return title("done") })
	tea := s.srv.User("Tea")
	s.guild.Join(tea, discordtest.ManageEvents)
	student, teacher, alone := s.ann.Offered(s.room), tea.Offered(s.room), s.ann.Offered(s.ann.DM())
	for _, c := range []struct {
		who     string
		offered []string
		command string
		want    bool
	}{
		{"a student", student, "row", true}, {"a student", student, "class open", true}, {"a student", student, "say", false},
		{"a student", student, "report", false}, {"a student", student, "roster", false}, {"a student", student, "session add", false}, {"a teacher", teacher, "roster", true},
		{"a teacher", teacher, "say", true}, {"a teacher", teacher, "report", true},
		{"in a direct message", alone, "row", true}, {"in a direct message", alone, "ask", true},
	} {
		if slices.Contains(c.offered, c.command) != c.want {
			t.Errorf("%s is offered /%s: %v", c.who, c.command, !c.want)
		}
	}
}

// untilRegistered waits until the chat knows that Discord has its commands, which
// can be used a moment before.
func (s *scene) untilRegistered() {
	s.Helper()
	for ; s.ctx.Err() == nil; runtime.Gosched() {
		if n, err := s.notes.Note(s.ctx, ChatName, "commands"); err == nil && n.Value != "" {
			return
		}
	}
	s.Fatal("the commands were not registered")
}

func TestRegistrationOnlyWhenSomethingChanged(t *testing.T) {
	h := func(context.Context, bot.Request) bot.Reply { return title("done") }
	s := newScene(t, Options{}, h)
	s.untilRegistered()
	s.slash(s.ann, s.room, "row", nil)
	s.end()
	s.run(Options{}, h)
	s.slash(s.ann, s.room, "row", nil)
	s.end()
	if _, times := s.srv.Registered(); times != 1 {
		t.Errorf("registered %d times, with nothing new", times)
	}
	s.run(Options{Commands: testCommands[:2]}, h)
	for ctx := patience(t); ctx.Err() == nil; {
		if _, times := s.srv.Registered(); times == 2 {
			return
		}
	}
	t.Error("a change was not registered")
}

// TestRegistrationIsTriedAgain after a failure, and costs nothing but time.
func TestRegistrationIsTriedAgain(t *testing.T) {
	srv := newServer(t, discordtest.Options{})
	chat := newChat(t, srv, Options{Commands: testCommands})
	srv.Fail(discordtest.Fault{Route: "PUT /applications/{app}/commands", Times: 2, Status: 500})
	if err := chat.register(patience(t), srv.AppID); err != nil {
		t.Fatal(err)
	}
	if commands, times := srv.Registered(); times != 1 || len(commands) != len(testCommands)+1 {
		t.Errorf("%d commands, registered %d times", len(commands), times)
	}
}
