package bot

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// fetching suggests cloths to those who run the class.
func fetching() *Command {
	return &Command{Name: "fetch", Subs: []*Command{{
		Name: "cloth", Who: Helper, Run: echo,
		Params: []Param{
			{Name: "name", Kind: Words, First: true, Suggest: func(_ context.Context, r Request) ([]string, error) {
				switch r.In.Room {
				case "cellar":
					return nil, errors.New("it is dark")
				case "attic":
					panic("a bat")
				}
				return []string{"Lace shawl", "Shawl", "Linen towel", "shawl", "Tea towel"}, nil
			}},
			{Name: "size", Kind: Choice, Choices: []string{"large", "small"}},
			{Name: "note", Kind: Words},
		},
	}}}
}

func TestSuggest(t *testing.T) {
	teacher := Request{From: ana, In: hall, Role: Teacher}
	for _, row := range []struct {
		shows, command, param, begun string
		r                            Request
		most                         int
		want                         []string
	}{
		{"nothing written yet", "fetch cloth", "name", "", teacher, 25, []string{"Lace shawl", "Shawl", "Linen towel", "Tea towel"}},
		{"what begins so goes before what holds it", "fetch cloth", "name", "sh", teacher, 25, []string{"Shawl", "Lace shawl"}},
		{"whatever the capitals and blanks", "fetch cloth", "name", " TOWEL ", teacher, 25, []string{"Linen towel", "Tea towel"}},
		{"no more than asked for", "fetch cloth", "name", "", teacher, 2, []string{"Lace shawl", "Shawl"}},
		{"none at all", "fetch cloth", "name", "", teacher, 0, []string{}},
		{"misspelt", "fetch cloth", "name", "shwal", teacher, 25, []string{"Shawl"}},
		{"like nothing", "fetch cloth", "name", "anvil", teacher, 25, nil},
		{"choices", "fetch cloth", "size", "s", teacher, 25, []string{"small"}},
		{"an argument that knows none", "fetch cloth", "note", "", teacher, 25, []string{}},
		{"no such argument", "fetch cloth", "colour", "", teacher, 25, nil},
		{"no such command", "fetch wool", "name", "", teacher, 25, nil},
		{"a command that does not run", "fetch", "name", "", teacher, 25, nil},
		{"who may not use it", "fetch cloth", "name", "", Request{From: ana, In: hall, Role: Student}, 25, nil},
		{"too long", "fetch cloth", "name", strings.Repeat("s", longestBegun+1), teacher, 25, nil},
		{"not plain text", "fetch cloth", "name", "\u202es", teacher, 25, nil},
	} {
		got := testDispatcher(fetching()).Suggest(t.Context(), row.r, row.command, row.param, row.begun, row.most)
		if diff := cmp.Diff(row.want, got); diff != "" && len(got)+len(row.want) > 0 {
			t.Errorf("%s: %s", row.shows, diff)
		}
	}
}

func TestSuggestSurvivesItsFaults(t *testing.T) {
	for _, room := range []string{"cellar", "attic"} {
		var log bytes.Buffer
		d := testDispatcher(fetching())
		d.log = slog.New(slog.NewTextHandler(&log, nil))
		got := d.Suggest(t.Context(), Request{From: ana, In: Place{"test", room}, Role: Teacher}, "fetch cloth", "name", "secret", 9)
		if len(got) > 0 || !strings.Contains(log.String(), "nothing could be suggested") || strings.Contains(log.String(), "secret") {
			t.Errorf("%s: %q, logged %s", room, got, log.String())
		}
	}
}

func TestHelpSuggestsWhatSheMayUse(t *testing.T) {
	d := testDispatcher()
	if got := d.Suggest(t.Context(), Request{From: ana, In: hall}, "help", "command", "", 99); slices.Contains(got, "class") || !slices.Contains(got, "row") {
		t.Errorf("a student is suggested %q", got)
	}
}

func FuzzSuggest(f *testing.F) {
	for _, begun := range []string{"", "sh", "Tea t", "8/2", "\xff", "ﬀ", "İ"} {
		f.Add(begun, 3)
	}
	all := []string{"Lace shawl", "Shawl", "8/2 cotton", "İzmir"}
	f.Fuzz(func(t *testing.T, begun string, most int) {
		got := completions(all, begun, most)
		if len(got) > max(most, 0) {
			t.Errorf("%d of at most %d", len(got), most)
		}
		for _, v := range got {
			if !slices.Contains(all, v) {
				t.Errorf("%q is none of them", v)
			}
		}
	})
}
