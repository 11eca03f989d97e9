package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
)

const schemaFile = "../../../testdata/schema/answer.json"

// answerSchema compiles the schema, which checks it against its own draft.
func answerSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	path, err := filepath.Abs(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	schema, err := jsonschema.NewCompiler().Compile(path)
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

// validate holds one printed answer against the schema.
func validate(schema *jsonschema.Schema, raw []byte) error {
	if bytes.Count(raw, []byte("\n")) != 1 || !bytes.HasSuffix(raw, []byte("\n")) {
		return fmt.Errorf("not one object on one line: %.200q", raw)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	return schema.Validate(v)
}

// ask runs `weftroom ask` in this process.
func ask(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = run(append([]string{"ask"}, args...), streams{strings.NewReader(stdin), &out, &errs})
	return code, out.String(), errs.String()
}

// TestExamplesKeepTheSchema asks every example of every command's declaration.
func TestExamplesKeepTheSchema(t *testing.T) {
	schema := answerSchema(t)
	asked := 0
	for _, c := range lesson.Commands(&lesson.Desk{Store: class.Bare{Looms: store.NewMemory()}}) {
		if !slices.Contains(withoutState, c.Name) {
			continue
		}
		for _, line := range c.Examples {
			asked++
			code, out, stderr := ask("", "--json", line)
			if refusal := needsMore[line]; refusal != "" {
				if code != exitAsker || !strings.Contains(out, `"code":"`+refusal+`"`) {
					t.Errorf("%s: exit %d, %s", line, code, out)
				}
			} else if code != exitOK || stderr != "" {
				t.Errorf("%s: exit %d, %s", line, code, stderr)
			}
			if err := validate(schema, []byte(out)); err != nil {
				t.Errorf("%s: %v", line, err)
			}
			_, plain, told := ask("", line)
			if needsMore[line] != "" {
				plain = told
			}
			if textOf(t, out) != plain {
				t.Errorf("%s: text is not what ask prints without --json", line)
			}
		}
	}
	if asked < 20 {
		t.Errorf("only %d examples", asked)
	}
}

// needsMore are examples that need a design that is kept, or a picture beside them,
// with the code of the refusal.
var needsMore = map[string]string{
	"row design:leaf": "bad_value", "motif design:leaf ends:48": "bad_value", "motif light:yes ends:97": "missing_argument",
	`motif chart:"..o../.o.o./o...o/.o.o./..o.." across:0 rows:20 mirror:yes name:"five points" width:15in heddle:10 from:left`: "conflict",
}

// outOfPlace are examples that cannot be answered where everything has been
// done already, with the code of the refusal.
var outOfPlace = map[string]string{
	"join": "conflict", "join name:Maren": "conflict", // she asks alone, and not in the room
	"next": "conflict", "back": "conflict", "where": "conflict", "goto row:4": "conflict", "goto row:4 move:7": "conflict", "goto 4 7": "conflict", "pace": "conflict", // she is in no plan
	"replan raised:4": "conflict", "replan edge:2": "conflict", "replan ends:96": "conflict", "replan skip:1": "conflict", "replan raised:4 sure:yes": "conflict",
	"link code:K7MQ-2XR4": "bad_value", "link yes": "conflict", "link no": "conflict", "link undo": "conflict", "unlink": "conflict",
	`class open "Tarnholm lace" zone:Berlin`: "conflict", "class here code:k7m2q9x4tz": "bad_value",
	"session topic 2 topic:none": "conflict", // it has none
	"class leave":                "conflict", "class leave place:2": "out_of_range",
	"attendance session:3 came:Maren": "conflict", "attendance session:3 missed:Teodor": "conflict",
}

// TestExamplesOfAClassKeepTheSchema asks the examples of every other command,
// subcommands included, each of its own copy of a class.
func TestExamplesOfAClassKeepTheSchema(t *testing.T) {
	schema := answerSchema(t)
	prepared := stage(t)
	asked := 0
	var examples func(c *bot.Command)
	examples = func(c *bot.Command) {
		for _, sub := range c.Subs {
			examples(sub)
		}
		for _, line := range c.Examples {
			asked++
			code, out, stderr := ask("", "--json", "--state", copied(t, prepared), toCome(line))
			if err := validate(schema, []byte(out)); err != nil {
				t.Errorf("%s: %v", line, err)
			}
			if refusal := outOfPlace[line]; refusal != "" {
				if code != exitAsker || !strings.Contains(out, `"code":"`+refusal+`"`) {
					t.Errorf("%s: exit %d, %s", line, code, out)
				}
				continue
			}
			if code != exitOK || stderr != "" {
				t.Errorf("%s: exit %d, %s", line, code, stderr)
			}
		}
	}
	for _, c := range lesson.Commands(&lesson.Desk{Store: class.Bare{Looms: store.NewMemory()}}) {
		if !slices.Contains(withoutState, c.Name) {
			examples(c)
		}
	}
	if asked < 30 {
		t.Errorf("only %d examples", asked)
	}
}

var date = regexp.MustCompile(`\b\d{4}-\d\d-\d\d\b`)

// toCome is an example with its dates ahead of the clock, which is the machine's.
func toCome(line string) string {
	return date.ReplaceAllString(line, time.Now().AddDate(0, 0, 20).Format(time.DateOnly))
}

// stage is a database with a class that the operator teaches, as ask sees her.
func stage(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "class.db")
	h, err := openHouse(t.Context(), path, store.Options{}, slog.New(slog.DiscardHandler), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer h.close()
	for i, l := range []struct{ who, line string }{
		{"", `class open "Tarnholm lace" zone:Berlin`},
		{"", `session add "` + time.Now().AddDate(0, 0, 7).Format(time.DateOnly) + ` 19:10" weekly:6 link:https://meet.example/room`},
		{"", `class set yarn:"8/2 cotton"`}, {"", "loom width:15in heddle:10"},
		{"", `say every:"mon 9:00" sure:yes text:One`}, {"", `say every:"tue 9:00" sure:yes text:Two`},
		{"Maren", "join name:Maren"}, {"Teodor", "join name:Teodor"}, {"Yori", "join name:Yori"}, {"", "class teachers add:Teodor"},
		{"Maren", `loom kind:"rigid heddle" width:15in heddle:10 ends:150 rightmost:hole from:right`},
		{"", "motif text:I name:leaf"}, {"", "designs share:leaf"}, {"", "motif text:L"},
		{"Maren", "question Why?"}, {"Maren", "question Why not?"}, {"Maren", "question When?"},
	} {
		r := asked(l.line)
		if r.ID = fmt.Sprint("stage-", i); l.who != "" {
			r.From.User, r.Name, r.Role, r.Power, r.Direct = l.who, l.who, bot.Anyone, false, false
		}
		if reply := h.Handle(t.Context(), r); reply.Problem != nil {
			t.Fatalf("%s: %s", l.line, reply.Problem.Sentence())
		}
	}
	return path
}

func copied(t *testing.T, path string) string {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	fresh := filepath.Join(t.TempDir(), "class.db")
	if err := os.WriteFile(fresh, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	return fresh
}

func textOf(t *testing.T, out string) string {
	t.Helper()
	var o answer
	if err := json.Unmarshal([]byte(out), &o); err != nil {
		t.Fatal(err)
	}
	return o.Text
}

// TestRandomAnswersKeepTheSchema asks valid lines all over the domain.
func TestRandomAnswersKeepTheSchema(t *testing.T) {
	schema := answerSchema(t)
	rapid.Check(t, func(t *rapid.T) {
		line := anyLine().Draw(t, "line")
		code, out, stderr := ask("", "--json", line)
		if code != exitOK {
			t.Fatalf("%s: exit %d, %s", line, code, stderr)
		}
		if err := validate(schema, []byte(out)); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
	})
}

// TestRefusalsKeepTheSchema asks wrong lines, one for each code.
func TestRefusalsKeepTheSchema(t *testing.T) {
	schema := answerSchema(t)
	for code, line := range map[string]string{
		"unknown_command": "weave", "unknown_argument": "row ends:97 picks:3", "missing_argument": "row",
		"bad_value": "row ends:97 passes:4", "out_of_range": "row ends:5", "conflict": "row ends:97 width:15in heddle:10",
	} {
		exit, out, _ := ask("", "--json", line)
		if err := validate(schema, []byte(out)); err != nil {
			t.Errorf("%s: %v", line, err)
		}
		if want := `"code":"` + code + `"`; exit != exitAsker || !strings.Contains(out, want) {
			t.Errorf("%s: exit %d, %s; want %s", line, exit, out, want)
		}
	}
}

// TestBrokenStateKeepsTheSchema: even our own failures print an object.
func TestBrokenStateKeepsTheSchema(t *testing.T) {
	state := filepath.Join(t.TempDir(), "state")
	if err := os.WriteFile(state, []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	code, out, stderr := ask("", "--json", "--state", state, "loom")
	if err := validate(answerSchema(t), []byte(out)); err != nil {
		t.Error(err)
	}
	if code != exitFault || !strings.Contains(out, `"code":"internal"`) || strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, state) {
		t.Errorf("exit %d, %s, %s", code, out, stderr)
	}
}

// TestSchemaRefusesSpoiltAnswers shows that the check can fail: each way of
// spoiling is tried on an answer that is right before.
func TestSchemaRefusesSpoiltAnswers(t *testing.T) {
	schema := answerSchema(t)
	rows := []struct{ shows, line, old, new string }{
		{"a renamed key of the envelope", "row ends:97", `"title":`, `"heading":`},
		{"a renamed key of a pass", "row ends:97", `"under":3`, `"below":3`},
		{"a renamed key of an option", "fit ends:100", `"exact_below"`, `"exactBelow"`},
		{"a string for a number", "row ends:97", `"picks_high":4`, `"picks_high":"4"`},
		{"a string for a length", "yardage ends:528 warp:4yd", `"warp_yarn_m":1931.2128`, `"warp_yarn_m":"1931.2128"`},
		{"a fraction for a count", "row ends:97", `"ends":97`, `"ends":97.5`},
		{"a shed that does not exist", "row ends:97", `"shed":2`, `"shed":3`},
		{"a side that does not exist", "row ends:97", `"toward":"left"`, `"toward":"up"`},
		{"a tension that does not exist", "row ends:97", `"snug"`, `"tight"`},
		{"null where there must be a number", "fit ends:100", `"groups":25`, `"groups":null`},
		{"a missing key", "row ends:97", `,"weft_m":null`, ``},
		{"a key too many", "row ends:97", `"technique":`, `"colour":"red","technique":`},
		{"a key too many in a line", `warp wide:12in long:72in heddle:10`, `"unit":"m"`, `"unit":"m","note":""`},
		{"a unit that does not exist", `warp wide:12in long:72in heddle:10`, `"unit":"m"`, `"unit":"in"`},
		{"data of another command", "fit ends:100", `"command":"fit"`, `"command":"row"`},
		{"a command that does not exist", "word heddle", `"command":"word"`, `"command":"explain"`},
		{"an answer that says it failed", "word heddle", `"ok":true`, `"ok":false`},
		{"an error beside an answer", "word heddle", `"error":null`, `"error":{"code":"conflict","message":"m","hint":""}`},
		{"a code that does not exist", "word xyzzy", `"code":"bad_value"`, `"code":"bad"`},
		{"data beside an error", "word xyzzy", `"data":null`, `"data":{}`},
		{"a method that does not exist", "sett wpi:20", `"wraps_per_inch"`, `"guess"`},
		{"an empty string for what was not said", "loom", `"kind":null`, `"kind":""`},
	}
	for _, row := range rows {
		_, out, _ := ask("", "--json", row.line)
		if err := validate(schema, []byte(out)); err != nil {
			t.Errorf("%s: %s is refused before it is spoilt: %v", row.shows, row.line, err)
		}
		spoilt := strings.Replace(out, row.old, row.new, 1)
		if spoilt == out {
			t.Errorf("%s: nothing to spoil in %s", row.shows, out)
		}
		if err := validate(schema, []byte(spoilt)); err == nil {
			t.Errorf("%s: not refused: %s", row.shows, spoilt)
		}
	}
}

// TestSchemaIsWrittenOut holds the schema to its own rules: every property is
// described, and every object is closed and names all that it must have.
func TestSchemaIsWrittenOut(t *testing.T) {
	raw, err := os.ReadFile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	var root map[string]any
	if err := json.Unmarshal(raw, &root); err != nil {
		t.Fatal(err)
	}
	properties := 0
	holdObject := func(name string, o map[string]any) {
		members, _ := o["properties"].(map[string]any)
		required, _ := o["required"].([]any)
		always := map[string]bool{}
		for _, member := range required {
			always[member.(string)] = true
		}
		together, _ := o["dependentRequired"].(map[string]any) // all of them or none
		for member, others := range together {
			always[member] = true
			for _, other := range others.([]any) {
				always[other.(string)] = true
			}
		}
		if o["additionalProperties"] != false || len(always) != len(members) || len(members) == 0 {
			t.Errorf("%s: %d of %d properties required, additionalProperties %v", name, len(required), len(members), o["additionalProperties"])
		}
		for key, m := range members {
			properties++
			about, _ := m.(map[string]any)["description"].(string)
			if len(about) < 10 || !strings.HasSuffix(about, ".") {
				t.Errorf("%s.%s: not described: %q", name, key, about)
			}
			if strings.HasSuffix(key, "_m") && !strings.Contains(about, "metres") || strings.HasSuffix(key, "_g") && !strings.Contains(about, "grams") {
				t.Errorf("%s.%s: no unit in %q", name, key, about)
			}
		}
	}
	holdObject("answer", root)
	for name, def := range root["$defs"].(map[string]any) {
		if d := def.(map[string]any); d["type"] == "object" {
			holdObject(name, d)
		}
	}
	if properties < 70 {
		t.Errorf("only %d properties found", properties)
	}
}
