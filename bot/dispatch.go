package bot

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"runtime/debug"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// Sentences of the dispatcher.
const (
	KeyInternal calc.Key = "dispatch.internal" // the reference
	KeyBusy     calc.Key = "dispatch.busy"     // no arguments
	KeyRole     calc.Key = "dispatch.role"     // the command, the role's name
	KeyUnsure   calc.Key = "dispatch.unsure"   // the ways to say "I don't know", lower case, between bars
)

// People tells the core what it must know of a person to read her requests.
type People interface {
	// Asker is who asks, in the class that is meant. It may block on storage.
	Asker(ctx context.Context, r Request) (Asker, error)
}

// Dispatcher answers requests: those of one person in order, those of different
// people at the same time. It starts no goroutine of its own; Handle runs on
// its caller's. A panic in a command is one failed request.
type Dispatcher struct {
	commands  []*Command
	people    People
	ledger    Ledger // nil: a replay of a request is run again
	texts     Texts
	log       *slog.Logger
	queue     *queue
	questions *questions
}

// NewDispatcher makes a Dispatcher of the commands, in the order in which help lists them.
func NewDispatcher(commands []*Command, people People, texts Texts, log *slog.Logger) *Dispatcher {
	adopt(nil, commands)
	return &Dispatcher{commands: commands, people: people, texts: texts, log: log, queue: newQueue(), questions: newQuestions()}
}

// Keep makes every request that changes something go through l. It must be
// called before the first Handle.
func (d *Dispatcher) Keep(l Ledger) { d.ledger = l }

// Remember keeps open questions in n as well, so that they can be answered after
// a restart; now is the clock by which they end. It must be called before the
// first Handle. A question that n cannot keep is kept in memory, and the answer
// that asks it is given all the same.
func (d *Dispatcher) Remember(n Notes, now func() time.Time) {
	d.questions.notes, d.questions.now = n, now
	d.questions.failed = func(what string, err error) { d.log.Warn(what, "err", err) }
	d.questions.command = func(path string) *Command { return found(d.commands, path) }
}

// found is the command of a whole name ("class open"), nil when there is none
// that runs.
func found(commands []*Command, path string) *Command {
	words := strings.Fields(path)
	c, taken := walk(commands, words)
	if c == nil || taken < len(words) || len(c.Subs) > 0 {
		return nil
	}
	return c
}

// Commands are the declarations, in order. Do not change them.
func (d *Dispatcher) Commands() []*Command { return d.commands }

// Handle answers one request. It waits for earlier requests of the same person;
// one whose ctx has ended meanwhile is not begun.
func (d *Dispatcher) Handle(ctx context.Context, r Request) Reply {
	if !d.queue.enter(ctx, r) {
		return d.problem(measure.Unset, busy())
	}
	defer d.queue.leave(r)
	return d.answer(ctx, r)
}

func busy() *calc.Fault { return &calc.Fault{Code: Busy, Key: KeyBusy} }

// call is one request on its way, with what has been found out of it so far.
type call struct {
	request Request
	line    string        // that is meant, "" for a structured request
	words   []string      // that may name the command
	misread error         // of the texts of its arguments
	units   measure.Units // the asker's or, once her line is read, those that she wrote
	role    Role
	command *Command
	given   map[string]string
}

// answer runs a request and turns whatever goes wrong into a Reply.
func (d *Dispatcher) answer(ctx context.Context, r Request) (reply Reply) {
	c := &call{request: r}
	defer func() {
		if p := recover(); p != nil {
			reply = d.internal(c, fmt.Errorf("panic: %v", p), "stack", string(debug.Stack()))
		}
		if c.command != nil {
			reply.Command = c.command.path()
		}
	}()
	reply, err := d.run(ctx, c)
	f, mendable := errors.AsType[*calc.Fault](err)
	switch {
	case err == nil:
		return reply
	case mendable:
		return d.problem(c.units, f)
	case errors.Is(err, context.Canceled) && ctx.Err() != nil: // the chat is closing: nobody's fault
		return d.problem(c.units, busy())
	}
	return d.internal(c, err)
}

// run answers a request. What changes anything goes through the ledger, and all of it
// is one transaction: that she may, and what she has, is as it was looked up.
func (d *Dispatcher) run(ctx context.Context, c *call) (Reply, error) {
	if err := d.check(c.request); err != nil {
		return Reply{}, err
	}
	d.understand(ctx, c)
	reply, err := d.once(ctx, c)
	if err != nil {
		return Reply{}, err
	}
	d.asked(ctx, c.request, reply.Audience, d.answering(c.command, reply.Ask), reply.Ask)
	return reply, nil
}

// once has the command of c performed, once where it changes anything.
func (d *Dispatcher) once(ctx context.Context, c *call) (Reply, error) {
	do := func(ctx context.Context) (Reply, error) { return d.perform(ctx, c) }
	r := c.request
	switch {
	case d.ledger == nil || c.command == nil || !c.command.Changes:
		return do(ctx)
	case !c.command.Soon:
		return d.ledger.Once(ctx, r, do)
	case c.command.stamped(c.given):
		r.ID = "" // it finds another state the second time, and need not be remembered
	}
	return d.ledger.OnceSoon(ctx, r, do)
}

// perform reads what is asked and runs it. It may be called again for the same call,
// when the database wants its transaction anew.
func (d *Dispatcher) perform(ctx context.Context, c *call) (Reply, error) {
	r := c.request
	asker, err := d.people.Asker(ctx, r)
	if err != nil {
		return Reply{}, err
	}
	if !d.queue.attend(asker.Class) {
		return Reply{}, busy()
	}
	defer d.queue.excuse(asker.Class)
	own := asker.Units
	c.units, c.role = own, max(r.Role, asker.Role)
	if err := d.choose(c); err != nil {
		return Reply{}, err
	}
	if c.misread != nil {
		return Reply{}, c.misread
	}
	if own == measure.Unset {
		c.units = c.command.unitsOf(c.given)
	}
	args, err := c.command.read(c.given, own)
	if err != nil {
		return Reply{}, err
	}
	if err := d.enclose(ctx, c, args); err != nil {
		return Reply{}, err
	}
	call := &Call{Request: r, Role: c.role, Args: args, Units: c.units, Texts: d.texts}
	if !c.command.Changes || c.command.Soon {
		call.Known = asker.Known
	}
	reply, err := c.command.Run(ctx, call)
	if err != nil {
		return Reply{}, err
	}
	reply.Moments = append(reply.Moments, call.Told(reply)...)
	if (asker.Direct || c.command.Private) && reply.Audience == Personal && !r.Alone() && !r.Shared {
		reply.Audience, reply.Instead = Direct, false // others would read it in the room, where the button was
	}
	return reply, nil
}

// answering is the command whose line the answer to a question completes, which
// need not be the one that asks.
func (d *Dispatcher) answering(asks *Command, q *Question) *Command {
	if q == nil {
		return asks
	}
	if c, _ := walk(d.commands, lead(q.Line)); c != nil {
		return c
	}
	return asks
}

// check refuses what is not plain text, with an example of the command that it
// seems to begin with.
func (d *Dispatcher) check(r Request) error {
	err := check(r)
	if f, ok := errors.AsType[*calc.Fault](err); ok {
		if c, _ := walk(d.commands, lead(r.Line)); c != nil {
			f.Example = c.sample()
		}
	}
	return err
}

// understand finds the line that is meant, its command, if there is one, and the texts
// of its arguments. A line that begins with no command answers the question that the
// person was asked, if any.
func (d *Dispatcher) understand(ctx context.Context, c *call) {
	if c.request.Command != "" {
		c.words = strings.Fields(c.request.Command)
	} else {
		c.line = plainLine(c.request.Line)
		if first, _ := walk(d.commands, lead(c.line)); first == nil && c.line != "" {
			if _, p := d.pending(ctx, c.request); p != nil {
				c.line = completed(p.ask, p.by, c.line, d.texts[KeyUnsure])
			}
		}
		c.words = lead(c.line)
	}
	if c.command, _ = walk(d.commands, c.words); c.command != nil {
		c.given, c.misread = c.texts()
	}
}

// texts reads those of the arguments.
func (c *call) texts() (map[string]string, error) {
	if c.request.Command != "" {
		return c.command.structured(c.request.Values)
	}
	words, err := split(c.line)
	if err != nil {
		return nil, c.command.openQuote(err)
	}
	return c.command.assign(c.line, words[c.command.depth():])
}

// choose checks that there is such a command, and the asker's role.
func (d *Dispatcher) choose(c *call) error {
	switch {
	case len(c.words) == 0 || c.words[0] == "":
		return &calc.Fault{Code: UnknownCommand, Key: KeyNoCommand, Example: "help"}
	case c.command == nil:
		return unknownCommand(usable(d.commands, c.role), c.words[0])
	case c.role < c.command.least():
		return &calc.Fault{Code: NotAllowed, Key: KeyRole, Args: []any{c.command.path(), roleKey(c.command.least())}}
	}
	taken := c.command.depth()
	if len(c.command.Subs) > 0 {
		next := ""
		if taken < len(c.words) {
			next = c.words[taken]
		}
		return c.command.incomplete(usable(c.command.Subs, c.role), next)
	}
	if c.request.Command != "" && taken < len(c.words) {
		return unknownCommand(usable(d.commands, c.role), c.request.Command)
	}
	return nil
}

// plainLine is a line without the blanks around it, and without the marks that
// a chat puts around an example which someone copies.
func plainLine(line string) string {
	line = strings.TrimSpace(line)
	if s, ok := strings.CutPrefix(line, "`"); ok {
		line = strings.TrimSpace(strings.TrimSuffix(s, "`"))
	}
	return line
}

// unitsOf guesses the units of someone who has not said which are hers from
// those that she wrote.
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

// problem renders a mistake of the asker. What is wrong with a value is told of
// its argument by name.
func (d *Dispatcher) problem(u measure.Units, f *calc.Fault) Reply {
	message := d.texts.Say(u, f.Key, f.Args...)
	if (f.Code == calc.BadValue || f.Code == calc.OutOfRange) && !standsAlone(message, f.Field) {
		message = f.Field + ": " + message
	}
	return Reply{Problem: &Problem{Code: f.Code, Message: message, Hint: f.Example, Argument: f.Field}}
}

// standsAlone tells a message that needs no argument's name before it: it begins
// with one, or like a sentence.
func standsAlone(message, field string) bool {
	first, _ := utf8.DecodeRuneInString(message)
	for _, named := range []string{field + ":", field + " ", "“" + field + "”"} {
		if strings.HasPrefix(message, named) {
			return true
		}
	}
	return field == "" || unicode.IsUpper(first)
}

// internal logs a fault of ours and answers with nothing but its reference.
func (d *Dispatcher) internal(c *call, err error, more ...any) Reply {
	var b [4]byte
	_, _ = rand.Read(b[:]) // never fails: crypto/rand ends the process instead
	ref := hex.EncodeToString(b[:])
	attrs := []any{"reference", ref, "request", c.request.ID, "chat", c.request.From.Chat, "err", c.redact(err.Error())}
	if c.command != nil {
		attrs = append(attrs, "command", c.command.path())
	}
	d.log.Error("request failed", append(attrs, more...)...)
	return Reply{Problem: &Problem{Code: Internal, Message: d.texts.Say(measure.Unset, KeyInternal, ref)}}
}

// redact takes what the person wrote out of a text for the log: the line, and
// the values in it that are long enough to tell anything.
func (c *call) redact(text string) string {
	secrets := []string{c.request.Name, c.request.Line, plainLine(c.request.Line)}
	for _, values := range []map[string]string{c.request.Values, c.given} {
		secrets = slices.AppendSeq(secrets, maps.Values(values))
	}
	slices.SortFunc(secrets, func(a, b string) int { return len(b) - len(a) })
	for _, s := range secrets {
		if len(s) >= 4 {
			text = strings.ReplaceAll(text, s, "[…]")
		}
	}
	return text
}

func roleKey(r Role) calc.Key {
	keys := [...]calc.Key{"role.anyone", "role.student", "role.helper", "role.teacher"}
	return keys[min(max(r, Anyone), Teacher)]
}
