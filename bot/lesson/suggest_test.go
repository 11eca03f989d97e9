package lesson_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/lesson"
	"weftroom/calc/measure"
)

// suggestingStage is a class with sessions before, now and after, and people in it.
func suggestingStage(t *testing.T) *stage {
	s := newStage(t)
	s.play(
		"@power maren", `maren@room> class open "Tarnholm lace" zone:Berlin`, `maren@room> class set yarn:"6/2 linen"`,
		"@member yori", "@name teodor Teodor Quill", "@member teodor helper", `maren@dm> session add "26 nov 19:00" weekly:4`,
		"maren@dm> session cancel 3", "maren@dm> motif text:I ends:24 name:leaf", "@now 2026-12-03T18:30Z", "yori@dm> settings units:centimetres zone:Lisbon",
	)
	return s
}

func (s *stage) suggest(user, room, command, param, begun string) []string {
	r := bot.Request{From: bot.Account{Chat: home, User: user}, In: bot.Place{Chat: home, Room: room}}
	if r.Direct = room == "dm"; r.Direct {
		r.In.Room = "direct:" + user
	}
	return s.dispatcher.Suggest(s.t.Context(), r, command, param, begun, 25)
}

func TestSuggestions(t *testing.T) {
	s := suggestingStage(t)
	for _, row := range []struct {
		shows, user, room, command, param, begun string
		want                                     []string
	}{
		{"the class's yarn as well", "yori", "room", "sett", "yarn", "linen", []string{"6/2 linen", "16/2 linen", "16/1 linen", "20/2 linen", "40/2 linen"}},
		{"a yarn by its fibre", "guest", "dm", "yardage", "yarn", "linen", []string{"16/2 linen", "16/1 linen", "20/2 linen", "40/2 linen"}},
		{"her units first", "yori", "dm", "loom", "heddle", "", []string{
			"20/10cm", "25/10cm", "30/10cm", "40/10cm", "50/10cm", "60/10cm", "5/in", "8/in", "10/in", "12/in", "15/in", "7.5/in", "12.5/in"}},
		{"inches for whom nobody knows", "guest", "dm", "row", "heddle", "1", []string{"10/in", "12/in", "15/in", "12.5/in"}},
		{"a place", "yori", "dm", "settings", "zone", "lisb", []string{"Lisboa", "Lisboa, Portugal", "Lisbon", "Europe/Lisbon"}},
		{"a place with its country", "maren", "room", "class open", "zone", "aach", []string{"Aachen", "Aachen, Germany"}},
		{"a place misspelt", "yori", "dm", "settings", "zone", "Lisbonn", []string{"Lisbon", "Lisboa"}},
		{"sessions to come, the one that is on among them", "yori", "room", "coming", "session", "", []string{"2", "4"}},
		{"alone as well", "yori", "dm", "away", "session", "", []string{"2", "4"}},
		{"without a class", "guest", "dm", "away", "session", "", nil},
		{"sessions held, the last first", "maren", "room", "attendance", "session", "", []string{"2", "1"}},
		{"all sessions", "maren", "room", "session show", "number", "", []string{"2", "4", "1"}},
		{"evenings", "maren", "room", "session work", "session", "", []string{"next", "2", "4"}},
		{"not for a student", "yori", "room", "session show", "number", "", nil},
		{"members, for a helper", "teodor", "room", "attendance", "came", "", []string{"Maren", "Yori", "Teodor Quill"}},
		{"no names for a student", "yori", "room", "attendance", "came", "", nil},
		{"a member by her second name", "maren", "room", "class handover", "member", "qui", []string{"Teodor Quill"}},
		{"a word by its other name", "guest", "room", "word", "name", "heal", []string{"heald"}},
		{"a command by its name", "guest", "room", "help", "command", "set", []string{"sett", "settings"}},
		{"a command by its part", "maren", "room", "help", "command", "move", []string{"session move"}},
	} {
		got := s.suggest(row.user, row.room, row.command, row.param, row.begun)
		if diff := cmp.Diff(row.want, got); diff != "" {
			t.Errorf("%s:\n%s", row.shows, diff)
		}
	}
	s.do("maren@room> class set minors:yes")
	if got := s.suggest("maren", "room", "attendance", "came", "teo"); !cmp.Equal(got, []string{"Teodor"}) {
		t.Errorf("in a class of minors %q are suggested", got)
	}
}

// TestSuggestionsCanBeWritten: whatever is suggested for an argument is read as
// one, by askers of either units.
func TestSuggestionsCanBeWritten(t *testing.T) {
	s := suggestingStage(t)
	values := 0
	var each func(commands []*bot.Command)
	each = func(commands []*bot.Command) {
		for _, c := range commands {
			each(c.Subs)
			for _, p := range c.Params {
				if p.Suggest == nil {
					continue
				}
				all, err := p.Suggest(t.Context(), bot.Request{From: bot.Account{Chat: home, User: "maren"}, In: bot.Place{Chat: home, Room: "room"}, Role: bot.Teacher})
				if err != nil || len(all) == 0 {
					t.Errorf("%s %s: %d suggestions, %v", c.Name, p.Name, len(all), err)
				}
				for _, u := range []measure.Units{measure.Imperial, measure.Metric} {
					values += len(all)
					wantReadable(t, c, p, all, u)
				}
			}
		}
	}
	each(lesson.Commands(s.desk))
	if values < 1000 {
		t.Errorf("only %d values were tried", values)
	}
}

// wantReadable reads each value as if it stood in a line by itself: what else the
// command needs is no matter here.
func wantReadable(t *testing.T, c *bot.Command, p bot.Param, values []string, u measure.Units) {
	t.Helper()
	alone := &bot.Command{Name: c.Name, Params: []bot.Param{p}}
	for _, v := range values {
		if _, err := alone.ArgsOf(bot.Written(p.Name, v), u); err != nil {
			t.Errorf("%s %s suggests %q: %v", c.Name, p.Name, v, err)
		}
		if strings.TrimSpace(v) != v || v == "" {
			t.Errorf("%s %s suggests %q", c.Name, p.Name, v)
		}
	}
}
