package main

import (
	"fmt"
	"io"
	"log/slog"

	"weftroom/adapters/discord"
	"weftroom/adapters/matrix"
	"weftroom/bot"
	"weftroom/bot/lesson"
	"weftroom/config"
)

// discordNet carries what goes to Discord; tests put a server of their own there.
var discordNet = func(*discord.Options) {}

// chatsOf are the chats that the settings name, not joined yet. What only the
// operator may know is written to out.
func chatsOf(c *config.Config, notes bot.Notes, commands []*bot.Command, log *slog.Logger, out io.Writer) ([]bot.Adapter, error) {
	var chats []bot.Adapter
	texts := lesson.English()
	if c.Matrix.Homeserver != "" {
		settings := c.Matrix
		settings.Keys = expanded(settings.Keys)
		chat, err := matrix.New(settings, matrix.Options{
			Notes: notes, Commands: commands, Texts: texts, Log: log,
			Show: func(key string) { showRecovery(out, key) },
		})
		if err != nil {
			return nil, err
		}
		chats = append(chats, chat)
	}
	if c.Discord.Token != "" {
		o := discord.Options{Notes: notes, Commands: commands, Texts: texts, Log: log}
		discordNet(&o)
		chat, err := discord.New(c.Discord, o)
		if err != nil {
			return nil, err
		}
		chats = append(chats, chat)
	}
	return chats, nil
}

// showRecovery is shown once; nobody but the operator ever sees it again.
func showRecovery(out io.Writer, key string) {
	fmt.Fprintf(out, "\nThe recovery key of the Matrix account, shown this once:\n\n    %s\n\n"+
		"Write it down and keep it away from this machine: with it (matrix.recovery) a new\n"+
		"device of the account is trusted when this one is lost.\n\n", key)
}
