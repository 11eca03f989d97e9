package bot

import (
	"strings"
	"testing"
)

// TestWhatOnlyButtonsSay: a button's line is read, and nobody is told how it says
// what it says.
func TestWhatOnlyButtonsSay(t *testing.T) {
	turn := &Command{
		Name: "turn", Run: echo, Examples: []string{"turn"},
		Params: []Param{{Name: "page", Kind: Words, Pressed: true}, {Name: "side", Kind: Choice, Choices: []string{"left", "right"}}},
	}
	turn.Examples = append(turn.Examples, "turn side:left")
	if wrong := Check([]*Command{turn}); len(wrong) > 0 {
		t.Error(wrong)
	}
	d := testDispatcher(turn)
	if _, got, err := givenBy(d, "turn page:3"); err != nil || got["page"] != "3" {
		t.Errorf("the button's line: %v, %v", got, err)
	}
	texts := []string{Plain(turn.help(&Call{Texts: testTexts()}))}
	for _, line := range []string{"turn paeg:3", "turn 3"} {
		texts = append(texts, ask(d, line).Problem.Sentence())
	}
	for _, text := range texts {
		if strings.Contains(text, "page") || !strings.Contains(text, "side") {
			t.Error(text)
		}
	}
	wrong := &Command{Name: "turn", Run: echo, Examples: []string{"turn page:3"}, Params: []Param{{Name: "page", Kind: Words, Pressed: true, First: true}}}
	if len(Check([]*Command{wrong})) == 0 {
		t.Error("what only buttons say may come without its name")
	}
}
