//go:build unix

package chats_test

import (
	"context"
	"log/slog"
	"path/filepath"
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
	c.guild.Join(c.teacher, discordtest.ManageGuild)
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

// TestTeachersCommandsAreRefused has a student try every command that is for
// helpers or teachers. Discord does not show her those whose whole command is
// for teachers; with its permissions bypassed, and for the others, it is we who
// refuse.
func TestTeachersCommandsAreRefused(t *testing.T) {
	c := openCourse(t)
	paths := staff(c.commands, "", bot.Anyone)
	if len(paths) < 15 {
		t.Fatalf("only %v are for helpers and teachers", paths)
	}
	before := strings.Join(c.student.Offered(c.room), ",")
	hidden := 0
	for _, path := range paths {
		if !strings.Contains(","+before+",", ","+path+",") {
			hidden++
			if _, err := c.student.Slash(c.room, path, nil); err == nil {
				t.Errorf("/%s is not offered, and was run", path)
			}
		}
		name, _, _ := strings.Cut(path, " ")
		c.guild.Allow(name, c.student, true)
		said := c.bypassed(path)
		if !strings.Contains(said, " is for ") {
			t.Errorf("/%s, with Discord's permissions bypassed, is answered: %s", path, said)
		}
	}
	if hidden == 0 {
		t.Error("Discord hides none of them")
	}
	t.Logf("%d commands for helpers and teachers, %d of them not shown to a student: %v", len(paths), hidden, paths)
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
