package bot

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"strings"
	"sync"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Sentences of the dispatcher.
const (
	KeyInternal calc.Key = "dispatch.internal" // the reference
	KeyBusy     calc.Key = "dispatch.busy"     // no arguments
	KeyRole     calc.Key = "dispatch.role"     // the command, the role's name
	KeySub      calc.Key = "dispatch.sub"      // the command, its subcommands
	KeyUnsure   calc.Key = "dispatch.unsure"   // the ways to say "I don't know", lower case, between bars
)

// Bounds of waiting requests. Over a bound the answer is a kind one, at once.
const (
	PerPerson = 8
	PerRoom   = 64
	InAll     = 512
)

// People tells the core what it must know of a person to read her requests.
type People interface {
	// Units are the person's, Unset when she has not said. It may block on storage.
	Units(ctx context.Context, a Account) (measure.Units, error)
}

// Dispatcher answers requests: those of one person in order, those of different
// people at the same time. It starts no goroutine of its own; Handle runs on
// its caller's. A panic in a command is one failed request.
type Dispatcher struct {
	commands []*Command
	people   People
	texts    Texts
	log      *slog.Logger

	mu     sync.Mutex
	tails  map[Account]*tail
	rooms  map[Place]int
	all    int
	begun  map[conversation]*Question // questions asked and not yet answered
	recent []conversation             // keys of begun, oldest first
}

// tail is the end of one person's queue.
type tail struct {
	done    chan struct{} // closed when the last request is through
	waiting int
}

type conversation struct {
	from Account
	in   Place
}

// maxBegun bounds how many unanswered questions are remembered.
const maxBegun = 10_000

// NewDispatcher makes a Dispatcher of the commands, in the order in which help lists them.
func NewDispatcher(commands []*Command, people People, texts Texts, log *slog.Logger) *Dispatcher {
	return &Dispatcher{
		commands: commands, people: people, texts: texts, log: log,
		tails: map[Account]*tail{}, rooms: map[Place]int{}, begun: map[conversation]*Question{},
	}
}

// Commands are the declarations, in order. Do not change them.
func (d *Dispatcher) Commands() []*Command { return d.commands }

// Handle answers one request. It waits for earlier requests of the same person;
// one whose ctx has ended meanwhile is not begun.
func (d *Dispatcher) Handle(ctx context.Context, r Request) Reply {
	before, done, ok := d.enter(r)
	if !ok {
		return d.problem(measure.Unset, &calc.Fault{Code: Busy, Key: KeyBusy})
	}
	defer d.leave(r, done)
	if before != nil {
		<-before
	}
	if ctx.Err() != nil {
		return d.problem(measure.Unset, &calc.Fault{Code: Busy, Key: KeyBusy})
	}
	return d.answer(ctx, r)
}

func (d *Dispatcher) enter(r Request) (before, done chan struct{}, ok bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	t := d.tails[r.From]
	if t == nil {
		t = &tail{}
	}
	if t.waiting >= PerPerson || d.rooms[r.In] >= PerRoom || d.all >= InAll {
		return nil, nil, false
	}
	d.tails[r.From] = t
	before, done = t.done, make(chan struct{})
	t.done = done
	t.waiting++
	d.rooms[r.In]++
	d.all++
	return before, done, true
}

func (d *Dispatcher) leave(r Request, done chan struct{}) {
	d.mu.Lock()
	defer d.mu.Unlock()
	close(done)
	t := d.tails[r.From]
	if t.waiting--; t.waiting == 0 {
		delete(d.tails, r.From)
	}
	if d.rooms[r.In]--; d.rooms[r.In] == 0 {
		delete(d.rooms, r.In)
	}
	d.all--
}

// answer runs a request and turns whatever goes wrong into a Reply.
func (d *Dispatcher) answer(ctx context.Context, r Request) (reply Reply) {
	units := measure.Unset
	defer func() {
		if p := recover(); p != nil {
			reply = d.internal(r, fmt.Errorf("panic: %v\n%s", p, debug.Stack()))
		}
	}()
	units, err := d.people.Units(ctx, r.From)
	if err != nil {
		return d.internal(r, err)
	}
	reply, units, err = d.run(ctx, r, units)
	var f *calc.Fault
	switch {
	case errors.As(err, &f):
		refused := d.problem(units, f)
		refused.Command = reply.Command
		return refused
	case err != nil:
		return d.internal(r, err)
	}
	return reply
}

// run answers a request in the units that it also returns: those of the asker
// or, when she has not said, those that she wrote.
func (d *Dispatcher) run(ctx context.Context, r Request, own measure.Units) (reply Reply, units measure.Units, err error) {
	if err := checkLine(r.Line); err != nil {
		return Reply{}, own, err
	}
	talk := conversation{r.From, r.In}
	c, given, err := d.parse(r, d.question(talk))
	if c != nil {
		defer func() { reply.Command = c.Name }()
	}
	if err != nil {
		return Reply{}, own, err
	}
	if r.Role < c.Who {
		return Reply{}, own, &calc.Fault{Code: NotAllowed, Key: KeyRole, Args: []any{c.Name, roleKey(c.Who)}}
	}
	if units = own; units == measure.Unset {
		units = c.unitsOf(given)
	}
	args, err := c.read(given, own)
	if err != nil {
		return Reply{}, units, err
	}
	reply, err = c.Run(ctx, &Call{Request: r, Args: args, Units: units, Texts: d.texts})
	if err == nil {
		d.remember(talk, c, reply.Ask)
	}
	return reply, units, err
}

// parse finds the command and the texts of its arguments. A line that begins
// with no command answers the question that the person was asked, if any.
func (d *Dispatcher) parse(r Request, asked *Question) (*Command, map[string]string, error) {
	if r.Command != "" {
		c, err := d.named(strings.Fields(r.Command))
		return c, r.Values, err
	}
	line := r.Line
	name, _ := firstWord(line)
	if asked != nil && find(d.commands, name) == nil && name != "" {
		line = d.completed(asked, line)
		name, _ = firstWord(line)
	}
	if name == "" {
		return nil, nil, &calc.Fault{Code: UnknownCommand, Key: KeyNoCommand, Example: "help"}
	}
	c := find(d.commands, name)
	if c == nil {
		return nil, nil, d.unknownCommand(name)
	}
	words, err := split(line)
	if err != nil {
		return c, nil, err
	}
	words = words[1:]
	if len(c.Subs) > 0 {
		if len(words) == 0 || find(c.Subs, strings.ToLower(words[0].text)) == nil {
			return c, nil, &calc.Fault{Code: MissingArgument, Key: KeySub, Args: []any{c.Name, names(c.Subs)}, Example: c.Name + " " + c.Subs[0].Name}
		}
		c, words = find(c.Subs, strings.ToLower(words[0].text)), words[1:]
	}
	given, err := c.assign(line, words)
	return c, given, err
}

// completed makes a command line of an answer to a question.
func (d *Dispatcher) completed(asked *Question, answer string) string {
	if asked.Unsure != "" && d.unsure(answer) {
		return asked.Unsure
	}
	return asked.Line + quoteWhole(answer)
}

// unsure tells whether an answer is one of the ways to say "I don't know".
func (d *Dispatcher) unsure(answer string) bool {
	answer = strings.Trim(strings.ToLower(strings.ReplaceAll(strings.Join(strings.Fields(answer), " "), "’", "'")), ".! ")
	for _, way := range strings.Split(d.texts[KeyUnsure], "|") {
		if answer == way {
			return true
		}
	}
	return false
}

// quoteWhole keeps an answer together, so that "15 1/2 in" is one value and a
// word in it is never taken for the name of an argument.
func quoteWhole(answer string) string {
	answer = strings.Join(strings.Fields(answer), " ")
	if strings.ContainsAny(answer, doubleQuotes) || !strings.Contains(answer, " ") {
		return answer
	}
	return `"` + answer + `"`
}

func firstWord(line string) (name, rest string) {
	fields := strings.Fields(line)
	if len(fields) == 0 {
		return "", ""
	}
	name = strings.ToLower(strings.TrimRight(fields[0], "!.?,"))
	return name, strings.Join(fields[1:], " ")
}

func (d *Dispatcher) named(path []string) (*Command, error) {
	commands := d.commands
	var c *Command
	for _, name := range path {
		if c = find(commands, strings.ToLower(name)); c == nil {
			return nil, d.unknownCommand(name)
		}
		commands = c.Subs
	}
	if c == nil || c.Run == nil {
		return nil, d.unknownCommand(strings.Join(path, " "))
	}
	return c, nil
}

func (d *Dispatcher) unknownCommand(name string) error {
	f := &calc.Fault{Code: UnknownCommand, Key: KeyUnknown, Args: []any{clip(name), names(d.commands)}, Example: "help"}
	if near := Nearest(name, names(d.commands), 1); len(near) > 0 {
		f.Key, f.Args = KeyMeant, []any{clip(name), near[0]}
		f.Example = near[0]
		if c := find(d.commands, near[0]); len(c.Examples) > 0 {
			f.Example = c.Examples[0]
		}
	}
	return f
}

func names(commands []*Command) []string {
	var out []string
	for _, c := range commands {
		out = append(out, c.Name)
	}
	return out
}

func (d *Dispatcher) question(talk conversation) *Question {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.begun[talk]
}

// remember keeps the question that a reply asks. Another command in between
// leaves the question standing; the command that asked and asks no more ends it.
func (d *Dispatcher) remember(talk conversation, c *Command, ask *Question) {
	d.mu.Lock()
	defer d.mu.Unlock()
	old := d.begun[talk]
	if ask == nil {
		if old != nil && old.command() == c.Name {
			delete(d.begun, talk)
		}
		return
	}
	if old == nil {
		d.recent = append(d.recent, talk)
	}
	d.begun[talk] = ask
	for len(d.recent) > maxBegun {
		delete(d.begun, d.recent[0])
		d.recent = d.recent[1:]
	}
}

// unitsOf guesses the units of someone who has not said which are hers from the
// first that she wrote.
func (c *Command) unitsOf(given map[string]string) measure.Units {
	for _, p := range c.Params {
		if p.Kind != Length && p.Kind != Density {
			continue
		}
		if u := measure.UnitsOf(given[p.Name]); u != measure.Unset {
			return u
		}
	}
	return measure.Imperial
}

// problem renders a mistake of the asker.
func (d *Dispatcher) problem(u measure.Units, f *calc.Fault) Reply {
	message := d.texts.Say(u, f.Key, f.Args...)
	if prefix := f.Field + ": "; (f.Code == calc.BadValue || f.Code == calc.OutOfRange) && f.Field != "" && !strings.HasPrefix(message, prefix) {
		message = prefix + message
	}
	return Reply{Problem: &Problem{Code: f.Code, Message: message, Hint: f.Example}}
}

// internal logs a fault of ours and answers with nothing but its reference.
func (d *Dispatcher) internal(r Request, err error) Reply {
	var b [4]byte
	_, _ = rand.Read(b[:]) // never fails: crypto/rand ends the process instead
	ref := hex.EncodeToString(b[:])
	d.log.Error("request failed", "reference", ref, "request", r.ID, "chat", r.From.Chat, "err", err)
	return Reply{Problem: &Problem{Code: Internal, Message: d.texts.Say(measure.Unset, KeyInternal, ref)}}
}

func roleKey(r Role) calc.Key {
	return [...]calc.Key{"role.anyone", "role.student", "role.helper", "role.teacher"}[r]
}
