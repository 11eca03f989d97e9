package lesson

import (
	"slices"
	"strconv"
	"strings"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// rowText puts a proven plan into words for one weaver.
type rowText struct {
	c       *bot.Call
	warp    theWarp
	pattern lace.Pattern
	laid    bool    // the rows are not those of the pattern: it was changed on the way
	design  *fitted // that the rows were made from; nil for none
	plan    *lace.Plan
	sheds   sheds
	strands int
	weft    measure.Length
	chart   *designData // of rows that are listed, once they are planned whole
}

func (t rowText) say(key calc.Key, args ...any) string { return t.c.Say(key, args...) }

func (t rowText) count(key calc.Key, n int, args ...any) string {
	return t.c.Texts.Count(t.c.Units, key, n, args...)
}

func (t rowText) title() string {
	if t.design != nil {
		return t.designTitle()
	}
	if t.listed() {
		return t.say("row.title_listed", t.warp.ends, listedSaid(t.c, t.pattern), t.pattern.Passes, t.way(), t.count("row.rows", len(t.plan.Rows)))
	}
	return t.say("row.title", t.warp.ends, t.pattern.Raised, t.pattern.Passes, t.way(), t.count("row.rows", len(t.plan.Rows)))
}

func (t rowText) way() calc.Key {
	if t.pattern.Way == lace.TwoWay {
		return "row.way.two"
	}
	return "row.way.one"
}

func (t rowText) body() []bot.Block { return t.bodyWith(nil, chatLines) }

// bodyWith is the body with a drawing ahead of the moves of rows that are worked
// alike; nil is none. Of rows that are listed it tells about so many lines of moves
// in full.
func (t rowText) bodyWith(drawing func(rows []int) bot.Block, lines int) []bot.Block {
	body := []bot.Block{bot.Paragraph(t.yourWarp()), bot.Paragraph(t.start())}
	if !t.sheds.own {
		body = append(body, bot.Paragraph(t.say("row.unknown_sheds")))
	}
	body = append(body, bot.Heading(t.say("legend.title")), t.sheds.legend(t.c))
	if t.listed() {
		body = append(body, t.rowsListed(drawing, lines)...)
	} else {
		body = append(body, t.rows(drawing)...)
	}
	body = append(body, bot.Heading(t.say("row.round.title")), t.round())
	return append(body, bot.Paragraph(t.proof()))
}

// rows are the moves of all rows, those that are worked alike told once.
func (t rowText) rows(drawing func(rows []int) bot.Block) []bot.Block {
	var body []bot.Block
	for i, rows := range t.alikeRows() {
		blocks := t.rowBlocks(rows)
		if drawing != nil {
			blocks = slices.Insert(blocks, len(blocks)-1, drawing(rows))
		}
		body = append(body, blocks...)
		if over := t.leftFar(); i == 0 && over > 1 {
			body = append(body, bot.Paragraph(t.say("row.share", over)))
		}
	}
	return body
}

// leftFar is how many pairs the far group takes on top of its own, where they
// could be shared: not of a row that is one group.
func (t rowText) leftFar() int {
	inner := t.pattern.Ends/2 - 2*t.pattern.Edge
	if t.pattern.Leftover != lace.Far || inner < 2*t.pattern.Raised {
		return 0
	}
	return inner % t.pattern.Raised
}

// brief is the first row alone, for someone who is still being asked about her
// loom: more would hide the question.
func (t rowText) brief() []bot.Block {
	note := t.say("loom.brief")
	if !t.sheds.own {
		note = t.say("loom.brief_sheds") + " " + note
	}
	return append(t.rowBlocks(t.alikeRows()[0]), bot.Paragraph(note))
}

func (t rowText) yourWarp() string {
	if t.warp.sett > 0 {
		return t.say("row.warp", t.warp.ends, t.warp.width, t.warp.sett)
	}
	return t.say("row.warp_ends", t.warp.ends)
}

// start says where the piece joins on to the header, and what to do when the
// header ended in the wrong shed: with an odd warp one more plain pick brings
// the weft to the other side in the right shed. With an even warp plain picks,
// woven or taken out, change shed and side together and so never mend it: only
// a pick that changes the side alone does, or cutting the weft (derived).
func (t rowText) start() string {
	first := t.plan.Rows[0].Moves[0]
	from := t.pattern.From
	mend := calc.Key("row.start.even")
	if t.pattern.Ends%2 == 1 {
		mend = "row.start.odd"
	}
	return t.say("row.start", sideKey(from), toward(from), t.sheds.name[first.Shed.Other()], t.sheds.name[first.Shed]) + " " +
		t.say(mend, t.sheds.name[first.Shed], sideKey(from.Other()), sideName(from.Other()))
}

func sideKey(s lace.Side) calc.Key { return calc.Key("side." + sideName(s)) }

// alikeRows gathers the numbers of the rows that are worked alike, in the order
// of their first. That the weft enters rather than turns at the beginning of
// the first row makes no row of its own.
func (t rowText) alikeRows() [][]int {
	var gathered [][]int
	for i := range t.plan.Rows {
		like := slices.IndexFunc(gathered, func(rows []int) bool { return sameWork(t.plan.Rows[rows[0]-1], t.plan.Rows[i]) })
		if like < 0 {
			gathered = append(gathered, []int{i + 1})
			continue
		}
		gathered[like] = append(gathered[like], i+1)
	}
	return gathered
}

func sameWork(a, b lace.Row) bool {
	if a.Start != b.Start || len(a.Moves) != len(b.Moves) {
		return false
	}
	if &a.Moves[0] == &b.Moves[0] {
		return true
	}
	x, y := a.Moves[0], b.Moves[0]
	x.Turn, y.Turn = 0, 0
	return x == y && slices.Equal(a.Moves[1:], b.Moves[1:])
}

func (t rowText) rowBlocks(rows []int) []bot.Block {
	row := t.plan.Rows[rows[0]-1]
	blocks := []bot.Block{
		bot.Heading(t.count("row.heading", len(rows), rowNumbers(rows), sideKey(row.Start), len(row.Moves))),
		bot.Paragraph(t.groups(row)),
	}
	if s := t.surprise(row); s != "" {
		blocks = append(blocks, bot.Paragraph(s))
	}
	return append(blocks, t.steps(row))
}

// rowNumbers writes 1, 2, 3, 7 as "1–3, 7" and every second of many rows as "1, 3 … 99".
// Every number can be read back: a weaver must know which rows are meant.
func rowNumbers(rows []int) string {
	if len(rows) > 3 {
		if by := rows[1] - rows[0]; by > 1 && evenly(rows, by) {
			return strconv.Itoa(rows[0]) + ", " + strconv.Itoa(rows[1]) + " … " + strconv.Itoa(rows[len(rows)-1])
		}
	}
	var parts []string
	for i := 0; i < len(rows); {
		j := i
		for j+1 < len(rows) && rows[j+1] == rows[j]+1 {
			j++
		}
		part := strconv.Itoa(rows[i])
		if j > i {
			part += "–" + strconv.Itoa(rows[j])
		}
		parts = append(parts, part)
		i = j + 1
	}
	return strings.Join(parts, ", ")
}

func evenly(rows []int, by int) bool {
	for i := 1; i < len(rows); i++ {
		if rows[i]-rows[i-1] != by {
			return false
		}
	}
	return true
}

// groups says how the row's groups lie, in working order: "counted from the
// right: 15 groups of 6 ends (3 raised), 1 group of 7 ends (4 raised with heddle
// up, 3 with heddle down)".
func (t rowText) groups(row lace.Row) string {
	sizes := t.sizes(row)
	if t.listed() && (manySizes(sizes) || len(sizes) == 1) {
		return t.groupsListed(row)
	}
	var parts []string
	for i := 0; i < len(sizes); {
		j := i
		for j < len(sizes) && sizes[j] == sizes[i] {
			j++
		}
		parts = append(parts, t.group(sizes[i], row.Groups[i], j-i))
		i = j
	}
	return t.say("row.groups.list", sideKey(row.Start), parts)
}

// group is so many groups of a size; an odd one has another count in each shed.
func (t rowText) group(ends, raisedInShed1, times int) string {
	if raisedInShed1*2 == ends {
		return t.count("row.groups", times, ends, raisedInShed1)
	}
	one, two := lace.Shed1, lace.Shed2
	return t.count("row.groups_odd", times, ends, raisedInShed1, t.sheds.name[one], ends-raisedInShed1, t.sheds.name[two])
}

// sizes are the ends of each group in working order.
func (t rowText) sizes(row lace.Row) []int { return t.plan.Design.GroupEnds(row.Number - 1) }

// surprise explains, ahead of the moves, the counts at the end of a row whose
// last groups are not like most of those before them.
func (t rowText) surprise(row lace.Row) string {
	if t.listed() {
		return t.surpriseListed(row)
	}
	sizes := t.sizes(row)
	usual := mostCommon(sizes)
	first := len(sizes) // of the groups that differ
	for first > 0 && sizes[first-1] != usual {
		first--
	}
	if first == len(sizes) || first == 0 {
		return ""
	}
	p := t.plan.Design.Passes
	on := func(group int) int { return group*(p-1) + 1 } // number of the move on to a group, of the last move beyond them all
	under := func(move int) int { return row.Moves[move-1].Under }
	last := on(len(sizes))
	end := t.say("row.surprise.last", last, under(last), under(last-1))
	side := sideKey(row.Start.Other())
	if first == len(sizes)-1 {
		return t.say("row.surprise.one", side, sizes[first], usual, on(first), under(on(first))) + " " + end
	}
	var ends, moves []string
	for i := first; i < len(sizes); i++ {
		ends = append(ends, strconv.Itoa(sizes[i]))
		moves = append(moves, t.say("row.surprise.move", on(i), under(on(i))))
	}
	return t.say("row.surprise.many", len(sizes)-first, side, usual, ends, moves) + " " + end
}

// mostCommon is the size that most groups have, the earliest of equals.
func mostCommon(sizes []int) int {
	times := map[int]int{}
	for _, s := range sizes {
		times[s]++
	}
	best := sizes[0]
	for _, s := range sizes {
		if times[s] > times[best] {
			best = s
		}
	}
	return best
}

func (t rowText) steps(row lace.Row) bot.Steps {
	var steps bot.Steps
	longest := 2 * t.plan.Design.Passes
	if t.listed() {
		longest = max(longest, t.longestRepeat())
	}
	for _, r := range fold(row.Moves, longest) {
		for i := r.From; i <= r.To; i++ {
			steps = append(steps, t.step(row, i))
		}
		if r.Times > 1 {
			steps = append(steps, t.again(r))
		}
	}
	return steps
}

func (t rowText) step(row lace.Row, number int) bot.Step {
	m := row.Moves[number-1]
	key := calc.Key("move.on")
	switch {
	case m.Kind == lace.HomePick:
		key = "move.home"
	case m.Toward == row.Start:
		key = "move.back"
	}
	text := t.say(key, t.sheds.name[m.Shed], toward(m.Toward), m.Under)
	switch {
	case m.Turn == lace.Snug:
		text += t.say("move.snug")
	case m.Turn == lace.Slack && number > 1:
		text += t.say("move.slack")
	}
	return bot.Step{Label: strconv.Itoa(number), Text: text, Short: t.short(m)}
}

// short is a move in a few signs.
func (t rowText) short(m lace.Move) string {
	return arrow(m.Toward) + " " + strconv.Itoa(m.Under) + " " + t.sheds.sign[m.Shed]
}

func (t rowText) again(r run) bot.Step {
	moves := strconv.Itoa(r.From) + "–" + strconv.Itoa(r.To)
	label := strconv.Itoa(r.To+1) + "–" + strconv.Itoa(r.last())
	return bot.Step{Label: label, Text: t.count("move.again", r.Times-1, moves), Short: "↻ " + moves + " ×" + strconv.Itoa(r.Times-1)}
}

// round is the work around the rows.
func (t rowText) round() bot.List {
	between := calc.Key("row.round.between_one")
	if t.pattern.Way == lace.TwoWay {
		between = "row.round.between_two"
	}
	list := bot.List{t.say(between, sideKey(t.pattern.From)), t.say("row.round.press"), t.say("row.round.join"), t.weftLine()}
	return append(list, t.say("row.round.count"), t.say("row.round.care"))
}

func (t rowText) weftLine() string {
	high := t.plan.PicksHigh() // 3 at least
	switch {
	case t.weft == 0:
		return t.say("row.height", high)
	case t.c.Args.Density("ppi") > 0:
		return t.say("row.weft_drops", high, measure.Need(t.weft), t.wound())
	}
	return t.say("row.weft", high, measure.Need(t.weft), t.wound(), ppiExample(t.c.Units))
}

// wound says how many strands of weft are counted.
func (t rowText) wound() string { return t.count("row.strands", t.strands) }

func (t rowText) proof() string {
	moves := 0
	for _, r := range t.plan.Rows {
		moves += len(r.Moves)
	}
	if !bordered(t.plan) {
		return t.say("row.proof_single", moves)
	}
	return t.say("row.proof", moves)
}

// bordered tells whether any row has a border between groups, and so a hole.
func bordered(p *lace.Plan) bool {
	return slices.ContainsFunc(p.Rows, func(r lace.Row) bool { return len(r.Groups) > 1 })
}
