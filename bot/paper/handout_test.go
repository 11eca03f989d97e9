package paper

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"weftroom/bot"
)

// aHandout is a handout with every kind of block.
func aHandout() Handout {
	drawing := NewSheet(390, 440)
	drawing.Stroke(new(Path).RoundRect(10, 10, 370, 420, 12), Pen{Ink: Black, Width: 2})
	drawing.Text(195, 110, 15, Bold, Middle, Black, "a drawing")
	var moves bot.Steps
	for i := 1; i <= 40; i++ {
		moves = append(moves, bot.Step{Label: fmt.Sprint(i), Text: "heddle up: to the left, under 3; draw the turn snug", Short: "← 3 ▲"})
	}
	moves = append(moves, bot.Step{Label: "41–68", Text: "repeat moves 4–5, 14 more times", Short: "↻ 4–5 ×14"})
	return Handout{
		Title: "Spanish lace on 97 ends: groups of 3 raised, 3 passes, one-way, 1 row", Name: "Maren Åsgård", NameWord: "For",
		Body: []bot.Block{
			bot.Heading("Your warp"),
			bot.Paragraph("Your warp: 97 ends, 9 3/4 in (24.6 cm) wide in the heddle or reed. Start at the right edge."),
			bot.List{"“Under 3” counts raised ends only.", strings.Repeat("A selvedge, a lowered end. ", 12)},
			bot.Heading("The look"),
			bot.Picture{Name: "drawing", Alt: "A frame with the words a drawing in it."},
			bot.Heading("Row 1, from the right: 68 moves"),
			moves,
			bot.Heading("When it goes wrong"),
			bot.Table{
				Head:    []string{"what you see", "how often", "what to do"},
				Rows:    [][]string{{"edges pull in", "3", "Leave the turn slack, and let the weft lie in a shallow arc before you press it in."}, {"holes close", "12", "Smooth yarn, snug turns."}},
				Numbers: []bool{false, true, false},
			},
			bot.Picture{Name: "none", Alt: "A picture that nobody could draw."},
		},
		Figures: map[string]*Sheet{"drawing": drawing},
		Credit:  "Made possible by the Tarnholm Weavers’ Fund (invented).", Language: "en", Size: A4,
		PageOf:  func(page, pages int) string { return fmt.Sprintf("page %d of %d", page, pages) },
		LeftOut: "More is left out here; ask row for the rest.",
	}
}

func pagesOf(h Handout) []*Sheet {
	pages, _ := h.layOut()
	return pages
}

func TestHandoutLooks(t *testing.T) {
	pages := pagesOf(aHandout())
	for i, page := range pages {
		looksLike(t, fmt.Sprintf("handout-%d", i+1), page, 250)
	}
	if len(pages) != 3 {
		t.Errorf("%d pages", len(pages))
	}
}

func TestHandoutIsValidAndLooksTheSameInOtherReaders(t *testing.T) {
	for _, size := range []PageSize{A4, Letter} {
		h := aHandout()
		h.Size = size
		printed, err := h.Print()
		if err != nil {
			t.Fatal(err)
		}
		pdf := printed.PDF
		if len(pdf) > 300_000 {
			t.Errorf("%d bytes", len(pdf))
		}
		checkPDF(t, pdf)
		checkPageLook(t, pagesOf(h), pdf)
	}
}

// said is everything that stands on a page, in order.
func said(s *Sheet) []Lettered {
	var all []Lettered
	for _, item := range s.Items {
		switch it := item.(type) {
		case Lettered:
			all = append(all, it)
		case Placed:
			all = append(all, said(it.Sheet)...)
		}
	}
	return all
}

// words are those of a text, however it was broken into lines.
func words(text string) string { return strings.Join(strings.Fields(text), "") }

// TestHandoutSaysAll lays out any blocks: every word stands on a page, in order,
// within the margins, and no line lies on another.
func TestHandoutSaysAll(t *testing.T) {
	word := rapid.SampledFrom([]string{"heddle", "up", "½", "←", "3", "to", "the", "left,", "Größe", "snug", "a", "counterclockwise-turned-bobbin"})
	upTo := func(most int) *rapid.Generator[string] { // words that fit, so that none may be cut
		return rapid.Custom(func(t *rapid.T) string { return strings.Join(rapid.SliceOfN(word, 1, most).Draw(t, "words"), " ") })
	}
	text, heading, cell := upTo(60), upTo(2*mostHeadLines), upTo(mostInCell/2)
	short := rapid.SampledFrom([]string{"1", "41–68", "← 3 ▲", "what", "how much"})
	block := rapid.Custom(func(t *rapid.T) bot.Block {
		switch rapid.IntRange(0, 4).Draw(t, "kind") {
		case 0:
			return bot.Paragraph(text.Draw(t, "paragraph"))
		case 1:
			return bot.Heading(heading.Draw(t, "heading"))
		case 2:
			return bot.List(rapid.SliceOfN(text, 1, 6).Draw(t, "list"))
		case 3:
			var steps bot.Steps
			for range rapid.IntRange(1, 12).Draw(t, "steps") {
				steps = append(steps, bot.Step{Label: short.Draw(t, "label"), Text: text.Draw(t, "text"), Short: short.Draw(t, "short")})
			}
			return steps
		}
		columns := rapid.IntRange(1, 4).Draw(t, "columns")
		table := bot.Table{Head: rapid.SliceOfN(short, columns, columns).Draw(t, "head")}
		for range rapid.IntRange(1, 8).Draw(t, "rows") {
			table.Rows = append(table.Rows, rapid.SliceOfN(cell, columns, columns).Draw(t, "row"))
		}
		return table
	})
	rapid.Check(t, func(t *rapid.T) {
		h := aHandout()
		h.Size = rapid.SampledFrom([]PageSize{A4, Letter}).Draw(t, "size")
		h.Body = rapid.SliceOfN(block, 1, 6).Draw(t, "body")
		pages := pagesOf(h)
		rest := ""
		for _, page := range pages {
			for _, l := range said(page) {
				rest += words(l.Text)
			}
			checkPlaces(t, page)
		}
		if len(pages) == MaxHandoutPages {
			t.Fatal("more than a handout holds")
		}
		for _, part := range spoken(h.Body) {
			at := strings.Index(rest, words(part))
			if at < 0 {
				// A page's foot, or a table's head that comes again, may stand between
				// two lines: then the part must be there line by line.
				at = inPieces(rest, words(part))
			}
			if at < 0 {
				t.Fatalf("%q is not there, or not in order", part)
			}
		}
	})
}

// inPieces finds a part whose beginning and end stand apart, by no more than a
// foot and a head.
func inPieces(text, part string) int {
	const apart = 400
	for cut := len(part) - 1; cut > 0; cut-- {
		at := strings.Index(text, part[:cut])
		if at < 0 {
			continue
		}
		if rest := text[at+cut:]; strings.Contains(rest[:min(len(rest), apart+len(part))], part[cut:]) {
			return at
		}
	}
	return -1
}

// spoken are the texts of blocks in the order in which they are read.
func spoken(blocks []bot.Block) []string {
	var all []string
	for _, block := range blocks {
		switch b := block.(type) {
		case bot.Paragraph:
			all = append(all, string(b))
		case bot.Heading:
			all = append(all, string(b))
		case bot.List:
			all = append(all, b...)
		case bot.Steps:
			for _, s := range b {
				all = append(all, s.Label+s.Text+s.Short)
			}
		case bot.Table:
			all = append(all, strings.Join(b.Head, ""))
			for _, row := range b.Rows {
				all = append(all, strings.Join(row, ""))
			}
		}
	}
	return all
}

type failer interface {
	Helper()
	Errorf(string, ...any)
}

// checkPlaces holds the texts of a page within its margins and off each other.
func checkPlaces(t failer, page *Sheet) {
	t.Helper()
	type box struct {
		x1, y1, x2, y2 float64
		text           string
	}
	var boxes []box
	for _, item := range page.Items {
		l, ok := item.(Lettered)
		if !ok || l.Text == "" {
			continue
		}
		x := l.X - alignShift(l)
		boxes = append(boxes, box{x, l.Y - 0.7*l.Size, x + TextWidth(l.Text, l.Size, l.Style), l.Y + 0.2*l.Size, l.Text})
	}
	const near = 0.5
	for i, a := range boxes {
		if a.x1 < pageMargin-near || a.x2 > page.W-pageMargin+near || a.y1 < pageMargin || a.y2 > page.H-10 {
			t.Errorf("%q is outside the margins: %v", a.text, a)
		}
		for _, b := range boxes[:i] {
			if a.x1 < b.x2-near && b.x1 < a.x2-near && a.y1 < b.y2-near && b.y1 < a.y2-near {
				t.Errorf("%q lies on %q", a.text, b.text)
			}
		}
	}
}

func TestHandoutPlaces(t *testing.T) {
	for _, page := range pagesOf(aHandout()) {
		checkPlaces(t, page)
	}
}

func TestHandoutNames(t *testing.T) {
	for name, set := range map[string]bool{
		"Maren":                  true,
		"Żaneta Łoś":             true,
		"":                       false,
		"織田":                     false,
		"🧶":                      false,
		"\u202e\n":               false,
		strings.Repeat("M", 300): true,
	} {
		h := aHandout()
		h.Name = name
		page := pagesOf(h)[0]
		checkPlaces(t, page)
		first, _, _ := typeface{12, 20, Bold}.split(name, 200)
		shown := slices.ContainsFunc(said(page), func(l Lettered) bool { return l.Style == Bold && l.Size == 12 && strings.HasPrefix(l.Text, first) })
		line := slices.ContainsFunc(page.Items, func(i Item) bool { s, ok := i.(Stroked); return ok && s.Pen.Width == 0.7 })
		if shown != set || line == set {
			t.Errorf("%.20q: set %t, a line to write on %t", name, shown, line)
		}
	}
}

// TestHandoutIsBounded gives far more than anyone would print.
func TestHandoutIsBounded(t *testing.T) {
	var steps bot.Steps
	for range 20_000 {
		steps = append(steps, bot.Step{Label: strings.Repeat("9", 100), Text: strings.Repeat("under ", 500), Short: strings.Repeat("←", 200)})
	}
	wide := bot.Table{Head: make([]string, 60), Rows: make([][]string, 3000)}
	for i := range wide.Rows {
		wide.Rows[i] = []string{strings.Repeat("wide ", 300)}
	}
	for name, body := range map[string][]bot.Block{
		"many steps":      {steps},
		"one long word":   {bot.Paragraph(strings.Repeat("a", 1_000_000))},
		"many paragraphs": slices.Repeat([]bot.Block{bot.Paragraph("short"), bot.Heading("head")}, 5000),
		"a wide table":    {wide},
		"a long list":     {bot.List(slices.Repeat([]string{strings.Repeat("word ", 50)}, 5000))},
	} {
		h := aHandout()
		h.Title = strings.Repeat("title ", 40)
		h.Credit = strings.Repeat("credit ", 300)
		h.Body = body
		pages := pagesOf(h)
		if len(pages) != MaxHandoutPages {
			t.Errorf("%s: %d pages", name, len(pages))
		}
		last := pages[len(pages)-1]
		checkPlaces(t, last)
		if !slices.ContainsFunc(said(last), func(l Lettered) bool { return l.Text == h.LeftOut }) {
			t.Errorf("%s: the last page does not say that there is more", name)
		}
	}
}

// TestDrawingsWait: a drawing without room goes to the next page, and what
// comes after it in the meantime fills this one. None is lost, even at the end.
func TestDrawingsWait(t *testing.T) {
	h := aHandout()
	h.Figures["drawing"] = NewSheet(390, 600)
	text := bot.Paragraph(strings.Repeat("A line of words to fill a page. ", 40))
	for name, body := range map[string][]bot.Block{
		"text after it": {text, text, bot.Picture{Name: "drawing", Alt: "one"}, text, text, bot.Heading("later"), text},
		"the last":      {text, text, bot.Picture{Name: "drawing", Alt: "one"}},
		"two together":  {text, bot.Picture{Name: "drawing", Alt: "one"}, bot.Picture{Name: "drawing", Alt: "one"}, text},
	} {
		h.Body = body
		pages := pagesOf(h)
		placed := 0
		for i, page := range pages {
			for _, item := range page.Items {
				if p, ok := item.(Placed); ok {
					placed++
					if p.Scale > 1 || p.Scale < leastScale || p.Y+p.Sheet.H*p.Scale > h.Size.H-pageMargin-footRoom {
						t.Errorf("%s: placed at %g on page %d, scaled by %g", name, p.Y, i+1, p.Scale)
					}
				}
			}
		}
		want := 0
		for _, b := range body {
			if _, ok := b.(bot.Picture); ok {
				want++
			}
		}
		if placed != want {
			t.Errorf("%s: %d drawings of %d", name, placed, want)
		}
		if name == "text after it" && len(said(pages[0])) < 30 {
			t.Errorf("%s: the first page has only %d lines", name, len(said(pages[0])))
		}
	}
}
