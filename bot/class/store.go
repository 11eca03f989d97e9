package class

import (
	"context"
	"time"

	"weftroom/bot"
)

// Store keeps everything that a class knows. All methods may block on storage,
// are safe for use from many goroutines, and return ErrNone (wrapped or not)
// for what is not kept. Times come back in UTC, to the millisecond. To put what
// is not kept any more is ErrNone as well, so that nobody comes back by an old
// copy; to remove what is not there is no error.
//
// A method called with the context that Tx hands on takes part in its
// transaction; otherwise it is one of its own.
type Store interface {
	Looms
	Walks
	Designs
	People
	Classes
	Sessions
	Questions
	Links
	Schedules

	// Tx runs do in one transaction: all of it is kept, or nothing when do
	// returns an error or panics. A Tx within a Tx is part of the outer one. do
	// may be run again when the database asks for it, so it must have no other
	// effects.
	Tx(ctx context.Context, do func(ctx context.Context) error) error
}

// People keeps persons and their accounts.
type People interface {
	// PersonOf is the person behind an account, made with name if there is none yet.
	PersonOf(ctx context.Context, a bot.Account, name string) (Person, error)
	// FindPerson is the person behind an account; ErrNone when nobody is.
	FindPerson(ctx context.Context, a bot.Account) (Person, error)
	// Weaver is FindPerson with her loom, which may be known of nobody as well.
	Weaver(ctx context.Context, a bot.Account) (Person, Loom, error)
	Person(ctx context.Context, id ID) (Person, error)
	// PutPerson replaces what is kept of p.ID.
	PutPerson(ctx context.Context, p Person) error
	// Accounts are the person's accounts, oldest first.
	Accounts(ctx context.Context, id ID) ([]bot.Account, error)
	// MoveAccount gives an account to another person, with everything that
	// belonged to its old one (memberships, loom when the new one has none,
	// questions, attendance, designs) when that person has no account left. Where both
	// were members the higher role stays: whether it may is for the caller to
	// decide beforehand. Where both have a design of one name the one that moves gets
	// another or, shared, keeps it and is the class's: sessions go by it. The old
	// person is still kept, without an account; to give one back to her gives her
	// back what she had.
	MoveAccount(ctx context.Context, a bot.Account, to ID) error
	// Traces are all that is kept of the person behind an account, or of the
	// account when nobody is, beside what other methods give.
	Traces(ctx context.Context, a bot.Account) (Traces, error)
	// DeletePerson forgets a person: accounts, loom, memberships, questions,
	// links, queued posts to her, her own designs, and her answers, of which only
	// the number per session stays, without a name. Designs that she shares with a
	// class stay there without her name. Persons whose last account came to her go
	// with her.
	DeletePerson(ctx context.Context, id ID) error
}

// Classes keeps classes, the places where they meet and who is in them.
type Classes interface {
	// OpenClass gives it an ID and, when it has none, the time of opening. An
	// open class that meets in the place already is ErrTaken.
	OpenClass(ctx context.Context, c Class, in bot.Place, teacher ID) (Class, error)
	Class(ctx context.Context, id ID) (Class, error)
	ClassIn(ctx context.Context, p bot.Place) (Class, error) // the open class that meets in a place
	PutClass(ctx context.Context, c Class) error
	Places(ctx context.Context, id ID) ([]bot.Place, error)
	// AddPlace is ErrTaken when another open class meets there.
	AddPlace(ctx context.Context, id ID, p bot.Place) error
	RemovePlace(ctx context.Context, p bot.Place) error

	Member(ctx context.Context, class, person ID) (Member, error)
	// Members are those of a class who have not left, teachers first, then by joining.
	Members(ctx context.Context, class ID) ([]Member, error)
	// MemberOf are the open classes that a person is in.
	MemberOf(ctx context.Context, person ID) ([]Member, error)
	PutMember(ctx context.Context, m Member) error
	RemoveMember(ctx context.Context, class, person ID) error
	// LoomsOf are the looms of a class's members, by person.
	LoomsOf(ctx context.Context, class ID) (map[ID]Loom, error)
	// PersonsOf are the members themselves, by ID.
	PersonsOf(ctx context.Context, class ID) (map[ID]Person, error)
}

// Sessions keeps meetings and who comes.
type Sessions interface {
	// AddSession gives it an ID and the class's next number.
	AddSession(ctx context.Context, s Session) (Session, error)
	Session(ctx context.Context, id ID) (Session, error)
	SessionNumber(ctx context.Context, class ID, number int) (Session, error)
	// SessionsOf are a class's sessions that end after from, by start, cancelled
	// ones included.
	SessionsOf(ctx context.Context, class ID, from time.Time) ([]Session, error)
	// SessionsBetween are the sessions of all open classes that start in [from, to).
	SessionsBetween(ctx context.Context, from, to time.Time) ([]Session, error)
	PutSession(ctx context.Context, s Session) error

	PutAttendance(ctx context.Context, a Attendance) error
	AttendanceOf(ctx context.Context, session ID) ([]Attendance, error)
	// AttendanceBy is ErrNone where nothing was said or noted.
	AttendanceBy(ctx context.Context, session, person ID) (Attendance, error)
	// Nameless is how many answers of a session remain of people who were
	// forgotten: coming, away, came.
	Nameless(ctx context.Context, session ID) (coming, away, came int, err error)
}

// Questions keeps what students want to ask.
type Questions interface {
	AddQuestion(ctx context.Context, q Question) (Question, error) // gives it an ID and the class's next number
	QuestionsOf(ctx context.Context, class ID, all bool) ([]Question, error)
	QuestionNumber(ctx context.Context, class ID, number int) (Question, error)
	PutQuestion(ctx context.Context, q Question) error
	QuestionsBy(ctx context.Context, person ID) ([]Question, error)
}

// Links keeps offers to link accounts, and the links that were made.
type Links interface {
	PutLink(ctx context.Context, l Link) error
	Link(ctx context.Context, code string) (Link, error)
	LinkNamed(ctx context.Context, name string) (Link, error)     // whose code begins so; see LinkName
	LinkFrom(ctx context.Context, from bot.Account) (Link, error) // the one that expires last
	LinkTo(ctx context.Context, to bot.Account) (Link, error)     // the one that expires last
	DeleteLink(ctx context.Context, code string) error
	// AddGuess notes that an account, whoever is behind it, gave a wrong code.
	AddGuess(ctx context.Context, a bot.Account, at time.Time) error
	// Guesses is how many wrong codes an account has given after an instant.
	Guesses(ctx context.Context, a bot.Account, after time.Time) (int, error)

	PutSettled(ctx context.Context, s Settled) error
	SettledOf(ctx context.Context, person ID) ([]Settled, error)
	DeleteSettled(ctx context.Context, a bot.Account) error

	// PutLimit is ErrNone for an account that nobody is behind.
	PutLimit(ctx context.Context, l Limit) error
	LimitsOf(ctx context.Context, a bot.Account) ([]Limit, error)
	DeleteLimit(ctx context.Context, a bot.Account, class ID) error
}

// Schedules keeps the teacher's repeated posts.
type Schedules interface {
	AddSchedule(ctx context.Context, s Schedule) (Schedule, error) // gives it an ID and the class's next number
	SchedulesOf(ctx context.Context, class ID) ([]Schedule, error) // not ended
	AllSchedules(ctx context.Context) ([]Schedule, error)          // of open classes, not ended
	PutSchedule(ctx context.Context, s Schedule) error
}
