package lesson

import (
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// figures are the drawings of a row plan: its chart where it has one, a diagram of
// each kind of row, of listed rows no more than the first, and the finished lace.
func (t rowText) figures() []figure {
	var all []figure
	if t.hasChart() {
		all = append(all, t.chartFigure())
	}
	for i, rows := range t.alikeRows() {
		if t.listed() && i == mostDiagrams {
			break
		}
		all = append(all, t.rowFigure(rows))
	}
	return append(all, t.lookFigure(0))
}

// pictures are the drawings for a chat.
func (t rowText) pictures() []bot.Block {
	var blocks []bot.Block
	for _, f := range t.figures() {
		blocks = append(blocks, f.block())
	}
	return blocks
}

// rowFigure is the diagram of rows that are worked alike.
func (t rowText) rowFigure(rows []int) figure {
	diagram := paper.RowDiagram{Plan: t.plan, Row: rows[0]}
	draw := func() (*paper.Sheet, error) {
		worded := diagram
		worded.Words = t.rowWords(rows)
		return worded.Sheet()
	}
	return figure{name: "row-" + strconv.Itoa(rows[0]), alt: t.rowAlt(rows, diagram.Whole()), sheet: draw}
}

func (t rowText) rowWords(rows []int) paper.RowWords {
	row := t.plan.Rows[rows[0]-1]
	shed := func(key calc.Key, s lace.Shed) string { return t.say(key, t.sheds.name[s], t.sheds.sign[s]) }
	words := paper.RowWords{
		Title: t.count("picture.row.title", len(rows), rowNumbers(rows)),
		Begin: t.say("picture.row.begin", sideKey(row.Start)),
		End:   t.say("picture.row.end", sideKey(row.Start.Other())),
		Moves: func(move int) string { return t.short(row.Moves[move-1]) },
		Group: func(ends int) string { return t.say("picture.row.group", ends) },
		More: func(groups int, alike bool) string {
			if alike {
				return t.count("picture.row.more", groups)
			}
			return t.count("picture.row.unlike", groups)
		},
		Picks: func(passes int) string { return t.say("picture.row.picks", passes) },
		Shed:  [3]string{lace.Shed1: shed("picture.row.black", lace.Shed1), lace.Shed2: shed("picture.row.white", lace.Shed2)},
		Loop:  t.say("picture.row.loop"),
		Notes: []string{t.say("picture.row.number")},
	}
	if len(row.Groups) > 1 {
		words.Hole, words.Drop = t.say("picture.row.hole"), t.say("picture.row.drop")
	}
	if rows[0] == 1 || t.pattern.Way == lace.OneWay {
		words.Notes = append(words.Notes, t.say("picture.row.grey"))
	}
	return words
}

func (t rowText) rowAlt(rows []int, whole bool) string {
	row := t.plan.Rows[rows[0]-1]
	if len(row.Groups) == 1 {
		return t.count("picture.row.alt_single", len(rows), rowNumbers(rows), sideKey(row.Start))
	}
	alt := t.count("picture.row.alt", len(rows), rowNumbers(rows), sideKey(row.Start), len(row.Groups), t.pattern.Passes)
	if !whole {
		alt += " " + t.say("picture.row.alt_part")
	}
	return alt
}

// lookFigure is the finished lace, with at most so many crossings of ends and
// picks, 0 for as many as a picture has room for.
func (t rowText) lookFigure(most int) figure {
	look := paper.Preview{Plan: t.plan, Sett: t.warp.sett, PPI: t.c.Args.Density("ppi"), Most: most, Whole: t.chart != nil}
	e := look.Extent()
	alt := t.lookAlt()
	if !e.Whole() {
		alt += " " + t.lookPart(e)
	}
	draw := func() (*paper.Sheet, error) {
		worded := look
		worded.Scale = barOf(t.c.Units, e.Ends, t.warp.sett)
		worded.Words = t.lookWords(worded, e)
		return worded.Sheet()
	}
	return figure{name: "lace", alt: alt, sheet: draw}
}

// lookWords are the words on the finished lace, of which e is shown.
func (t rowText) lookWords(look paper.Preview, e paper.Extent) paper.PreviewWords {
	words := paper.PreviewWords{
		Title: t.say("picture.look.title"), Start: t.say("picture.look.start"),
		Warp: t.say("picture.look.warp"), Weft: t.say("picture.look.weft"),
	}
	if look.Scale > 0 {
		words.Scale = t.say("picture.look.scale", look.Scale)
	}
	if !t.holeless() {
		words.Hole = t.say("picture.look.hole")
	}
	if !e.Whole() {
		words.Notes = append(words.Notes, t.lookPart(e))
	}
	words.Notes = append(words.Notes, t.say("picture.look.shape"))
	if e.Rows == e.OfRows {
		words.Notes = append(words.Notes, t.say("picture.look.plain"))
	}
	if look.Sett == 0 || look.PPI == 0 {
		words.Notes = append(words.Notes, t.say("picture.look.square", ppiExample(t.c.Units)))
	}
	return words
}

// lookPart says which part of the lace is shown.
func (t rowText) lookPart(e paper.Extent) string {
	return t.say("picture.look.part", e.Ends, e.OfEnds, sideKey(t.pattern.From), e.Rows, e.OfRows)
}

// holeless tells that each row is one group, so that no hole opens.
func (t rowText) holeless() bool { return !bordered(t.plan) }

func (t rowText) lookAlt() string {
	how := calc.Key("picture.look.straight")
	switch {
	case t.holeless():
		return t.say("picture.look.alt_none")
	case t.hasChart():
		how = "picture.look.listed"
	case t.pattern.Repeat == lace.HalfDrop:
		how = "picture.look.halfdrop"
	case t.pattern.Way == lace.TwoWay:
		how = "picture.look.two_way"
	}
	holed := 0
	for _, row := range t.plan.Rows {
		if len(row.Groups) > 1 {
			holed++
		}
	}
	return t.count("picture.look.alt", holed, how) + " " + t.say("picture.look.shape")
}

// barOf is a round length to show the size by: the longest that is at most half as
// wide as what is shown; 0 when the sett is not known or none is short enough.
func barOf(u measure.Units, ends int, sett measure.Sett) measure.Length {
	if sett <= 0 {
		return 0
	}
	lengths := []measure.Length{1 * measure.Inch, 2 * measure.Inch, 4 * measure.Inch, 8 * measure.Inch}
	if u == measure.Metric {
		lengths = []measure.Length{2 * measure.Centimetre, 5 * measure.Centimetre, 10 * measure.Centimetre, 20 * measure.Centimetre}
	}
	var bar measure.Length
	for _, l := range lengths {
		if float64(l) <= 0.5*float64(ends)/float64(sett) {
			bar = l
		}
	}
	return bar
}

// whichUp is the picture that helps to answer the question about the rightmost
// end.
func whichUp(c *bot.Call, l class.Loom) bot.Block {
	w := paper.WhichUp{Words: paper.WhichUpWords{
		Title: c.Say("picture.which.title"), Sits: [2]string{c.Say("picture.which.hole"), c.Say("picture.which.slot")},
		Moves: [2]string{c.Say("picture.which.up"), c.Say("picture.which.down")}, Here: c.Say("picture.which.here"),
	}}
	alt := c.Say("picture.which.alt")
	if l.Kind == class.TableLoom || l.Kind == class.FloorLoom {
		w.Holder, alt = paper.TwoShafts, c.Say("picture.which.alt_shafts")
		w.Words.Title = c.Say("picture.which.title_shafts")
		w.Words.Sits = [2]string{c.Say("picture.which.shaft1"), c.Say("picture.which.shaft2")}
	}
	draw := func() (*paper.Sheet, error) { return w.Sheet(), nil }
	return figure{name: "rightmost", alt: alt, sheet: draw}.block()
}

// heddlePicture is how a rigid heddle holds her ends; nil where not all is known
// that it shows.
func heddlePicture(c *bot.Call, l class.Loom) bot.Block {
	if l.Kind != class.RigidHeddle || l.Rightmost == "" || l.Ends == 0 {
		return nil
	}
	places := [2]calc.Key{"loom.rightmost.hole", "loom.rightmost.slot"}
	first := 0
	if l.Rightmost == class.Slot {
		first = 1
	}
	one, last := places[first], places[(first+l.Ends-1)%2]
	s := paper.Sleying{Ends: l.Ends, Hole: first == 0, Words: paper.SleyingWords{
		Title: c.Say("picture.heddle.title"), Right: c.Say("picture.heddle.right", one), Left: c.Say("picture.heddle.left", l.Ends, last),
		Notes: []string{c.Say("picture.heddle.note")},
	}}
	return sleyingPicture("heddle", c.Say("picture.heddle.alt", l.Ends, one, last), s)
}

// reedPicture is how ends go into a reed; sley is the ends in each dent, over and
// over.
func reedPicture(c *bot.Call, ends int, sley []int) bot.Block {
	s := paper.Sleying{Ends: ends, Dents: sley, Words: paper.SleyingWords{
		Title: c.Say("picture.reed.title"), Right: c.Say("picture.reed.right"), Left: c.Say("picture.reed.left"),
		Notes: []string{c.Say("picture.reed.note")},
	}}
	return sleyingPicture("reed", c.Say("picture.reed.alt", ends, sleyed(sley)), s)
}

func sleyingPicture(name, alt string, s paper.Sleying) bot.Block {
	draw := func() (*paper.Sheet, error) { return s.Sheet(), nil }
	return figure{name: name, alt: alt, sheet: draw}.block()
}

// card is the picture of a session's post.
func (r rendering) card() bot.Block {
	card := r.cardWords()
	draw := func() (*paper.Sheet, error) { return card.Sheet(), nil }
	return figure{name: "session-" + strconv.Itoa(r.Session.Number), alt: r.c.Say("picture.card.alt"), sheet: draw}.block()
}

// cardWords are what stands on a card: what the post says, nothing about a
// member, and never the meeting link.
func (r rendering) cardWords() paper.Card {
	c := paper.Card{
		Class: cleanLine(r.Class.Name, maxName), Title: headline(r.c, r.Class, r.Session), When: []string{r.when(r.Session)},
		About: []string{r.c.Say("session.length", lengthSaid(r.c, r.Session.Minutes))},
	}
	if line := workLine(r.c, r.Class, r.Session); line != "" {
		c.Head, c.Ready = r.c.Say("picture.card.ready"), r.c.Say("picture.card.loom", line)
	}
	return c
}
