package lesson

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson/lessontest"
	"weftroom/bot/paper"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// TestGroupsAreWrittenAsRead: a list in its shortest form is the same list.
func TestGroupsAreWrittenAsRead(t *testing.T) {
	for _, row := range []struct{ list, want string }{
		{"3 3 6 | 6 3 3", "3 3 6 | 6 3 3"},
		{"3,3,3,3|2\n5 5 5", "4x3 | 2 | 3x5"},
		{"2x3 1x2", "3 3 2"},
	} {
		rows, err := lace.ParseGroups(row.list)
		if got := groupsText(rows); got != row.want || err != nil {
			t.Errorf("%q: %q (%v), want %q", row.list, got, err, row.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		want := make([]lace.Groups, rapid.IntRange(1, 20).Draw(t, "rows"))
		for i := range want {
			want[i] = rapid.SliceOfN(rapid.IntRange(2, 4), 1, 30).Draw(t, "row")
		}
		got, err := lace.ParseGroups(groupsText(want))
		if diff := cmp.Diff(want, got); diff != "" || err != nil {
			t.Fatal(err, diff)
		}
	})
}

// TestAFrozenListIsTheSamePlan: what is kept of a plan makes it again, however long
// its list.
func TestAFrozenListIsTheSamePlan(t *testing.T) {
	for _, line := range []string{
		`row ends:97 groups:"3 3 6 | 6 3 3" way:two leftover:both rows:6 from:left edge:2`,
		"row ends:400 rows:300 " + unlikeRows(250, 20),
	} {
		r := newRoom()
		c, text := r.rowOf(t, line)
		again, err := planReader.ArgsOf(frozen(text), c.Units)
		if err != nil {
			t.Fatalf("%.60s: %v", line, err)
		}
		p, err := patternOf(again, text.warp)
		if diff := cmp.Diff(text.pattern, p); diff != "" || err != nil {
			t.Errorf("%.60s: %v %s", line, err, diff)
		}
	}
}

// rowOf is what row plans for a line.
func (r *room) rowOf(t *testing.T, line string) (*bot.Call, rowText) {
	t.Helper()
	args, err := planReader.ArgsOf(strings.TrimPrefix(line, "row "), measure.Imperial)
	if err != nil {
		t.Fatal(err)
	}
	c := &bot.Call{Args: args, Texts: English()}
	w, err := warpOf(t.Context(), c, r.looms)
	if err != nil {
		t.Fatal(err)
	}
	p, err := patternOf(args, w)
	if err != nil {
		t.Fatal(err)
	}
	text, err := rowTextOf(c, w, p)
	if err != nil {
		t.Fatal(err)
	}
	return c, text
}

// anyListed is a pattern of rows of a random list.
func anyListed(rng *rand.Rand) (p lace.Pattern, rightmost string) {
	p, rightmost = anyPattern(rng)
	p.Ends = max(p.Ends, 60)
	p.Edge = min(p.Edge, 3)
	p.Raised, p.Repeat = 0, lace.Straight
	sizes := 2 + rng.IntN(3) // few, so that parts repeat
	for range 1 + rng.IntN(5) {
		var row lace.Groups
		for left := 14; left > 0; {
			row = append(row, 2+rng.IntN(sizes))
			left -= row[len(row)-1] + rng.IntN(4)
		}
		if rng.IntN(6) == 0 {
			row = lace.Groups{20}
		}
		p.Listed = append(p.Listed, row)
	}
	return p, rightmost
}

func sumOf(row lace.Groups) (n int) {
	for _, g := range row {
		n += g
	}
	return n
}

// listedLine asks for it.
func listedLine(command string, p lace.Pattern, rightmost string) string {
	line := strings.Replace(lineOf(p, rightmost), "raised:0 ", bot.Written("groups", groupsText(p.Listed))+" ", 1)
	return strings.Replace(strings.Replace(line, " repeat:straight", "", 1), "row ", command+" ", 1)
}

// TestTextOfAListIsThePlan: the plain text of a handout has every move of listed
// rows, and so has an answer that leaves none out; what is woven from them is
// the plan.
func TestTextOfAListIsThePlan(t *testing.T) {
	rng := rand.New(rand.NewPCG(48, 6))
	whole, part := 0, 0
	for i := range 60 {
		p, right := anyListed(rng)
		line := listedLine("row", p, right)
		text := newRoom().answer(t, line)
		if strings.Contains(unwrapped(text), "too long to read at once") {
			part++
		} else if err := retold(text, p, right); err != nil {
			t.Fatalf("%s: %v\n%s", line, err, text)
		} else {
			whole++
		}
		if i%4 > 0 { // one handout takes as long as many answers
			continue
		}
		reply := newRoom().say(listedLine("handout", p, right) + " page:a4")
		if len(reply.Files) != 2 {
			t.Fatalf("%s: %d files", line, len(reply.Files))
		}
		if err := retold(string(reply.Files[1].Bytes), p, right); err != nil {
			t.Fatalf("handout: %s: %v", line, err)
		}
	}
	if whole < 10 || part < 10 {
		t.Errorf("%d answers are whole and %d in part", whole, part)
	}
}

var shortLine = regexp.MustCompile(`^Rows? (.+?), (?:each )?from the (right|left): (.*)$`)

// TestALongListInPrint: the rows that a handout tells in short are those that it
// does not tell in full, and their moves are the plan's.
func TestALongListInPrint(t *testing.T) {
	for _, row := range []struct {
		line string
		full int // kinds of row in full
	}{
		{"row ends:120 rightmost:hole " + unlikeRows(30, 12), 5},
		{"row ends:121 rightmost:slot way:two from:left " + unlikeRows(12, 12), 4},
		{"row ends:1600 rightmost:shaft1 " + unlikeRows(2, 160), 0},
	} {
		_, text := newRoom().rowOf(t, row.line)
		printed := text.bodyWith(func([]int) bot.Block { return bot.Picture{} }, printedLines)
		told := map[int]bool{}
		pictures, full := 0, 0
		for i, block := range printed {
			switch b := block.(type) {
			case bot.Picture:
				pictures++
			case bot.Steps:
				full++
				for _, n := range headedRows(t, printed[:i]) {
					told[n] = true
				}
			case bot.List:
				for _, line := range b {
					m := shortLine.FindStringSubmatch(line)
					if m == nil {
						continue
					}
					for _, n := range numbersOf(t, m[1]) {
						if told[n] {
							t.Errorf("%.40s: row %d is told twice", row.line, n)
						}
						told[n] = true
						if err := shortIs(m[3], text, text.plan.Rows[n-1]); err != nil {
							t.Errorf("%.40s: row %d: %v", row.line, n, err)
						}
					}
				}
			}
		}
		if len(told) != len(text.plan.Rows) {
			t.Errorf("%.40s: %d of %d rows are told", row.line, len(told), len(text.plan.Rows))
		}
		if pictures != mostDiagrams {
			t.Errorf("%.40s: %d diagrams", row.line, pictures)
		}
		if full != row.full {
			t.Errorf("%.40s: %d kinds of row in full, want %d", row.line, full, row.full)
		}
		lines := 0
		for _, block := range text.body() {
			if steps, ok := block.(bot.Steps); ok {
				lines += len(steps)
			}
		}
		if lines > chatLines {
			t.Errorf("%.40s: %d lines of moves in a chat", row.line, lines)
		}
	}
}

// TestTheLongestListInPrint: what is printed of a piece that no paper holds stays
// small, and says what is left out.
func TestTheLongestListInPrint(t *testing.T) {
	_, text := newRoom().rowOf(t, "row ends:800 rows:1000 "+unlikeRows(1000, 80))
	for _, lines := range []int{printedLines, textLines} {
		plain := bot.Plain(bot.Reply{Title: "rows", Body: text.bodyWith(func([]int) bot.Block { return bot.Paragraph("") }, lines)})
		const most = 2_500_000
		if len(plain) > most || !strings.Contains(unwrapped(plain), "more rows: start leads you through them") {
			t.Errorf("%d lines: %d bytes: …%s", lines, len(plain), plain[max(0, len(plain)-3000):])
		}
	}
}

// TestALongHandoutHoldsWhatComesAfterItsRows: however many rows are told in short,
// there is room on paper for what to do when it goes wrong, and for the cautions.
func TestALongHandoutHoldsWhatComesAfterItsRows(t *testing.T) {
	for _, line := range []string{
		"row ends:400 rows:250 rightmost:hole " + unlikeRows(250, 20), // the most pages of those that were tried
		"row ends:800 rows:300 way:two passes:7 " + unlikeRows(300, 80),
	} {
		_, text := newRoom().rowOf(t, line)
		l := leaflet{c: text.c, row: text, name: "Yori", class: class.Class{Credit: "Made possible by the Tarnholm Weavers’ Fund (invented)."}}
		for page := range pageSizes {
			_, printed, err := l.files(page, "handout")
			if err != nil || printed.LeftOut || printed.Pages > paper.MaxHandoutPages-2 {
				t.Errorf("%.50s on %s: %d pages, and more is left out: %v, %v", line, page, printed.Pages, printed.LeftOut, err)
			}
		}
	}
}

// TestOnlyToldRowsComeAgain: of the rows that a chat does not tell, it does not say
// with which of them others are told either.
func TestOnlyToldRowsComeAgain(t *testing.T) {
	list := strings.TrimSuffix(strings.TrimPrefix(unlikeRows(30, 12), `groups:"`), `"`)
	rows := strings.Split(list, " | ")
	slices.Reverse(rows)
	_, text := newRoom().rowOf(t, `row ends:120 rightmost:hole groups:"`+list+" | "+strings.Join(rows, " | ")+`"`)
	again := func(blocks []bot.Block) string {
		for _, b := range blocks {
			if p, ok := b.(bot.Paragraph); ok && strings.HasPrefix(string(p), "Weave the rows in the order") {
				return string(p)
			}
		}
		return ""
	}
	chat, print := again(text.body()), again(text.bodyWith(func([]int) bot.Block { return bot.Picture{} }, printedLines))
	if !strings.Contains(chat, "60 as row 1") || strings.Contains(chat, "32 as row 29") {
		t.Errorf("in a chat: %s", chat)
	}
	if !strings.Contains(print, "60 as row 1") || !strings.Contains(print, "32 as row 29") {
		t.Errorf("in print, which tells them in short: %s", print)
	}
}

// headedRows are the rows of the last heading of some blocks.
func headedRows(t *testing.T, blocks []bot.Block) []int {
	t.Helper()
	for i := len(blocks) - 1; i >= 0; i-- {
		if h, ok := blocks[i].(bot.Heading); ok {
			name, _, _ := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(string(h), "Rows "), "Row "), ", from")
			name, _, _ = strings.Cut(name, ", each")
			return numbersOf(t, name)
		}
	}
	t.Fatal("no heading")
	return nil
}

// numbersOf reads "1–3, 7".
func numbersOf(t *testing.T, text string) (all []int) {
	t.Helper()
	for _, part := range strings.Split(text, ", ") {
		from, to, many := strings.Cut(part, "–")
		if !many {
			to = from
		}
		a, errA := strconv.Atoi(from)
		b, errB := strconv.Atoi(to)
		if errA != nil || errB != nil {
			t.Fatalf("rows %q", text)
		}
		for n := a; n <= b; n++ {
			all = append(all, n)
		}
	}
	return all
}

var (
	shortMove  = regexp.MustCompile(`^(\d+):([←→])(\d+)(.)$`)
	shortAgain = regexp.MustCompile(`^\d+–(\d+):↻(\d+)–(\d+)×(\d+)$`)
)

// shortIs reads a row in short and compares it with the moves of a row.
func shortIs(short string, t rowText, row lace.Row) error {
	var said []string
	for _, word := range strings.Fields(short) {
		if m := shortAgain.FindStringSubmatch(word); m != nil {
			n := func(i int) int { v, _ := strconv.Atoi(m[i]); return v }
			if n(3) != len(said) {
				return fmt.Errorf("%q after move %d", word, len(said))
			}
			unit := said[n(2)-1 : n(3)]
			for range n(4) {
				said = append(said, unit...)
			}
			if len(said) != n(1) {
				return fmt.Errorf("%q ends at move %d", word, len(said))
			}
			continue
		}
		m := shortMove.FindStringSubmatch(word)
		if m == nil || m[1] != strconv.Itoa(len(said)+1) {
			return fmt.Errorf("%q after move %d", word, len(said))
		}
		said = append(said, m[2]+" "+m[3]+" "+m[4])
	}
	var want []string
	for _, m := range row.Moves {
		want = append(want, t.short(m))
	}
	if !slices.Equal(said, want) {
		return fmt.Errorf("%q, not %q", said, want)
	}
	return nil
}

// TestChartInDataIsWoven: the holes that the simulated weaver makes are those of
// the chart that scripts get, at the places that cell and margins say.
func TestChartInDataIsWoven(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 2))
	for range 200 {
		p, right := anyListed(rng)
		line := listedLine("row", p, right)
		_, text := newRoom().rowOf(t, line)
		raw, err := json.Marshal(text.data())
		if err != nil {
			t.Fatal(err)
		}
		var data struct {
			Chart         []string
			Cell, Repeats int
			MarginLeft    int `json:"margin_left"`
			MarginRight   int `json:"margin_right"`
			Changes       []any
			Agreement     float64
		}
		if err := json.Unmarshal(raw, &data); err != nil {
			t.Fatal(err)
		}
		woven, err := lessontest.Holes(p.Ends, p.From, text.plan.Rows)
		if err != nil {
			t.Fatal(err)
		}
		for i, signs := range data.Chart {
			var got []int
			for j := len(signs) - 1; j >= 0; j-- { // boundaries are counted from the right
				if signs[j] == 'o' {
					right := 2 * (data.MarginRight + (len(signs)-1-j)*data.Cell)
					if p.From == lace.Left {
						right += p.Ends % 2 // the end over is at the right edge
					}
					got = append(got, right)
				}
			}
			if !slices.Equal(got, woven[i]) {
				t.Fatalf("%s: row %d: chart has %v, woven is %v", line, i+1, got, woven[i])
			}
			if n := len(signs); n > 0 && data.MarginLeft+(n-1)*data.Cell+data.MarginRight != p.Ends/2 {
				t.Fatalf("%s: %d + %d × %d + %d pairs of %d", line, data.MarginLeft, n-1, data.Cell, data.MarginRight, p.Ends/2)
			}
		}
		least := p.Ends
		for _, listed := range p.Listed {
			least = min(least, (p.Ends/2-2*p.Edge)/sumOf(listed))
		}
		if data.Repeats != least || len(data.Changes) != 0 || data.Agreement != 1 || len(data.Chart) != p.Rows {
			t.Fatalf("%s: %+v", line, data)
		}
	}
}

// TestWorkKeepsAList: what she says herself of the rows takes the place of the
// list that was set, and the other way round.
func TestWorkKeepsAList(t *testing.T) {
	for _, row := range []struct{ work, hers, want string }{
		{`groups:"3 3 6" rows:4`, "raised:4", `ends:96 raised:4 rows:4`},
		{`raised:4 repeat:halfdrop rows:4`, `groups:"3 3  6"`, `ends:96 groups:"3 3 6" rows:4`},
		{`groups:"3 3 6" rows:4`, "passes:5", `ends:96 groups:"3 3 6" passes:5 rows:4`},
	} {
		d := bareDesk(newRoom().looms)
		command := rowCommand(d)
		args, err := command.ArgsOf("ends:96 "+row.hers, measure.Imperial)
		if err != nil {
			t.Fatal(err)
		}
		c := &bot.Call{Args: args, Texts: English()}
		if _, err := merged(c, command, class.Work{Row: row.work}); err != nil {
			t.Fatal(err)
		}
		var line []string
		for _, p := range command.Params {
			if c.Args.Has(p.Name) {
				line = append(line, written(c.Args, p))
			}
		}
		if got := strings.Join(line, " "); got != row.want {
			t.Errorf("%s with %s: %s, want %s", row.work, row.hers, got, row.want)
		}
	}
}
