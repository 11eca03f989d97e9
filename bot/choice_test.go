package bot

import (
	"errors"
	"testing"

	"weftroom/calc"
)

func TestChoice(t *testing.T) {
	places := []string{"hole", "slot", "shaft1", "shaft2"}
	looms := []string{"rigid heddle", "table loom", "floor loom"}
	rows := []struct {
		shows, text string
		choices     []string
		want        string // "" for a refusal
	}{
		{"as it is written", "hole", places, "hole"},
		{"capitals", "Slot", places, "slot"},
		{"a blank inside", "shaft 1", places, "shaft1"},
		{"a hyphen", "Rigid-Heddle", looms, "rigid heddle"},
		{"a no-break space", "floor\u00a0loom", looms, "floor loom"},
		{"the beginning of one", "rigid", looms, "rigid heddle"},
		{"the beginning of two", "shaft", places, ""},
		{"the number that one ends in", "2", places, "shaft2"},
		{"a number that none ends in", "3", places, ""},
		{"a part of a number is not it", "1", []string{"shaft11", "shaft12"}, ""},
		{"her own words", "in a hole", places, "hole"},
		{"her own words, with a stop", "On shaft 1.", places, "shaft1"},
		{"her own words around two words", "a rigid heddle loom", looms, "rigid heddle"},
		{"both of two", "a hole or a slot", places, ""},
		{"a choice inside a longer word", "none", []string{"one", "two"}, ""},
		{"nothing", "", places, ""},
		{"a blank", " ", places, ""},
		{"something else", "middle", places, ""},
	}
	for _, row := range rows {
		p := Param{Name: "arg", Kind: Choice, Choices: row.choices}
		got, err := p.choice(row.text)
		if row.want != "" && (err != nil || got != row.want) {
			t.Errorf("%s: %q is %v, %v; want %q", row.shows, row.text, got, err, row.want)
		}
		if row.want == "" && !isKey(err, KeyNotChoice) {
			t.Errorf("%s: %q is %v, %v; want a refusal", row.shows, row.text, got, err)
		}
	}
}

func isKey(err error, key calc.Key) bool {
	var f *calc.Fault
	return errors.As(err, &f) && f.Key == key
}
