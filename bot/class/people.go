package class

import (
	"errors"
	"time"

	"weftroom/bot"
	"weftroom/calc/measure"
)

// ID names a person, a class, a session or a question: eight letters and digits
// chosen at random, never used twice.
type ID string

// ErrNone says that what was asked for is not kept.
var ErrNone = errors.New("class: none such")

// ErrTaken says that another open class meets in the place.
var ErrTaken = errors.New("class: the place is taken")

// Person is one human being, whatever chats she is in. All texts are as she
// gave them.
type Person struct {
	ID      ID
	Name    string // what she likes to be called; may be empty
	Zone    string // IANA name; "" until she says
	Units   measure.Units
	Hand    string // "right" or "left"; "" until she says
	Quiet   Quiet
	Answers string // where personal answers go: "room" or "direct"; "" until she says
	Current ID     // the class meant in a direct message, when she is in several
	Since   time.Time
	Hidden  bool // her place in a plan is not shown to her teachers
}

// Quiet are the hours in which nobody writes to her, in minutes after midnight
// in her own zone; From may be later than To, and the two are equal for none.
type Quiet struct{ From, To int }

// None tells that there are no quiet hours.
func (q Quiet) None() bool { return q.From == q.To }

// Class is a course that meets.
type Class struct {
	ID        ID
	Name      string
	Zone      string // IANA name: the zone of its sessions and of posts to the room
	Units     measure.Units
	Credit    string // the line for whoever funds the course
	Technique string // what a session is about unless it says otherwise
	Yarn      string // the course yarn, as a person wrote it
	Reminders string // as timetable reads it: "1w 1d 1h start after"
	Answers   string // where personal answers go unless the person says: "room" or "direct"
	Minors    bool   // members under age: first names only, no overview of anyone's pace
	Direct    bool   // direct messages to members are allowed; always true without Minors
	Opened    time.Time
	Closed    time.Time // zero while it is open
}

// WritesDirect tells whether members may be written to alone.
func (c Class) WritesDirect() bool { return c.Direct || !c.Minors }

// Member is a person's part in a class.
type Member struct {
	Person ID
	Class  ID
	Role   bot.Role // Student, Helper or Teacher
	Joined time.Time
	Ready  time.Time // when she said that her loom is dressed; zero until then
}

// Work is what an evening is about: the teacher sets it once, and each student
// gets it for her own loom.
type Work struct {
	Row  string // arguments of the command row, such as "raised:3 passes:3 rows:4"
	Yarn string // when it is not the course yarn
}

// None tells that no work is set.
func (w Work) None() bool { return w == Work{} }

// Session is one meeting of a class.
type Session struct {
	ID        ID
	Class     ID
	Number    int // from 1 within the class, in the order of adding; what people call it
	Topic     string
	Start     time.Time // the instant, in UTC
	Wall      string    // the wall time that the teacher gave: "2026-12-01 19:00"
	Zone      string    // and its zone
	Minutes   int       // how long it lasts
	Link      string    // where it meets; for joined members only, never in a public post or a log
	Work      Work
	Series    ID  // shared by the sessions of one series, "" for a single one
	Sequence  int // rises with every change; calendars need it
	Cancelled bool
	Changed   time.Time
}

// End is when the session is over.
func (s Session) End() time.Time { return s.Start.Add(time.Duration(s.Minutes) * time.Minute) }

// Attendance is what one person said, and did, about one session.
type Attendance struct {
	Session ID
	Person  ID
	Answer  string // "coming" or "away"; "" when she has not said
	Came    string // "yes" or "no" as the teacher noted; "" when not noted
	At      time.Time
}

// Question waits in the teacher's list.
type Question struct {
	ID     ID
	Class  ID
	Person ID
	Number int // from 1 within the class
	Text   string
	Asked  time.Time
	Done   time.Time // zero while it waits
}

// LinkName is how many letters of a Link's code find the offer; only who knows
// the others has been told the code.
const LinkName = 4

// Link is an offer to make two accounts one person.
type Link struct {
	Code    string
	From    bot.Account // who made the code
	To      bot.Account // who gave it; zero until then
	Expires time.Time
	Tries   int  // wrong codes given so far that begin like this one
	FromSaw bool // From has been shown whose account To is; To has seen From when she gave the code
	FromYes bool // both sides have seen both names and said yes
	ToYes   bool
}

// UndoLasts is how long a link can be undone.
const UndoLasts = 30 * 24 * time.Hour

// Settled is a link that was made, kept so that it can be undone.
type Settled struct {
	Person  ID // whose both accounts are now
	Account bot.Account
	Was     ID // the person whose account it was
	At      time.Time
	Filled  string // the settings that Person had not made and has from Was, by name, between blanks
}

// Limit is the most that one account may do in a class, whatever its person's
// role: what another of her accounts may do does not follow a link until a
// teacher or the operator has said yes.
type Limit struct {
	Account bot.Account
	Class   ID
	Role    bot.Role
	At      time.Time // of the link
}

// Traces are all that is kept of a person beside what the other methods of a
// Store give.
type Traces struct {
	Before     []Person     // whose last account came to her
	Had        []string     // what they had then, as JSON
	Members    []Member     // in closed classes too
	Attendance []Attendance // what she said, and what was noted
	Schedules  []Schedule   // that she made
	Designs    []Design     // hers
	Offers     []Link       // from or to her accounts
	Limits     []Limit      // of her accounts
	Guesses    []time.Time  // when one of them gave a wrong code
	Requests   []RequestTrace
	Posts      []PostTrace
	Notes      []NoteTrace
}

// NoteTrace is what is noted of one of her accounts for the chat to work.
type NoteTrace struct {
	Chat  string
	Name  string
	Value string
	Until time.Time // zero for no end
}

// RequestTrace is a request that changed something, with its answer.
type RequestTrace struct {
	Chat  string
	ID    string
	At    time.Time
	Reply string // JSON
}

// PostTrace is a message to her alone.
type PostTrace struct {
	To      bot.Place
	Kind    string
	Class   ID
	Session ID
	Due     time.Time
	State   string
	Sent    time.Time // zero until it is
}

// Schedule is a post that the teacher wants again and again.
type Schedule struct {
	ID      ID
	Class   ID
	Number  int
	Spec    string // as timetable reads it, in Zone
	Zone    string
	Text    string
	To      bot.Place
	By      ID
	Made    time.Time
	Planned time.Time // all its posts up to here are in the outbox
	Ended   time.Time
}
