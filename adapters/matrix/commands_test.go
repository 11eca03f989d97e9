package matrix

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/event/cmdschema"

	"weftroom/bot"
)

func TestDescribe(t *testing.T) {
	commands := []*bot.Command{
		{Name: "row", Aliases: []string{"plan"}, Params: []bot.Param{{Name: "raised", Kind: bot.Count}, {Name: "width", Kind: bot.Length, Required: true}, {Name: "from", Kind: bot.Words, Pressed: true}, {Name: "picture", Kind: bot.Enclosed, Required: true}}},
		{Name: "class", Subs: []*bot.Command{{Name: "open"}, {Name: "set", Params: []bot.Param{
			{Name: "remind", Kind: bot.Choice, Choices: []string{"yes", "no"}}, {Name: "units", Kind: bot.Choice, Choices: []string{"inches", "centimetres"}}}}}},
	}
	texts := bot.Texts{
		"cmd.row": "plans a row", "cmd.class.open": "opens a class", "cmd.class.set": "sets it",
		"arg.row.raised": "ends raised in a row", "arg.raised": "ends raised", "arg.width": "how wide", "arg.remind": "remind", "arg.units": "units",
	}
	got := describe(commands, texts)
	param := func(key string, kind cmdschema.PrimitiveType, optional bool, what string) *cmdschema.Parameter {
		return &cmdschema.Parameter{Key: key, Schema: kind.Schema(), Optional: optional, Description: event.MakeExtensibleText(what)}
	}
	want := []*cmdschema.EventContent{
		{Command: "row", Aliases: []string{"plan"}, Description: event.MakeExtensibleText("plans a row"), Parameters: []*cmdschema.Parameter{
			param("width", cmdschema.PrimitiveTypeString, false, "how wide"),
			param("raised", cmdschema.PrimitiveTypeInteger, true, "ends raised in a row")}},
		{Command: "class open", Description: event.MakeExtensibleText("opens a class")},
		{Command: "class set", Description: event.MakeExtensibleText("sets it"), Parameters: []*cmdschema.Parameter{
			param("remind", cmdschema.PrimitiveTypeBoolean, true, "remind"),
			param("units", cmdschema.PrimitiveTypeString, true, "units")}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for _, content := range got {
		if err := content.Validate(); err != nil {
			t.Errorf("%s: %v", content.Command, err)
		}
	}
}

func TestMayAdvertise(t *testing.T) {
	levels := func(ours, state int) mautrix.RoomStateMap {
		content := &event.PowerLevelsEventContent{StateDefaultPtr: &state}
		content.SetUserLevel(us, ours)
		return mautrix.RoomStateMap{event.StatePowerLevels: {"": {Content: event.Content{Parsed: content}}}}
	}
	for _, c := range []struct {
		name  string
		state mautrix.RoomStateMap
		want  bool
	}{
		{"a moderator", levels(50, 50), true}, {"a member", levels(0, 50), false}, {"where everyone may", levels(0, 0), true},
		{"where nothing is said of power", mautrix.RoomStateMap{}, false},
	} {
		if got := mayAdvertise(c.state, us); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
