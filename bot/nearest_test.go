package bot

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestDistance(t *testing.T) {
	rows := []struct {
		shows, a, b string
		want        int
	}{
		{"nothing to do", "reed", "reed", 0},
		{"both empty", "", "", 0},
		{"all to insert", "", "sett", 4},
		{"all to drop", "sett", "", 4},
		{"one replaced", "heed", "reed", 1},
		{"one dropped", "hedle", "heddle", 1},
		{"neighbours swapped count once", "wrap", "warp", 1},
		{"neighbours swapped at the end", "shuttel", "shuttle", 1},
		{"a replacement and an insertion", "selvag", "selvedge", 3},
		{"nothing in common", "abc", "xyz", 3},
		{"letters, not bytes", "é", "e", 1},
		{"a letter put between swapped ones", "ca", "abc", 2},
		{"swapped in the middle", "hedle", "hdele", 1},
		{"capitals count", "Reed", "reed", 1},
	}
	for _, row := range rows {
		if got := Distance(row.a, row.b); got != row.want {
			t.Errorf("%s: %d, want %d", row.shows, got, row.want)
		}
		if got := Distance(row.b, row.a); got != row.want {
			t.Errorf("%s, the other way: %d, want %d", row.shows, got, row.want)
		}
	}
}

func TestNearest(t *testing.T) {
	names := []string{"ends", "width", "raised", "rows", "rightmost"}
	rows := []struct {
		shows, word string
		n           int
		want        []string
	}{
		{"one letter wrong", "endz", 1, []string{"ends"}},
		{"neighbours swapped", "riased", 1, []string{"raised"}},
		{"a beginning", "rig", 1, []string{"rightmost"}},
		{"capitals", "ROWZ", 1, []string{"rows"}},
		{"nothing near", "selvedge", 1, nil},
		{"one letter is not near another", "x", 1, nil},
		{"one letter of two bytes begins nothing", "é", 1, nil},
		{"two slips in a short word", "rigs", 2, nil},
		{"two slips in a longer word", "riased3", 1, []string{"raised"}},
		{"two slips, the first letter among them", "vidht", 1, nil},
		{"one slip, in the first letter", "sidth", 1, []string{"width"}},
		{"one slip, the first letter left out", "idth", 1, []string{"width"}},
		{"nothing", "", 1, nil},
		{"no more than asked for", "ro", 1, []string{"rows"}},
		{"too long to be a slip", strings.Repeat("ends", 11), 1, nil},
	}
	for _, row := range rows {
		if got := Nearest(row.word, names, row.n); !slices.Equal(got, row.want) {
			t.Errorf("%s: %q is near %q, want %q", row.shows, row.word, got, row.want)
		}
	}
}

// TestNoWildGuess: words that people type and that are no slips of a command.
func TestNoWildGuess(t *testing.T) {
	commands := []string{"loom", "row", "forget", "when", "me", "link", "word", "warp", "sett", "leave"}
	for _, word := range []string{"morgen", "what", "how", "my", "leno", "why", "go"} {
		if got := Nearest(word, commands, 1); got != nil {
			t.Errorf("%q is taken for %q", word, got)
		}
	}
	for word, want := range map[string]string{"lom": "loom", "rwo": "row", "froget": "forget", "wehn": "when", "wrap": "warp", "leav": "leave", "link?": "link"} {
		if got := Nearest(word, commands, 1); len(got) != 1 || got[0] != want {
			t.Errorf("%q is taken for %q, want %q", word, got, want)
		}
	}
}

func TestNearestFirst(t *testing.T) {
	got := Nearest("long", []string{"longer", "lung", "heddle", "song", "long"}, 4)
	if want := []string{"long", "lung", "song", "longer"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestDistanceIsOne holds what a distance must hold: nothing only between a
// word and itself, the same both ways, and never more than over a third word.
func TestDistanceIsOne(t *testing.T) {
	word := rapid.StringOfN(rapid.SampledFrom([]rune("abcé")), 0, 6, -1)
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := word.Draw(t, "a"), word.Draw(t, "b"), word.Draw(t, "c")
		ab, bc, ac := Distance(a, b), Distance(b, c), Distance(a, c)
		if (ab == 0) != (a == b) {
			t.Errorf("%q to %q is %d", a, b, ab)
		}
		if back := Distance(b, a); back != ab {
			t.Errorf("%q to %q is %d, back %d", a, b, ab, back)
		}
		if ac > ab+bc {
			t.Errorf("%q to %q is %d, but over %q only %d", a, c, ac, b, ab+bc)
		}
	})
}
