package bot

import (
	"container/list"
	"strings"
	"sync"
)

// maxQuestions bounds how many unanswered questions are remembered; over it
// the oldest is forgotten.
const maxQuestions = 10_000

// questions remembers what people were asked and have not answered yet.
type questions struct {
	mu    sync.Mutex
	asked map[conversation]*list.Element
	order *list.List // of pending, oldest first
}

// conversation is one person in one room: there at most one question is open.
type conversation struct {
	from Account
	in   Place
}

type pending struct {
	talk conversation
	by   *Command // that asked
	ask  *Question
}

func newQuestions() *questions {
	return &questions{asked: map[conversation]*list.Element{}, order: list.New()}
}

// open is the question that stands, with the command that asked it.
func (q *questions) open(talk conversation) (ask *Question, by *Command) {
	q.mu.Lock()
	defer q.mu.Unlock()
	e := q.asked[talk]
	if e == nil {
		return nil, nil
	}
	p := e.Value.(pending)
	return p.ask, p.by
}

// answered keeps the question that the reply of c asks, in place of any other.
// A command that asks nothing ends its own question and leaves that of another.
func (q *questions) answered(talk conversation, c *Command, ask *Question) {
	q.mu.Lock()
	defer q.mu.Unlock()
	old := q.asked[talk]
	if ask == nil && (old == nil || old.Value.(pending).by != c) {
		return
	}
	if old != nil {
		q.order.Remove(old)
		delete(q.asked, talk)
	}
	if ask == nil {
		return
	}
	q.asked[talk] = q.order.PushBack(pending{talk, c, ask})
	if q.order.Len() > maxQuestions {
		oldest := q.order.Remove(q.order.Front()).(pending)
		delete(q.asked, oldest.talk)
	}
}

// completed makes a command line of an answer to a question of by. An answer
// that names an argument ("width 15in", "15in heddle:10") is taken as it
// stands; any other is one value, in which no word is taken for a name.
func completed(ask *Question, by *Command, answer, ways string) string {
	if ask.Unsure != "" && unsure(answer, ways) {
		return ask.Unsure
	}
	begun := strings.TrimSpace(ask.Line)
	words, err := split(answer)
	if err != nil || len(words) == 1 && words[0].quoted {
		return begun + " " + answer
	}
	a := assigner{command: by, words: words}
	for i, w := range words {
		p := by.param(strings.ToLower(w.text))
		switch {
		case p == nil || w.quoted:
		case i == 0 && (w.name || a.fits(p, 1)):
			return begun[:strings.LastIndex(begun, " ")+1] + answer
		case w.name:
			return begun + " " + answer
		}
	}
	return begun + " " + form(answer)
}

// unsure tells whether an answer is one of the ways, between bars and in lower
// case, to say "I don't know".
func unsure(answer, ways string) bool {
	answer = strings.Map(straight, strings.ToLower(strings.Join(strings.Fields(answer), " ")))
	if bare := strings.Trim(answer, ".,!?… "); bare != "" {
		answer = bare
	} else if strings.Contains(answer, "?") {
		answer = "?"
	}
	for way := range strings.SplitSeq(ways, "|") {
		if answer != "" && answer == way {
			return true
		}
	}
	return false
}

// straight turns the apostrophes of phones into the plain one.
func straight(r rune) rune {
	switch r {
	case '’', '‘', 'ʼ', '´', '`', '′':
		return '\''
	}
	return r
}
