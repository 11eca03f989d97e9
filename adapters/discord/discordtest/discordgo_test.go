package discordtest_test

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"

	"weftroom/adapters/discord/discordtest"
)

// patience is for what must come; nothing here waits for it to pass.
func patience(t *testing.T) context.Context {
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// standing is a clock that stands still: nothing is too late on a busy machine.
func standing() func() time.Time {
	now := time.Now()
	return func() time.Time { return now }
}

// connect joins a bare discordgo session to the server.
func connect(t *testing.T, s *discordtest.Server, handlers ...any) *discordgo.Session {
	t.Helper()
	bot, err := discordgo.New("Bot " + s.Token)
	if err != nil {
		t.Fatal(err)
	}
	bot.Identify.Intents = discordgo.IntentsGuilds | discordgo.IntentsDirectMessages | discordgo.IntentsGuildMessages
	bot.Client = &http.Client{Transport: s.Transport()}
	bot.Dialer = &websocket.Dialer{NetDialContext: s.Dial}
	bot.ShouldReconnectOnError = false
	for _, h := range handlers {
		bot.AddHandler(h)
	}
	if err := bot.Open(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(bot.Client.CloseIdleConnections)
	if err := s.AwaitGateway(patience(t), discordtest.Ready); err != nil {
		t.Fatal(err)
	}
	return bot
}

func TestABareSession(t *testing.T) {
	ctx := patience(t)
	s := discordtest.New(t, discordtest.Options{Now: standing()})
	g := s.Guild("Far looms")
	room := g.Channel("loom-room")
	ann, bea := s.User("Ann"), s.User("Bea")
	g.Join(ann)
	g.Join(bea)
	bot := connect(t, s, func(b *discordgo.Session, i *discordgo.InteractionCreate) {
		_ = b.InteractionRespond(i.Interaction, &discordgo.InteractionResponse{
			Type: discordgo.InteractionResponseChannelMessageWithSource,
			Data: &discordgo.InteractionResponseData{
				Content: "echo " + i.ApplicationCommandData().Options[0].StringValue(), Flags: discordgo.MessageFlagsEphemeral,
			},
		})
	})
	if _, err := bot.ApplicationCommandBulkOverwrite(s.AppID, "", []*discordgo.ApplicationCommand{{
		Name: "echo", Description: "Say it again",
		Options: []*discordgo.ApplicationCommandOption{{Type: discordgo.ApplicationCommandOptionString, Name: "text", Description: "What", Required: true}},
	}}); err != nil {
		t.Fatal(err)
	}
	i, err := ann.Slash(room, "echo", discordtest.Values{"text": "sixty ends"})
	if err != nil {
		t.Fatal(err)
	}
	m, err := i.Message(ctx)
	if err != nil || m.Content != "echo sixty ends" || !m.Ephemeral {
		t.Errorf("%+v %v", m, err)
	}
	if len(ann.Messages(room)) != 1 || len(bea.Messages(room)) != 0 || len(room.All()) != 0 {
		t.Errorf("ephemeral: Ann sees %d, Bea %d, everyone %d", len(ann.Messages(room)), len(bea.Messages(room)), len(room.All()))
	}
	if r := s.Refused(); len(r) > 0 {
		t.Error(strings.Join(r, "\n"))
	}
}
