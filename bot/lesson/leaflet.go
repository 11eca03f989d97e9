package lesson

import (
	"errors"
	"slices"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
	"weftroom/calc/warp"
)

// leaflet is what one weaver gets to print: her plan in words and pictures, and
// around it what a teacher would write on the back.
type leaflet struct {
	c     *bot.Call // in her units
	row   rowText
	head  []bot.Block // of which session it is, when it is of one
	class class.Class // for the credit line and the yarn; may be zero
	name  string      // "" for a line to write on
	long  measure.Length
}

// maxPrinted is how large a printed leaflet may be, in bytes, so that it goes
// through any chat and any mail. Where drawings make it larger they are left out.
const maxPrinted = 300_000

// files are the leaflet as PDF and, the same, as plain text. base is their name
// without its ending.
func (l leaflet) files(page, base string) ([]bot.File, paper.Printed, error) {
	var body []bot.Block
	var sheets map[string]*paper.Sheet
	var printed paper.Printed
	var err error
	for _, most := range l.crossings() {
		if body, sheets, err = l.body(most); err == nil {
			printed, err = l.print(page, body, sheets)
		}
		if err != nil {
			return nil, paper.Printed{}, err
		}
		if len(printed.PDF) <= maxPrinted {
			break
		}
	}
	for len(printed.PDF) > maxPrinted {
		i := slices.IndexFunc(body, isPicture)
		if i < 0 {
			break
		}
		body[i] = bot.Paragraph(l.say("handout.no_picture"))
		if printed, err = l.print(page, body, sheets); err != nil {
			return nil, paper.Printed{}, err
		}
	}
	plain, err := l.plain(body)
	if err != nil {
		return nil, paper.Printed{}, err
	}
	return []bot.File{
		{Name: base + ".pdf", MediaType: pdfType, Alt: l.say("handout.alt", l.row.title()), Bytes: printed.PDF},
		{Name: base + ".txt", MediaType: "text/plain", Alt: l.say("handout.alt_text"), Bytes: []byte(plain)},
	}, printed, nil
}

func isPicture(b bot.Block) bool { _, ok := b.(bot.Picture); return ok }

func (l leaflet) print(page string, body []bot.Block, sheets map[string]*paper.Sheet) (paper.Printed, error) {
	return paper.Handout{
		Title: l.row.title(), Name: l.name, NameWord: l.say("handout.for"), Body: body, Figures: sheets,
		Credit: cleanLine(l.class.Credit, 300), Language: "en", Size: pageSizes[page], PageOf: l.pageOf, LeftOut: l.leftOut(),
	}.Print()
}

// plain is the whole leaflet as text: as it is printed, but for rows that have no
// room in full there.
func (l leaflet) plain(all []bot.Block) (string, error) {
	if l.row.listed() {
		var err error
		if all, err = l.blocks(textLines, l.crossings()[0], func(f figure) bot.Block { return f.block() }); err != nil {
			return "", err
		}
	}
	if l.name != "" {
		all = append([]bot.Block{bot.Paragraph(l.say("handout.for") + " " + l.name)}, all...)
	}
	if credit := cleanLine(l.class.Credit, 300); credit != "" {
		all = append(all[:len(all):len(all)], bot.Paragraph(credit))
	}
	return bot.Plain(bot.Reply{Title: l.row.title(), Body: all}), nil
}

func (l leaflet) say(key calc.Key, args ...any) string { return l.c.Say(key, args...) }

// pageOf is a page's number, with her name before it where it can be set: sheets
// get apart.
func (l leaflet) pageOf(page, pages int) string {
	if l.name == "" || !paper.Covered(l.name) {
		return l.say("handout.page", page, pages)
	}
	return l.say("handout.page_of", cleanLine(l.name, 30), page, pages)
}

func (l leaflet) leftOut() string { return l.say("handout.left_out", paper.MaxHandoutPages) }

func paperName(page string) calc.Key {
	if page == "a4" {
		return "handout.paper.a4"
	}
	return "handout.paper.letter"
}

// printedCrossings is how many crossings of ends and picks the picture of the
// finished lace shows in print: 28 picks of 100 ends, or half as many where that
// makes the file too large (our own bounds).
var printedCrossings = []int{2800, 1400}

// wholeCrossings is how many crossings a design may have and still be shown whole in
// print, 0 in place of their number: a corner of it says little (our own bound).
const wholeCrossings = 9000

// crossings are how many to try, one after the other.
func (l leaflet) crossings() []int {
	if l.row.hasChart() && l.row.plan.Design.Ends*l.row.plan.PicksHigh() <= wholeCrossings {
		return append([]int{0}, printedCrossings...)
	}
	return printedCrossings
}

// body is all that stands on the leaflet, and the drawings by the names of the
// pictures in it.
func (l leaflet) body(most int) (body []bot.Block, sheets map[string]*paper.Sheet, err error) {
	sheets = map[string]*paper.Sheet{}
	draw := func(f figure) bot.Block {
		s, wrong := f.sheet()
		err = errors.Join(err, wrong)
		sheets[f.block().Name] = s
		return f.block()
	}
	body, wrong := l.blocks(printedLines, most, draw)
	return body, sheets, errors.Join(err, wrong)
}

// blocks are what stands on the leaflet; of listed rows so many lines of moves in
// full.
func (l leaflet) blocks(lines, most int, draw func(figure) bot.Block) ([]bot.Block, error) {
	plan, err := l.warpPlan()
	return slices.Concat(
		l.head,
		[]bot.Block{bot.Heading(l.say("handout.warp.title")), known(l.c, l.row.warp.loom)}, plan,
		[]bot.Block{bot.Heading(l.say("handout.technique.title"))}, l.technique(), []bot.Block{draw(l.row.lookFigure(most))}, l.chart(draw),
		[]bot.Block{bot.Heading(l.say("handout.rows.title"))},
		l.row.bodyWith(func(rows []int) bot.Block { return draw(l.row.rowFigure(rows)) }, lines),
		[]bot.Block{
			bot.Heading(l.say("handout.wrong.title")), l.wrong(),
			bot.Heading(l.say("handout.care.title")), l.care(),
			bot.Heading(l.say("handout.from.title")), l.sources(),
		},
	), err
}

// chart is the chart of a piece that has one.
func (l leaflet) chart(draw func(figure) bot.Block) []bot.Block {
	if !l.row.hasChart() {
		return nil
	}
	return []bot.Block{draw(l.row.chartFigure())}
}

// technique is what Spanish lace is, and what this piece makes of it.
func (l leaflet) technique() []bot.Block {
	p := l.row.pattern
	way := calc.Key("handout.technique.one")
	if p.Way == lace.TwoWay {
		way = "handout.technique.two"
	}
	of := l.say(way)
	if p.Repeat == lace.HalfDrop {
		of += " " + l.say("handout.technique.drop")
	}
	if l.row.listed() {
		of += " " + l.say("handout.technique.listed")
	}
	if p.Passes > lace.MinPasses {
		of += " " + l.say("handout.technique.slit", p.Passes)
	}
	return []bot.Block{
		bot.Paragraph(l.say("handout.technique.lace", p.Passes)),
		bot.Paragraph(l.say("handout.technique.shed") + " " + of),
	}
}

// What a warp plan on a leaflet takes for granted (common practice, no source).
const (
	usualTakeUp measure.Ratio = 0.10
	usualShrink measure.Ratio = 0.10
	usualDrawIn measure.Ratio = 0.05
)

// warpPlan is the warp for one piece as long as was asked for, on her loom as it
// is; nothing when no length was.
func (l leaflet) warpPlan() ([]bot.Block, error) {
	var blocks []bot.Block
	if l.class.Yarn != "" {
		blocks = append(blocks, bot.Paragraph(l.say("handout.warp.yarn", cleanLine(l.class.Yarn, maxName))))
	}
	w := l.row.warp
	switch {
	case l.long == 0:
		return blocks, nil
	case w.sett == 0:
		return append(blocks, bot.Paragraph(l.say("handout.warp.no_sett", l.long))), nil
	}
	order := warp.Order{
		Wide: finishedWidth(w.ends, w.sett, usualShrink, usualDrawIn), Long: l.long, Items: 1, Loom: loomKinds[w.loom.Kind],
		Sett: w.sett, TakeUp: usualTakeUp, Shrink: usualShrink, DrawIn: usualDrawIn,
		Waste: wasteOf(l.c, fellow{loom: w.loom}), PPI: l.c.Args.Density("ppi"), Strands: l.row.strands,
	}
	if order.PPI == 0 {
		order.PPI = w.sett
	}
	r, err := warp.Plan(order)
	if err != nil {
		return nil, err
	}
	return append(blocks,
		bot.Heading(l.say("handout.warp.plan", l.long)), linesTable(l.c, r.Lines),
		bot.Paragraph(l.say("handout.warp.guesses", usualTakeUp, usualShrink, usualDrawIn)),
	), nil
}

// wrong are the usual faults and their remedies, as mend says them.
func (l leaflet) wrong() bot.Table {
	t := bot.Table{Head: []string{l.say("handout.wrong.see"), l.say("handout.wrong.why"), l.say("handout.wrong.do")}}
	for _, f := range faults {
		do := l.say(mendKey(f, "now")) + " " + l.say(mendKey(f, "next"))
		t.Rows = append(t.Rows, []string{l.say(mendKey(f, "sees")), l.say(mendKey(f, "why")), do})
	}
	return t
}

func (l leaflet) care() bot.List {
	return bot.List{l.say("handout.care.body"), l.say("handout.care.blade"), l.say("handout.care.water"), l.say("handout.care.rules")}
}

// sources say where each number on the leaflet comes from.
func (l leaflet) sources() bot.List {
	list := bot.List{l.say("handout.from.counts"), l.say("handout.from.way"), l.say("handout.from.width")}
	if l.row.weft > 0 || l.long > 0 && l.row.warp.sett > 0 {
		list = append(list, l.say("handout.from.weft"))
	}
	if l.long > 0 && l.row.warp.sett > 0 {
		list = append(list, l.say("handout.from.plan"))
	}
	return append(list, l.say("handout.from.craft"), l.say("handout.from.look"))
}

// leafletName is the name of the files of one of many, numbered so that no two
// are the same.
func leafletName(number int, name string) string {
	n := strconv.Itoa(number)
	if len(n) < 2 {
		n = "0" + n
	}
	return n + "-" + fileName(name, "handout")
}
