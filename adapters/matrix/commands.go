package matrix

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/event/cmdschema"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// advertise lists our commands in a room's state, for programs that complete them
// (MSC4391), where our power allows that. What stands there already is not
// written again. It blocks on the network: a room's first time takes a request
// for each command, so that direct chats, of which there is one for each person,
// go without.
func (c *Chat) advertise(ctx context.Context, room id.RoomID) error {
	about, err := c.roomOf(ctx, room)
	if err != nil || about.Direct {
		return err
	}
	client, err := c.client(ctx)
	if err != nil {
		return err
	}
	state, err := client.State(ctx, room)
	if err != nil {
		return err
	}
	if !mayAdvertise(state, c.user) {
		return nil
	}
	var failed []error
	for _, content := range describe(c.options.Commands, c.options.Texts) {
		key := content.StateKey(c.user)
		if standing, ok := state[event.StateMSC4391BotCommand][key]; ok && standing.Sender == c.user && same(standing, content) {
			continue
		}
		if _, err := client.SendStateEvent(ctx, room, event.StateMSC4391BotCommand, key, content); err != nil {
			failed = append(failed, fmt.Errorf("%s: %w", content.Command, err))
		}
	}
	return errors.Join(failed...)
}

// mayAdvertise tells whether we may change that kind of state in a room.
func mayAdvertise(state mautrix.RoomStateMap, user id.UserID) bool {
	levels := &event.PowerLevelsEventContent{}
	if e, ok := state[event.StatePowerLevels][""]; ok {
		levels = e.Content.AsPowerLevels()
	}
	return levels.GetUserLevel(user) >= levels.GetEventLevel(event.StateMSC4391BotCommand)
}

func same(standing *event.Event, content *cmdschema.EventContent) bool {
	there, ok := standing.Content.Parsed.(*cmdschema.EventContent)
	return ok && there.Equals(content)
}

// describe makes the descriptions of all commands, each subcommand as one of its
// own ("class open").
func describe(commands []*bot.Command, texts bot.Texts) []*cmdschema.EventContent {
	var out []*cmdschema.EventContent
	walk(commands, nil, func(path []string, c *bot.Command) {
		content := &cmdschema.EventContent{
			Command:     strings.Join(path, " "),
			Description: event.MakeExtensibleText(texts.Say(measure.Unset, calc.Key("cmd."+strings.Join(path, ".")))),
		}
		if len(path) == 1 {
			content.Aliases = c.Aliases
		}
		for _, p := range c.Shown() {
			if p.Kind == bot.Enclosed { // a file cannot be written into a field
				continue
			}
			content.Parameters = append(content.Parameters, &cmdschema.Parameter{
				Key: p.Name, Schema: schema(p), Optional: !p.Required, Description: event.MakeExtensibleText(meaning(texts, path, p.Name)),
			})
		}
		slices.SortStableFunc(content.Parameters, func(a, b *cmdschema.Parameter) int { return optional(a) - optional(b) })
		out = append(out, content)
	})
	return out
}

// walk visits every command that can be run.
func walk(commands []*bot.Command, above []string, visit func(path []string, c *bot.Command)) {
	for _, c := range commands {
		path := append(above[:len(above):len(above)], c.Name)
		if len(c.Subs) == 0 {
			visit(path, c)
		}
		walk(c.Subs, path, visit)
	}
}

// schema is an argument's type. Only those three are used that every program with
// any support knows; lengths and yarns are strings, in the words of people.
func schema(p bot.Param) *cmdschema.ParameterSchema {
	switch {
	case p.Kind == bot.Count:
		return cmdschema.PrimitiveTypeInteger.Schema()
	case p.Kind == bot.Choice && slices.Equal(p.Choices, []string{yesNo(true), yesNo(false)}):
		return cmdschema.PrimitiveTypeBoolean.Schema()
	}
	return cmdschema.PrimitiveTypeString.Schema()
}

// meaning is what an argument means: in this command, or in all of them.
func meaning(texts bot.Texts, path []string, param string) string {
	own := calc.Key("arg." + strings.Join(path, ".") + "." + param)
	if _, ok := texts[own]; ok {
		return texts.Say(measure.Unset, own)
	}
	return texts.Say(measure.Unset, calc.Key("arg."+param))
}

// optional orders arguments: those first that must be given.
func optional(p *cmdschema.Parameter) int {
	if p.Optional {
		return 1
	}
	return 0
}
