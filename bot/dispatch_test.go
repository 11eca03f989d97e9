package bot

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// loggedDispatcher keeps its log.
func loggedDispatcher(people People, run func(ctx context.Context, c *Call) (Reply, error)) (*Dispatcher, *bytes.Buffer) {
	var log bytes.Buffer
	fail := &Command{Name: "fail", Run: run, Params: []Param{{Name: "text", Kind: Words, First: true}, {Name: "ends", Kind: Count}}}
	return NewDispatcher(append(testCommands(), fail), people, testTexts(), slog.New(slog.NewTextHandler(&log, nil))), &log
}

const secret = "my own dear pattern"

func TestFaultsOfOursAreLoggedUnderAReference(t *testing.T) {
	rows := []struct {
		shows string
		run   func(ctx context.Context, c *Call) (Reply, error)
		log   string // is in the log
	}{
		{"an error", func(context.Context, *Call) (Reply, error) { return Reply{}, errors.New("disk full") }, "disk full"},
		{"an error that repeats her line", func(_ context.Context, c *Call) (Reply, error) {
			return Reply{}, fmt.Errorf("cannot keep %q", c.Request.Line)
		}, "cannot keep"},
		{"an error that repeats a value", func(_ context.Context, c *Call) (Reply, error) {
			return Reply{}, fmt.Errorf("cannot keep %s", c.Args.Text("text"))
		}, "cannot keep"},
		{"a panic", func(context.Context, *Call) (Reply, error) { panic("no such row") }, "panic: no such row"},
		{"a panic that repeats a value", func(_ context.Context, c *Call) (Reply, error) { panic("bad " + c.Args.Text("text")) }, "panic: bad"},
		{"a fault of the runtime", func(_ context.Context, c *Call) (Reply, error) { return Reply{Title: c.Request.Line[99:]}, nil }, "out of range"},
		{"a panic with an error", func(context.Context, *Call) (Reply, error) { panic(errors.New("torn")) }, "panic: torn"},
		{"an error of the commands' own deadline", func(context.Context, *Call) (Reply, error) { return Reply{}, context.DeadlineExceeded }, "deadline"},
		{"a cancelled context that is not the request's", func(context.Context, *Call) (Reply, error) { return Reply{}, context.Canceled }, "canceled"},
	}
	for _, row := range rows {
		d, log := loggedDispatcher(everyone(0), row.run)
		r := d.Handle(t.Context(), Request{ID: "event-1", From: ana, In: hall, Line: "fail " + secret})
		if r.Problem == nil || r.Problem.Code != Internal || r.Command != "fail" {
			t.Errorf("%s: %+v", row.shows, r)
			continue
		}
		ref := regexp.MustCompile(`reference ([0-9a-f]{8})$`).FindStringSubmatch(r.Problem.Message)
		if ref == nil || !strings.Contains(log.String(), "reference="+ref[1]) {
			t.Errorf("%s: answered %q, logged %s", row.shows, r.Problem.Message, log)
		}
		for _, want := range []string{row.log, "request=event-1", "command=fail"} {
			if !strings.Contains(log.String(), want) {
				t.Errorf("%s: no %q in the log: %s", row.shows, want, log)
			}
		}
		if strings.Contains(log.String(), "dear pattern") {
			t.Errorf("%s: her words are in the log: %s", row.shows, log)
		}
		if s := Plain(r); strings.Contains(s, row.log) || strings.Contains(s, ".go:") {
			t.Errorf("%s: the reply tells what went wrong: %s", row.shows, s)
		}
		if r := ask(d, "row 97"); r.Problem != nil { // the process lives, and the person is not locked out
			t.Errorf("%s: the next request: %+v", row.shows, r.Problem)
		}
	}
}

func TestStructuredValuesStayOutOfTheLog(t *testing.T) {
	d, log := loggedDispatcher(everyone(0), func(_ context.Context, c *Call) (Reply, error) { panic("bad " + c.Args.Text("text") + c.Request.Name) })
	d.Handle(t.Context(), Request{From: ana, In: hall, Name: "Ana of the Hill", Command: "fail", Values: map[string]string{"text": secret}})
	if strings.Contains(log.String(), "dear pattern") || strings.Contains(log.String(), "of the Hill") || !strings.Contains(log.String(), "panic: bad") {
		t.Errorf("%s", log)
	}
}

// nobody cannot be found.
type nobody struct{ err error }

func (n nobody) Asker(context.Context, Request) (Asker, error) {
	if n.err == nil {
		panic("nobody")
	}
	return Asker{}, n.err
}

func TestPeopleThatCannotBeFound(t *testing.T) {
	for shows, people := range map[string]People{"an error": nobody{errors.New("no store")}, "a panic": nobody{}} {
		d, log := loggedDispatcher(people, nil)
		if r := ask(d, "row 97"); r.Problem == nil || r.Problem.Code != Internal || log.Len() == 0 {
			t.Errorf("%s: %+v, log %s", shows, r.Problem, log)
		}
	}
}

func TestAClosingChatIsNobodysFault(t *testing.T) {
	ctx, end := context.WithCancel(t.Context())
	d, log := loggedDispatcher(everyone(0), func(ctx context.Context, _ *Call) (Reply, error) {
		end()
		return Reply{}, fmt.Errorf("reading: %w", ctx.Err())
	})
	if r := d.Handle(ctx, Request{From: ana, In: hall, Line: "fail"}); r.Problem == nil || r.Problem.Code != Busy || log.Len() != 0 {
		t.Errorf("%+v, log %s", r.Problem, log)
	}
}

func TestRoles(t *testing.T) {
	needs := map[string]Role{"anyone": Anyone, "student": Student, "helper": Helper, "teacher": Teacher}
	var commands []*Command
	for name, role := range needs {
		commands = append(commands, &Command{Name: "for" + name, Who: role, Run: echo})
	}
	d := testDispatcher(commands...)
	for name, least := range needs {
		for role := Anyone; role <= Teacher; role++ {
			r := d.Handle(t.Context(), Request{From: ana, In: hall, Role: role, Line: "for" + name})
			if allowed := r.Problem == nil; allowed != (role >= least) {
				t.Errorf("for%s, role %d: %+v", name, role, r.Problem)
			}
			if r.Problem != nil && (r.Problem.Code != NotAllowed || !strings.HasPrefix(r.Problem.Message, "for"+name+" is for ")) {
				t.Errorf("for%s, role %d: %+v", name, role, r.Problem)
			}
		}
	}
}

// ranked gives everyone a role in the class.
type ranked Role

func (r ranked) Asker(context.Context, Request) (Asker, error) { return Asker{Role: Role(r)}, nil }

// TestRoleOfTheClassAndOfTheChat: the greater of the two counts, for what is
// allowed and for what help lists, and the command is told it.
func TestRoleOfTheClassAndOfTheChat(t *testing.T) {
	rows := []struct {
		chat, class, want Role
	}{
		{Anyone, Anyone, Anyone}, {Student, Anyone, Student}, {Anyone, Teacher, Teacher}, {Teacher, Student, Teacher}, {Helper, Helper, Helper},
	}
	for _, row := range rows {
		var told Role
		d, _ := loggedDispatcher(ranked(row.class), func(_ context.Context, c *Call) (Reply, error) { told = c.Role; return Reply{}, nil })
		send := func(line string) Reply {
			return d.Handle(t.Context(), Request{From: ana, In: hall, Role: row.chat, Line: line})
		}
		if send("fail"); told != row.want {
			t.Errorf("chat %d, class %d: the command is told %d", row.chat, row.class, told)
		}
		if allowed := send("class roll").Problem == nil; allowed != (row.want >= Helper) {
			t.Errorf("chat %d, class %d: allowed %v", row.chat, row.class, allowed)
		}
		if listed := strings.Contains(Plain(send("help")), "what class does"); listed != (row.want >= Helper) {
			t.Errorf("chat %d, class %d: listed %v", row.chat, row.class, listed)
		}
	}
}

func TestRolesOfSubcommands(t *testing.T) {
	d := testDispatcher()
	rows := []struct {
		shows, line string
		role        Role
		refused     string // who it is for, "" when it is allowed
	}{
		{"the command's role holds for its subcommands", "class roll", Student, "class roll is for the teacher and her helpers"},
		{"a role that reaches", "class roll", Helper, ""},
		{"a subcommand for fewer", "class open Lace", Helper, "class open is for the teacher"},
		{"its role", "class open Lace", Teacher, ""},
		{"the role comes before the arguments", "class open", Student, "class open is for the teacher"},
		{"and before the missing subcommand", "class", Student, "class is for the teacher and her helpers"},
		{"structured", "", Student, "class open is for the teacher"},
	}
	for _, row := range rows {
		q := Request{From: ana, In: hall, Role: row.role, Line: row.line}
		if row.line == "" {
			q.Command, q.Values = "class open", map[string]string{"name": "Lace"}
		}
		r := d.Handle(t.Context(), q)
		if row.refused == "" && r.Problem != nil {
			t.Errorf("%s: %s", row.shows, r.Problem.Sentence())
		}
		if row.refused != "" && (r.Problem == nil || r.Problem.Code != NotAllowed || r.Problem.Message != row.refused) {
			t.Errorf("%s: %+v", row.shows, r.Problem)
		}
	}
}

// TestOnlyUsableCommandsAreOffered: nobody is told to try what she may not use.
func TestOnlyUsableCommandsAreOffered(t *testing.T) {
	d := testDispatcher()
	rows := []struct {
		role    Role
		line    string
		message string
		hint    string
	}{
		{Anyone, "clas", "I do not know “clas”; please ask for the list", "help"},
		{Helper, "clas", "I do not know “clas”; did you mean class", "help class"},
		{Helper, "class opn", "class needs one more word: roll", "class roll"},
		{Teacher, "class opn", "class needs one more word: open, roll", `class open name:"Lace on Mondays"`},
	}
	for _, row := range rows {
		r := d.Handle(t.Context(), Request{From: ana, In: hall, Role: row.role, Line: row.line})
		if r.Problem == nil || r.Problem.Message != row.message || r.Problem.Hint != row.hint {
			t.Errorf("role %d, %q: %+v", row.role, row.line, r.Problem)
		}
	}
}

func TestRepliesNameTheirCommand(t *testing.T) {
	d := testDispatcher()
	for line, want := range map[string]string{
		"row 97": "row", "ROWS 97": "row", "hello": "help", "class open Lace": "class open",
		"row ends:x": "row", "class open": "class open", "class": "class", "row 97 98": "row", `row "`: "row",
		"rwo": "", "": "", "row \x00": "",
	} {
		if r := ask(d, line); r.Command != want {
			t.Errorf("%q: the reply is of %q, want %q", line, r.Command, want)
		}
	}
}

func TestUnitsOfTheAnswer(t *testing.T) {
	said := func(_ context.Context, c *Call) (Reply, error) {
		return Reply{Title: c.Say("len", 10*measure.Centimetre)}, nil
	}
	params := []Param{{Name: "width", Kind: Length}, {Name: "set", Kind: Density}}
	rows := []struct {
		shows string
		own   measure.Units
		line  string
		want  string
	}{
		{"inches when nobody has said", 0, "say", "3 7/8 in (10 cm)"},
		{"what she writes", 0, "say width:38cm", "10 cm (3 7/8 in)"},
		{"what she writes of a density", 0, "say set:40/10cm", "10 cm (3 7/8 in)"},
		{"a number alone says nothing", 0, "say set:10", "3 7/8 in (10 cm)"},
		{"her own, whatever she writes", measure.Imperial, "say width:38cm", "3 7/8 in (10 cm)"},
		{"her own", measure.Metric, "say", "10 cm (3 7/8 in)"},
	}
	for _, row := range rows {
		texts := testTexts()
		texts["len"] = "%s"
		d := NewDispatcher([]*Command{{Name: "say", Params: params, Run: said}}, everyone(row.own), texts, slog.New(slog.DiscardHandler))
		if r := ask(d, row.line); r.Title != row.want {
			t.Errorf("%s: %q, want %q (%+v)", row.shows, r.Title, row.want, r.Problem)
		}
	}
}

// book is a Ledger that remembers replies and how often it was asked.
type book struct {
	kept  map[string]Reply
	asked int
	soon  int // of those, without waiting for the disk
}

func (b *book) OnceSoon(ctx context.Context, r Request, do func(ctx context.Context) (Reply, error)) (Reply, error) {
	b.soon++
	return b.Once(ctx, r, do)
}

func (b *book) Once(ctx context.Context, r Request, do func(ctx context.Context) (Reply, error)) (Reply, error) {
	b.asked++
	if old, ok := b.kept[r.ID]; ok {
		return old, nil
	}
	reply, err := do(context.WithValue(ctx, inBook{}, true))
	if err == nil && r.ID != "" {
		b.kept[r.ID] = reply
	}
	return reply, err
}

type inBook struct{}

func TestWhatChangesSomethingHappensOnce(t *testing.T) {
	runs := 0
	change := &Command{Name: "change", Changes: true, Params: []Param{{Name: "n", Kind: Count, First: true, Max: "9"}}, Run: func(ctx context.Context, c *Call) (Reply, error) {
		if ctx.Value(inBook{}) == nil {
			t.Error("not run in the ledger's context")
		}
		if runs++; c.Args.Count("n") == 9 {
			return Reply{}, &calc.Fault{Code: calc.Conflict, Key: KeyTwice, Args: []any{"n"}, Example: "n:1"}
		}
		return Reply{Title: fmt.Sprint("run ", runs)}, nil
	}}
	d, b := testDispatcher(change), &book{kept: map[string]Reply{}}
	d.Keep(b)
	rows := []struct {
		shows, id, line string
		title           string
		code            calc.Code
		asked           int
	}{
		{"the first time", "1", "change", "run 1", "", 1},
		{"the same again", "1", "change", "run 1", "", 2},
		{"another", "2", "change", "run 2", "", 3},
		{"a refusal by the command", "3", "change 9", "", calc.Conflict, 4},
		{"is not kept", "3", "change", "run 4", "", 5},
		{"a refusal by the core", "4", "change 10", "", calc.OutOfRange, 6},
		{"is not kept either", "4", "change", "run 5", "", 7},
		{"what changes nothing is no business of the ledger", "5", "row 97", "done", "", 7},
	}
	for _, row := range rows {
		r := d.Handle(t.Context(), Request{ID: row.id, From: ana, In: hall, Line: row.line})
		var code calc.Code
		if r.Problem != nil {
			code = r.Problem.Code
		}
		if r.Title != row.title || code != row.code || b.asked != row.asked {
			t.Errorf("%s: %q %q, the ledger was asked %d times", row.shows, r.Title, code, b.asked)
		}
	}
}

// lookedUp tells where it was asked who asks.
type lookedUp struct {
	People
	inBook []bool
}

func (l *lookedUp) Asker(ctx context.Context, r Request) (Asker, error) {
	l.inBook = append(l.inBook, ctx.Value(inBook{}) != nil)
	a, err := l.People.Asker(ctx, r)
	a.Known = "looked up"
	return a, err
}

// TestWhoAsksIsLookedUpWhereItIsUsed: in the transaction of what she changes, whose
// command looks again at what it may change itself.
func TestWhoAsksIsLookedUpWhereItIsUsed(t *testing.T) {
	var known []any
	run := func(_ context.Context, c *Call) (Reply, error) {
		known = append(known, c.Known)
		return Reply{Title: "done"}, nil
	}
	d := testDispatcher(&Command{Name: "read", Run: run}, &Command{Name: "change", Changes: true, Run: run}, &Command{Name: "step", Changes: true, Soon: true, Run: run})
	looked := &lookedUp{People: d.people}
	d.people = looked
	d.Keep(&book{kept: map[string]Reply{}})
	for i, line := range []string{"read", "change", "step"} {
		d.Handle(t.Context(), Request{ID: fmt.Sprint(i), From: ana, In: hall, Line: line})
	}
	if diff := cmp.Diff([]bool{false, true, true}, looked.inBook); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]any{"looked up", nil, "looked up"}, known); diff != "" {
		t.Error(diff)
	}
}

// TestWhatMayBeKeptSoon: it does not wait for the disk, and when it says from which
// state it is, the command itself knows the same request again.
func TestWhatMayBeKeptSoon(t *testing.T) {
	at := 1
	step := &Command{
		Name: "step", Changes: true, Soon: true, Params: []Param{{Name: "from", Kind: Count, Pressed: true, Stamp: true, Max: "9"}},
		Run: func(_ context.Context, c *Call) (Reply, error) {
			if c.Args.Has("from") && c.Args.Count("from") != at {
				return Reply{Title: fmt.Sprint("still ", at)}, nil
			}
			at++
			return Reply{Title: fmt.Sprint(at)}, nil
		},
	}
	change := &Command{Name: "change", Changes: true, Run: func(context.Context, *Call) (Reply, error) { return Reply{Title: "done"}, nil }}
	d, b := testDispatcher(step, change), &book{kept: map[string]Reply{}}
	d.Keep(b)
	for _, row := range []struct {
		id, line, title string
		soon, kept      int
	}{
		{"1", "step", "2", 1, 1},
		{"1", "step", "2", 2, 1},
		{"2", "step from:2", "3", 3, 1},
		{"2", "step from:2", "still 3", 4, 1},
		{"3", "change", "done", 4, 2},
	} {
		r := d.Handle(t.Context(), Request{ID: row.id, From: ana, In: hall, Line: row.line})
		if r.Title != row.title || b.soon != row.soon || len(b.kept) != row.kept {
			t.Errorf("%s: %q, %d without waiting, %d kept", row.line, r.Title, b.soon, len(b.kept))
		}
	}
}

func TestRoleThatNobodyKnows(t *testing.T) {
	if got := roleKey(Role(9)); got != "role.teacher" {
		t.Errorf("%s", got)
	}
	if got := roleKey(Role(-1)); got != "role.anyone" {
		t.Errorf("%s", got)
	}
}

func TestCommandsAreListedInOrder(t *testing.T) {
	d := testDispatcher()
	if got := strings.Join(names(d.Commands()), " "); got != "row loom warp sett word note class help" {
		t.Errorf("%s", got)
	}
}
