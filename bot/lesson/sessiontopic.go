package lesson

import (
	"context"
	"strings"

	"weftroom/bot"
	"weftroom/calc"
)

const keySameTopic calc.Key = "session.same_topic" // the number

func sessionTopic(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "topic", Who: bot.Teacher, Changes: true,
		Params:   []bot.Param{whichSession, {Name: "topic", Kind: bot.Words, Required: true, Second: true, Max: maxTopic}},
		Examples: []string{`session topic 2 topic:"Half-drop"`, "session topic 2 topic:none"},
		Run:      d.topicOfSession,
	}
}

// topicOfSession changes what a session is about. Nobody is told by a post: it is
// neither another time nor another place, and reminders and calendars say it.
func (d *Desk) topicOfSession(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	who, session, err := d.toChange(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	topic := cleanLine(c.Args.Text("topic"), 500)
	if strings.EqualFold(topic, "none") {
		topic = ""
	}
	if topic == session.Topic {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keySameTopic, Field: "topic", Args: []any{session.Number}, Example: `session topic 2 topic:"Half-drop"`}
	}
	session.Topic = topic
	session.Sequence++ // for calendars; what was planned of it stands
	if err := d.Store.PutSession(ctx, session); err != nil {
		return bot.Reply{}, err
	}
	reply, err := showReply(c, who, session, true)
	reply.Body = append(reply.Body, bot.Paragraph(c.Say("session.topic_told")))
	return reply, err
}
