package console

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"weftroom/bot"
)

// offer is the buttons of an answer, which can be pressed by their letters
// until another answer offers others, or the command that offered them is
// through.
type offer struct {
	command string
	lines   []string // what the buttons run, by letter
}

// maxLetters is how many buttons have a letter; the others are written out.
const maxLetters = 26

func letter(i int) string { return string(rune('a' + i)) }

// pressed tells what a line that is nothing but an offered letter runs. Phones
// write capitals, and people the bracket or a full stop.
func (o offer) pressed(line string) (run string, ok bool) {
	line = strings.ToLower(strings.TrimRight(strings.TrimSpace(line), ").!"))
	for i, run := range o.lines {
		if line == letter(i) {
			return run, true
		}
	}
	return "", false
}

// reply renders an answer, and makes its buttons the offered ones.
func (r *Room) reply(reply bot.Reply) string {
	text := r.body(reply)
	switch {
	case reply.Problem != nil:
	case len(reply.Buttons) > 0:
		offered := reply.Buttons[:min(maxLetters, len(reply.Buttons))]
		r.offered = offer{command: reply.Command}
		for _, b := range offered {
			r.offered.lines = append(r.offered.lines, b.Line)
		}
		text += "\n" + sideBySide(offered) + commands(reply.Buttons[len(offered):])
	case reply.Command == r.offered.command:
		r.offered = offer{}
	}
	return text
}

// post renders what came unasked. Its buttons are written as commands: a letter
// would change its meaning while the answer to a question is being typed.
func (r *Room) post(reply bot.Reply) string {
	text := r.body(reply)
	if reply.Problem == nil && len(reply.Buttons) > 0 {
		text += "\n" + commands(reply.Buttons)
	}
	return text
}

// body is all of a reply but its buttons. The sentence of a problem is one line
// for scripts, and wrapped for people.
func (r *Room) body(reply bot.Reply) string {
	if reply.Problem != nil && r.terminal {
		return bot.PlainBlock(bot.Paragraph(reply.Problem.Sentence()))
	}
	var b strings.Builder
	b.WriteString(bot.Plain(bot.Reply{Title: reply.Title, Body: reply.Body, Problem: reply.Problem}))
	if drawn := r.drawn(reply.Body); drawn != "" {
		b.WriteString("\n" + drawn)
	}
	for _, f := range reply.Files {
		b.WriteString("\n" + r.saved(f))
	}
	return b.String()
}

// drawn writes the pictures of a body, whose words stand in it already, and says
// where they are.
func (r *Room) drawn(body []bot.Block) string {
	said := ""
	for _, block := range body {
		p, ok := block.(bot.Picture)
		if !ok || p.Draw == nil {
			continue
		}
		raw, err := p.Draw()
		if err != nil {
			r.o.Log.Error("a picture could not be drawn", "picture", p.Name, "err", err)
			said += fmt.Sprintf(r.o.Words.Unsaved, line(p.Name)) + "\n"
			continue
		}
		said += r.saved(bot.File{Name: p.Name, Bytes: raw})
	}
	return said
}

// saved writes a file and says where it is and what it shows.
func (r *Room) saved(f bot.File) string {
	path, err := save(r.o.Files, f)
	if err != nil {
		r.o.Log.Error("a file could not be written", "file", f.Name, "err", err)
		return fmt.Sprintf(r.o.Words.Unsaved, line(f.Name)) + "\n"
	}
	said := fmt.Sprintf(r.o.Words.Saved, path) + "\n"
	if f.Alt != "" {
		said += bot.PlainBlock(bot.Picture{Alt: f.Alt})
	}
	return said
}

// sideBySide sets buttons side by side: "a) 10   b) 12".
func sideBySide(buttons []bot.Button) string {
	var b strings.Builder
	column := 0
	for i, button := range buttons {
		choice := letter(i) + ") " + line(button.Label)
		width := utf8.RuneCountInString(choice)
		switch {
		case column > 0 && column+3+width > bot.PlainWidth:
			b.WriteString("\n  ")
			column = 2
		case column > 0:
			b.WriteString("   ")
			column += 3
		default:
			b.WriteString("  ")
			column = 2
		}
		b.WriteString(choice)
		column += width
	}
	return b.String() + "\n"
}

// commands writes out what buttons run.
func commands(buttons []bot.Button) string {
	var b strings.Builder
	for _, button := range buttons {
		b.WriteString("  " + line(button.Label) + ": " + line(button.Line) + "\n")
	}
	return b.String()
}
