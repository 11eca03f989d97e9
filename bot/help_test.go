package bot

import (
	"slices"
	"strings"
	"testing"

	"weftroom/calc"
)

func helpFor(t *testing.T, role Role, line string) string {
	t.Helper()
	r := testDispatcher().Handle(t.Context(), Request{From: ana, In: hall, Role: role, Line: line})
	if r.Problem != nil {
		t.Fatalf("%s: %s", line, r.Problem.Sentence())
	}
	if r.Command != "help" {
		t.Errorf("%s: the reply is of %q", line, r.Command)
	}
	return Plain(r)
}

func TestOverviewByRole(t *testing.T) {
	for role, sees := range map[Role]bool{Anyone: false, Student: false, Helper: true, Teacher: true} {
		text := helpFor(t, role, "help")
		if !strings.Contains(text, "what row does") || strings.Contains(text, "what class does") != sees {
			t.Errorf("role %d, class shown should be %v:\n%s", role, sees, text)
		}
	}
}

func TestGreetingsGetTheOverview(t *testing.T) {
	want := helpFor(t, Anyone, "help")
	for _, line := range []string{"hello", "Hello!", "HI", "hi, I am new here", "hallo 👋", "Hello there."} {
		if got := helpFor(t, Anyone, line); got != want {
			t.Errorf("%q: %s", line, got)
		}
	}
}

func TestPageOfOneCommand(t *testing.T) {
	text := helpFor(t, Anyone, "help warp")
	for _, want := range []string{
		"warp\n\nwhat warp does\n", // its name and summary
		"wide",                     // an argument
		"a length, 1cm–5m",         // its kind and both bounds
		"a length, 0–1m",           // a most without a least
		"(needed)",                 // instead of a default
		"10%",                      // a default
		"the takeup",               // what it means
		"For example:", `- warp wide:12in long:72in hem:1in yarn:"8/2 cotton"`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if text := helpFor(t, Anyone, "help row"); !strings.Contains(text, "hole, slot, shaft1, shaft2") {
		t.Errorf("no choices in\n%s", text)
	}
}

func TestPageOfACommandWithSubcommands(t *testing.T) {
	text := helpFor(t, Helper, "help class")
	if !strings.Contains(text, "class open  what class.open does") || !strings.Contains(text, "class roll  what class.roll does") {
		t.Errorf("%s", text)
	}
	text = helpFor(t, Helper, "help class open")
	if !strings.Contains(text, "the class.open.name") || !strings.Contains(text, "class open is for the teacher.") {
		t.Errorf("%s", text)
	}
	if text = helpFor(t, Teacher, "help CLASS Open"); strings.Contains(text, "is for the teacher") {
		t.Errorf("the teacher is told who may use it:\n%s", text)
	}
}

func TestHelpForNoCommand(t *testing.T) {
	for line, hint := range map[string]string{"help rwo": "help row", "help tomorrow": "help", "help row now": "help row"} {
		d := testDispatcher()
		r := ask(d, line)
		if r.Problem == nil || r.Problem.Code != calc.BadValue || !strings.HasPrefix(r.Problem.Message, "There is no command “") || r.Problem.Hint != hint {
			t.Errorf("%s: %+v, want the hint %q", line, r.Problem, hint)
			continue
		}
		wantOneSentence(t, d, line, r)
	}
}

func TestMissing(t *testing.T) {
	full := testTexts()
	if missing := full.Missing(testCommands()); missing != nil {
		t.Errorf("the catalogue of these tests lacks %v", missing)
	}
	for _, key := range []calc.Key{KeyTwice, "cmd.row", "arg.raised", "cmd.class.open", "arg.class.open.name", "role.teacher", "other"} {
		t.Run(string(key), func(t *testing.T) {
			texts := testTexts()
			texts["other"] = "x"
			delete(texts, key)
			if key == "arg.class.open.name" { // the shared meaning would do
				delete(texts, "arg.name")
				key = "arg.name"
			}
			if missing := texts.Missing(testCommands(), "other"); !slices.Contains(missing, key) {
				t.Errorf("not missed: %v", missing)
			}
		})
	}
}
