package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected answers in testdata/script and the README from what is answered now")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"weftroom": func() { joinTestDiscord(); main() }})
}

// TestScripts plays the golden conversations, one file to each command. They
// have one command of their own: `answer FILE` holds what the last `ask --json`
// printed against the schema and writes it, laid out and without its text (which
// is compared where it is plain), to FILE.
func TestScripts(t *testing.T) {
	schema := answerSchema(t)
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"answer": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) != 1 {
					ts.Fatalf("usage: answer FILE")
				}
				raw := []byte(ts.ReadFile("stdout"))
				ts.Check(validate(schema, raw))
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), withoutText(ts, raw), 0o666))
			},
		},
	})
}

func withoutText(ts *testscript.TestScript, raw []byte) []byte {
	var fields map[string]json.RawMessage
	ts.Check(json.Unmarshal(raw, &fields))
	var b bytes.Buffer
	for _, name := range []string{"command", "ok", "error", "title", "data", "files"} {
		b.WriteString(name + " ")
		layOut(&b, fields[name], "")
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// layOut writes JSON in its own order, with as much on a line as is read at a
// glance.
func layOut(b *bytes.Buffer, raw json.RawMessage, indent string) {
	if len(raw) <= 100 {
		b.Write(raw)
		return
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	open, err := d.Token()
	delim, nested := open.(json.Delim)
	if err != nil || !nested {
		b.Write(raw)
		return
	}
	b.WriteString(delim.String())
	for first := true; d.More(); first = false {
		if !first {
			b.WriteByte(',')
		}
		b.WriteString("\n" + indent + "  ")
		if delim == '{' {
			name, _ := d.Token()
			fmt.Fprintf(b, "%q: ", name)
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			panic(err) // it has been validated
		}
		layOut(b, value, indent+"  ")
	}
	b.WriteString("\n" + indent)
	b.WriteByte("}]"[strings.IndexByte("{[", byte(delim))])
}
