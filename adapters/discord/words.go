package discord

import (
	"fmt"
	"slices"
	"strings"

	"weftroom/bot"
)

// words writes the texts of one reply: escaped, and each instant that they name
// followed by the reader's own clock.
type words struct{ moments []bot.Moment }

func wordsOf(r bot.Reply) words {
	var w words
	for _, m := range r.Moments {
		if m.Text = oneLine(m.Text); m.Text != "" && !m.At.IsZero() {
			w.moments = append(w.moments, m)
		}
	}
	slices.SortStableFunc(w.moments, func(a, b bot.Moment) int { return len(b.Text) - len(a.Text) })
	return w
}

// say escapes a text. The class's time stays, since teacher and students speak
// of it; behind it stands the instant as Discord shows it to each reader in her
// own zone, with how far away it is.
func (w words) say(text string) string {
	text = clean(text)
	for _, m := range w.moments {
		before, after, found := strings.Cut(text, m.Text)
		if found {
			return w.say(before) + escape(m.Text) + stamp(m) + w.say(after)
		}
	}
	return escape(text)
}

func stamp(m bot.Moment) string {
	return fmt.Sprintf(" → <t:%d:F> (<t:%d:R>)", m.At.Unix(), m.At.Unix())
}

// tellsTime tells that an instant is named in a table.
func (w words) tellsTime(t bot.Table) bool {
	for _, row := range t.Rows {
		for _, cell := range row {
			for _, m := range w.moments {
				if strings.Contains(oneLine(cell), m.Text) {
					return true
				}
			}
		}
	}
	return false
}

// chunks are the pieces of a text that, said, are no longer than most each. It
// is cut between words, and inside of a word only when that alone is too long.
func (w words) chunks(text string, most int) []string { return w.chunksAfter(text, most, most) }

// chunksAfter are those of which the first is no longer than first.
func (w words) chunksAfter(text string, first, most int) []string {
	var out []string
	for text = strings.TrimSpace(clean(text)); text != ""; first = most {
		piece := shorter(text, first) // saying it makes nothing shorter
		said := w.say(piece)
		for len(said) > first && size(said) > first { // it is no larger than its bytes
			piece = shorter(piece, min(first, size(piece)*9/10))
			said = w.say(piece)
		}
		out = append(out, said)
		text = strings.TrimSpace(text[len(piece):])
	}
	return out
}

// shorter is the beginning of a text up to most, cut before a word if there is
// one.
func shorter(s string, most int) string {
	if len(s) <= most {
		return s
	}
	n, word := 0, 0
	for i, r := range s {
		if n++; r > 0xFFFF {
			n++
		}
		if n > most && i > 0 {
			if word > 0 {
				return s[:word]
			}
			return s[:i]
		}
		if i > 0 && (r == ' ' || r == '\n') {
			word = i
		}
	}
	return s
}
