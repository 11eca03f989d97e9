package bot

import (
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

func TestPlainBlocks(t *testing.T) {
	long := strings.Repeat("abcd ", 20)
	rows := []struct {
		shows string
		block Block
		want  string
	}{
		{"a paragraph", Paragraph("one line"), "one line\n"},
		{"a paragraph that wraps at a blank", Paragraph(long), strings.TrimSpace(strings.Repeat("abcd ", 15)) + "\nabcd abcd abcd abcd abcd\n"},
		{"a paragraph with lines of its own", Paragraph("one\ntwo\n\n\n\nthree"), "one\ntwo\n\nthree\n"},
		{"blanks are not doubled", Paragraph("one  two \n"), "one two\n"},
		{"unbreakable blanks do not break", Paragraph(strings.Repeat("x", 74) + " 15\u00a01/2\u00a0in"), strings.Repeat("x", 74) + "\n15\u00a01/2\u00a0in\n"},
		{"a word that is too long", Paragraph("a " + strings.Repeat("x", 100) + " b"), "a\n" + strings.Repeat("x", 100) + "\nb\n"},
		{"wide letters count twice", Paragraph(strings.Repeat("織", 20) + " " + strings.Repeat("織", 19)), strings.Repeat("織", 20) + "\n" + strings.Repeat("織", 19) + "\n"},
		{"accents of their own count nothing", Paragraph(strings.Repeat("e\u0301", 77) + " x"), strings.Repeat("e\u0301", 77) + "\nx\n"},
		{"nothing", Paragraph(""), "\n"},
		{"a heading", Heading("Row 1"), "Row 1\n"},
		{"a heading of two lines", Heading("Row\n1"), "Row 1\n"},
		{"a list", List{"one", long}, "- one\n- " + strings.TrimSpace(strings.Repeat("abcd ", 15)) + "\n  abcd abcd abcd abcd abcd\n"},
		{"a picture", Picture{Name: "x.png", Alt: "Two rows of\nholes"}, "[Two rows of holes]\n"},
		{"controls and direction marks", Paragraph("a\x1b[31mb\u202ec\u009bd\x00e\u200ff\u2066g\ufeff\u200bh"), "a[31mbcdefgh\n"},
		{"tabs, returns and separators are blanks", Paragraph("a\tb\rc\u2028d\u0085e"), "a b c d e\n"},
		{"joiners stay", Paragraph("👩\u200d🌾"), "👩\u200d🌾\n"},

		{"a table", Table{Head: []string{"raised", "left over"}, Rows: [][]string{{"3", "nothing"}, {"12", ""}}, Numbers: []bool{true}},
			"raised  left over\n─────────────────\n     3  nothing\n    12\n"},
		{"a table without head", Table{Rows: [][]string{{"a", "b"}, {"aa", "b"}}}, "a   b\naa  b\n"},
		{"a table without rows", Table{Head: []string{"a", "b"}}, "a  b\n────\n"},
		{"a table of nothing", Table{}, "\n"},
		{"a row with cells too few and too many", Table{Head: []string{"a", "b"}, Rows: [][]string{{"1"}, {"1", "2", "3"}}}, "a  b\n───────\n1\n1  2  3\n"},
		{"a cell of two lines", Table{Head: []string{"a"}, Rows: [][]string{{"one\ntwo"}}}, "a\n───────\none two\n"},
		{"wide letters in a table", Table{Head: []string{"a", "b"}, Rows: [][]string{{"織", "x"}, {"yy", "z"}}}, "a   b\n─────\n織  x\nyy  z\n"},
		{"a table as wide as can be", Table{Head: []string{strings.Repeat("h", 38), strings.Repeat("i", 38)}},
			strings.Repeat("h", 38) + "  " + strings.Repeat("i", 38) + "\n" + strings.Repeat("─", 78) + "\n"},
		{"a wider table row by row",
			Table{Head: []string{"argument", "takes", "default", "what"}, Rows: [][]string{
				{"ends", "a whole number", "", "warp ends, as counted, one after the other"},
				{"leftover", "far, both", "far", "where ends go that fill no group: the far group, or shared by both sides"},
				{"last", "", "", ""},
				{"", "no item", "", ""},
			}},
			"ends\n  · takes: a whole number\n  · what: warp ends, as counted, one after the other\n" +
				"leftover\n  · takes: far, both\n  · default: far\n  · what: where ends go that fill no group: the far group, or shared by both\n    sides\n" +
				"last\n–\n  · takes: no item\n"},
		{"a wider table of two columns", Table{Head: []string{"command", "what it does"}, Rows: [][]string{{"loom", long}, {"row", ""}}},
			"loom: " + strings.TrimSpace(strings.Repeat("abcd ", 14)) + "\n  abcd abcd abcd abcd abcd abcd\nrow\n"},
		{"a wider table whose items are numbers", Table{Head: []string{"raised", "left over"}, Rows: [][]string{{"3", long}}, Numbers: []bool{true}},
			"raised: 3\n  · left over: " + strings.TrimSpace(strings.Repeat("abcd ", 12)) + "\n    abcd abcd abcd abcd abcd abcd abcd abcd\n"},
		{"a wider table without head", Table{Rows: [][]string{{"a", long}, {"b", "c"}}},
			"a\n  · " + strings.TrimSpace(strings.Repeat("abcd ", 15)) + "\n    abcd abcd abcd abcd abcd\nb\n  · c\n"},

		{"steps", Steps{{"1", "heddle up: to the left, under 3", "← 3 ▲"}, {"2–15", "repeat", "↻ 1"}},
			"     1  heddle up: to the left, under 3  ← 3 ▲\n  2–15  repeat                           ↻ 1\n"},
		{"steps without short forms", Steps{{Label: "1", Text: "one"}, {Label: "", Text: "two"}}, "  1  one\n     two\n"},
		{"a long step wraps beside its short form", Steps{{"1", long, "← 3"}, {"2", "b", "→ 3"}},
			"  1  " + pad(strings.TrimSpace(strings.Repeat("abcd ", 13)), 68) + "  ← 3\n     abcd abcd abcd abcd abcd abcd abcd\n  2  " + pad("b", 68) + "  → 3\n"},
		{"a word longer than the column", Steps{{"1", strings.Repeat("x", 90), "← 3"}}, "  1  " + strings.Repeat("x", 90) + "\n     ← 3\n"},
		{"short forms that leave no room stand below", Steps{{"1", "knot", strings.Repeat("y", 60)}}, "  1  knot\n     " + strings.Repeat("y", 60) + "\n"},
		{"labels that leave no room", Steps{{strings.Repeat("z", 90), "knot", "k"}}, "  " + strings.Repeat("z", 90) + "  knot\n" + strings.Repeat(" ", 94) + "k\n"},
		{"no steps", Steps{}, "\n"},
	}
	for _, row := range rows {
		if got := PlainBlock(row.block); got != row.want {
			t.Errorf("%s:\n%q\nwant\n%q", row.shows, got, row.want)
		}
	}
}

func TestPlainReply(t *testing.T) {
	rows := []struct {
		shows string
		reply Reply
		want  string
	}{
		{"nothing", Reply{}, "\n"},
		{"a title", Reply{Title: "Your\nloom"}, "Your loom\n"},
		{"blocks", Reply{Title: "T", Body: []Block{Paragraph("one\n\n"), Heading("H"), List{"a"}}}, "T\n\none\n\nH\n\n- a\n"},
		{"no title", Reply{Body: []Block{Paragraph("one")}}, "one\n"},
		{"empty blocks leave no gap", Reply{Title: "T", Body: []Block{List{}, Paragraph(""), Paragraph("one")}}, "T\n\none\n"},
		{"buttons are their commands", Reply{Title: "T", Buttons: []Button{{"in a hole", "loom rightmost:hole"}, {"I don't\nknow", "loom unsure:rightmost"}}},
			"T\n\n  in a hole: loom rightmost:hole\n  I don't know: loom unsure:rightmost\n"},
		{"a problem", Reply{Problem: &Problem{Message: "ends: 7 is too few", Hint: "ends:97"}}, "ends: 7 is too few, for example `ends:97`.\n"},
		{"a problem without example", Reply{Problem: &Problem{Message: "Please wait"}}, "Please wait.\n"},
		{"a problem that has its stop", Reply{Problem: &Problem{Message: "Did you mean row?"}}, "Did you mean row?\n"},
		{"a problem with what nobody should see", Reply{Problem: &Problem{Message: "no\x1b “\u202ex”\n", Hint: "a\x00\nb"}}, "no “x”, for example `a b`.\n"},
	}
	for _, row := range rows {
		if got := Plain(row.reply); got != row.want {
			t.Errorf("%s:\n%q\nwant\n%q", row.shows, got, row.want)
		}
	}
}

// TestPlainAlwaysReadsWell: whatever is put into a reply, its text has no
// invisible characters, no blanks at the end of a line, no two blank lines
// together, and one line break at its end.
func TestPlainAlwaysReadsWell(t *testing.T) {
	text := rapid.OneOf(
		rapid.String(),
		rapid.StringOfN(rapid.SampledFrom([]rune("ab \n\t\r\u00a0\u202e\u2028\x1b織👩\u200d")), 0, 120, -1),
	)
	cells := rapid.SliceOfN(text, 0, 4)
	block := rapid.OneOf(
		rapid.Map(text, func(s string) Block { return Paragraph(s) }),
		rapid.Map(text, func(s string) Block { return Heading(s) }),
		rapid.Map(cells, func(s []string) Block { return List(s) }),
		rapid.Custom(func(t *rapid.T) Block {
			return Table{cells.Draw(t, "head"), rapid.SliceOfN(cells, 0, 4).Draw(t, "rows"), rapid.SliceOfN(rapid.Bool(), 0, 3).Draw(t, "numbers")}
		}),
		rapid.Custom(func(t *rapid.T) Block {
			step := rapid.Custom(func(t *rapid.T) Step { return Step{text.Draw(t, "label"), text.Draw(t, "text"), text.Draw(t, "short")} })
			return Steps(rapid.SliceOfN(step, 0, 4).Draw(t, "steps"))
		}),
		rapid.Map(text, func(s string) Block { return Picture{Alt: s} }),
	)
	rapid.Check(t, func(t *rapid.T) {
		r := Reply{Title: text.Draw(t, "title"), Body: rapid.SliceOfN(block, 0, 4).Draw(t, "body")}
		for _, s := range rapid.SliceOfN(text, 0, 2).Draw(t, "buttons") {
			r.Buttons = append(r.Buttons, Button{s, s})
		}
		wantReadable(t, Plain(r))
		for _, b := range r.Body {
			wantReadable(t, PlainBlock(b))
		}
		wantReadable(t, Plain(Reply{Problem: &Problem{Message: text.Draw(t, "message"), Hint: text.Draw(t, "hint")}}))
	})
}

func wantReadable(t *rapid.T, s string) {
	t.Helper()
	body, ok := strings.CutSuffix(s, "\n")
	if !ok || strings.HasSuffix(body, "\n") || strings.HasPrefix(body, "\n") || strings.Contains(body, "\n\n\n") {
		t.Fatalf("line breaks: %q", s)
	}
	for line := range strings.SplitSeq(body, "\n") {
		if strings.TrimRightFunc(line, unicode.IsSpace) != line {
			t.Fatalf("blanks at the end of a line: %q", s)
		}
	}
	for _, r := range body {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) {
			t.Fatalf("%U in %q", r, s)
		}
	}
}
