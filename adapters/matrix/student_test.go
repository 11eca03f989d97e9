//go:build goolm

package matrix

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// other is the folder of the student whose client is not made of our library.
const other = "testdata/student"

// seenByOther is what she tells of one thing that she saw or did.
type seenByOther struct {
	Type, Kind, Body, HTML, Key string
	ID, ReplyTo, ReactsTo       id.EventID
	Mentions                    map[string]any
	File                        *struct {
		Name, URL string
		Info      map[string]any
	}
}

// TestOtherLibrary has a student on a client library of another house ask, read
// the plan, and press a button.
func TestOtherLibrary(t *testing.T) {
	t.Parallel()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("no node on this machine; the student on another client library was not there")
	}
	if _, err := os.Stat(filepath.Join(other, "node_modules", "matrix-js-sdk")); err != nil {
		t.Skip("no matrix-js-sdk; make tools fetches it, and then a student on another client library is there")
	}
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.options.Texts = spoken
	d.up(func(_ context.Context, r bot.Request) bot.Reply {
		if r.Line != "row 97" {
			return bot.Reply{Title: "Pressed: " + r.Line}
		}
		return bot.Reply{
			Title: "Your row",
			Body: []bot.Block{
				bot.Table{Head: []string{"what", "how many"}, Rows: [][]string{{"ends", "97"}}},
				bot.Steps{{Label: "1", Text: "Raise 3", Short: "▲3"}, {Label: "2–5", Text: "Pass"}},
				drawnAs(noise(1200, 60), nil),
			},
			Buttons: []bot.Button{{Label: "next", Line: "row next"}},
		}
	})
	bea, cleo := s.Student(t, "bea"), s.Account(t, "cleo")
	room := bea.Room(t, false, d.account.ID, cleo.ID)
	bea.UntilText(t, room, string(bot.KeyWelcomeRoom))
	seen := runOther(t, node, s.URL, string(cleo.ID), cleo.Password, string(room), string(d.account.ID), "!row 97")

	said := only(t, seen, "her question", func(e seenByOther) bool { return e.Type == "said" })
	plan := only(t, seen, "the plan", func(e seenByOther) bool { return e.ReplyTo == said.ID && e.Kind == "m.text" })
	const want = "Your row\n\nwhat  how many\n──────────────\nends  97\n\n    1  Raise 3  ▲3\n  2–5  Pass\n\n- 1️⃣ for: next · `!row next`"
	if plan.Body != want {
		t.Errorf("she read\n%s\nwant\n%s", plan.Body, want)
	}
	if words := letters(checkHTML(t, plan.HTML)); words != letters(want) {
		t.Errorf("the HTML beside it says %q", words)
	}
	if users, _ := plan.Mentions["user_ids"].([]any); len(users) != 1 || users[0] != string(cleo.ID) {
		t.Errorf("it calls %v", plan.Mentions)
	}
	shown := only(t, seen, "the picture", func(e seenByOther) bool { return e.Kind == "m.image" })
	if shown.Body != "white cloth" || shown.File == nil || shown.File.Name != "cloth.png" || shown.File.Info["w"] != 1200.0 || shown.File.Info["thumbnail_url"] == nil {
		t.Errorf("the picture is %+v", shown)
	}
	pressed := only(t, seen, "her reaction", func(e seenByOther) bool { return e.Type == "pressed" })
	after := only(t, seen, "the answer to it", func(e seenByOther) bool { return e.ReplyTo == plan.ID })
	if pressed.Key != "1️⃣" || after.Body != "Pressed: row next" {
		t.Errorf("%s gave %q", pressed.Key, after.Body)
	}
}

// runOther runs her until she is done, or for as long as tests have patience.
func runOther(t *testing.T, node string, args ...string) (seen []seenByOther) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), matrixtest.Patience)
	defer cancel()
	cmd := exec.CommandContext(ctx, node, append([]string{"student.mjs"}, args...)...)
	var told, complaints bytes.Buffer
	cmd.Dir, cmd.Stdout, cmd.Stderr = other, &told, &complaints
	err := cmd.Run()
	if err != nil {
		t.Fatalf("the student ended with %v; she saw\n%s\n%s", err, &told, &complaints)
	}
	for line := range strings.Lines(told.String()) {
		var e seenByOther
		if err := json.Unmarshal([]byte(line), &e); err != nil {
			t.Fatalf("%v in %s", err, line)
		}
		seen = append(seen, e)
	}
	return seen
}

// only is the one thing that fits.
func only(t *testing.T, seen []seenByOther, what string, fits func(e seenByOther) bool) seenByOther {
	t.Helper()
	var found []seenByOther
	for _, e := range seen {
		if fits(e) {
			found = append(found, e)
		}
	}
	if len(found) != 1 {
		t.Fatalf("%s: %d of them in %+v", what, len(found), seen)
	}
	return found[0]
}
