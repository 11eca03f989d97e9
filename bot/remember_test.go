package bot

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// notepad keeps notes in memory and counts what is asked of it.
type notepad struct {
	notes         map[string]Note
	reads, writes int
	broken        bool
}

func (p *notepad) Note(_ context.Context, chat, name string) (Note, error) {
	p.reads++
	if p.broken {
		return Note{}, errors.New("the disk is gone")
	}
	return p.notes[chat+"/"+name], nil
}

func (p *notepad) PutNote(_ context.Context, chat string, n Note) error {
	p.writes++
	switch {
	case p.broken:
		return errors.New("the disk is full")
	case n.Value == "":
		delete(p.notes, chat+"/"+n.Name)
	default:
		p.notes[chat+"/"+n.Name] = n
	}
	return nil
}

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// process is a Dispatcher as a new process has it, with notes from before.
func process(p *notepad, now *time.Time) *Dispatcher {
	d := testDispatcher(curious())
	d.Remember(p, func() time.Time { return *now })
	return d
}

func newPad() *notepad { return &notepad{notes: map[string]Note{}} }

func TestAQuestionOutlivesTheProcess(t *testing.T) {
	p, now := newPad(), noon
	talk(t, process(p, &now), "tell", "width")
	talk(t, process(p, &now), "I don't know", "kind")
	talk(t, process(p, &now), "floor loom", "remark")
	for name, n := range p.notes {
		if n.User != ana.User || !n.Until.Equal(noon.Add(questionLasts)) {
			t.Errorf("%s is of %q until %v", name, n.User, n.Until)
		}
	}
	talk(t, process(p, &now), "none", "all told")
	if len(p.notes) > 0 {
		t.Errorf("an answered question stays: %v", p.notes)
	}
	talk(t, process(p, &now), "none", "unknown_command", "tell", "width")
	now = now.Add(questionLasts)
	talk(t, process(p, &now), "15in", "unknown_command")
}

func TestANoteIsAllOfAQuestion(t *testing.T) {
	q := newQuestions()
	tell := curious()
	q.command = func(path string) *Command { return map[string]*Command{"tell": tell}[path] }
	q.failed = func(what string, err error) { t.Error(what, err) }
	for _, p := range []pending{
		{by: tell, ask: &Question{Line: "tell width:"}},
		{by: tell, ask: &Question{Line: "tell width:", Unsure: "tell unsure:width", Fields: []string{"width", "heddle"}}, room: hall},
	} {
		if diff := cmp.Diff(p, *q.decode(encodePending(&p)), cmp.AllowUnexported(pending{}), cmp.Comparer(func(a, b *Command) bool { return a == b })); diff != "" {
			t.Error(diff)
		}
	}
	if q.decode(`{"by":"gone","line":"gone x:"}`) != nil {
		t.Error("a command that is no more has a question")
	}
	failed := 0
	q.failed = func(string, error) { failed++ }
	if q.decode("no JSON") != nil || failed != 1 {
		t.Error("what cannot be read is not told")
	}
}

// TestOnlyQuestionsAreWritten: a command that asks nothing writes nothing, and a
// question is written once when it is asked and once when it ends.
func TestOnlyQuestionsAreWritten(t *testing.T) {
	p, now := newPad(), noon
	d := process(p, &now)
	for _, row := range []struct {
		line   string
		writes int
	}{
		{"row 97", 0}, {"help", 0}, {"word heddle", 0}, {"rwo", 0}, {"15in", 0}, {"tell remark:none", 0},
		{"tell", 1}, {"row 97", 0}, {"a mile", 0}, {"15in", 1}, {"floor loom", 1}, {"none", 1}, {"row 97", 0},
	} {
		p.writes = 0
		if ask(d, row.line); p.writes != row.writes {
			t.Errorf("%q writes %d notes, want %d", row.line, p.writes, row.writes)
		}
	}
}

// TestAnswersDoNotNeedNotes: when nothing can be noted the questions are still
// asked and answered, from memory.
func TestAnswersDoNotNeedNotes(t *testing.T) {
	p, now := newPad(), noon
	d := process(p, &now)
	p.broken = true
	talk(t, d, "row 97", "done", "tell", "width", "15in", "kind")
	p.broken = false
	talk(t, d, "floor loom", "remark") // the newest question is in a note again
	talk(t, process(p, &now), "none", "all told")
	talk(t, d, "none", "unknown_command")
}

// reserved are people who would rather be answered by direct message.
type reserved struct{}

func (reserved) Asker(context.Context, Request) (Asker, error) { return Asker{Direct: true}, nil }

func reservedDispatcher() *Dispatcher {
	hail := &Command{Name: "hail", Run: func(context.Context, *Call) (Reply, error) { return Reply{Title: "hail", Audience: Room}, nil }}
	return NewDispatcher(append(testCommands(), curious(), hail), reserved{}, testTexts(), slog.New(slog.NewTextHandler(io.Discard, nil)))
}

func TestPersonalAnswersGoWhereSheWants(t *testing.T) {
	inRoom := Request{From: ana, In: hall}
	apart, direct := inRoom, inRoom
	apart.Apart = true
	direct.Direct = true
	shared := apart
	shared.Shared = true
	if !apart.Alone() || !direct.Alone() || inRoom.Alone() || shared.Alone() {
		t.Error("who is alone with an answer, and who is not, is mixed up")
	}
	for _, row := range []struct {
		shows string
		d     *Dispatcher
		r     Request
		line  string
		want  Audience
	}{
		{"in a room", reservedDispatcher(), inRoom, "row 97", Direct},
		{"in a room, where the chat shows it to her alone", reservedDispatcher(), apart, "row 97", Personal},
		{"in a direct message", reservedDispatcher(), direct, "row 97", Personal},
		{"shown to everyone, as she wants", reservedDispatcher(), shared, "row 97", Personal},
		{"for the whole room", reservedDispatcher(), inRoom, "hail", Room},
		{"a mistake", reservedDispatcher(), inRoom, "row three", Personal},
		{"who has not asked for it", testDispatcher(), inRoom, "row 97", Personal},
	} {
		r := row.r
		r.Line = row.line
		if got := row.d.Handle(t.Context(), r); got.Audience != row.want {
			t.Errorf("%s: %v, want %v", row.shows, got.Audience, row.want)
		}
	}
}

// TestAQuestionAskedAloneIsAnsweredInEither: an answer that went to her by direct
// message may ask back; she answers there or, should it not have reached her,
// where she had asked, and nowhere else.
func TestAQuestionAskedAloneIsAnsweredInEither(t *testing.T) {
	alone, garden := Place{"test", "direct:7"}, Place{"test", "garden"}
	d := reservedDispatcher()
	say := func(in Place, line, want string) {
		t.Helper()
		r := d.Handle(t.Context(), Request{From: ana, In: in, Direct: in == alone, Line: line})
		got := r.Title
		if r.Problem != nil {
			got = string(r.Problem.Code)
		}
		if got != want {
			t.Errorf("%q in %s: %q, want %q", line, in.Room, got, want)
		}
	}
	say(hall, "tell", "width")
	say(garden, "15in", "unknown_command")
	say(alone, "15in", "kind")
	say(hall, "15in", "unknown_command") // what was asked last was asked in the direct message
	say(alone, "floor loom", "remark")
	say(alone, "none", "all told")
	say(alone, "none", "unknown_command")
	say(hall, "tell", "width")
	say(hall, "15in", "kind")
	say(alone, "floor loom", "remark")
	if left := fmt.Sprint(len(d.questions.asked)); left != "1" {
		t.Errorf("%s questions of one conversation: %v", left, maps.Keys(d.questions.asked))
	}
}

// TestThatNothingIsOpenIsBelievedForAMinute: it is not looked up for every answer, and
// what another process asked is found after that.
func TestThatNothingIsOpenIsBelievedForAMinute(t *testing.T) {
	p, now := newPad(), noon
	d := process(p, &now)
	talk(t, d, "tell remark:short", "all told")
	looked := p.reads
	if looked == 0 {
		t.Error("nobody looked")
	}
	talk(t, d, "tell remark:short", "all told", "15in", "unknown_command")
	if p.reads != looked || p.writes > 0 {
		t.Errorf("looked %d times more, wrote %d times", p.reads-looked, p.writes)
	}
	talk(t, process(p, &now), "tell", "width")
	now = now.Add(noneLasts)
	talk(t, d, "15in", "kind", "floor loom", "remark", "none", "all told", "none", "unknown_command")
}
