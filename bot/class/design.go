package class

import (
	"context"
	"strings"
	"time"

	"weftroom/bot"
)

// Design is a design made of holes that someone asked for, kept as she asked:
// it is planned anew for each warp on which it is woven.
type Design struct {
	ID      ID
	Name    string // as she writes it; "" is the last that she made and has not named
	Owner   ID     // "" once she is forgotten, or has another of that name: then it is the class's
	Class   ID     // that she shares it with; "" while it is her own
	Asked   string // arguments of the command motif that make it, but for the picture
	Picture []byte // a small grey PNG, where it is made from a picture
	Made    time.Time
}

// MostDesigns bounds how many designs of one person are kept under names (our own
// bound, far beyond what anyone weaves in a course).
const MostDesigns = 60

// MostShared bounds how many designs are shared with one class, so that a list of
// them can be read (our own bound).
const MostShared = 100

// FoldedName is a design's name as names are compared: whatever its capitals and
// blanks.
func FoldedName(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// Designs keeps designs.
type Designs interface {
	// KeepDesign keeps d under its name for the person behind an account, in place
	// of hers of that name if there is one, which stays shared as it was. An
	// account that nobody is behind yet gets a person without a name. To keep the
	// same again changes nothing but when the one without a name was made, which is
	// the last one then. One without a name that is replaced is another from then
	// on, with another ID.
	KeepDesign(ctx context.Context, a bot.Account, d Design) (Design, error)

	// NameDesign gives a design of somebody's another name, in place of hers of
	// that name if there is one: where that was shared, this is from then on.
	NameDesign(ctx context.Context, id ID, name string) (Design, error)

	// Design is the one that an account calls by a name, or by its ID: hers, or
	// else the one that is shared with a class. The zero account and the zero ID
	// have none.
	Design(ctx context.Context, a bot.Account, in ID, name string) (Design, error)

	// Designs are those of an account and those shared with a class, by name,
	// without their pictures.
	Designs(ctx context.Context, a bot.Account, in ID) ([]Design, error)

	// ShareDesign shares a design with a class, or with none, which forgets one that
	// is the class's. Another of that name which the class has already is ErrTaken.
	ShareDesign(ctx context.Context, id, in ID) error

	// DropDesign forgets a design.
	DropDesign(ctx context.Context, id ID) error
}
