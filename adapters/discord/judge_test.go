package discord

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"weftroom/adapters/discord/discordtest"
)

// TestMain records the body of every request that the bot makes in any test, and
// has them all judged at the end, by the schemas of Discord's published
// description of its interface (npm package discord-api-spec, with nothing
// unknown allowed).
func TestMain(m *testing.M) { os.Exit(judged(m)) }

func judged(m *testing.M) int {
	dir, err := os.MkdirTemp("", "discord-bodies-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "bodies.jsonl")
	discordtest.RecordAll(path)
	if code := m.Run(); code != 0 {
		return code
	}
	bodies, err := os.ReadFile(path)
	if err != nil || len(bodies) == 0 {
		return 0 // no test that talks to a server was asked for
	}
	verdicts, err := judgeBodies(path)
	if errors.Is(err, errNoJudge) {
		fmt.Println("SKIP:", err)
		return 0
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return tellVerdicts(verdicts, bodies)
}

func tellVerdicts(verdicts []verdict, bodies []byte) int {
	lines := slices.Collect(bytes.Lines(bodies))
	if len(lines) != len(verdicts) {
		fmt.Fprintf(os.Stderr, "%d bodies and %d verdicts\n", len(lines), len(verdicts))
		return 1
	}
	bad, routes := 0, map[string]int{}
	for i, v := range verdicts {
		routes[v.Route]++
		if v.Refused == "" {
			continue
		}
		if bad++; bad <= 5 {
			fmt.Fprintf(os.Stderr, "discord-api-spec refuses %.1500s\nbecause %s\n", lines[i], v.Refused)
		}
	}
	if bad > 0 {
		fmt.Fprintf(os.Stderr, "FAIL: %d of %d bodies were refused by discord-api-spec\n", bad, len(verdicts))
		return 1
	}
	fmt.Printf("discord-api-spec accepts %d bodies of %d routes\n", len(verdicts), len(routes))
	return 0
}

type verdict struct {
	Route   string `json:"route"`
	Refused string `json:"refused"`
}

var errNoJudge = errors.New("discord-api-spec is not installed, so it does not judge what the bot sends (npm ci in adapters/discord/testdata/judges)")

const specFolder = "testdata/judges"

// judgeBodies has the schemas judge each line of a file.
func judgeBodies(path string) ([]verdict, error) {
	if _, err := exec.LookPath("node"); err != nil {
		return nil, errNoJudge
	}
	if _, err := os.Stat(filepath.Join(specFolder, "node_modules", "discord-api-spec")); err != nil {
		return nil, errNoJudge
	}
	cmd := exec.Command("node", filepath.Join(specFolder, "spec.mjs"), path)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("discord-api-spec: %w\n%s", err, &errs)
	}
	var all []verdict
	for lines := bufio.NewScanner(&out); lines.Scan(); {
		var v verdict
		if err := json.Unmarshal(lines.Bytes(), &v); err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}

// TestTheSchemasCanRefuse shows that the judge of TestMain is not blind: each
// good body is taken, and refused once it is spoilt in one place.
func TestTheSchemasCanRefuse(t *testing.T) {
	const (
		message  = discordtest.RouteCreateMessage
		callback = discordtest.RouteCallback
		commands = discordtest.RoutePutCommands
	)
	cases := []struct{ name, route, good, from, to string }{
		{"an unknown field", message, `{"content":"x","nonce":"k","enforce_nonce":true}`, `"nonce"`, `"nonsense"`},
		{"a nonce that is too long", message, `{"content":"x","nonce":"k"}`, `"k"`, `"12345678901234567890123456"`},
		{"an attachment's id that is no id", message, `{"attachments":[{"id":"0","description":"a"}]}`, `"0"`, `"first"`},
		{"a button without a style", callback, `{"type":4,"data":{"components":[{"type":1,"components":[{"type":2,"style":1,"label":"a","custom_id":"b"}]}]}}`, `"style":1,`, ``},
		{"an answer of no known type", callback, `{"type":5}`, `5`, `3`},
		{"an unknown field, deep down", callback, `{"type":4,"data":{"embeds":[{"fields":[{"name":"a","value":"b"}]}]}}`, `"value"`, `"values"`},
		{"a form's input that is too long", callback, `{"type":9,"data":{"custom_id":"a","title":"b","components":[{"type":1,"components":[{"type":4,"custom_id":"c","style":1,"label":"d","max_length":4000}]}]}}`, `4000`, `4001`},
		{"a bound on a text", commands, `[{"name":"a","description":"b","options":[{"type":4,"name":"c","description":"d","min_value":1}]}]`, `"type":4`, `"type":3`},
		{"permissions as a number", commands, `[{"name":"a","description":"b","default_member_permissions":"32"}]`, `"32"`, `32`},
		{"a time that is none", discordtest.RouteChangeEvent, `{"scheduled_start_time":"2026-12-01T19:00:00Z"}`, `T`, ` at `},
		{"a route that is not known", message, `{"content":"x"}`, ``, ``},
	}
	var file bytes.Buffer
	for _, c := range cases {
		spoilt, route := strings.Replace(c.good, c.from, c.to, 1), c.route
		if c.from == c.to {
			route = "POST /somewhere/else"
		}
		fmt.Fprintf(&file, `{"route":%q,"body":%s}`+"\n"+`{"route":%q,"body":%s}`+"\n", c.route, c.good, route, spoilt)
	}
	path := filepath.Join(t.TempDir(), "spoilt.jsonl")
	if err := os.WriteFile(path, file.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	verdicts, err := judgeBodies(path)
	if errors.Is(err, errNoJudge) {
		t.Skip("SKIP:", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	if len(verdicts) != 2*len(cases) {
		t.Fatalf("%d verdicts on %d bodies", len(verdicts), 2*len(cases))
	}
	for i, c := range cases {
		if good, spoilt := verdicts[2*i], verdicts[2*i+1]; good.Refused != "" || spoilt.Refused == "" {
			t.Errorf("%s: the good body is refused: %q; the spoilt one: %q", c.name, good.Refused, spoilt.Refused)
		}
	}
}
