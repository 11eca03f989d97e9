package lesson

import (
	"slices"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// questions are what loom asks, in order. Each is an argument of the command.
var questions = []string{"kind", "width", "heddle", "ends", "rightmost", "from", "units"}

// nextQuestion is the first that is neither answered nor answered with "I don't
// know"; a width nobody knows is asked for again unless the ends were counted.
func nextQuestion(l class.Loom) string {
	for _, q := range questions {
		if !answered(q, l) && (!slices.Contains(l.Unsure, q) || q == "width") {
			return q
		}
	}
	return ""
}

// told tells that all is known that a plan speaks of. A count that only is to
// be made sure of may still be open: then she told the rest at once.
func told(l class.Loom) bool {
	q := nextQuestion(l)
	if q == "ends" {
		l.Unsure = append(slices.Clone(l.Unsure), q)
		q = nextQuestion(l)
	}
	return q == ""
}

func answered(question string, l class.Loom) bool {
	return map[string]bool{
		"kind": l.Kind != "", "width": l.Width > 0 || l.Ends > 0, "heddle": l.EndsPerLength() > 0,
		"ends": l.Ends > 0, "rightmost": l.Rightmost != "", "from": l.From != "", "units": l.Units != measure.Unset,
	}[question]
}

// findOut says how to find the answer to a question and, while it is open, what
// is done without.
func findOut(c *bot.Call, question string, l class.Loom) string {
	how := c.Say(calc.Key("loom.unsure." + questionKey(question, l)))
	then := map[string]calc.Key{"ends": "loom.then.ends", "rightmost": "loom.then.rightmost", "from": "loom.then.from"}[question]
	if then == "" || answered(question, l) {
		return how
	}
	return how + " " + c.Say(then)
}

// questionKey is a question's key: shafts are asked about in other words than
// a rigid heddle.
func questionKey(q string, l class.Loom) string {
	onShafts := l.Kind == class.TableLoom || l.Kind == class.FloorLoom
	if onShafts && (q == "heddle" || q == "rightmost") {
		return q + "_shafts"
	}
	return q
}

// ask puts the next question under a reply, with a button for each usual answer.
func ask(c *bot.Call, reply *bot.Reply, l class.Loom) {
	q := nextQuestion(l)
	if q == "" {
		if p := heddlePicture(c, l); p != nil {
			reply.Body = append(reply.Body, p)
		}
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("loom.complete")))
		return
	}
	key := questionKey(q, l)
	line := "loom " + paramOf(q, l) + ":"
	reply.Body = append(reply.Body, bot.Heading(c.Say("loom.question")), bot.Paragraph(c.Say(calc.Key("loom.ask."+key))))
	if q == "rightmost" {
		reply.Body = append(reply.Body, whichUp(c, l))
	}
	for _, answer := range usualAnswers(q, l) {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: answerLabel(c, q, answer), Line: line + quoted(answer)})
	}
	unsure := "loom unsure:" + q
	reply.Buttons = append(reply.Buttons, bot.Button{Label: c.Say("loom.unsure"), Line: unsure})
	reply.Ask = &bot.Question{Line: line, Unsure: unsure, Fields: fields(q, l)}
}

// fields are the arguments that a form may ask for together: the one of a
// question that is answered with a number, and those of the questions like it
// that come later and are still open. What is chosen stays a button each.
func fields(q string, l class.Loom) []string {
	typed := []string{"width", "heddle", "ends"}
	i := slices.Index(typed, q)
	if i < 0 {
		return nil
	}
	var out []string
	for _, later := range typed[i:] {
		if later == q || !answered(later, l) && !slices.Contains(l.Unsure, later) {
			out = append(out, paramOf(later, l))
		}
	}
	return out
}

// paramOf is the argument that answers a question: on shafts the sett is asked
// for in place of a heddle.
func paramOf(q string, l class.Loom) string {
	if questionKey(q, l) == "heddle_shafts" {
		return "sett"
	}
	return q
}

// usualAnswers are the buttons. For a count of ends there is none: a number
// worked out from her width would pass for her count.
func usualAnswers(q string, l class.Loom) []string {
	switch q {
	case "kind":
		return class.Kinds
	case "heddle":
		if l.Kind == class.TableLoom || l.Kind == class.FloorLoom {
			return usualSetts(l.Units)
		}
		if l.Units == measure.Metric {
			return []string{"30/10cm", "40/10cm", "50/10cm"}
		}
		return []string{"8", "10", "12", "12.5"}
	case "rightmost":
		switch l.Kind {
		case class.RigidHeddle:
			return class.Rightmosts[:2]
		case class.TableLoom, class.FloorLoom:
			return class.Rightmosts[2:]
		}
		return class.Rightmosts
	case "from":
		return []string{"right", "left"}
	case "units":
		return []string{unitNames[measure.Imperial], unitNames[measure.Metric]}
	}
	return nil
}

// usualSetts are asked about on shafts, where several ends go into a dent.
func usualSetts(u measure.Units) []string {
	if u == measure.Metric {
		return []string{"40/10cm", "60/10cm", "80/10cm"}
	}
	return []string{"10", "15", "20"}
}

// answerLabel is what a button says: words where there are words for it.
func answerLabel(c *bot.Call, q, answer string) string {
	key := calc.Key("loom." + q + "." + strings.ReplaceAll(answer, " ", "_"))
	if label := c.Say(key); label != string(key) {
		return label
	}
	return answer
}

func quoted(s string) string {
	if strings.Contains(s, " ") {
		return `"` + s + `"`
	}
	return s
}
