// Package console is the embedded chat: a room in a terminal, where one person
// writes and the answers appear below. With standard input from a pipe it reads
// one request a line and prints nothing but the answers, for scripts.
//
// What is typed goes to the Handler as a Request; the Reply comes back as plain
// text, its buttons as letters and its files in a folder. Nothing that comes
// from outside reaches the terminal before control characters are taken out.
//
// The goroutine of Run reads, asks and prints. A post never breaks into a line
// that is being typed: at an empty prompt it appears at once and the prompt
// comes again below it, otherwise when the line is finished. Since the line
// editor cannot be told to stop, it is fed through a pipe, which ends with the
// context; a second goroutine, which Run waits for, does the feeding.
package console

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"runtime/debug"
	"slices"
	"strings"
	"sync"

	"github.com/mattn/go-isatty"

	"weftroom/bot"
)

// ChatName is the console's name in Accounts and Places.
const ChatName = "console"

// Options are what a Room is made of.
type Options struct {
	In  *os.File  // where lines come from
	Out io.Writer // where answers go; each is one Write

	Commands []*bot.Command // for completion
	User     string         // the id of the person who types
	Role     bot.Role       // hers
	Session  string         // sets the ids of this room's requests apart from those of other runs
	Greeting string         // a command line that a terminal begins with, "" for none
	Stay     bool           // a pipe's end is not the room's: posts appear until ctx ends
	History  string         // the file that keeps the lines typed, "" for none
	Files    string         // the folder for files, made with the first of them
	Words    Words
	Log      *slog.Logger
}

// Words is all that the room says by itself.
type Words struct {
	Prompt  string
	More    string   // the prompt of a line that goes on
	Leave   []string // what ends the room, in lower case
	Bye     string
	Saved   string // a file was written: %s is its path
	Unsaved string // a file could not be written: %s is its name
	Failed  string // the handler gave no answer
	NoFile  string // a file that should come with a line cannot be read: %s is its name
}

// Room implements bot.Adapter and bot.DirectPoster.
type Room struct {
	o        Options
	terminal bool // somebody sits there: greet, prompt, say goodbye
	answered int  // requests so far
	offered  offer

	mu      sync.Mutex // guards Out and what follows
	state   state
	source  lines
	posts   map[string]*post // by key
	waiting []*post          // not printed yet
	posted  int
}

// state says whether a post may be printed at once.
type state int

const (
	notBegun state = iota
	open
	typing // a line may be half written
	closed
)

// lines is where lines come from.
type lines interface {
	// next shows a prompt and waits for a line, without its end. It returns
	// errCancelled when the line was given up, errNudged after nudge, io.EOF at the
	// end, and any error after stop.
	next(prompt string) (string, error)
	// stop ends next, now or when it is called. Any goroutine may call it.
	stop()
	// nudge makes next return errNudged if nothing has been typed yet. Any
	// goroutine may call it, and it does not block.
	nudge()
	// close gives the terminal back, and waits for what the source started.
	close() error
}

var (
	errCancelled = errors.New("line cancelled")
	errNudged    = errors.New("line ended for a post")
	errStopped   = errors.New("stopped")
)

// New makes a Room. Run it once.
func New(o Options) *Room {
	return &Room{o: o, posts: map[string]*post{}}
}

// Name implements bot.Adapter.
func (*Room) Name() string { return ChatName }

// Place is the room itself.
func (*Room) Place() bot.Place { return bot.Place{Chat: ChatName, Room: "room"} }

// User is the person who types.
func (r *Room) User() bot.Account { return bot.Account{Chat: ChatName, User: r.o.User} }

// Run implements bot.Adapter. It returns nil when the input ends, the person
// leaves or ctx ends. A request that is being answered is waited for: its own
// context has ended then.
func (r *Room) Run(ctx context.Context, h bot.Handler) error {
	defer r.shut()
	source, err := r.open()
	if err != nil {
		return err
	}
	stopped := make(chan struct{})
	unstop := context.AfterFunc(ctx, func() {
		defer close(stopped)
		source.stop()
	})
	err = r.talk(ctx, h)
	if !unstop() {
		<-stopped
	}
	return errors.Join(err, source.close())
}

// open decides how lines are read: edited in a terminal, else as they come.
func (r *Room) open() (lines, error) {
	out, _ := r.o.Out.(*os.File)
	r.terminal = out != nil && isatty.IsTerminal(r.o.In.Fd()) && isatty.IsTerminal(out.Fd())
	var source lines
	var err error
	if r.terminal && canEdit(r.o.In, out) {
		source, err = openEditor(r.o)
	} else {
		source, err = openPlain(r.o)
	}
	if err != nil {
		return nil, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.source = source
	return source, nil
}

func (r *Room) talk(ctx context.Context, h bot.Handler) error {
	if err := r.become(open); err != nil {
		return err
	}
	if r.terminal && r.o.Greeting != "" {
		if err := r.answer(ctx, h, r.o.Greeting); err != nil {
			return err
		}
	}
	for ctx.Err() == nil {
		line, err := r.listen()
		switch {
		case ctx.Err() != nil:
		case errors.Is(err, errCancelled), errors.Is(err, errNudged):
		case errors.Is(err, io.EOF) && r.o.Stay && !r.terminal:
			<-ctx.Done()
		case errors.Is(err, io.EOF):
			return r.say("\n" + r.o.Words.Bye + "\n")
		case err != nil:
			return err
		case slices.Contains(r.o.Words.Leave, strings.ToLower(strings.TrimSpace(line))):
			return r.say(r.o.Words.Bye + "\n")
		case strings.TrimSpace(line) != "":
			if err := r.answer(ctx, h, line); err != nil {
				return err
			}
		}
	}
	return r.say("\n") // below the line that was being typed
}

// listen waits for a line. Posts that came while it was being typed follow it.
func (r *Room) listen() (string, error) {
	if r.terminal {
		if err := r.become(typing); err != nil {
			return "", err
		}
	}
	line, err := r.next(r.o.Words.Prompt)
	if err == nil {
		line, err = r.several(line)
	}
	if shown := r.become(open); shown != nil {
		return "", shown
	}
	return line, err
}

// next waits for a line behind a prompt, which a pipe is not shown.
func (r *Room) next(prompt string) (string, error) {
	if !r.terminal {
		prompt = ""
	}
	return r.source.next(prompt)
}

// become shows the posts that have waited, and changes the state.
func (r *Room) become(s state) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.state = s
	return r.showWaiting()
}

// say prints what is meant for someone who sits at a terminal.
func (r *Room) say(text string) error {
	if !r.terminal {
		return nil
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.print(text)
}

// answer has one line answered and shows the reply.
func (r *Room) answer(ctx context.Context, h bot.Handler, line string) error {
	line, files, lost := r.typed(line)
	r.answered++
	q := bot.Request{
		ID: r.id(r.answered), From: r.User(), In: r.Place(), Direct: true, Role: r.o.Role, Power: true, Name: r.o.User,
		Line: line, Attached: files, Enclosing: bot.KeyFileNamed, Several: bot.KeyLinesTyped,
	}
	text, ok := r.safely(q.ID, func() string {
		if lost != "" {
			return fmt.Sprintf(r.o.Words.NoFile, lost) + "\n"
		}
		reply := h.Handle(ctx, q)
		if reply.None() {
			return ""
		}
		return r.reply(reply)
	})
	switch {
	case !ok:
		text = r.o.Words.Failed + "\n"
	case text == "":
		return nil
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.print(text + "\n")
}

// typed is what a line means: the button of a letter, or words and the files
// that come with them. Only what is typed names files of this machine.
func (r *Room) typed(line string) (words string, files []bot.Attached, lost string) {
	if pressed, ok := r.offered.pressed(line); ok {
		return pressed, nil, ""
	}
	return r.enclosed(line)
}

func (r *Room) id(n int) string {
	if r.o.Session == "" {
		return fmt.Sprintf("%s-%d", ChatName, n)
	}
	return fmt.Sprintf("%s-%s-%d", ChatName, r.o.Session, n)
}

// safely makes a text, and survives a panic, which there should be none of.
func (r *Room) safely(what string, make func() string) (text string, ok bool) {
	defer func() {
		if p := recover(); p != nil {
			r.o.Log.Error("panic", "in", what, "panic", p, "stack", string(debug.Stack()))
			ok = false
		}
	}()
	return make(), true
}

// print writes a text in one piece; everything that the room writes goes through
// here. Call it with mu held.
func (r *Room) print(text string) error {
	_, err := io.WriteString(r.o.Out, harmless(text))
	return err
}
