package bot

import (
	"context"
	"maps"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// givenBy reads a whole line as the Dispatcher does.
func givenBy(d *Dispatcher, line string) (*Command, map[string]string, error) {
	c := &call{request: Request{Line: line}, role: Teacher}
	if err := check(c.request); err != nil {
		return nil, nil, err
	}
	d.understand(context.Background(), c)
	if err := d.choose(c); err != nil {
		return c.command, c.given, err
	}
	return c.command, c.given, c.misread
}

type said map[string]string

func TestLineIsReadAsPeopleWriteIt(t *testing.T) {
	rows := []struct {
		shows, line string
		command     string
		want        said
	}{
		{"nothing but the command", "row", "row", said{}},
		{"colons", "row raised:3 passes:5", "row", said{"raised": "3", "passes": "5"}},
		{"equals signs", "row raised=3 passes=5", "row", said{"raised": "3", "passes": "5"}},
		{"bare names", "row raised 3 passes 5", "row", said{"raised": "3", "passes": "5"}},
		{"a blank after the colon", "row raised: 3 passes: 5", "row", said{"raised": "3", "passes": "5"}},
		{"a blank before the colon", "row raised : 3 passes :5", "row", said{"raised": "3", "passes": "5"}},
		{"a full-width colon", "row raised：3", "row", said{"raised": "3"}},
		{"capitals", "ROW Raised:3 FROM:Left", "row", said{"raised": "3", "from": "Left"}},
		{"an alias", "rows raised:3", "row", said{"raised": "3"}},
		{"a command with a colon", "row: raised 3", "row", said{"raised": "3"}},
		{"a command with a full stop", "Help.", "help", said{}},
		{"commas between", "row 97, raised 3, from left.", "row", said{"ends": "97", "raised": "3", "from": "left"}},
		{"a full stop of two quick blanks", "row 97. raised 3", "row", said{"ends": "97", "raised": "3"}},
		{"no-break and thin spaces", "row\u00a0raised:\u20093\u202fpasses\u00a05", "row", said{"raised": "3", "passes": "5"}},
		{"line breaks and tabs", "row\n\traised:3\r\n\tpasses:5", "row", said{"raised": "3", "passes": "5"}},
		{"an example copied with its marks", "`row raised:3`", "row", said{"raised": "3"}},

		{"a first argument without its name", "row 97", "row", said{"ends": "97"}},
		{"a first argument in quotes", `row "97"`, "row", said{"ends": "97"}},
		{"a first argument and others", "row 97 raised:3", "row", said{"ends": "97", "raised": "3"}},
		{"a first argument stuck to the command", "row:97", "row", said{"ends": "97"}},
		{"a first argument with its name behind it", "row 97 ends raised 3", "row", said{"ends": "97", "raised": "3"}},
		{"that name at the end", "row 97 ends", "row", said{"ends": "97"}},

		{"inch mark", `loom width:15" heddle:10`, "loom", said{"width": `15"`, "heddle": "10"}},
		{"inch mark after a fraction", `loom width:15 1/2" heddle:10`, "loom", said{"width": `15 1/2"`, "heddle": "10"}},
		{"curly inch mark", "loom width:15” heddle:10", "loom", said{"width": "15”", "heddle": "10"}},
		{"double prime", "loom width:15″", "loom", said{"width": "15″"}},
		{"primes", "loom width:1′ 3″", "loom", said{"width": "1′ 3″"}},
		{"curly feet and inches", "loom width:1’ 3”", "loom", said{"width": "1’ 3”"}},
		{"two single marks", "loom width:15''", "loom", said{"width": "15''"}},
		{"an inch mark with a blank before it", `loom width:15 1/2 " heddle:10`, "loom", said{"width": `15 1/2 "`, "heddle": "10"}},
		{"an inch mark inside quotes", `loom width:"15 1/2"" heddle:10`, "loom", said{"width": `15 1/2"`, "heddle": "10"}},
		{"bare names around an inch mark", `loom width 15" heddle 10`, "loom", said{"width": `15"`, "heddle": "10"}},
		{"decimal comma", "loom width:38,5 cm heddle:40/10cm", "loom", said{"width": "38,5 cm", "heddle": "40/10cm"}},
		{"decimal comma and comma", "loom width 38,5cm, heddle 10", "loom", said{"width": "38,5cm", "heddle": "10"}},

		{"straight quotes", `sett yarn:"8/2 cotton"`, "sett", said{"yarn": "8/2 cotton"}},
		{"curly quotes", "sett yarn:“8/2 cotton” weave:“lace”", "sett", said{"yarn": "8/2 cotton", "weave": "lace"}},
		{"low quotes", "sett yarn:„8/2 cotton“", "sett", said{"yarn": "8/2 cotton"}},
		{"angle quotes", "sett yarn:«8/2 cotton»", "sett", said{"yarn": "8/2 cotton"}},
		{"mixed quotes", `sett yarn:“8/2 cotton"`, "sett", said{"yarn": "8/2 cotton"}},
		{"single quotes", "sett yarn:'8/2 cotton'", "sett", said{"yarn": "8/2 cotton"}},
		{"blanks inside quotes", `sett yarn: " 8/2 cotton "`, "sett", said{"yarn": "8/2 cotton"}},
		{"no blank behind quotes", `sett yarn:"8/2 cotton"weave:lace`, "sett", said{"yarn": "8/2 cotton", "weave": "lace"}},
		{"a comma behind quotes", `sett yarn:"8/2 cotton", weave:lace`, "sett", said{"yarn": "8/2 cotton", "weave": "lace"}},
		{"a part in quotes", `loom width:"15 1/2" in`, "loom", said{"width": "15 1/2 in"}},
		{"a quote inside quotes", `word "the \"eye\" of a heddle"`, "word", said{"name": `the "eye" of a heddle`}},

		{"a value of several words", "sett yarn:8/2 cotton weave:plain", "sett", said{"yarn": "8/2 cotton", "weave": "plain"}},
		{"lengths of several words", "warp wide:15 1/2 in long:2 yd", "warp", said{"wide": "15 1/2 in", "long": "2 yd"}},
		{"bare names and several words", "warp wide 15 1/2 in long 2 yd yarn cotton 8/2 shrink 8 %", "warp",
			said{"wide": "15 1/2 in", "long": "2 yd", "yarn": "cotton 8/2", "shrink": "8 %"}},
		{"many blanks", "warp wide:15   1/2  in long:2yd", "warp", said{"wide": "15 1/2 in", "long": "2yd"}},

		{"a value that is also a name", "loom kind rigid heddle heddle 10", "loom", said{"kind": "rigid heddle", "heddle": "10"}},
		{"that value alone", "loom kind:rigid heddle", "loom", said{"kind": "rigid heddle"}},
		{"that value before a bare name", "loom kind:rigid heddle width 15in", "loom", said{"kind": "rigid heddle", "width": "15in"}},
		{"that value before a name", "loom kind:rigid heddle width:15in", "loom", said{"kind": "rigid heddle", "width": "15in"}},
		{"the first word of a value and a bare name", "loom kind rigid heddle 10", "loom", said{"kind": "rigid", "heddle": "10"}},
		{"a unit that is also a name", "loom heddle 10 ends per inch ends 150", "loom", said{"heddle": "10 ends per inch", "ends": "150"}},
		{"choices after bare names", "row 97 from left rightmost in a hole", "row", said{"ends": "97", "from": "left", "rightmost": "in a hole"}},
		{"a choice misspelt after a bare name", "row 97 from lefft", "row", said{"ends": "97", "from": "lefft"}},
		{"bare names after short texts", "warp wide 1m long 2m takeup auto shrink 8% skein 100 g price 9.50", "warp",
			said{"wide": "1m", "long": "2m", "takeup": "auto", "shrink": "8%", "skein": "100 g", "price": "9.50"}},
		{"a bare name after a yarn", "sett yarn 8/2 cotton weave lace", "sett", said{"yarn": "8/2 cotton", "weave": "lace"}},
		{"a yarn whose number comes last, after a short text", "warp wide:1m skein 100g yarn spun silk 40/2", "warp",
			said{"wide": "1m", "skein": "100g", "yarn": "spun silk 40/2"}},
		{"a name without a number is a word of a short text", "warp wide:1m skein 100g yarn and more", "warp", said{"wide": "1m", "skein": "100g yarn and more"}},
		{"a bare name and the first word of a choice, after a density", "loom heddle 10 kind table loom", "loom", said{"heddle": "10", "kind": "table loom"}},
		{"a name at the end is a word of a yarn", "sett yarn 8/2 cotton yarn", "sett", said{"yarn": "8/2 cotton yarn"}},

		{"an apostrophe", "word weaver's knot", "word", said{"name": "weaver's knot"}},
		{"a curly apostrophe", "word weaver’s knot", "word", said{"name": "weaver’s knot"}},
		{"an apostrophe at the beginning of a word", "word 'tis the season", "word", said{"name": "'tis the season"}},
		{"an apostrophe at its end", "word the weavers' knot", "word", said{"name": "the weavers' knot"}},
		{"an apostrophe in quotes", "word 'don't panic' ", "word", said{"name": "don't panic"}},
		{"a colon in free text", "word heddle: what is it", "word", said{"name": "heddle: what is it"}},
		{"a single word with a colon", "word Heddle:", "word", said{"name": "Heddle:"}},
		{"an address in free text", "word https://example.org/a?b=c", "word", said{"name": "https://example.org/a?b=c"}},
		{"lines in quotes", "note ends:20 text:\"..o\n.o.\"", "note", said{"text": "..o\n.o.", "ends": "20"}},
		{"lines without quotes", "note ends:20 text:\n..o\n.o.\n", "note", said{"text": "..o\n.o.", "ends": "20"}},
		{"lines before another argument", "note text:..o\n.o.\nends:20", "note", said{"text": "..o\n.o.", "ends": "20"}},
		{"lines that come first", "note ..o\n.o.", "note", said{"text": "..o\n.o."}},
		{"rows between strokes", "note text:..o/.o. ends:20", "note", said{"text": "..o/.o.", "ends": "20"}},
		{"an address after its name", "note text:see https://example.org/a", "note", said{"text": "see https://example.org/a"}},
		{"quotes inside free text", `note he said "sley" twice`, "note", said{"text": `he said "sley" twice`}},
		{"bare names inside long text", "note count ends 20 times", "note", said{"text": "count ends 20 times"}},
		{"a name with its colon ends long text", "note count them ends:20", "note", said{"text": "count them", "ends": "20"}},
		{"long text keeps its lines", "note one\n two", "note", said{"text": "one\n two"}},
		{"the name of the argument as its value", "word name", "word", said{"name": "name"}},
		{"a smile", "word heddle :)", "word", said{"name": "heddle :)"}},

		{"a subcommand", "class open Lace on Mondays", "class open", said{"name": "Lace on Mondays"}},
		{"a subcommand in capitals", `CLASS Open name:"Lace"`, "class open", said{"name": "Lace"}},
	}
	d := testDispatcher()
	for _, row := range rows {
		c, given, err := givenBy(d, row.line)
		if err != nil {
			t.Errorf("%s: %q: %v", row.shows, row.line, err)
			continue
		}
		if c.path() != row.command {
			t.Errorf("%s: %q runs %q, want %q", row.shows, row.line, c.path(), row.command)
		}
		if diff := cmp.Diff(map[string]string(row.want), given); diff != "" {
			t.Errorf("%s: %q: (-want +got)\n%s", row.shows, row.line, diff)
		}
	}
}

func TestLineRefusals(t *testing.T) {
	rows := []struct {
		shows, line string
		code        calc.Code
		sentence    string // the beginning, up to the example
		example     string
	}{
		{"nothing", "", UnknownCommand, "Please begin with a command", "help"},
		{"blanks", " \u00a0\t", UnknownCommand, "Please begin with a command", "help"},
		{"punctuation", "...", UnknownCommand, "Please begin with a command", "help"},
		{"no command at all", "tomorrow", UnknownCommand, "I do not know “tomorrow”; please ask for the list", "help"},
		{"a command misspelt", "loon width:15in", UnknownCommand, "I do not know “loon”; did you mean loom", `loom kind:"rigid heddle" width:15in heddle:10 ends:150`},
		{"a command with subcommands misspelt", "clas open", UnknownCommand, "I do not know “clas”; did you mean class", "help class"},
		{"an emoji", "🧶", UnknownCommand, "I do not know “🧶”; please ask for the list", "help"},

		{"a name misspelt", "row rasied:3", UnknownArgument, "“rasied” is nothing that row understands; did you mean raised", "raised:3"},
		{"a bare name misspelt, first", "row rasied 3", UnknownArgument, "“rasied” is nothing that row understands; did you mean raised", "raised:3"},
		{"a bare name misspelt, later", "row 97 rasied 3", UnknownArgument, "“rasied” is nothing that row understands; did you mean raised", "raised:3"},
		{"a bare name misspelt behind a length", "warp wide:15 in lonng 2 yd", UnknownArgument, "“lonng” is nothing that warp understands; did you mean long", "long:72in"},
		{"a name that nothing is near", "row selvedge:3", UnknownArgument, "“selvedge” is nothing that row understands; it takes ends, raised", "row ends:97"},
		{"a word that is no number", "row many", UnknownArgument, "“many” is nothing that row understands; it takes ends", "row ends:97"},
		{"a second word behind a number", "row ends:97 3", UnknownArgument, "“3” is nothing that row understands", "row ends:97"},
		{"a word for a command without arguments", "class roll today", UnknownArgument, "“today” is one word too many; class roll takes no arguments", "class roll"},

		{"a word given twice", "row raised:3 raised:4", calc.Conflict, "“raised” is given twice; give it once", "raised:3"},
		{"twice, once bare", "row 97 ends:98", calc.Conflict, "“ends” is given twice; give it once", "ends:97"},
		{"a name without value at the end", "row raised:", calc.BadValue, "“raised” has no value; write it after the colon", "raised:3"},
		{"a name without value in between", "row raised: passes:3", calc.BadValue, "“raised” has no value; write it after the colon", "raised:3"},
		{"a bare name without value", "row raised passes 3", calc.BadValue, "“raised” has no value; write it after the colon", "raised:3"},
		{"a bare name at the end", "loom clear", calc.BadValue, "“clear” has no value; write it after the colon", "clear:yes"},
		{"a length without value", "loom width: heddle 10", calc.BadValue, "“width” has no value; write it after the colon", "width:15in"},
		{"empty quotes", `row raised:""`, calc.BadValue, "“raised” has no value; write it after the colon", "raised:3"},
		{"nothing but punctuation", "row raised:. passes:3", calc.BadValue, "“raised” has no value; write it after the colon", "raised:3"},
		{"a text without value", "class open name:", calc.BadValue, "“name” has no value; write it after the colon", `name:"Lace on Mondays"`},

		{"an open quote", `sett yarn:"8/2 cotton weave:plain`, calc.BadValue, `The quote that opens at "8/2 cotton weave:plain is never closed`, `sett yarn:"8/2 cotton" weave:plain`},
		{"an open curly quote", "sett yarn:“8/2 cotton", calc.BadValue, "The quote that opens at “8/2 cotton is never closed", `sett yarn:"8/2 cotton" weave:plain`},
		{"an open single quote behind a name", "sett yarn:'8/2 cotton", calc.BadValue, "The quote that opens at '8/2 cotton is never closed", `sett yarn:"8/2 cotton" weave:plain`},
		{"an open quote where no example has one", `row "97`, calc.BadValue, `The quote that opens at "97 is never closed`, "row ends:97"},

		{"trailing words", "warp wide:15in or so long:2yd", calc.BadValue, "wide: “15in or so” cannot be read (measure.unexpected)", "wide:12in"},
		{"no unit", "warp wide:15 long:2yd", calc.BadValue, "wide: “15” cannot be read (measure.no_unit)", "wide:12in"},
		{"a missing argument", "warp wide:15in", calc.MissingArgument, "“long” is needed for warp", "long:72in"},
		{"a missing argument of a subcommand", "class open", calc.MissingArgument, "“name” is needed for class open", `name:"Lace on Mondays"`},
		{"a missing subcommand", "class", calc.MissingArgument, "class needs one more word: open, roll", `class open name:"Lace on Mondays"`},
		{"a subcommand misspelt", "class rol", calc.MissingArgument, "class needs one more word: open, roll", "class roll"},

		{"a megabyte", "row " + strings.Repeat("9", 1<<20), calc.OutOfRange, "That is 1048580 bytes; up to 4000 are read", "row ends:97"},
		{"a line one byte too long", "word " + strings.Repeat("a", MaxLine-4), calc.OutOfRange, "That is 4001 bytes; up to 4000 are read", "word heddle"},
		{"broken bytes", "row ends:\xff97", calc.BadValue, "That is not readable text", "row ends:97"},
		{"a right-to-left mark", "row ends:97\u200f", calc.BadValue, "There is an invisible character (U+200F); type it again without", "row ends:97"},
		{"an override", "row \u202eends:97", calc.BadValue, "There is an invisible character (U+202E); type it again without", "row ends:97"},
		{"a nought byte", "row ends:97\x00", calc.BadValue, "There is an invisible character (U+0000); type it again without", "row ends:97"},
		{"an escape", "word \x1b[31m", calc.BadValue, "There is an invisible character (U+001B); type it again without", "word heddle"},
		{"a byte order mark", "\ufeffrow ends:97", calc.BadValue, "There is an invisible character (U+FEFF); type it again without", "help"},
		{"a zero-width space", "row ends:9\u200b7", calc.BadValue, "There is an invisible character (U+200B); type it again without", "row ends:97"},
		{"a soft hyphen", "row rai\u00adsed:3", calc.BadValue, "There is an invisible character (U+00AD); type it again without", "row ends:97"},
		{"a huge exponent", "row ends:1e309", calc.BadValue, "ends: “1e309” is not a whole number in digits", "ends:97"},
	}
	d := testDispatcher()
	for _, row := range rows {
		r := ask(d, row.line)
		if r.Problem == nil {
			t.Errorf("%s: %q is not refused", row.shows, row.line)
			continue
		}
		if r.Problem.Code != row.code || !strings.HasPrefix(r.Problem.Message, row.sentence) || !strings.HasPrefix(r.Problem.Hint, row.example) {
			t.Errorf("%s: %.80q\ngot  %s %s | %s\nwant %s %s | %s", row.shows, row.line,
				r.Problem.Code, r.Problem.Message, r.Problem.Hint, row.code, row.sentence, row.example)
		}
		wantOneSentence(t, d, row.line, r)
	}
}

func TestJoinersInTextAreLeftAlone(t *testing.T) {
	if r := ask(testDispatcher(), "word 👩\u200d🌾 \u0645\u06cc\u200c\u0628\u0627\u0641\u0645"); r.Problem != nil {
		t.Error(r.Problem.Sentence())
	}
}

func TestWrittenReadsBack(t *testing.T) {
	for _, value := range []string{
		"3", "8/2 cotton", `15 1/2"`, "15”", `he said "sley" twice`, "don't", `"both" and 'both' kinds`, `a "b"`, `"`, `'`, `" '`,
		`back\slash`, `ends in \`, `\" '`, "Note:", "a: b", "https://example.org", "“curly” and ”", "two\nlines", "raised:3", "heddle", "« »", "full：width",
	} {
		line := "note " + Written("text", value) + " ends:20"
		_, given, err := givenBy(testDispatcher(), line)
		if want := (map[string]string{"text": value, "ends": "20"}); err != nil || !maps.Equal(given, want) {
			t.Errorf("%q is written %q and read as %v, %v", value, line, given, err)
		}
	}
}

// TestExamplesOfEveryArgument: whatever goes wrong with an argument, there is
// an example of it, and the example is right.
func TestExamplesOfEveryArgument(t *testing.T) {
	d := testDispatcher()
	for _, c := range d.commands {
		for _, p := range c.Params {
			e := c.example(p.Name)
			if !strings.HasPrefix(e, p.Name+":") && !p.free() {
				t.Errorf("%s %s: the example is %q", c.Name, p.Name, e)
			}
			if !isRight(d, c.Name, e) {
				t.Errorf("%s %s: the example %q is wrong", c.Name, p.Name, e)
			}
		}
	}
}

func TestExampleWithoutExamples(t *testing.T) {
	rows := []struct {
		shows string
		param Param
		want  string
	}{
		{"the default", Param{Name: "a", Kind: Count, Default: "5"}, "a:5"},
		{"a count in its bounds", Param{Name: "a", Kind: Count, Min: "8", Max: "9"}, "a:8"},
		{"a length", Param{Name: "a", Kind: Length}, "a:15in"},
		{"a length in its bounds", Param{Name: "a", Kind: Length, Min: "2m", Max: "3m"}, "a:2m"},
		{"a yarn", Param{Name: "a", Kind: Yarn}, `a:"8/2 cotton"`},
		{"a choice", Param{Name: "a", Kind: Choice, Choices: []string{"two words", "b"}}, `a:"two words"`},
		{"free text has none", Param{Name: "a", Kind: Words}, "do"},
	}
	for _, row := range rows {
		c := &Command{Name: "do", Params: []Param{row.param}}
		if got := c.example("a"); got != row.want {
			t.Errorf("%s: %q, want %q", row.shows, got, row.want)
		}
		if _, err := row.param.value(strings.Trim(strings.TrimPrefix(row.want, "a:"), `"`), measure.Unset); err != nil {
			t.Errorf("%s: %q is wrong: %v", row.shows, row.want, err)
		}
	}
}
