package bot

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// move takes a number and behind it a text, either with or without its name.
func move() *Command {
	return &Command{
		Name: "move", Run: echo, Examples: []string{`move 2 to:"the shelf" copies:3`},
		Params: []Param{
			{Name: "number", Kind: Count, First: true, Required: true},
			{Name: "to", Kind: Words, Second: true, Required: true},
			{Name: "copies", Kind: Count},
		},
	}
}

func TestATextMayFollowANumber(t *testing.T) {
	for _, row := range []struct {
		line string
		want map[string]string // nil: refused
	}{
		{"move 2 the shelf", map[string]string{"number": "2", "to": "the shelf"}},
		{`move 2 "the shelf" copies:3`, map[string]string{"number": "2", "to": "the shelf", "copies": "3"}},
		{"move 2 the shelf copies 3", map[string]string{"number": "2", "to": "the shelf", "copies": "3"}},
		{"move 2 to:the shelf", map[string]string{"number": "2", "to": "the shelf"}},
		{"move 2 to the shelf", map[string]string{"number": "2", "to": "the shelf"}},
		{"move number:2 to:it", map[string]string{"number": "2", "to": "it"}},
		{`move 2 "copies"`, map[string]string{"number": "2", "to": "copies"}},
		{"move 2 https://shelf.example/a:b", map[string]string{"number": "2", "to": "https://shelf.example/a:b"}},
		{"move 2 left: above the door", map[string]string{"number": "2", "to": "left: above the door"}},
		{"move copies:3 2 the shelf", nil},
		{"move 2 coppies:3", nil},
		{"move the shelf", nil},
		{"move 2 the shelf to:it", nil},
	} {
		_, got, err := givenBy(testDispatcher(move()), row.line)
		switch {
		case (err != nil) != (row.want == nil):
			t.Errorf("%s: %v, %v", row.line, got, err)
		case err == nil:
			if diff := cmp.Diff(row.want, got); diff != "" {
				t.Errorf("%s:\n%s", row.line, diff)
			}
		}
	}
	if wrong := Check([]*Command{move()}); len(wrong) > 0 {
		t.Error(wrong)
	}
}

func TestANumberMayFollowANumber(t *testing.T) {
	place := &Command{
		Name: "place", Run: echo, Examples: []string{"place row:2 move:3 by:hand"},
		Params: []Param{{Name: "row", Kind: Count, First: true}, {Name: "move", Kind: Count, Second: true}, {Name: "by", Kind: Words}},
	}
	for line, want := range map[string]map[string]string{
		"place 2 3":         {"row": "2", "move": "3"},
		"place 2 3 by:hand": {"row": "2", "move": "3", "by": "hand"},
		"place 2 move 3":    {"row": "2", "move": "3"},
		"place 2":           {"row": "2"},
		"place 2 3 4":       nil,
		"place 2 there":     nil,
		"place 2 mov:3":     nil,
	} {
		_, got, err := givenBy(testDispatcher(place), line)
		if diff := cmp.Diff(want, got); (err != nil) != (want == nil) || want != nil && diff != "" {
			t.Errorf("%s: %v, %v", line, got, err)
		}
	}
	if wrong := Check([]*Command{place}); len(wrong) > 0 {
		t.Error(wrong)
	}
}

func TestSecondIsATextOrANumberBehindANumber(t *testing.T) {
	for _, params := range [][]Param{
		{{Name: "number", Kind: Count, First: true}, {Name: "to", Kind: Choice, Choices: []string{"shelf"}, Second: true}},
		{{Name: "name", Kind: Words, First: true}, {Name: "to", Kind: Words, Second: true}},
		{{Name: "to", Kind: Words, Second: true}},
		{{Name: "number", Kind: Count, First: true}, {Name: "to", Kind: Words, Second: true}, {Name: "at", Kind: Words, Second: true}},
	} {
		c := &Command{Name: "move", Run: echo, Params: params, Examples: []string{"move number:1"}}
		if wrong := Check([]*Command{c}); len(wrong) == 0 {
			t.Errorf("%+v is thought to be right", params)
		}
	}
}
