package bot

import (
	"container/list"
	"context"
	"encoding/json"
	"strconv"
	"strings"
	"sync"
	"time"
)

// maxQuestions bounds how many unanswered questions are remembered in memory;
// over it the oldest is forgotten.
const maxQuestions = 10_000

// questionLasts is how long a question waits for its answer.
const questionLasts = 30 * 24 * time.Hour

// noneLasts is how long it is believed that no question is open, as it was when it was
// looked up (our own bound). Each chat is served by one process, so that nobody else
// asks meanwhile; one that took a chat over and gave it back is heard of after that.
const noneLasts = time.Minute

// conversation is one person in one room: there at most one question is open.
type conversation struct {
	from Account
	in   Place
}

// talkOf is the conversation of a request. In a chat a person is alone with the
// assistant in one place, whatever the chat calls it.
func talkOf(r Request) conversation {
	if r.Direct {
		return conversation{r.From, DirectRoom(r.From)}
	}
	return conversation{r.From, r.In}
}

// pending is a question that waits for its answer.
type pending struct {
	by   *Command // whose line the answer completes
	ask  *Question
	room Place // where it was asked when the question went to her alone: she may answer in either
}

// pending is the question that r may answer, nil for none, and the conversation
// in which it was asked.
func (d *Dispatcher) pending(ctx context.Context, r Request) (conversation, *pending) {
	talk := talkOf(r)
	if p := d.questions.open(ctx, talk); p != nil || r.Direct {
		return talk, p
	}
	alone := conversation{r.From, DirectRoom(r.From)}
	if p := d.questions.open(ctx, alone); p != nil && p.room == r.In {
		return alone, p
	}
	return talk, nil
}

// asked keeps the question that an answer to r asks back, in place of any other.
// A command that asks nothing ends its own question and leaves that of another.
func (d *Dispatcher) asked(ctx context.Context, r Request, a Audience, by *Command, ask *Question) {
	if ask == nil && len(by.Shown()) == 0 {
		return // an answer completes no line of a command that takes no argument
	}
	old, open := d.pending(ctx, r)
	if ask == nil {
		if open != nil && open.by == by {
			d.questions.put(ctx, old, nil)
		}
		return
	}
	talk, p := talkOf(r), &pending{by: by, ask: ask}
	if a == Direct {
		talk.in, p.room = DirectRoom(r.From), r.In
	}
	if open != nil && old != talk {
		d.questions.put(ctx, old, nil)
	}
	d.questions.put(ctx, talk, p)
}

// questions remembers what people were asked and have not answered yet: in notes
// where there are any, so that a new process knows it too, and else in memory.
type questions struct {
	notes   Notes // nil: memory alone
	now     func() time.Time
	command func(path string) *Command
	failed  func(what string, err error)

	mu    sync.Mutex
	asked map[conversation]*list.Element
	order *list.List // of remembered, oldest first
}

type remembered struct {
	talk conversation
	pending
	none time.Time // without a question: until when none is believed to be open
}

func newQuestions() *questions {
	return &questions{asked: map[conversation]*list.Element{}, order: list.New()}
}

// open is the question that stands in a conversation, nil for none.
func (q *questions) open(ctx context.Context, talk conversation) *pending {
	q.mu.Lock()
	e := q.asked[talk]
	q.mu.Unlock()
	if e != nil {
		known := e.Value.(remembered)
		switch {
		case known.by != nil:
			return &known.pending
		case q.now().Before(known.none):
			return nil
		}
	}
	if q.notes == nil {
		return nil
	}
	n, err := q.notes.Note(ctx, talk.from.Chat, noteName(talk))
	if err != nil {
		q.failed("an open question cannot be read", err)
		return nil
	}
	if n.Value == "" || !q.now().Before(n.Until) {
		q.putInMemory(talk, nil)
		return nil
	}
	return q.decode(n.Value)
}

// put keeps a question in place of any other of the conversation, or with nil
// ends it. What cannot be noted is kept in memory.
func (q *questions) put(ctx context.Context, talk conversation, p *pending) {
	if q.notes == nil {
		q.putInMemory(talk, p)
		return
	}
	n := Note{Name: noteName(talk), User: talk.from.User, Until: q.now().Add(questionLasts)}
	if p != nil {
		n.Value = encodePending(p)
	}
	switch err := q.notes.PutNote(ctx, talk.from.Chat, n); {
	case err != nil:
		q.failed("an open question cannot be kept", err)
		q.putInMemory(talk, p)
	case p == nil:
		q.putInMemory(talk, nil)
	default: // it is in the notes, and nothing here says otherwise
		q.mu.Lock()
		defer q.mu.Unlock()
		q.drop(talk)
	}
}

// putInMemory remembers a question here or, with nil, that none is open.
func (q *questions) putInMemory(talk conversation, p *pending) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.drop(talk)
	r := remembered{talk: talk}
	switch {
	case p != nil:
		r.pending = *p
	case q.notes == nil:
		return // what is not here is not open
	default:
		r.none = q.now().Add(noneLasts)
	}
	q.asked[talk] = q.order.PushBack(r)
	if q.order.Len() > maxQuestions {
		oldest := q.order.Remove(q.order.Front()).(remembered)
		delete(q.asked, oldest.talk)
	}
}

// drop forgets what is remembered here of a conversation; q.mu is held.
func (q *questions) drop(talk conversation) {
	if old := q.asked[talk]; old != nil {
		q.order.Remove(old)
		delete(q.asked, talk)
	}
}

// noteName is the name of a conversation's note.
func noteName(talk conversation) string {
	return "question " + strconv.Quote(talk.from.User) + " " + talk.in.Room
}

// noted is a question as a note keeps it.
type noted struct {
	By     string   `json:"by"` // the command's whole name
	Line   string   `json:"line"`
	Unsure string   `json:"unsure,omitempty"`
	Fields []string `json:"fields,omitempty"`
	Room   *Place   `json:"room,omitempty"`
}

func encodePending(p *pending) string {
	n := noted{By: p.by.path(), Line: p.ask.Line, Unsure: p.ask.Unsure, Fields: p.ask.Fields}
	if p.room != (Place{}) {
		n.Room = &p.room
	}
	raw, _ := json.Marshal(n) // nothing in it can fail
	return string(raw)
}

// decode reads a note; one of a command that is no more is no question.
func (q *questions) decode(value string) *pending {
	var n noted
	if err := json.Unmarshal([]byte(value), &n); err != nil {
		q.failed("an open question cannot be read", err)
		return nil
	}
	by := q.command(n.By)
	if by == nil {
		return nil
	}
	p := &pending{by: by, ask: &Question{Line: n.Line, Unsure: n.Unsure, Fields: n.Fields}}
	if n.Room != nil {
		p.room = *n.Room
	}
	return p
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
