package bot

import (
	"time"

	"weftroom/calc"
)

// Reply is an answer or a post, before any chat has rendered it.
//
// Nothing in it is said by colour or picture alone. Data is the typed result
// for scripts and need not repeat the words.
type Reply struct {
	Command  string // the name of the command that answers, "" when none was found
	Title    string
	Body     []Block
	Files    []File
	Buttons  []Button
	Audience Audience
	Data     any
	Problem  *Problem // nil when the request was answered
	Ask      *Question
	Moments  []Moment // instants that the words name
	Events   []Event  // for a chat with a calendar of its own
	Instead  bool     // the answer to a button takes the place of the asker's own message that held it, where a message can be changed
}

// Moment is an instant that stands in a Reply's words as Text, but for line
// breaks, so that a chat can show it by each reader's own clock.
type Moment struct {
	Text string
	At   time.Time
}

// Event is a session for a chat that lists events by itself. The same Key is the
// same event, changed or cancelled. It holds no meeting link.
type Event struct {
	Key       string
	Title     string
	About     string
	Start     time.Time
	End       time.Time
	Cancelled bool
}

// None tells that there is nothing to show: the request was left alone.
func (r Reply) None() bool {
	return r.Title == "" && len(r.Body) == 0 && len(r.Files) == 0 && len(r.Buttons) == 0 && r.Problem == nil
}

// Question is what a reply asks back. The person's next words that are no
// command of their own complete Line; her "I don't know" runs Unsure instead.
type Question struct {
	Line   string   // a command line begun: "loom width:"
	Unsure string   // a whole command line, or ""
	Fields []string // arguments of Line's command that a form may ask for together, the one of Line first
}

// Audience says who is meant to read a Reply.
type Audience int

// The audiences. Personal answers go to the asker alone where the chat can show
// them so, and else as a reply to her; Direct ones by direct message, with a word
// in the room that one is on its way.
const (
	Personal Audience = iota
	Room
	Direct
)

// Block is one part of a Reply's body: Paragraph, Heading, List, Table, Steps or Picture.
type Block interface{ block() }

// Paragraph is running text.
type Paragraph string

// Heading opens a section.
type Heading string

// List is a bulleted list.
type List []string

// Table has a head and rows of as many cells. Number columns are right-aligned.
type Table struct {
	Head    []string
	Rows    [][]string
	Numbers []bool // which columns hold numbers; nil for none
}

// Steps are numbered instructions, with the short form of each beside it.
type Steps []Step

// Step is one instruction. Folded steps carry a label such as "4–29" or none.
type Step struct {
	Label string
	Text  string
	Short string
}

// Picture is drawn only when the chat is known to show it. What its functions
// give is PNG, shared and not to be changed; they may take long, and are safe to
// call from any goroutine.
type Picture struct {
	Name          string
	Alt           string
	Width, Height int
	Draw          func() ([]byte, error)
	Small         func() ([]byte, error) // the same at most 400 pixels wide, for a chat that shows a small one first; nil for none
}

func (Paragraph) block() {}
func (Heading) block()   {}
func (List) block()      {}
func (Table) block()     {}
func (Steps) block()     {}
func (Picture) block()   {}

// File is an attachment.
type File struct {
	Name      string
	MediaType string
	Alt       string
	Bytes     []byte
}

// Button is a label and the command line that pressing it runs, as the presser.
// A chat without buttons writes the command instead.
type Button struct {
	Label string
	Line  string
}

// Problem says why a request was not answered.
type Problem struct {
	Code    calc.Code
	Message string // one sentence without its full stop: what is wrong and what is allowed
	Hint    string // something right to write instead

	Argument string // that it is about, "" when it is about none
}

// Codes of mistakes found by the core, beside those of package calc.
const (
	UnknownCommand  calc.Code = "unknown_command"
	UnknownArgument calc.Code = "unknown_argument"
	MissingArgument           = calc.MissingArgument
	NotAllowed      calc.Code = "not_allowed" // the asker's role does not reach
	Busy            calc.Code = "busy"        // over a bound; asking again later helps
	Internal        calc.Code = "internal"    // our fault, logged under a reference
)
