package lesson

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// mostQuestions bounds how many questions of one person wait in a class.
const mostQuestions = 20

const keyManyQuestions calc.Key = "question.many" // how many wait at most

// questionData is a question's place in the list, for scripts.
type questionData struct {
	Class   string `json:"class"`
	Number  int    `json:"number"`
	Waiting int    `json:"waiting"` // of hers, this one included
}

func questionCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "question", Changes: true,
		Params:   []bot.Param{{Name: "text", Kind: bot.LongText, Required: true, First: true, Max: "1500"}},
		Examples: []string{"question Why is my last group one end wider?"},
		Run:      d.ask,
	}
}

// ask puts a question into the teacher's list, and nowhere else.
func (d *Desk) ask(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.asMember(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	waiting, err := d.Store.QuestionsOf(ctx, s.Class.ID, false)
	if err != nil {
		return bot.Reply{}, err
	}
	hers := 1
	for _, q := range waiting {
		if q.Person == s.Person.ID {
			hers++
		}
	}
	if hers > mostQuestions {
		return bot.Reply{}, &calc.Fault{Code: bot.Busy, Key: keyManyQuestions, Args: []any{mostQuestions}}
	}
	q, err := d.Store.AddQuestion(ctx, class.Question{Class: s.Class.ID, Person: s.Person.ID, Text: c.Args.Text("text"), Asked: d.Now()})
	if err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{
		Title: c.Say("question.title", q.Number, s.Class.Name),
		Body:  []bot.Block{bot.Paragraph(c.Say("question.what"))},
		Data:  questionData{Class: s.Class.Name, Number: q.Number, Waiting: hers},
	}, nil
}
