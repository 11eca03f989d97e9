package console

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"weftroom/bot"
)

// TestSeveralLines: what stands below a line that ends in << is its long text.
func TestSeveralLines(t *testing.T) {
	whole := answers(func(_ context.Context, r bot.Request) bot.Reply { return bot.Reply{Title: fmt.Sprintf("%q", r.Line)} })
	for _, c := range []struct{ name, input, want string }{
		{"the first long text", "note <<\n..o\n.o.\n\n", `"note text:\"..o\n.o.\""`},
		{"with other arguments", "note for:Ada <<\n..o\n\n", `"note for:Ada text:..o"`},
		{"by its name", "note more:<<\n..o\n.o.\n\n", `"note more:\"..o\n.o.\""`},
		{"by its name and a blank", "NOTE more <<\n..o\n.o.\n\n", `"NOTE more:\"..o\n.o.\""`},
		{"quotes in it", "note <<\nsay \"x\"\nit's\n\n", `"note text:'say \"x\"\nit's'"`},
		{"a blank line ends it", "note <<\na\n  \nrow\n", "\"note text:a\"\n\n\"row\""},
		{"the end of the input ends it", "note <<\na\nb", `"note text:\"a\nb\""`},
		{"none", "note <<\n\n", `"note text:\"\""`},
		{"lines that would end the room", "note <<\nquit\n\n", `"note text:quit"`},
		{"of a command without a long text", "row <<\nfit\n", "\"row <<\"\n\n\"fit\""},
		{"of no command", "hm <<\nfit\n", "\"hm <<\"\n\n\"fit\""},
		{"inside a line", "note << x\nfit\n", "\"note << x\"\n\n\"fit\""},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := options(t)
			o.Commands = declared
			if said := talk(t, o, c.input, whole); said != c.want+"\n\n" {
				t.Errorf("%s", said)
			}
		})
	}
}

// TestEndlessLines: what nobody reads is not kept.
func TestEndlessLines(t *testing.T) {
	o := options(t)
	o.Commands = declared
	kept := 0
	talk(t, o, "note <<\n"+strings.Repeat(strings.Repeat("x", 999)+"\n", 3000), answers(func(_ context.Context, r bot.Request) bot.Reply {
		kept = len(r.Line)
		return bot.Reply{Title: "done"}
	}))
	if kept < bot.MaxLine || kept > longest+10_000 {
		t.Errorf("%d bytes were kept", kept)
	}
}
