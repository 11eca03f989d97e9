package lesson

import (
	"context"
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/calc"
)

type wordData struct {
	Word string   `json:"word"`
	Also []string `json:"also"`
	Says string   `json:"says"`
	See  []string `json:"see"`
}

// Sentences about words that the glossary does not have.
const (
	keyNoWord   calc.Key = "word.none" // the word
	keyNearWord calc.Key = "word.near" // the word, the names of those that it is near to
)

func wordCommand() *bot.Command {
	return &bot.Command{
		Name: "word", Aliases: []string{"words", "what"},
		Params:   []bot.Param{{Name: "name", Kind: bot.Words, First: true, Max: "60"}},
		Examples: []string{"word heddle", "word take-up"},
		Run: func(_ context.Context, c *bot.Call) (bot.Reply, error) {
			name := wordAsked(c)
			if name == "" {
				return allWords(c), nil
			}
			w, found, near := lookUp(name)
			if found {
				return wordReply(c, w), nil
			}
			return bot.Reply{}, unknownWord(name, near)
		},
	}
}

// wordAsked is the word without what a question puts before it: "what is a heddle".
func wordAsked(c *bot.Call) string {
	words := strings.Fields(c.Args.Text("name"))
	small := strings.Split(c.Say("word.small"), "|")
	for len(words) > 1 && slices.Contains(small, strings.ToLower(words[0])) {
		words = words[1:]
	}
	return strings.TrimRight(strings.Join(words, " "), "?!. ")
}

func unknownWord(name string, near []Word) *calc.Fault {
	f := &calc.Fault{Code: calc.BadValue, Key: keyNoWord, Args: []any{name}, Example: "word heddle"}
	if len(near) == 0 {
		return f
	}
	names := make([]string, len(near))
	for i, w := range near {
		names[i] = w.Name
	}
	f.Key, f.Args, f.Example = keyNearWord, []any{name, names}, "word "+names[0]
	return f
}

func wordReply(c *bot.Call, w Word) bot.Reply {
	r := bot.Reply{Title: w.Name, Body: []bot.Block{bot.Paragraph(w.Says)}, Data: wordData{w.Name, orEmpty(w.Also), w.Says, orEmpty(w.See)}}
	if len(w.Also) > 0 {
		r.Body = append(r.Body, bot.Paragraph(c.Say("word.also", w.Also)))
	}
	if len(w.See) > 0 {
		r.Body = append(r.Body, bot.Paragraph(c.Say("word.see", w.See)))
	}
	return r
}

// allWords lists what can be asked.
func allWords(c *bot.Call) bot.Reply {
	var names []string
	for _, w := range glossary {
		names = append(names, w.Name)
	}
	return bot.Reply{
		Title: c.Say("word.title", len(names)),
		Body:  []bot.Block{bot.Paragraph(strings.Join(names, ", ")), bot.Paragraph(c.Say("word.how"))},
		Data: struct {
			Words []string `json:"words"`
		}{names},
	}
}

func orEmpty(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
