//go:build unix

// Package chats measures the whole of it in each chat, beside a bare bot that
// only echoes on the same server in the same run. It is nothing but tests.
package chats_test

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"os/signal"
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"

	"weftroom/adapters/discord"
	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
	"weftroom/config"
)

// orders tell a child process which bot to be.
type orders struct {
	Bot      string // "weftroom" or "discordgo"
	Server   string // the address of its Discord
	Token    string
	Database string
}

const ordersVar = "WEFTROOM_CHATS_ORDERS"

// TestMain is the child's main as well: a bot has a process of its own, so that
// its memory is its own.
func TestMain(m *testing.M) {
	if raw := os.Getenv(ordersVar); raw != "" {
		if err := child(raw); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func child(raw string) error {
	var o orders
	if err := json.Unmarshal([]byte(raw), &o); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	go tellHeap(os.Stdin)
	if o.Bot == "discordgo" {
		return echoBot(ctx, o)
	}
	return wholeBot(ctx, o)
}

// tellHeap says how many bytes live on the heap, each time it is asked. Nobody
// outlives the test: when that has gone, so has the child.
func tellHeap(asked io.Reader) {
	for lines := bufio.NewScanner(asked); lines.Scan(); {
		runtime.GC()
		runtime.GC() // what finalizers let go
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		fmt.Println(m.HeapAlloc)
	}
	os.Exit(3)
}

// wholeBot is weftroom on Discord: every command, a database on disk, and the
// adapter, without what the clock posts.
func wholeBot(ctx context.Context, o orders) error {
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelError}))
	db, err := store.OpenURL(ctx, o.Database, store.Options{Log: log})
	if err != nil {
		return err
	}
	desk := &lesson.Desk{Store: db, Now: time.Now}
	d := bot.NewDispatcher(lesson.Commands(desk), class.Roll{Store: db}, lesson.English(), log)
	d.Keep(db)
	d.Remember(db, time.Now)
	chat, err := discord.New(config.Discord{Token: o.Token, Shards: "1", Open: "yes"}, discord.Options{
		Notes: db, Commands: d.Commands(), Texts: lesson.English(), Log: log, Transport: discordtest.Through(o.Server),
	})
	if err != nil {
		return errors.Join(err, db.Close())
	}
	return errors.Join(chat.Run(ctx, d), db.Close())
}

// echoBot is the floor: discordgo and one line, or one line that changes the
// message whose button was pressed.
func echoBot(ctx context.Context, o orders) error {
	s, err := discordgo.New("Bot " + o.Token)
	if err != nil {
		return err
	}
	s.Client = &http.Client{Transport: discordtest.Through(o.Server)}
	s.Identify.Intents = discordgo.IntentsGuilds
	s.AddHandler(func(s *discordgo.Session, i *discordgo.InteractionCreate) {
		answer := &discordgo.InteractionResponse{
			Type: discordgo.InteractionResponseChannelMessageWithSource,
			Data: &discordgo.InteractionResponseData{Content: "echo", Flags: discordgo.MessageFlagsEphemeral},
		}
		switch {
		case i.Type == discordgo.InteractionMessageComponent:
			answer.Type = discordgo.InteractionResponseUpdateMessage
			answer.Data.Components = nextButton
		case i.ApplicationCommandData().Name == "start":
			answer.Data.Components = nextButton
		}
		_ = s.InteractionRespond(i.Interaction, answer)
	})
	if err := s.Open(); err != nil {
		return err
	}
	_, err = s.ApplicationCommandBulkOverwrite(s.State.User.ID, "", []*discordgo.ApplicationCommand{
		{Name: "row", Description: "Echo"}, {Name: "start", Description: "Echo with a button"},
	})
	if err != nil {
		return err
	}
	<-ctx.Done()
	return s.Close()
}

// nextButton is what stands under an echo that is stepped through.
var nextButton = []discordgo.MessageComponent{discordgo.ActionsRow{Components: []discordgo.MessageComponent{
	discordgo.Button{Label: "Next", Style: discordgo.SecondaryButton, CustomID: "next"},
}}}

// addressOf is what is between the scheme and the path.
func addressOf(raw string) string {
	u, err := url.Parse(raw)
	if err != nil {
		panic(err) // of a test's own server
	}
	return u.Host
}
