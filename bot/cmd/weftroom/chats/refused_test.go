//go:build unix

package chats_test

import (
	"context"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"weftroom/adapters/discord"
	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
	"weftroom/config"
)

// course is a class on Discord, with the whole of weftroom in this process.
type course struct {
	t        *testing.T
	ctx      context.Context
	server   *discordtest.Server
	guild    *discordtest.Guild
	room     *discordtest.Channel
	teacher  *discordtest.User
	student  *discordtest.User
	commands []*bot.Command
}

func openCourse(t *testing.T) *course {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	now := time.Now()
	s := discordtest.New(t, discordtest.Options{Now: func() time.Time { return now }}) // nothing is too late
	c := &course{t: t, ctx: ctx, server: s, guild: s.Guild("Tarnholm"), teacher: s.User("Maren"), student: s.User("Yori")}
	c.room = c.guild.Channel("lace")
	c.guild.Join(c.teacher, discordtest.ManageGuild|discordtest.ManageEvents)
	c.guild.Join(c.student)

	log := slog.New(slog.DiscardHandler)
	db, err := store.OpenURL(ctx, filepath.Join(t.TempDir(), "weftroom.sqlite"), store.Options{Log: log})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	box, err := store.NewOutbox(ctx, db, log)
	if err != nil {
		t.Fatal(err)
	}
	desk := &lesson.Desk{Store: db, Posts: box, Now: time.Now}
	d := bot.NewDispatcher(lesson.Commands(desk), class.Roll{Store: db}, lesson.English(), log)
	d.Keep(db)
	d.Remember(db, time.Now)
	c.commands = d.Commands()
	chat, err := discord.New(config.Discord{Token: s.Token, Shards: "1", Open: "yes"}, discord.Options{
		Notes: db, Commands: d.Commands(), Texts: lesson.English(), Log: log, Transport: s.Transport(), Dial: s.Dial,
	})
	if err != nil {
		t.Fatal(err)
	}
	running, end := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- chat.Run(running, d) }()
	t.Cleanup(func() {
		end()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	if err := s.AwaitCommands(ctx); err != nil {
		t.Fatal(err)
	}
	if m := c.run(c.teacher, "class open", discordtest.Values{"name": "Tarnholm lace", "zone": "Berlin"}); !strings.Contains(m, "meets here") {
		t.Fatalf("no class: %s", m)
	}
	if m := c.run(c.student, "join", nil); !strings.Contains(m, "You are in the class") {
		t.Fatalf("she did not join: %s", m)
	}
	return c
}

func (c *course) run(who *discordtest.User, name string, values discordtest.Values) string {
	c.t.Helper()
	i, err := who.Slash(c.room, name, values)
	if err != nil {
		c.t.Fatalf("%s, /%s: %v", who.Name, name, err)
	}
	m, err := i.Message(c.ctx)
	if err != nil {
		c.t.Fatalf("/%s is not answered: %v", name, err)
	}
	return m.Text()
}

// staff lists the commands that are for helpers and teachers, by path.
func staff(commands []*bot.Command, before string, least bot.Role) (out []string) {
	for _, c := range commands {
		path, who := strings.TrimSpace(before+" "+c.Name), max(least, c.Who)
		if len(c.Subs) > 0 {
			out = append(out, staff(c.Subs, path, who)...)
		} else if who > bot.Student {
			out = append(out, path)
		}
	}
	return out
}

// forAnyone tells that a command, or a part of it, is for students.
func forAnyone(commands []*bot.Command, name string) bool {
	for _, c := range commands {
		if c.Name != name {
			continue
		}
		if len(c.Subs) == 0 {
			return c.Who < bot.Helper
		}
		return c.Who < bot.Helper && slices.ContainsFunc(c.Subs, func(sub *bot.Command) bool { return forAnyone(c.Subs, sub.Name) })
	}
	return false
}

// TestTeachersCommandsAreRefused has a student try every command that is for
// helpers or teachers. Discord does not show her those whose whole command is
// for them; with its permissions bypassed, and for subcommands beside others
// that are for everyone, which it cannot hide, it is we who refuse.
func TestTeachersCommandsAreRefused(t *testing.T) {
	c := openCourse(t)
	paths := staff(c.commands, "", bot.Anyone)
	if len(paths) < 15 {
		t.Fatalf("only %v are for helpers and teachers", paths)
	}
	offered := c.student.Offered(c.room)
	hidden, beside := 0, 0
	for _, path := range paths {
		name, _, _ := strings.Cut(path, " ")
		shown := slices.Contains(offered, path)
		if want := forAnyone(c.commands, name); shown != want {
			t.Errorf("/%s is shown to a student: %v; a part of /%s is for her: %v", path, shown, name, want)
		}
		if shown {
			beside++
			continue
		}
		hidden++
		if _, err := c.student.Slash(c.room, path, nil); err == nil {
			t.Errorf("/%s is not offered, and was run", path)
		}
	}
	for _, path := range paths {
		name, _, _ := strings.Cut(path, " ")
		c.guild.Allow(name, c.student, true)
		said := c.bypassed(path)
		if !strings.Contains(said, " is for ") {
			t.Errorf("/%s, with Discord's permissions bypassed, is answered: %s", path, said)
		}
	}
	if hidden == 0 || beside == 0 {
		t.Errorf("Discord hides %d of them and shows %d", hidden, beside)
	}
	for _, path := range c.teacher.Offered(c.room) {
		paths = slices.DeleteFunc(paths, func(p string) bool { return p == path })
	}
	if len(paths) > 0 {
		t.Errorf("not shown to her who runs the server: %v", paths)
	}
	t.Logf("of the commands for helpers and teachers %d are not shown to a student, and %d are, beside others", hidden, beside)
	for _, r := range c.server.Refused() {
		t.Errorf("the server refused: %s", r)
	}
}

// bypassed runs a command as whoever does not keep to Discord's client can: what
// it needs is made up.
func (c *course) bypassed(path string) string {
	c.t.Helper()
	i, err := c.student.Force(c.room, path)
	if err != nil {
		c.t.Fatalf("/%s: %v", path, err)
	}
	for range 2 { // a command may ask for a long text in a form first
		if typ, err := i.Type(c.ctx); err != nil {
			c.t.Fatalf("/%s is not answered: %v", path, err)
		} else if typ != discordtest.AnswerModal {
			break
		}
		form, err := i.Modal(c.ctx)
		if err != nil {
			c.t.Fatal(err)
		}
		values := discordtest.Values{}
		for _, in := range form.Inputs {
			values[in.CustomID] = "made up"
		}
		if i, err = c.student.Submit(form, values); err != nil {
			c.t.Fatal(err)
		}
	}
	m, err := i.Message(c.ctx)
	if err != nil {
		c.t.Fatalf("/%s is not answered: %v", path, err)
	}
	return m.Text()
}
