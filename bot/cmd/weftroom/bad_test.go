package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// stranger begins the rows that are sent by someone of whom nothing is known.
const stranger = "a stranger, and "

// badInput is everything that a person, a phone or a mischief-maker may send
// and that must be refused: by which class of mistake, and with which words in
// the one sentence that says so. All but the strangers have told of their loom.
var badInput = []struct {
	shows, line, code string
	says              []string // the bound, or what is allowed
	hint              string
}{
	{"even passes", "row ends:97 passes:4", "bad_value", []string{"4 is even", "3 or 5"}, "passes:3"},
	{"too many passes", "row ends:97 passes:101", "out_of_range", []string{"3 to 99"}, "passes:5"},
	{"groups of one", "row ends:97 raised:1", "out_of_range", []string{"2 to 2000"}, "raised:3"},
	{"groups wider than the warp", "row ends:97 raised:49", "out_of_range", []string{"2 to 48", "97 ends"}, "raised:3"},
	{"more edge than warp", "row ends:20 edge:9", "out_of_range", []string{"0 to 3 pairs", "20 ends"}, "edge:3"},
	{"ends and width that disagree", "row ends:97 width:15in heddle:10", "conflict", []string{"97 ends", "15 in (38 cm)", "150 ends"}, "ends:150"},
	{"too few ends", "row ends:7", "out_of_range", []string{"8 to 4000"}, "ends:97"},
	{"more work than is woven at once", "row ends:4000 passes:99 rows:1000", "out_of_range", []string{"up to 50"}, "rows:50"},
	{"no rows", "row ends:97 rows:0", "out_of_range", []string{"1 to 1000"}, "rows:2"},
	{"a jammed sett", `warp wide:12in long:72in sett:60 ppi:20 takeup:auto yarn:"8/2 cotton"`, "conflict", []string{"60 per inch", "up to 26.8 per inch"}, "sett:22"},
	{"jammed picks", `warp wide:12in long:72in sett:20 ppi:60 takeup:auto yarn:"8/2 cotton"`, "conflict", []string{"60 per inch", "up to 26.8 per inch"}, "ppi:22"},

	{"a negative length", "loom from:left width:-15in", "out_of_range", []string{"below zero", "zero and more"}, "width:15in"},
	{"a negative length with a long dash", "loom from:left width:–15in", "out_of_range", []string{"below zero"}, "width:15in"},
	{"no length at all", "loom from:left width:0", "out_of_range", []string{"3/8 in (1 cm)", "98 3/8 in (250 cm)"}, "width:15in"},
	{"an absurd length", "loom from:left width:900m", "out_of_range", []string{"3/8 in (1 cm)", "98 3/8 in (250 cm)"}, "width:15in"},
	{"a length from here to the moon", "loom from:left width:384400000000mm", "out_of_range", []string{"up to"}, "width:15in"},
	{"1e309", "loom from:left width:1e309in", "bad_value", []string{"write the number out"}, "width:15in"},
	{"1e309 ends", "loom from:left ends:1e309", "bad_value", []string{"whole number"}, "ends:150"},
	{"ends of 400 digits", "loom from:left ends:" + strings.Repeat("9", 400), "out_of_range", []string{"8 to 4000"}, "ends:150"},
	{"not a number", "loom from:left width:NaN in", "bad_value", []string{"needs a number at place 1"}, "width:15in"},
	{"infinity", "loom from:left width:Inf in", "bad_value", []string{"needs a number at place 1"}, "width:15in"},
	{stranger + "a missing unit", "row width:15 heddle:10", "bad_value", []string{"no unit", "after the number"}, "width:15in"},
	{stranger + "a missing unit of the warp", "yardage ends:528 warp:4", "bad_value", []string{"no unit", "after the number"}, "warp:4yd"},
	{stranger + "a width without a heddle", "row width:15in", "missing_argument", []string{"heddle or sett"}, "heddle:10"},
	{stranger + "no warp at all", "row", "missing_argument", []string{"number of ends", "width"}, "ends:97"},
	{"a unit of another trade", "loom from:left width:15 furlongs", "bad_value", []string{"furlongs", "place 4"}, "width:15in"},
	{"a comma that may be either", `loom from:left width:1,000mm`, "bad_value", []string{"1000 or 1.000"}, "width:15in"},
	{"a fraction that cannot be", `loom from:left width:"15 9/8 in"`, "bad_value", []string{"place 4"}, "width:15in"},
	{"a half end", "loom from:left ends:97.5", "bad_value", []string{"whole number"}, "ends:150"},
	{"ten or ten per cent", "warp wide:12in long:72in shrink:10", "bad_value", []string{"per cent", "10%"}, "shrink:8%"},
	{"two numbers where one goes", "row ends:97 98", "unknown_argument", []string{"98"}, ""},

	{"an unknown command", "crochet ends:97", "unknown_command", []string{"“crochet”", "list of what I know"}, "help"},
	{"a command misspelt", "rwo ends:97", "unknown_command", []string{"did you mean row"}, "row ends:97 raised:3 rows:2 rightmost:hole"},
	{"an unknown argument", "loom from:left colour:red", "unknown_argument", []string{"kind, width, heddle"}, ""},
	{"an argument misspelt", "loom from:left widht:15in", "unknown_argument", []string{"did you mean width"}, "width:15in"},
	{"an unknown choice", "loom from:left rightmost:middle", "bad_value", []string{"hole, slot, shaft1, shaft2"}, "rightmost:hole"},
	{"an unknown word", "word headle", "bad_value", []string{"did you mean heddle"}, "word heddle"},
	{"an unknown word to explain", "help rwo", "bad_value", []string{"rwo"}, "help row"},
	{"a word given twice", "loom from:left ends:97 ends:98", "conflict", []string{"“ends” is given twice"}, "ends:150"},
	{"an argument without its value", "loom from:left ends:", "bad_value", []string{"“ends” has no value"}, "ends:150"},
	{"an open quote", `sett yarn:"8/2 cotton`, "bad_value", []string{"never closed"}, ""},
	{"an open curly quote", `sett yarn:“8/2 cotton`, "bad_value", []string{"never closed"}, ""},
	{"a yarn of no fibre", "sett 8/2", "bad_value", []string{"which fibre or count"}, `yarn:"8/2 cotton"`},
	{"a yarn that no reed takes", "sett 0.001 tex", "out_of_range", []string{"yarn: no common reed"}, `yarn:"8/2 cotton"`},
	{"a word without a value", "loom from:left ends:", "bad_value", []string{"“ends” has no value"}, "ends:150"},
	{"nothing needed is said", "warp", "missing_argument", []string{"wide"}, "wide:12in"},
	{"a loom that cannot be", "loom from:left rightmost:shaft1", "conflict", []string{"hole or a slot"}, "loom rightmost:hole"},
	{"a count that the width does not hold", "loom from:left ends:97", "conflict", []string{"97 ends", "150 ends"}, `loom ends:97 width:"9 3/4 in"`},

	{"nothing", "", "unknown_command", []string{"begin with a command"}, "help"},
	{"blanks", " \t \u00a0 ", "unknown_command", []string{"begin with a command"}, "help"},
	{"a megabyte", strings.Repeat("row ends:97 ", 1<<20/12+1), "out_of_range", []string{"up to 4000"}, ""},
	{"a megabyte without a blank", strings.Repeat("x", 1<<20), "out_of_range", []string{"up to 4000"}, ""},
	{"a line just too long", "word " + strings.Repeat("x", 3996), "out_of_range", []string{"4001 bytes", "up to 4000"}, ""},
	{"invalid UTF-8", "loom from:left width:15\xff\xfein", "bad_value", []string{"not readable text"}, ""},
	{"half a character", "loom from:left width:7\xc2", "bad_value", []string{"not readable text"}, ""},
	{"a right-to-left mark", "loom from:left width:15\u200fin", "bad_value", []string{"U+200F"}, ""},
	{"a right-to-left override", "loom from:left \u202eends:97", "bad_value", []string{"U+202E"}, ""},
	{"a zero", "loom from:left\x00 ends:97", "bad_value", []string{"U+0000"}, ""},
	{"an escape that would paint the screen", "loom from:left \x1b[31m", "bad_value", []string{"U+001B"}, ""},
	{"a space of no width", "loom from:left width:15\u200bin", "bad_value", []string{"U+200B"}, ""},
	{"a picture", "loom from:left width:🧶", "bad_value", []string{"needs a number at place 1"}, "width:15in"},
}

func TestBadInput(t *testing.T) {
	schema := answerSchema(t)
	dir := t.TempDir()
	state := filepath.Join(dir, "state")
	if code, _, stderr := ask("", "--state", state, `loom kind:"rigid heddle" width:15in heddle:10 ends:150 rightmost:hole from:right`); code != exitOK {
		t.Fatal(stderr)
	}
	_, before, _ := ask("", "--json", "--state", state, "me")
	if !strings.Contains(before, "0.381") {
		t.Fatal(before)
	}
	for _, row := range badInput {
		t.Run(row.shows, func(t *testing.T) {
			known := []string{"--state", state, "-"}
			if strings.HasPrefix(row.shows, stranger) {
				known = []string{"-"}
			}
			code, out, stderr := ask(row.line+"\n", append([]string{"--json"}, known...)...)
			if err := validate(schema, []byte(out)); err != nil {
				t.Errorf("%v", err)
			}
			var o answer
			if err := json.Unmarshal([]byte(out), &o); err != nil || o.Error == nil {
				t.Fatalf("%v: exit %d, %s", err, code, out)
			}
			if code != exitAsker || string(o.Error.Code) != row.code {
				t.Errorf("exit %d, code %s, want %s: %s", code, o.Error.Code, row.code, stderr)
			}
			if row.hint != "" && o.Error.Hint != row.hint {
				t.Errorf("hint %q, want %q: %s", o.Error.Hint, row.hint, stderr)
			}
			for _, says := range row.says {
				if !strings.Contains(o.Error.Message, says) {
					t.Errorf("%q is not said: %s", says, stderr)
				}
			}
			if why := notOneSentence(stderr); why != "" {
				t.Errorf("%s: %q", why, stderr)
			}
			if len(stderr) > 500 {
				t.Errorf("%d bytes are said", len(stderr))
			}
			if o.Text != stderr {
				t.Errorf("text %q, standard error %q", o.Text, stderr)
			}
			if _, plain, again := ask(row.line+"\n", known...); plain != "" || again != stderr {
				t.Errorf("without --json: %q and %q", plain, again)
			}
		})
	}
	if _, after, _ := ask("", "--json", "--state", state, "me"); after != before {
		t.Errorf("something is remembered:\n%s\nbefore:\n%s", after, before)
	}
	if files, err := os.ReadDir(dir); err != nil || len(files) != 2 {
		t.Errorf("%v: %v lie beside the state and its lock", err, files)
	}
}

var (
	quotedPart = regexp.MustCompile("`[^`]*`|“[^”]*”")
	sentenceIn = regexp.MustCompile(`[.!?] [A-Z]|[!?]`)
)

// notOneSentence says why a refusal is not one plain sentence with an example.
func notOneSentence(text string) string {
	line, ok := strings.CutSuffix(text, "\n")
	bare := quotedPart.ReplaceAllString(line, "Q")
	switch {
	case !ok || strings.Contains(line, "\n"):
		return "not one line"
	case !strings.HasSuffix(bare, ".") || strings.HasSuffix(bare, ".."):
		return "does not end in one full stop"
	case sentenceIn.MatchString(strings.TrimSuffix(bare, ".")):
		return "more than one sentence"
	case !strings.HasSuffix(bare, ", for example Q."):
		return "no example"
	case bare[0] == 'Q' || bare[0] >= 'A' && bare[0] <= 'Z' || regexp.MustCompile(`^([a-z]+: |[0-9])`).MatchString(bare):
		return ""
	}
	return "begins neither with a capital nor with an argument"
}

func TestNotOneSentence(t *testing.T) {
	rows := []struct {
		shows, text string
		good        bool
	}{
		{"as it should be", "ends: 7 is outside what is allowed, 8 to 4000, for example `ends:97`.\n", true},
		{"what was quoted may hold anything", "“a. B!” is not known, for example `b. C`.\n", true},
		{"two sentences", "That is wrong. Use 3, for example `ends:97`.\n", false},
		{"a question", "Did you mean row? Say so, for example `row`.\n", false},
		{"two full stops", "It is wrong, for example `row`..\n", false},
		{"no full stop", "It is wrong, for example `row`\n", false},
		{"no example", "It is wrong.\n", false},
		{"two lines", "It is wrong,\nfor example `row`.\n", false},
		{"a small letter", "a heddle is needed, for example `heddle:10`.\n", false},
	}
	for _, row := range rows {
		if why := notOneSentence(row.text); (why == "") != row.good {
			t.Errorf("%s: %q, %q", row.shows, why, row.text)
		}
	}
}
