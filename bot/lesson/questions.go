package lesson

import (
	"context"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

type questionsData struct {
	Questions []questionLine `json:"questions"`
}

type questionLine struct {
	Number int    `json:"number"`
	From   string `json:"from"`
	Asked  string `json:"asked"` // UTC
	Text   string `json:"text"`
	Done   bool   `json:"done"`
}

func questionsCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "questions", Who: bot.Helper, Private: true, Changes: true,
		Params: []bot.Param{
			{Name: "done", Kind: bot.Count, Min: "1", Max: "1000000"},
			{Name: "all", Kind: bot.Choice, Choices: []string{"yes"}},
		},
		Examples: []string{"questions", "questions done:3", "questions all:yes"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			if c.Args.Has("done") {
				if err := d.answered(ctx, s.Class.ID, c.Args.Count("done")); err != nil {
					return bot.Reply{}, err
				}
			}
			list, err := d.Store.QuestionsOf(ctx, s.Class.ID, c.Args.Has("all"))
			if err != nil {
				return bot.Reply{}, err
			}
			persons, err := d.Store.PersonsOf(ctx, s.Class.ID)
			if err != nil {
				return bot.Reply{}, err
			}
			return questionsReply(c, s, list, persons), nil
		},
	}
}

// answered takes a question off the list. Taking it off twice changes nothing.
func (d *Desk) answered(ctx context.Context, id class.ID, number int) error {
	q, err := d.Store.QuestionNumber(ctx, id, number)
	if isNone(err) {
		return &calc.Fault{Code: calc.OutOfRange, Key: "questions.none_such", Field: "done", Args: []any{number}, Example: "questions"}
	}
	if err != nil || !q.Done.IsZero() {
		return err
	}
	q.Done = d.Now()
	return d.Store.PutQuestion(ctx, q)
}

func questionsReply(c *bot.Call, s class.Standing, list []class.Question, persons map[class.ID]class.Person) bot.Reply {
	data := questionsData{Questions: []questionLine{}}
	r := bot.Reply{Title: c.Texts.Count(c.Units, "questions.title", waiting(list), s.Class.Name)}
	for _, q := range list {
		name := nameOf(c, s.Class, persons[q.Person])
		l := questionLine{q.Number, name, q.Asked.UTC().Format("2006-01-02T15:04:05Z"), q.Text, !q.Done.IsZero()}
		data.Questions = append(data.Questions, l)
		head := c.Say("questions.head", q.Number, name, dayOf(c, q.Asked, s.Zone()))
		if l.Done {
			head = c.Say("questions.head_done", q.Number, name, dayOf(c, q.Asked, s.Zone()))
		}
		r.Body = append(r.Body, bot.Heading(head), bot.Paragraph(q.Text))
		if !l.Done && len(r.Buttons) < maxQuestionButtons {
			r.Buttons = append(r.Buttons, bot.Button{Label: c.Say("questions.button", q.Number), Line: "questions done:" + strconv.Itoa(q.Number)})
		}
	}
	if len(list) == 0 {
		r.Body = append(r.Body, bot.Paragraph(c.Say("questions.empty")))
	}
	r.Data = data
	return r
}

// maxQuestionButtons keeps a long list from being a wall of buttons.
const maxQuestionButtons = 5

func waiting(list []class.Question) int {
	n := 0
	for _, q := range list {
		if q.Done.IsZero() {
			n++
		}
	}
	return n
}
