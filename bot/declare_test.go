package bot

import (
	"strings"
	"testing"
)

func TestTheseTestsDeclareRightly(t *testing.T) {
	for _, err := range Check(append(testCommands(), curious())) {
		t.Error(err)
	}
}

func TestCheckFindsWhatIsWrong(t *testing.T) {
	with := func(p Param) []*Command { return []*Command{{Name: "do", Run: echo, Params: []Param{p}}} }
	rows := []struct {
		shows    string
		commands []*Command
		want     string
	}{
		{"two commands of one name", []*Command{{Name: "do", Run: echo}, {Name: "make", Aliases: []string{"do"}, Run: echo}}, `make: the name "do" is taken`},
		{"a name of two words", []*Command{{Name: "do it", Run: echo}}, `the name "do it"`},
		{"a name in capitals", []*Command{{Name: "Do", Run: echo}}, `the name "Do"`},
		{"nothing to run", []*Command{{Name: "do"}}, "either runs or has subcommands"},
		{"subcommands and something to run", []*Command{{Name: "do", Run: echo, Subs: []*Command{{Name: "it", Run: echo}}}}, "either runs or has subcommands"},
		{"a wrong subcommand", []*Command{{Name: "do", Subs: []*Command{{Name: "it"}}}}, "do it: a command either runs"},
		{"an argument's name with a digit", with(Param{Name: "a1", Kind: Words}), "do a1: the name is taken or no"},
		{"two arguments of one name", []*Command{{Name: "do", Run: echo, Params: []Param{{Name: "a", Kind: Words}, {Name: "a", Kind: Words}}}}, "do a: the name is taken"},
		{"two first arguments", []*Command{{Name: "do", Run: echo, Params: []Param{{Name: "a", First: true}, {Name: "b", First: true}}}}, "do b: another argument comes first"},
		{"a default of what is required", with(Param{Name: "a", Kind: Count, Required: true, Default: "1"}), "has no default"},
		{"a choice without choices", with(Param{Name: "a", Kind: Choice}), "a choice has choices"},
		{"choices of a count", with(Param{Name: "a", Kind: Count, Choices: []string{"1"}}), "a choice has choices"},
		{"choices that are read alike", with(Param{Name: "a", Kind: Choice, Choices: []string{"shaft-1", "shaft 1"}}), `the choice "shaft 1" is read as shaft-1`},
		{"a least without a most", with(Param{Name: "a", Kind: Length, Min: "1cm"}), "a least needs a most"},
		{"a default that cannot be read", with(Param{Name: "a", Kind: Length, Default: "1"}), `"1" cannot be read`},
		{"a default out of bounds", with(Param{Name: "a", Kind: Count, Default: "9", Max: "8"}), `"9" cannot be read`},
		{"a least that cannot be read", with(Param{Name: "a", Kind: Length, Min: "1 cmm", Max: "5m"}), `"1 cmm" cannot be read`},
		{"a most that cannot be read", with(Param{Name: "a", Kind: Share, Max: "60"}), `"60" cannot be read`},
		{"an example of another command", []*Command{{Name: "do", Run: echo, Examples: []string{"make"}}}, "it is not of this command"},
		{"an example of something unknown", []*Command{{Name: "do", Run: echo, Examples: []string{"do a:1"}}}, `"do a:1" is refused`},
		{"an example with an open quote", []*Command{{Name: "do", Run: echo, Examples: []string{`do "a`}}}, "is refused"},
		{"an example out of bounds", []*Command{{Name: "do", Run: echo, Examples: []string{"do a:9"}, Params: []Param{{Name: "a", Kind: Count, Max: "8"}}}}, `"do a:9" is refused`},
		{"an argument that no example shows", with(Param{Name: "a", Kind: Length, Max: "1in"}), "do a: no example shows it"},
	}
	for _, row := range rows {
		var found []string
		for _, err := range Check(row.commands) {
			found = append(found, err.Error())
		}
		if !strings.Contains(strings.Join(found, "\n"), row.want) {
			t.Errorf("%s: found %q, want %q", row.shows, found, row.want)
		}
	}
}
