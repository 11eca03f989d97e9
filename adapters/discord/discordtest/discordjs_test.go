package discordtest_test

import (
	"bufio"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"weftroom/adapters/discord/discordtest"
)

// judges is the folder of the outside judges.
const judges = "../testdata/judges"

// node gives a command that runs a judge, and skips the test where there is
// none.
func node(t *testing.T, script string, args ...string) *exec.Cmd {
	t.Helper()
	if err := exec.Command("node", "-e", "require.resolve('discord.js', {paths: ['"+judges+"']})").Run(); err != nil {
		t.Skip("SKIP: discord.js is not installed, so it does not judge the test server (npm ci in adapters/discord/testdata/judges)")
	}
	return exec.CommandContext(t.Context(), "node", append([]string{filepath.Join(judges, script)}, args...)...)
}

// jsBot is a running bot on discord.js.
type jsBot struct {
	t    *testing.T
	said chan jsLine
}

type jsLine struct {
	Did      string `json:"did"`
	Message  string `json:"message"`
	Guilds   int    `json:"guilds"`
	Replayed int    `json:"replayed"`
}

func startJS(t *testing.T, s *discordtest.Server) *jsBot {
	t.Helper()
	cmd := node(t, "bot.mjs", s.URL, s.Token)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	b := &jsBot{t, make(chan jsLine, 1000)}
	go func() {
		defer close(b.said)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			var l jsLine
			if json.Unmarshal(lines.Bytes(), &l) != nil || l.Did == "error" {
				t.Errorf("the bot on discord.js: %s", lines.Text())
			}
			b.said <- l
		}
	}()
	return b
}

// until reads what the bot says until it has done what is asked for.
func (b *jsBot) until(did string) jsLine {
	b.t.Helper()
	for l := range b.said {
		if l.Did == did {
			return l
		}
	}
	b.t.Fatalf("the bot on discord.js has ended and not %q", did)
	panic("not reached")
}

func must[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// TestDiscordJSConnects has a bot on another library, made by others and left
// as it is, do with the server what it does with Discord.
func TestDiscordJSConnects(t *testing.T) {
	ctx := patience(t)
	s := discordtest.New(t, discordtest.Options{Now: standing()})
	g := s.Guild("Far looms")
	room := g.Channel("loom-room")
	ann := s.User("Ann")
	g.Join(ann)
	bot := startJS(t, s)
	if l := bot.until("ready"); l.Guilds != 1 {
		t.Errorf("it sees %d guilds", l.Guilds)
	}
	interaction, message := must[*discordtest.Interaction](t), must[discordtest.Message](t)

	m := message(interaction(ann.Slash(room, "echo", discordtest.Values{"text": "ends"})).Message(ctx))
	if m.Content != "echo ends" || !m.Ephemeral {
		t.Errorf("a command: %+v", m)
	}
	m = message(interaction(ann.Slash(ann.DM(), "echo", discordtest.Values{"text": "alone"})).Message(ctx))
	if m.Content != "echo alone" {
		t.Errorf("a command in a direct message: %+v", m)
	}
	m = message(interaction(ann.Slash(room, "picture", nil)).Message(ctx))
	if len(m.Files) != 1 || m.Files[0].Name != "chart.png" || m.Files[0].Alt != "three holes in a row" || string(m.Files[0].Bytes) != "pixels" {
		t.Errorf("a file: %+v", m.Files)
	}
	m = message(interaction(ann.Slash(room, "button", nil)).Message(ctx))
	m = message(interaction(ann.Press(m, "Again")).Message(ctx))
	if m.Content != "Pressed" || len(m.Components) != 0 || !m.Edited {
		t.Errorf("a button: %+v", m)
	}
	m = message(interaction(ann.Slash(room, "slow", nil)).Message(ctx))
	if m.Content != "at last" || len(m.Files) != 1 || m.Files[0].Alt != "what was late" {
		t.Errorf("deferred and edited: %+v", m)
	}
	form := must[*discordtest.Modal](t)(interaction(ann.Slash(room, "form", nil)).Modal(ctx))
	m = message(interaction(ann.Submit(form, discordtest.Values{"Weaving width": "60 cm"})).Message(ctx))
	if m.Content != "width 60 cm" {
		t.Errorf("a form: %+v", m)
	}
	m = message(interaction(ann.Slash(room, "post", nil)).Message(ctx))
	if m.Content != "same true, in the history true, events 1" {
		t.Errorf("posts: %q", m.Content)
	}
	if e := g.Events(); len(e) != 1 || e[0].Name != "We meet later" {
		t.Errorf("events: %+v", e)
	}

	resumeJS(t, s, bot, ann, room)
	if r := s.Refused(); len(r) > 0 {
		t.Errorf("refused: %s", strings.Join(r, "\n"))
	}
}

// resumeJS cuts the connection, has something happen, and lets the bot resume:
// it must be told of what it has missed.
func resumeJS(t *testing.T, s *discordtest.Server, bot *jsBot, ann *discordtest.User, room *discordtest.Channel) {
	ctx := patience(t)
	for _, cut := range []struct {
		name string
		do   func()
	}{{"cut", s.Cut}, {"asked to reconnect", s.Reconnect}, {"closed with 4000", func() { s.CloseGateway(4000) }}} {
		before := s.Gateway()
		cut.do()
		if err := s.AwaitGateway(ctx, func(st discordtest.Stats) bool { return st.Connected == 0 || st.Resumes > before.Resumes }); err != nil {
			t.Fatal(err)
		}
		i := must[*discordtest.Interaction](t)(ann.Slash(room, "echo", discordtest.Values{"text": "missed"}))
		bot.until("resumed")
		if m, err := i.Message(ctx); err != nil || m.Content != "echo missed" {
			t.Errorf("%s: %+v %v", cut.name, m, err)
		}
		after := s.Gateway()
		if after.Resumes != before.Resumes+1 || after.Identifies != before.Identifies {
			t.Errorf("%s: %+v, then %+v", cut.name, before, after)
		}
	}
}
