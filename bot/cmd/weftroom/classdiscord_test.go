package main

import (
	"context"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"weftroom/adapters/discord"
	"weftroom/adapters/discord/discordtest"
)

// discordServer names the variable that says where a test's Discord is.
const discordServer = "WEFTROOM_TEST_DISCORD"

// joinTestDiscord has a process that a test started reach the test's Discord and
// no other.
func joinTestDiscord() {
	if addr := os.Getenv(discordServer); addr != "" {
		discordNet = func(o *discord.Options) { o.Transport = discordtest.Through(addr) }
	}
}

// TestClassOnDiscord plays the course on a faithful Discord.
func TestClassOnDiscord(t *testing.T) {
	t.Parallel()
	v := newDiscordVenue(t)
	playClass(t, v)
	for _, refused := range v.server.Refused() {
		t.Errorf("the server refused: %s", refused)
	}
}

// discordVenue is a server with one channel.
type discordVenue struct {
	server *discordtest.Server
	guild  *discordtest.Guild
	room   *discordtest.Channel
}

func newDiscordVenue(t *testing.T) *discordVenue {
	t.Helper()
	now := time.Now() // and stays, so that on a machine that stands still no answer is too late
	v := &discordVenue{server: discordtest.New(t, discordtest.Options{Now: func() time.Time { return now }})}
	v.guild = v.server.Guild("Tarnholm")
	v.room = v.guild.Channel("lace")
	return v
}

func (v *discordVenue) keeps() bool { return false }

func (v *discordVenue) present(t *testing.T, times int) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patient)
	defer cancel()
	there := func(s discordtest.Stats) bool { return s.Connected > 0 && s.Identifies >= times }
	if err := v.server.AwaitGateway(ctx, there); err != nil {
		t.Fatal(err)
	}
}

func (v *discordVenue) settings() string { return "[discord]\ntoken = \"" + v.server.Token + "\"\n" }

func (v *discordVenue) environ() []string {
	u, _ := url.Parse(v.server.URL)
	return []string{discordServer + "=" + u.Host}
}

// person of the name Maren may manage the server, and nobody else.
func (v *discordVenue) person(t *testing.T, name string, inRoom bool) actor {
	t.Helper()
	u := v.server.User(name)
	if inRoom && name == "Maren" {
		v.guild.Join(u, discordtest.ManageGuild, discordtest.ManageEvents)
	} else {
		v.guild.Join(u)
	}
	p := &discordPerson{venue: v, user: u, views: map[bool]*discordtest.View{}, last: map[bool][]discordtest.Message{}}
	for _, alone := range []bool{true, false} {
		p.views[alone] = u.View(p.channel(alone))
	}
	return p
}

type discordPerson struct {
	venue *discordVenue
	user  *discordtest.User
	views map[bool]*discordtest.View
	last  map[bool][]discordtest.Message // that she saw, with buttons, as they are now
}

func (p *discordPerson) channel(alone bool) *discordtest.Channel {
	if alone {
		return p.user.DM()
	}
	return p.venue.room
}

// say writes words to the assistant alone, and runs a command in the room, when
// it is offered there.
func (p *discordPerson) say(t *testing.T, alone bool, line string) {
	t.Helper()
	if alone {
		p.user.Write(p.channel(true), line)
		return
	}
	p.venue.registered(t)
	name, values := p.command(line)
	if _, err := p.user.Slash(p.venue.room, name, values); err != nil {
		t.Fatalf("%s, %q: %v", p.user.Name, line, err)
	}
}

// registered waits until the commands are there, as they are soon after the first
// start.
func (v *discordVenue) registered(t *testing.T) {
	t.Helper()
	for deadline := time.Now().Add(patient); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if _, times := v.server.Registered(); times > 0 {
			return
		}
	}
	t.Fatal("no commands are registered")
}

var namedValue = regexp.MustCompile(`([a-z]+):("[^"]*"|\S+)`)

// command is a line as a command with its options, as she fills them in.
func (p *discordPerson) command(line string) (name string, values discordtest.Values) {
	words := strings.Fields(line)
	n := 1
	if words[0] == "class" || words[0] == "session" {
		n = 2
	}
	name = strings.Join(words[:n], " ")
	rest := strings.Join(words[n:], " ")
	values = discordtest.Values{}
	put := func(name, value string) {
		if n, err := strconv.Atoi(value); err == nil && slices.Contains([]string{"minutes", "number", "passes"}, name) {
			values[name] = n // what is counted is a number in her form
			return
		}
		values[name] = value
	}
	for _, m := range namedValue.FindAllStringSubmatch(rest, -1) {
		put(m[1], strings.Trim(m[2], `"`))
	}
	first := map[string]string{"session add": "when", "session cancel": "number", "session work": "session"}[name]
	if bare := strings.Trim(strings.TrimSpace(namedValue.ReplaceAllString(rest, "")), `"`); bare != "" && first != "" {
		put(first, bare)
	}
	return name, values
}

func (p *discordPerson) hear(ctx context.Context, alone bool) (id, text string, err error) {
	m, err := p.views[alone].Next(ctx)
	if err != nil {
		return "", "", err
	}
	p.last[alone] = slices.DeleteFunc(p.last[alone], func(before discordtest.Message) bool { return before.ID == m.ID })
	if len(m.Buttons()) > 0 {
		p.last[alone] = append(p.last[alone], m)
	}
	text = m.Text()
	for _, f := range m.Files {
		if strings.HasPrefix(f.MediaType, "text/plain") {
			text += "\n" + string(f.Bytes)
		}
	}
	return m.ID, text, nil
}

func (p *discordPerson) pictures(_ *testing.T, alone bool) []shownPicture {
	var out []shownPicture
	for _, m := range p.user.Messages(p.channel(alone)) {
		for _, f := range m.Files {
			if f.MediaType == "image/png" {
				out = append(out, shownPicture{alt: f.Alt, bytes: f.Bytes})
			}
		}
	}
	return out
}

func (p *discordPerson) press(t *testing.T, alone bool, label string) {
	t.Helper()
	for _, m := range slices.Backward(p.last[alone]) {
		if !slices.ContainsFunc(m.Buttons(), func(b discordtest.Component) bool { return b.Label == label }) {
			continue
		}
		if _, err := p.user.Press(m, label); err != nil {
			t.Fatalf("%s presses %q: %v, under %s", p.user.Name, label, err, m.Text())
		}
		return
	}
	t.Fatalf("%s finds no button %q under the %d messages with some", p.user.Name, label, len(p.last[alone]))
}
