package class

import (
	"cmp"
	"context"
	"time"

	"weftroom/bot"
)

// Bare is a Store that keeps looms and nothing else: no person, no class. It
// serves questions that need neither, such as a script's. What would keep
// something returns ErrNone.
type Bare struct{ Looms }

// Tx implements Store; there is nothing to undo but looms.
func (Bare) Tx(ctx context.Context, do func(ctx context.Context) error) error { return do(ctx) }

// The rest implements Store with nothing in it.

func (Bare) Walk(_ context.Context, _ bot.Account) (Walk, error) { return Walk{}, ErrNone }

func (Bare) KeepWalk(_ context.Context, _ bot.Account, _ Walk) error { return ErrNone }

func (Bare) WalksOf(_ context.Context, _ ID) (map[ID]Walk, error) { return nil, nil }

func (Bare) KeepDesign(_ context.Context, _ bot.Account, _ Design) (Design, error) {
	return Design{}, ErrNone
}

func (Bare) NameDesign(_ context.Context, _ ID, _ string) (Design, error) { return Design{}, ErrNone }

func (Bare) Design(_ context.Context, _ bot.Account, _ ID, _ string) (Design, error) {
	return Design{}, ErrNone
}

func (Bare) Designs(_ context.Context, _ bot.Account, _ ID) ([]Design, error) { return nil, nil }

func (Bare) ShareDesign(_ context.Context, _, _ ID) error { return ErrNone }

func (Bare) DropDesign(_ context.Context, _ ID) error { return nil }

func (Bare) PersonOf(_ context.Context, _ bot.Account, _ string) (Person, error) {
	return Person{}, ErrNone
}

func (Bare) FindPerson(_ context.Context, _ bot.Account) (Person, error) { return Person{}, ErrNone }

// Weaver implements People: of nobody the loom is known all the same.
func (b Bare) Weaver(ctx context.Context, a bot.Account) (Person, Loom, error) {
	l, err := b.Loom(ctx, a)
	return Person{}, l, cmp.Or(err, ErrNone)
}

func (Bare) Person(_ context.Context, _ ID) (Person, error) { return Person{}, ErrNone }

func (Bare) PutPerson(_ context.Context, _ Person) error { return ErrNone }

func (Bare) Accounts(_ context.Context, _ ID) ([]bot.Account, error) { return nil, nil }

func (Bare) MoveAccount(_ context.Context, _ bot.Account, _ ID) error { return ErrNone }

func (Bare) Traces(_ context.Context, _ bot.Account) (Traces, error) { return Traces{}, nil }

func (Bare) DeletePerson(_ context.Context, _ ID) error { return ErrNone }

func (Bare) OpenClass(_ context.Context, _ Class, _ bot.Place, _ ID) (Class, error) {
	return Class{}, ErrNone
}

func (Bare) Class(_ context.Context, _ ID) (Class, error) { return Class{}, ErrNone }

func (Bare) ClassIn(_ context.Context, _ bot.Place) (Class, error) { return Class{}, ErrNone }

func (Bare) PutClass(_ context.Context, _ Class) error { return ErrNone }

func (Bare) Places(_ context.Context, _ ID) ([]bot.Place, error) { return nil, nil }

func (Bare) AddPlace(_ context.Context, _ ID, _ bot.Place) error { return ErrNone }

func (Bare) RemovePlace(_ context.Context, _ bot.Place) error { return ErrNone }

func (Bare) Member(_ context.Context, _, _ ID) (Member, error) { return Member{}, ErrNone }

func (Bare) Members(_ context.Context, _ ID) ([]Member, error) { return nil, nil }

func (Bare) MemberOf(_ context.Context, _ ID) ([]Member, error) { return nil, nil }

func (Bare) PutMember(_ context.Context, _ Member) error { return ErrNone }

func (Bare) RemoveMember(_ context.Context, _, _ ID) error { return ErrNone }

func (Bare) LoomsOf(_ context.Context, _ ID) (map[ID]Loom, error) { return nil, nil }

func (Bare) PersonsOf(_ context.Context, _ ID) (map[ID]Person, error) { return nil, nil }

func (Bare) AddSession(_ context.Context, _ Session) (Session, error) { return Session{}, ErrNone }

func (Bare) Session(_ context.Context, _ ID) (Session, error) { return Session{}, ErrNone }

func (Bare) SessionNumber(_ context.Context, _ ID, _ int) (Session, error) { return Session{}, ErrNone }

func (Bare) SessionsOf(_ context.Context, _ ID, _ time.Time) ([]Session, error) { return nil, nil }

func (Bare) SessionsBetween(_ context.Context, _, _ time.Time) ([]Session, error) { return nil, nil }

func (Bare) PutSession(_ context.Context, _ Session) error { return ErrNone }

func (Bare) PutAttendance(_ context.Context, _ Attendance) error { return ErrNone }

func (Bare) AttendanceOf(_ context.Context, _ ID) ([]Attendance, error) { return nil, nil }

func (Bare) AttendanceBy(_ context.Context, _, _ ID) (Attendance, error) {
	return Attendance{}, ErrNone
}

func (Bare) Nameless(_ context.Context, _ ID) (coming, away, came int, err error) {
	return 0, 0, 0, nil
}

func (Bare) AddQuestion(_ context.Context, _ Question) (Question, error) { return Question{}, ErrNone }

func (Bare) QuestionsOf(_ context.Context, _ ID, _ bool) ([]Question, error) { return nil, nil }

func (Bare) QuestionNumber(_ context.Context, _ ID, _ int) (Question, error) {
	return Question{}, ErrNone
}

func (Bare) PutQuestion(_ context.Context, _ Question) error { return ErrNone }

func (Bare) QuestionsBy(_ context.Context, _ ID) ([]Question, error) { return nil, nil }

func (Bare) PutLink(_ context.Context, _ Link) error { return ErrNone }

func (Bare) Link(_ context.Context, _ string) (Link, error) { return Link{}, ErrNone }

func (Bare) LinkNamed(_ context.Context, _ string) (Link, error) { return Link{}, ErrNone }

func (Bare) LinkTo(_ context.Context, _ bot.Account) (Link, error) { return Link{}, ErrNone }

func (Bare) AddGuess(_ context.Context, _ bot.Account, _ time.Time) error { return ErrNone }

func (Bare) Guesses(_ context.Context, _ bot.Account, _ time.Time) (int, error) { return 0, nil }

func (Bare) PutLimit(_ context.Context, _ Limit) error { return ErrNone }

func (Bare) LimitsOf(_ context.Context, _ bot.Account) ([]Limit, error) { return nil, nil }

func (Bare) DeleteLimit(_ context.Context, _ bot.Account, _ ID) error { return nil }

func (Bare) LinkFrom(_ context.Context, _ bot.Account) (Link, error) { return Link{}, ErrNone }

func (Bare) DeleteLink(_ context.Context, _ string) error { return ErrNone }

func (Bare) PutSettled(_ context.Context, _ Settled) error { return ErrNone }

func (Bare) SettledOf(_ context.Context, _ ID) ([]Settled, error) { return nil, nil }

func (Bare) DeleteSettled(_ context.Context, _ bot.Account) error { return ErrNone }

func (Bare) AddSchedule(_ context.Context, _ Schedule) (Schedule, error) { return Schedule{}, ErrNone }

func (Bare) SchedulesOf(_ context.Context, _ ID) ([]Schedule, error) { return nil, nil }

func (Bare) AllSchedules(_ context.Context) ([]Schedule, error) { return nil, nil }

func (Bare) PutSchedule(_ context.Context, _ Schedule) error { return ErrNone }

var _ Store = Bare{}
