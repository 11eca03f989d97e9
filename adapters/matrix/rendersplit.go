package matrix

import (
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/bot"
)

// chunk is what one message of a reply says.
type chunk struct {
	title  string
	blocks []bot.Block
}

func (c chunk) empty() bool { return c.title == "" && len(c.blocks) == 0 }

func (c chunk) with(b bot.Block) chunk {
	return chunk{c.title, append(c.blocks[:len(c.blocks):len(c.blocks)], b)}
}

func (c chunk) part() part {
	return part{
		Body: trimmed(bot.Plain(bot.Reply{Title: c.title, Body: c.blocks})),
		HTML: marked(htmlReply(c.title, c.blocks)),
	}
}

// size is how many bytes of an event both renderings take.
func (c chunk) size() int {
	p := c.part()
	return inJSON(p.Body) + inJSON(p.HTML)
}

// split divides a reply into messages of up to most bytes, between blocks or, in
// a block that is too long, between its steps, rows, items or words.
func split(title string, blocks []bot.Block, most int) []chunk {
	now := chunk{title: title}
	if now.size() > most { // no title of ours is; what somebody wrote may be
		blocks = append([]bot.Block{bot.Paragraph(title)}, blocks...)
		now = chunk{}
	}
	if whole := (chunk{now.title, blocks}); whole.size() <= most {
		return whole.list()
	}
	var out []chunk
	for len(blocks) > 0 {
		b := blocks[0]
		if units(b) == 0 {
			blocks = blocks[1:]
			continue
		}
		if p, ok := b.(bot.Paragraph); ok && len(p) > most { // no need to look at all of it at once
			b, blocks = p[:before(p, most)], append([]bot.Block{p[:before(p, most)], p[before(p, most):]}, blocks[1:]...)
		}
		if next := now.with(b); next.size() <= most {
			now, blocks = next, blocks[1:]
			continue
		}
		if n := now.holds(b, most); n > 0 {
			out = append(out, now.with(first(b, n)))
			now, blocks = chunk{}, append([]bot.Block{without(b, n)}, blocks[1:]...)
			continue
		}
		if !now.empty() {
			done, heading := now.withoutLastHeading()
			if !done.empty() {
				out, now = append(out, done), chunk{blocks: heading}
				continue
			}
		}
		blocks = append(loosened(b, most), blocks[1:]...)
	}
	return append(out, now.list()...)
}

// holds is how many units of a block that is too long as a whole go into a chunk.
// It looks among few before it looks among many, since each look is a rendering.
func (c chunk) holds(b bot.Block, most int) int {
	tooMany := func(n int) bool { return c.with(first(b, n+1)).size() > most }
	all, bound := units(b), 1
	for bound < all && !tooMany(bound) {
		bound *= 2
	}
	return sort.Search(min(bound, all), tooMany)
}

func (c chunk) list() []chunk {
	if c.empty() {
		return nil
	}
	return []chunk{c}
}

// withoutLastHeading leaves a heading to what it is the heading of.
func (c chunk) withoutLastHeading() (done chunk, heading []bot.Block) {
	if last := len(c.blocks) - 1; last >= 0 {
		if h, ok := c.blocks[last].(bot.Heading); ok {
			return chunk{c.title, c.blocks[:last]}, []bot.Block{h}
		}
	}
	return c, nil
}

// units is into how many pieces a block can be cut.
func units(b bot.Block) int {
	switch b := b.(type) {
	case bot.List:
		return len(b)
	case bot.Table:
		return len(b.Rows)
	case bot.Steps:
		return len(b)
	case bot.Paragraph:
		return len(cuts(string(b)))
	}
	return 1
}

// first is the first n units of a block.
func first(b bot.Block, n int) bot.Block {
	switch b := b.(type) {
	case bot.List:
		return b[:n]
	case bot.Table:
		b.Rows = b.Rows[:n]
		return b
	case bot.Steps:
		return b[:n]
	case bot.Paragraph:
		return b[:cuts(string(b))[n-1]]
	}
	return b
}

// without is a block without its first n units.
func without(b bot.Block, n int) bot.Block {
	switch b := b.(type) {
	case bot.List:
		return b[n:]
	case bot.Table:
		b.Rows = b.Rows[n:]
		return b
	case bot.Steps:
		return b[n:]
	case bot.Paragraph:
		return bot.Paragraph(strings.TrimSpace(string(b[cuts(string(b))[n-1]:])))
	}
	return bot.Paragraph("")
}

// loosened is a block whose first unit alone is too long for a message, in a form
// of which less is needed at once: words, and words with blanks in them.
func loosened(b bot.Block, most int) []bot.Block {
	switch b := b.(type) {
	case bot.List:
		return []bot.Block{bot.Paragraph(b[0]), b[1:]}
	case bot.Steps:
		return []bot.Block{bot.Paragraph(strings.Join([]string{b[0].Label, b[0].Text, b[0].Short}, "  ")), b[1:]}
	case bot.Table:
		row := bot.Paragraph(strings.Join(b.Rows[0], " · "))
		b.Rows = b.Rows[1:]
		return []bot.Block{row, b}
	case bot.Heading:
		return []bot.Block{bot.Paragraph(b)}
	case bot.Picture:
		return []bot.Block{bot.Paragraph("[" + b.Alt + "]")}
	case bot.Paragraph:
		return []bot.Block{bot.Paragraph(broken(string(b), max(1, most/longestLetter)))}
	}
	return nil
}

// longestLetter is more than the bytes that any letter takes in both bodies, with
// what stands around a paragraph.
const longestLetter = 64

// broken is a text with a blank after every n letters of a word.
func broken(s string, n int) string {
	var b strings.Builder
	run := 0
	for _, r := range s {
		if unicode.IsSpace(r) {
			run = 0
		} else if run++; run > n {
			b.WriteByte(' ')
			run = 1
		}
		b.WriteRune(r)
	}
	return b.String()
}

// before is the end of the last word that ends within the first n bytes of a text,
// or else of the last letter.
func before(p bot.Paragraph, n int) int {
	if i := strings.LastIndexFunc(string(p[:n]), unicode.IsSpace); i > 0 {
		return i
	}
	for n > 1 && !utf8.RuneStart(p[n]) {
		n--
	}
	return n
}

// cuts are the ends of the words of a text.
func cuts(s string) []int {
	var ends []int
	inWord := false
	for i, r := range s {
		if unicode.IsSpace(r) && inWord {
			ends = append(ends, i)
		}
		inWord = !unicode.IsSpace(r)
	}
	return append(ends, len(s))
}
