package console

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
)

var declared = []*bot.Command{
	{Name: "row", Aliases: []string{"plan"}, Params: []bot.Param{
		{Name: "ends", Kind: bot.Count}, {Name: "raised", Kind: bot.Count}, {Name: "rows", Kind: bot.Count},
		{Name: "way", Kind: bot.Choice, Choices: []string{"one", "two"}},
		{Name: "kind", Kind: bot.Choice, Choices: []string{"rigid heddle", "rigid", "table loom"}},
	}},
	{Name: "rest", Params: []bot.Param{
		{Name: "side", Kind: bot.Choice, First: true, Choices: []string{"right", "left"}}, {Name: "long", Kind: bot.Words},
		{Name: "likely", Kind: bot.Words, Pressed: true},
	}},
	{Name: "note", Params: []bot.Param{{Name: "for", Kind: bot.Words}, {Name: "text", Kind: bot.LongText}, {Name: "more", Kind: bot.LongText}}},
	{Name: "session", Subs: []*bot.Command{
		{Name: "add", Params: []bot.Param{{Name: "when", Kind: bot.Words}}}, {Name: "cancel"}, {Name: "attend"},
	}},
}

func TestComplete(t *testing.T) {
	all := []string{"ends:", "raised:", "rows:", "way:", "kind:"}
	for _, c := range []struct {
		name, line string // the cursor is at the bar, or at the end
		head       string
		list       []string
		tail       string
	}{
		{name: "nothing yet", line: "", list: []string{"row ", "rest ", "note ", "session ", "quit ", "exit "}},
		{name: "a command", line: "ro", list: []string{"row "}},
		{name: "in capitals", line: "RO", list: []string{"row "}},
		{name: "several commands", line: "r", list: []string{"row ", "rest "}},
		{name: "the way out", line: "q", list: []string{"quit "}},
		{name: "no such command", line: "zz"},
		{name: "arguments", line: "row ", head: "row ", list: all},
		{name: "an argument", line: "row ra", head: "row ", list: []string{"raised:"}},
		{name: "by another name of the command", line: "plan ra", head: "plan ", list: []string{"raised:"}},
		{name: "after a blank line's worth of blanks", line: "  row   ra", head: "  row   ", list: []string{"raised:"}},
		{name: "of an unknown command", line: "raw ra", head: "raw "},
		{name: "not what is given", line: "row ends:97 ", head: "row ends:97 ", list: all[1:]},
		{name: "not what is given with an equals sign", line: "row Ends=97 r", head: "row Ends=97 ", list: []string{"raised:", "rows:"}},
		{name: "not what is given without a colon", line: "row ends 97 e", head: "row ends 97 "},
		{name: "choices", line: "row way:", head: "row ", list: []string{"way:one ", "way:two "}},
		{name: "a choice", line: "row way=t", head: "row ", list: []string{"way=two "}},
		{name: "a choice after a blank", line: "row way: o", head: "row way: ", list: []string{"one "}},
		{name: "a choice without a colon", line: "row way ", head: "row way ", list: []string{"one ", "two "}},
		{name: "no choices of a number", line: "row ends:", head: "row "},
		{name: "no argument where a number is due", line: "row ends: ", head: "row ends: "},
		{name: "a choice with a blank is quoted", line: "row kind:ri", head: "row ", list: []string{`kind:"rigid heddle" `, "kind:rigid "}},
		{name: "a choice that is quoted already", line: `row kind:"rigid h`, head: "row ", list: []string{`kind:"rigid heddle" `}},
		{name: "after a quoted choice", line: `row kind:"rigid heddle" w`, head: `row kind:"rigid heddle" `, list: []string{"way:"}},
		{name: "a quote that means inches", line: `row ends:15" w`, head: `row ends:15" `, list: []string{"way:"}},
		{name: "the cursor in the line", line: "row wa| ends:97", head: "row ", list: []string{"way:"}, tail: " ends:97"},
		{name: "the cursor after letters of several bytes", line: "row ends:ä ra|", head: "row ends:ä ", list: []string{"raised:"}},
		{name: "what may come first", line: "rest ", head: "rest ", list: []string{"right ", "left ", "side:", "long:"}},
		{name: "a choice that comes first", line: "rest l", head: "rest ", list: []string{"left ", "long:"}},
		{name: "nothing first after the first", line: "rest left l", head: "rest left ", list: []string{"long:"}},
		{name: "subcommands", line: "session ", head: "session ", list: []string{"add ", "cancel ", "attend "}},
		{name: "a subcommand", line: "session a", head: "session ", list: []string{"add ", "attend "}},
		{name: "its arguments", line: "session add ", head: "session add ", list: []string{"when:"}},
		{name: "of an unknown subcommand", line: "session x w", head: "session x "},
	} {
		t.Run(c.name, func(t *testing.T) {
			line, pos := []rune(c.line), len([]rune(c.line))
			for i, r := range line {
				if r == '|' {
					line, pos = append(line[:i:i], line[i+1:]...), i
					break
				}
			}
			head, list, tail := completer{declared, words.Leave}.complete(string(line), pos)
			if head != c.head || tail != c.tail {
				t.Errorf("between %q and %q, want %q and %q", head, tail, c.head, c.tail)
			}
			if d := cmp.Diff(c.list, list); d != "" {
				t.Error(d)
			}
		})
	}
}

func FuzzComplete(f *testing.F) {
	f.Add(`row kind:"rig`, 5)
	f.Add("session a\u00a0w", 11)
	f.Fuzz(func(t *testing.T, line string, pos int) {
		runes := []rune(line)
		if pos < 0 || pos > len(runes) {
			return
		}
		head, list, tail := completer{declared, words.Leave}.complete(line, pos)
		if tail != string(runes[pos:]) {
			t.Errorf("tail %q", tail)
		}
		if before := string(runes[:pos]); len(head) > len(before) || before[:len(head)] != head {
			t.Errorf("head %q of %q", head, before)
		}
		for _, c := range list {
			if c == "" {
				t.Error("an empty completion")
			}
		}
	})
}
