package bot

import (
	"context"
	"fmt"
	"testing"
)

// curious is a command that asks for its arguments one after the other.
func curious() *Command {
	return &Command{
		Name: "tell",
		Params: []Param{
			{Name: "width", Kind: Length},
			{Name: "heddle", Kind: Density},
			{Name: "kind", Kind: Choice, Choices: []string{"rigid heddle", "floor loom"}},
			{Name: "remark", Kind: Words},
			{Name: "unsure", Kind: Choice, Choices: []string{"width", "kind", "remark"}},
		},
		Run: func(_ context.Context, c *Call) (Reply, error) {
			next := map[bool]string{true: "kind", false: "width"}[c.Args.Has("width") || c.Args.Text("unsure") == "width"]
			switch {
			case c.Args.Has("kind") || c.Args.Text("unsure") == "kind":
				next = "remark"
			case c.Args.Has("remark"):
				return Reply{Title: "all told", Data: c.Args}, nil
			}
			return Reply{Title: next, Data: c.Args, Ask: &Question{Line: "tell " + next + ":", Unsure: "tell unsure:" + next}}, nil
		},
	}
}

// talk asks line after line and wants the title of each reply, or the code of
// its problem.
func talk(t *testing.T, d *Dispatcher, lines ...string) Reply {
	t.Helper()
	var last Reply
	for i := 0; i < len(lines); i += 2 {
		last = ask(d, lines[i])
		got := last.Title
		if last.Problem != nil {
			got = string(last.Problem.Code)
		}
		if got != lines[i+1] {
			t.Errorf("%q answers %q, want %q (%+v)", lines[i], got, lines[i+1], last.Problem)
		}
	}
	return last
}

func TestAnAnswerCompletesTheLine(t *testing.T) {
	rows := []struct{ shows, answer, name, want string }{
		{"one word", "15in", "width", "15in"},
		{"a full stop", "15in.", "width", "15in"},
		{"several words", "15 1/2 in", "width", "15 1/2 in"},
		{"an inch mark", `15 1/2"`, "width", `15 1/2"`},
		{"curly marks", "1’ 3”", "width", "1’ 3”"},
		{"quotes", `"15 1/2 in"`, "width", "15 1/2 in"},
		{"no-break space", "38,5\u00a0cm", "width", "38,5\u00a0cm"},
		{"its name as well", "width: 15in", "width", "15in"},
		{"its bare name as well", "Width 15in", "width", "15in"},
		{"more than was asked", "15in heddle:10", "heddle", "10"},
		{"something else than was asked", "heddle 10", "heddle", "10"},
	}
	for _, row := range rows {
		d := testDispatcher(curious())
		r := talk(t, d, "tell", "width")
		if r = ask(d, row.answer); r.Problem != nil {
			t.Errorf("%s: %s", row.shows, r.Problem.Sentence())
			continue
		}
		if got := r.Data.(Args).Raw(row.name); got != row.want || r.Command != "tell" {
			t.Errorf("%s: %q gives %s %s %q, want %q", row.shows, row.answer, r.Command, row.name, got, row.want)
		}
	}
}

func TestWordsOfAnAnswerAreNoNames(t *testing.T) {
	d := testDispatcher(curious())
	talk(t, d, "tell width:15in", "kind")
	if r := ask(d, "rigid heddle"); r.Problem != nil || r.Data.(Args).Text("kind") != "rigid heddle" {
		t.Errorf("%+v", r)
	}
	if r := ask(d, `she said "kind 15 of it" and 'width' 3`); r.Problem != nil || r.Data.(Args).Text("remark") != `she said "kind 15 of it" and 'width' 3` {
		t.Errorf("%+v", r)
	}
}

func TestIDontKnow(t *testing.T) {
	for _, answer := range []string{
		"I don't know", "i don’t know", "I DON‘T KNOW.", "  I  don't   know  ", "I don't know!", "I don't know?", "don't know…", "?", "???", "No idea", "no idea, ",
	} {
		d := testDispatcher(curious())
		r := talk(t, d, "tell", "width", answer, "kind")
		if r.Problem == nil && r.Data.(Args).Text("unsure") != "width" {
			t.Errorf("%q is not understood", answer)
		}
	}
	d := testDispatcher(curious())
	talk(t, d, "tell", "width", "I don't know yet", "bad_value", "!", "bad_value")
	if r := ask(testDispatcher(), "I don't know"); r.Problem == nil || r.Problem.Code != UnknownCommand {
		t.Errorf("without a question: %+v", r)
	}
}

func TestAQuestionStandsUntilItIsAnswered(t *testing.T) {
	d := testDispatcher(curious())
	talk(t, d,
		"tell", "width",
		"row 97", "done", // another command in between
		"a mile", "bad_value", // a mistake
		"rwo", "bad_value", // not even a command misspelt ends it
		"15in", "kind",
		"floor loom", "remark",
		"none", "all told",
		"none", "unknown_command", // now it is over
	)
}

func TestAQuestionOfItsOwnCommandEnds(t *testing.T) {
	d := testDispatcher(curious())
	talk(t, d, "tell kind:floor loom", "remark", "tell remark:none", "all told", "something", "unknown_command")
}

func TestAMistakeBringsNoQuestion(t *testing.T) {
	d := testDispatcher(curious())
	talk(t, d, "tell width:x", "bad_value", "15in", "unknown_command")
}

func TestQuestionsAreOneToAPersonAndRoom(t *testing.T) {
	d := testDispatcher(curious())
	talk(t, d, "tell", "width")
	for _, r := range []Request{{From: ana, In: Place{"test", "garden"}}, {From: Account{"test", "ben"}, In: hall}} {
		r.Line = "15in"
		if got := d.Handle(t.Context(), r); got.Problem == nil || got.Problem.Code != UnknownCommand {
			t.Errorf("%v in %v answers someone else's question: %+v", r.From, r.In, got)
		}
	}
	talk(t, d, "15in", "kind")
}

func TestQuestionOfAFreeLine(t *testing.T) {
	for _, line := range []string{"row", "row "} {
		asks := &Command{Name: "count", Run: func(context.Context, *Call) (Reply, error) {
			return Reply{Ask: &Question{Line: line}}, nil
		}}
		d := testDispatcher(asks)
		talk(t, d, "count", "", "97", "done", "count", "", "I don't know", "bad_value")
	}
}

func TestQuestionsAreBounded(t *testing.T) {
	ctx, q := t.Context(), newQuestions()
	tells := func(line string) *pending { return &pending{by: &Command{Name: "tell"}, ask: &Question{Line: line}} }
	who := func(i int) conversation { return conversation{from: Account{"test", fmt.Sprint(i)}} }
	for round := range 3 { // asked, answered, asked again: nothing may pile up
		for i := range maxQuestions + 10 {
			q.put(ctx, who(i), tells(fmt.Sprint("tell ", i)))
			if round < 2 {
				q.put(ctx, who(i), nil)
			}
		}
		if want := round / 2 * maxQuestions; len(q.asked) != want || q.order.Len() != want {
			t.Errorf("round %d: %d questions, %d in order, want %d", round, len(q.asked), q.order.Len(), want)
		}
	}
	if q.open(ctx, who(9)) != nil {
		t.Error("the oldest is not forgotten")
	}
	if p := q.open(ctx, who(10)); p == nil || p.ask.Line != "tell 10" {
		t.Error("more than the oldest are forgotten")
	}
	q.put(ctx, who(10), tells("tell again")) // asked anew, it is the youngest
	q.put(ctx, who(-1), tells("tell"))
	if p := q.open(ctx, who(10)); p == nil || p.ask.Line != "tell again" {
		t.Error("a question asked anew is forgotten with the old ones")
	}
	if q.open(ctx, who(11)) != nil {
		t.Error("the oldest is not forgotten when another is asked anew")
	}
}

// TestOneCommandAsksForAnother: the answer is read by the command that it is
// for, whose next answer without a question ends it.
func TestOneCommandAsksForAnother(t *testing.T) {
	asks := &Command{Name: "begin", Run: func(context.Context, *Call) (Reply, error) {
		return Reply{Title: "begun", Ask: &Question{Line: "tell width:"}}, nil
	}}
	d := testDispatcher(curious(), asks)
	talk(t, d, "begin", "begun", "15in heddle:10", "kind")
	talk(t, d, "begin", "begun", "tell remark:done", "all told", "15in", "unknown_command")
}
