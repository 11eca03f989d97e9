package lesson

import (
	"math/rand/v2"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/calc/lace"
)

// conversations are what people type, each in a room of its own: between them
// nearly every sentence of the catalogue is said.
var conversations = [][]string{
	{"help", "hello", "help row", "help loom", "help fit", "help warp", "help sett", "help yardage", "help word", "help motif", "help help", "help rwo", "help weave"},
	{"word", "word heddle", "word woof", "word headle", "word xyzzy", "word " + strings.Repeat("x", 61)},

	{"loom", "I don't know", "not sure", "15 1/2 in", "?", "no idea", "don't know", "I don’t know", "loom kind:\"rigid heddle\" heddle:10", "loom unsure:rightmost"},
	{"loom ends:40", "in words", "floor loom", "I don't know", "idk", "unsure", "loom units:inches", "loom sett:20 rightmost:shaft2", "loom clear:yes"},
	{"loom kind:\"table loom\"", "38 cm", "80/10cm", "304", "1", "right", "loom ends:97", "loom width:50cm", "loom unsure:from", "loom unsure:width", "loom unsure:units"},
	{`loom kind:"rigid heddle" width:15in heddle:10 ends:151 rightmost:slot from:left`, "row", "row rows:3 way:two", "fit", "yardage warp:3yd",
		"warp wide:10in long:60in fringe:5in", "warp wide:10in long:60in waste:3in", "sett 8/2 cotton", "loom rightmost:shaft1", "loom ends:20"},
	{"loom width:38cm heddle:40", "loom ends:152 width:38cm heddle:10"},
	{`loom kind:"rigid heddle" heddle:10 width:8in`, `warp wide:10in long:60in sett:20`, `loom kind:"floor loom" rightmost:hole`},

	{"row ends:97 rightmost:hole rows:2", "row ends:98 edge:4", "row ends:20 way:two rows:2", "row width:38cm heddle:40/10cm strands:1", "row ends:60 heddle:10 ppi:10 rightmost:shaft1"},
	{"row", "row width:15in", "row width:1in heddle:5", "row ends:97 width:15in heddle:10", "row ends:ten", "row ends:7", "row ends:97 way:three", "row ends: rows:3",
		"row ends:97 ends:98", "row ends:97 colour:red", "row ends:97 raisd:3", "rwo", "", "weave", "row ends:97 width:900m heddle:10", "row width:15 heddle:10"},
	{"warp wide 12in long 72in heddle 10 shrink ten", "warp wide 12in long 72in heddle 10 skein 100yd price €9,50", "row ends:100 raised:3"},
	{"fit 100", "fit 97", "fit ends:10", "fit ends:100 raised:3", "fit ends:20 raised:8", "fit ends:98 raised:5", "fit ends:98 raised:4"},

	{"sett 8/2 cotton", "sett wpi:20 weave:lace", "sett yarn:\"2/16 worsted\" weave:twill", "sett yarn:\"8/2 cotton\" heddle:20", "sett yarn:\"8/2 cotton\" heddle:12.5 weave:lace",
		"sett yarn:\"2/16 worsted\" heddle:8", "sett yarn:\"3/2 cotton\" heddle:20", "sett", "sett wpi:20 yarn:\"8/2 cotton\"", "sett yarn:\"600 yd/lb\"", "sett wpi:3", "sett yarn:\"60/1 cotton\""},
	{"warp wide:12in long:72in heddle:10", `warp wide:12in long:72in heddle:10 fringe:6in hem:1in header:2in sample:10in ppi:10 yarn:"8/2 cotton"`,
		`warp wide:12in long:72in heddle:10 ppi:10 takeup:8%`, `warp wide:12in long:72in heddle:10 ppi:10 yarn:"8/2 cotton" takeup:auto`, `warp wide:12in long:72in heddle:10 sett:15 ppi:10 yarn:"8/2 cotton" skein:100g price:9,50`,
		`warp wide:12in long:72in heddle:10 sett:10.01`, `warp wide:4in long:20in heddle:10 ppi:10 yarn:"8/2 cotton" weftyarn:"16/2 linen" skein:100g price:3`,
		`warp wide:40in long:5yd heddle:10 ppi:10 yarn:"8/2 cotton" weftyarn:"16/2 linen" skein:50g`, `warp wide:4in long:20in heddle:10 skein:300yd`, `warp wide:40in long:9yd heddle:10 skein:100yd`,
		`warp wide:4in long:10in heddle:10 ppi:8 strands:1 skein:300yd price:1`,
		`warp wide:12in long:72in heddle:10 price:3`, `warp wide:12in long:72in heddle:10 skein:100g`, `warp wide:12in long:72in heddle:10 skein:0`,
		`warp wide:12in long:72in heddle:10 skein:1kg price:free`, `warp wide:12in long:72in heddle:10 takeup:lots`, `warp long:72in`},
	{`warp wide:12in long:72in heddle:10 yarn:"8/2 cotton"`, `warp wide:12in long:72in heddle:5 yarn:"8/2 cotton"`, `warp wide:12in long:72in sett:25 yarn:"8/2 cotton"`},
	{`yardage ends:528 warp:4yd`, `yardage width:38in sett:60 warp:38yd yarn:"30/1 cotton" ppi:64 cloth:36yd`},
	{`row ends:48 groups:"3 3 6 | 6 3 3"`, `row ends:48 groups:"3 | 4 | 4 | 3"`, `row ends:97 groups:"3 2 2 3 2 2 4 2 | 60x2"`, `row ends:97 groups:"3 2 2 3 2 2 4 2 | 48"`, "row ends:400 " + unlikeRows(9, 30), "row ends:400 " + unlikeRows(2, 30),
		"row ends:1600 " + unlikeRows(1, 180), `row ends:97 groups:"2 3 4 5 6 7 8 9 | 2 2 2 2 2 2 3"`},
	{`row ends:48 groups:"3 1 3"`, `row ends:20 groups:"3 3 6"`, `row ends:48 groups:"3 three"`, `row ends:48 groups:"3 3" raised:3`, `row ends:48 groups:"3 | | 3"`, `row ends:48 groups:"2001x2"`},
	{"motif text:MAY ends:97", `motif chart:"oooo/o..o/oooo" ends:60 passes:15 rows:9`, "motif ground:waves width:15in heddle:10 rows:20", "motif text:TARNHOLM ends:60", "motif design:leaf", "motif"},
	{strings.Repeat("x", 5000), "row \xff", "row \u202e97", `sett "8/2 cotton`},
}

// unlikeRows lists so many rows of so many groups, no two rows alike and none with
// a part that repeats.
func unlikeRows(rows, groups int) string {
	list := make([]lace.Groups, rows)
	chance := rand.New(rand.NewPCG(uint64(rows), uint64(groups)))
	for i := range list {
		for range groups {
			list[i] = append(list[i], 2+chance.IntN(5))
		}
	}
	return bot.Written("groups", groupsText(list))
}

// corpus is every answer of every conversation.
func corpus(t *testing.T) []bot.Reply {
	t.Helper()
	var replies []bot.Reply
	for _, lines := range conversations {
		r := newRoom()
		for _, line := range lines {
			reply := r.say(line)
			if p := reply.Problem; p != nil && p.Code == bot.Internal {
				t.Errorf("%.80q: %s", line, p.Sentence())
			}
			replies = append(replies, reply)
		}
	}
	return replies
}
