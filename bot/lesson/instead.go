package lesson

import (
	"context"
	"slices"

	"weftroom/bot"
)

// steps are, by command, the arguments that answer what the assistant asked or
// offered under its message: one conversation, of which the newest state is
// enough to see. An answer to a post (coming, away) is none: the post is
// everybody's, and she is told alone.
var steps = map[string][]string{
	"loom":      append(slices.Clone(questions), "sett", "unsure"),
	"when":      {"all"},
	"questions": {"done"},
	"settings":  {"class"},
	"say":       {"sure"},
	"leave":     {"sure"},
	"forget":    {"sure"},
	"replan":    {"sure"},
	"link":      {"code"},
}

// stepping marks the answers to steps, so that a chat can change the message
// whose button was pressed. What the whole room is told is a message of its own.
func stepping(commands []*bot.Command) {
	for _, c := range commands {
		answers, run := steps[c.Name], c.Run
		if len(answers) == 0 {
			continue
		}
		c.Run = func(ctx context.Context, call *bot.Call) (bot.Reply, error) {
			reply, err := run(ctx, call)
			reply.Instead = reply.Audience == bot.Personal && slices.ContainsFunc(answers, call.Args.Has)
			return reply, err
		}
	}
}
