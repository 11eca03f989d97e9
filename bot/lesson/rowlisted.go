package lesson

import (
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/calc/lace"
)

// What an answer shows of a piece whose rows are listed, which may be a hundred
// rows with no two alike (our own bounds: a phone's screen holds about twenty
// lines, and 150 of them are read, if need be, in one sitting).
const (
	chatLines    = 150       // of moves in a chat; the first row has them all to itself
	printedLines = 150       // of moves in full on a handout; the others follow in short
	textLines    = 8_000     // of moves in full in its plain text: half a megabyte
	paperShort   = 40_000    // bytes of moves in short on a handout: some ten pages, with which all that comes after has room
	textShort    = 1_000_000 // and in its plain text
	mostDiagrams = 2         // rows that are drawn
	mostRuns     = 6         // sizes that follow each other in a row and are told one by one
	mostGroups   = 80        // words of the groups of a row
	mostListed   = 40        // letters of a list in a title
)

// listed tells that the rows are those of a list.
func (t rowText) listed() bool { return len(t.pattern.Listed) > 0 }

// listedSaid is a list of groups in a few words.
func listedSaid(c *bot.Call, p lace.Pattern) string {
	if text := groupsText(p.Listed); len(text) <= mostListed {
		return c.Say("row.listed.groups", text)
	}
	return c.Texts.Count(c.Units, "row.listed", len(p.Listed))
}

// leftFarListed is the most pairs that the far group of a listed row takes on top
// of its own.
func (t rowText) leftFarListed() int {
	if t.pattern.Leftover != lace.Far {
		return 0
	}
	most := 0
	for _, row := range t.pattern.Listed {
		left := t.pattern.Ends/2 - 2*t.pattern.Edge
		for i := 0; left >= row[i%len(row)]; i++ {
			left -= row[i%len(row)]
		}
		most = max(most, left)
	}
	return most
}

// rowsListed are the moves of a piece whose rows are listed: whole rows as long
// as there is room for so many lines, and then where the others are. With a
// drawing they are for a handout, whose plain text has room for textLines.
func (t rowText) rowsListed(drawing func(rows []int) bot.Block, lines int) []bot.Block {
	kinds := t.alikeRows()
	body, told := t.kindsListed(kinds, drawing, lines)
	if s := t.comeAgain(kinds, told); s != "" {
		body = append([]bot.Block{bot.Paragraph(s)}, body...)
	}
	return body
}

// kindsListed are the moves of as many kinds of row as there is room for, and how
// many kinds those are.
func (t rowText) kindsListed(kinds [][]int, drawing func(rows []int) bot.Block, lines int) (body []bot.Block, told int) {
	used := 0
	for i, rows := range kinds {
		blocks := t.rowBlocks(rows)
		last := len(blocks) - 1
		steps := blocks[last].(bot.Steps)
		used += len(steps)
		switch {
		case used > lines && drawing != nil:
			short, told := t.rowsInShort(kinds, i, drawing, lines)
			return append(body, short...), told
		case used > lines && i > 0:
			return append(body, bot.Heading(t.count("row.others", rowsIn(kinds[i:]))), bot.Paragraph(t.say("row.others_where"))), i
		case used > lines:
			blocks[last] = steps[:lines]
			blocks = append(blocks, bot.Paragraph(t.say("row.cut", steps[lines-1].Label, len(t.plan.Rows[rows[0]-1].Moves))))
		case drawing != nil && i < mostDiagrams:
			blocks = slices.Insert(blocks, last, drawing(rows))
		}
		body = append(body, blocks...)
		if i == 0 {
			body = append(body, t.shareListed()...)
		}
	}
	return body, len(kinds)
}

// comeAgain says which rows stand with an earlier one, of the kinds that are told,
// and come later, unless all do in turn: who goes from heading to heading would pass
// them by.
func (t rowText) comeAgain(kinds [][]int, told int) string {
	var later []string
	for _, rows := range kinds[:told] {
		first := 1 // of the rows that do not follow on the first
		for first < len(rows) && rows[first] == rows[first-1]+1 {
			first++
		}
		if first < len(rows) && !inTurn(rows, len(kinds)) {
			later = append(later, t.say("row.again_row", rowNumbers(rows[first:]), rows[0]))
		}
	}
	if len(later) == 0 {
		return ""
	}
	return t.say("row.again", later)
}

// inTurn tells that of so many kinds of row these come each time after all others.
func inTurn(rows []int, kinds int) bool { return rows[0] <= kinds && evenly(rows, kinds) }

// shareListed says where the pairs go that the list does not fill.
func (t rowText) shareListed() []bot.Block {
	if over := t.leftFarListed(); over > 0 {
		return []bot.Block{bot.Paragraph(t.say("row.share_listed", over))}
	}
	return nil
}

// rowsInShort are the kinds of row from one on, as far as there is room for them,
// and how many kinds are told by then.
func (t rowText) rowsInShort(kinds [][]int, from int, drawing func(rows []int) bot.Block, lines int) (body []bot.Block, told int) {
	heading := t.say("row.all_short")
	if from > 0 {
		heading = t.count("row.others", rowsIn(kinds[from:]))
	}
	body = append(body, bot.Heading(heading))
	for i := from; i < min(mostDiagrams, len(kinds)); i++ {
		body = append(body, drawing(kinds[i]))
	}
	if from == 0 {
		body = append(body, t.shareListed()...)
	}
	how, most := t.say("row.short_how"), textShort
	if lines < textLines {
		how, most = how+" "+t.say("row.short_text"), paperShort
	}
	body = append(body, bot.Paragraph(how))
	var list bot.List
	letters := 0
	for i, rows := range kinds[from:] {
		line := t.inShort(rows)
		if letters += len(line); letters > most && i > 0 {
			return append(body, list, bot.Paragraph(t.count("row.short_left", rowsIn(kinds[from+i:])))), from + i
		}
		list = append(list, line)
	}
	return append(body, list), len(kinds)
}

func rowsIn(kinds [][]int) (n int) {
	for _, rows := range kinds {
		n += len(rows)
	}
	return n
}

// inShort is a row as one line of short forms, each after its number and without
// blanks, so that no line breaks within it.
func (t rowText) inShort(rows []int) string {
	row := t.plan.Rows[rows[0]-1]
	var moves []string
	for _, s := range t.steps(row) {
		moves = append(moves, s.Label+":"+strings.ReplaceAll(s.Short, " ", ""))
	}
	return t.count("row.short", len(rows), rowNumbers(rows), sideKey(row.Start), strings.Join(moves, " "))
}

// groupsListed says how the groups of a listed row lie: as those of any row where
// they can be told one by one, else by the words of the list. A row of one group
// has no hole.
func (t rowText) groupsListed(row lace.Row) string {
	pairs := t.plan.Design.Rows[row.Number-1]
	if len(pairs) == 1 {
		return t.say("row.holeless")
	}
	words := groupWords(pairs)
	if len(words) > mostGroups {
		words = append(words[:mostGroups:mostGroups], "…")
	}
	said := t.say("row.groups.listed", len(pairs), sideKey(row.Start), strings.Join(words, " "))
	if t.plan.Design.Ends%2 == 0 {
		return said
	}
	far, side := len(pairs)-1, row.Start.Other()
	if row.Start != t.plan.Design.From {
		far, side = 0, row.Start
	}
	ends, one := 2*pairs[far]+1, row.Groups[far]
	return said + " " + t.say("row.groups.over", sideKey(side), ends, one, t.sheds.name[lace.Shed1], ends-one, t.sheds.name[lace.Shed2])
}

// manySizes tells that the sizes of groups change too often along a row to be told
// one by one.
func manySizes(sizes []int) bool {
	runs := 1
	for i := 1; i < len(sizes); i++ {
		if sizes[i] != sizes[i-1] {
			runs++
		}
	}
	return runs > mostRuns
}

// surpriseListed explains the counts of the last group of a listed row where it has
// the end over of an odd warp. What the list left over is told once, by shareListed.
func (t rowText) surpriseListed(row lace.Row) string {
	pairs, odd := t.plan.Design.Rows[row.Number-1], t.plan.Design.Ends%2 == 1
	last := len(pairs)
	if last < 2 || !odd || row.Start != t.plan.Design.From {
		return ""
	}
	p := t.plan.Design.Passes
	on, through := (last-1)*(p-1)+1, last*(p-1)+1
	under := func(move int) int { return row.Moves[move-1].Under }
	return t.say("row.surprise.over", sideKey(row.Start.Other()), on, under(on)) + " " +
		t.say("row.surprise.last", through, under(through), under(through-1))
}

// longestRepeat is how many moves a part of a row that is told once and then
// repeated may have: those of all groups that are listed for it.
func (t rowText) longestRepeat() int {
	const most = 240 // moves: looking for repeats takes longer with each (our own bound)
	longest := 2
	for _, row := range t.pattern.Listed {
		longest = max(longest, len(row))
	}
	return min(longest*(t.plan.Design.Passes-1), max(most, 2*t.plan.Design.Passes))
}
