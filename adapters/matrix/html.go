package matrix

import (
	"html"
	"strings"

	"weftroom/bot"
)

// Only tags that the specification permits are written, without attributes
// (Matrix specification, Client-Server API v1.18, "m.room.message msgtypes").
// All words are escaped. A blank or a line break stands between the cells of a
// table and behind every block, where HTML does not show it, for programs that
// take the tags away and show what is left.

// htmlReply renders the title and the blocks of one message.
func htmlReply(title string, blocks []bot.Block) string {
	var b strings.Builder
	switch {
	case title == "":
	case len(blocks) == 0:
		b.WriteString(inline(title) + "\n")
	default:
		b.WriteString("<h3>" + inline(title) + "</h3>\n")
	}
	for _, block := range blocks {
		b.WriteString(htmlBlock(block))
	}
	return strings.TrimRight(b.String(), "\n")
}

func htmlBlock(block bot.Block) string {
	switch block := block.(type) {
	case bot.Paragraph:
		return "<p>" + inline(strings.TrimSpace(string(block))) + "</p>\n"
	case bot.Heading:
		return "<h4>" + inline(string(block)) + "</h4>\n"
	case bot.List:
		return htmlList(block)
	case bot.Table:
		return htmlTable(block)
	case bot.Steps:
		return htmlSteps(block)
	case bot.Picture:
		return "<p>[" + inline(block.Alt) + "]</p>\n"
	}
	return ""
}

func htmlList(items bot.List) string {
	var b strings.Builder
	b.WriteString("<ul>\n")
	for _, item := range items {
		b.WriteString("<li>" + inline(item) + "</li>\n")
	}
	return b.String() + "</ul>\n"
}

func htmlTable(t bot.Table) string {
	var b strings.Builder
	b.WriteString("<table>\n")
	if len(t.Head) > 0 {
		b.WriteString("<thead>\n" + htmlRow(t.Head, "th") + "</thead>\n")
	}
	b.WriteString("<tbody>\n")
	for _, row := range t.Rows {
		b.WriteString(htmlRow(row, "td"))
	}
	return b.String() + "</tbody>\n</table>\n"
}

func htmlRow(cells []string, tag string) string {
	written := make([]string, len(cells))
	for i, cell := range cells {
		written[i] = "<" + tag + ">" + inline(cell) + "</" + tag + ">"
	}
	return "<tr>" + strings.Join(written, " ") + "</tr>\n"
}

// htmlSteps writes the number of each step out: one step can stand for several
// rows, and programs that do not know where a numbered list starts would number
// the second part of a long plan from one again.
func htmlSteps(steps bot.Steps) string {
	var b strings.Builder
	b.WriteString("<ul>\n")
	for _, s := range steps {
		b.WriteString("<li>")
		if s.Label != "" {
			b.WriteString("<strong>" + inline(s.Label) + "</strong> ")
		}
		b.WriteString(inline(s.Text))
		if s.Short != "" {
			b.WriteString(" <code>" + escaped(s.Short) + "</code>")
		}
		b.WriteString("</li>\n")
	}
	return b.String() + "</ul>\n"
}

// inline escapes words, in which what stands between backticks is code.
func inline(s string) string {
	pieces := strings.Split(s, "`")
	if len(pieces)%2 == 0 { // the last one is never closed
		last := len(pieces) - 1
		pieces[last-1] += "`" + pieces[last]
		pieces = pieces[:last]
	}
	var b strings.Builder
	for i, piece := range pieces {
		switch {
		case i%2 == 0:
			b.WriteString(escaped(piece))
		case piece == "":
			b.WriteString("``")
		default:
			b.WriteString("<code>" + escaped(piece) + "</code>")
		}
	}
	return b.String()
}

func escaped(s string) string {
	return strings.ReplaceAll(html.EscapeString(bot.Visible(s)), "\n", "<br>")
}

// marked is a rendering in HTML, or "" where the words alone say as much.
func marked(h string) string {
	if strings.ContainsAny(h, "<&") {
		return h
	}
	return ""
}

// trimmed is a plain text without the line break at its end.
func trimmed(s string) string { return strings.TrimRight(s, "\n") }

// paragraphed is a part's HTML, made of its plain words where it has none.
func paragraphed(p part) string {
	if p.HTML != "" {
		return p.HTML
	}
	return "<p>" + escaped(p.Body) + "</p>"
}
