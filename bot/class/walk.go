package class

import (
	"context"
	"time"

	"weftroom/bot"
)

// Walk is where a weaver is in a plan that she goes through step by step. The
// plan is kept as the arguments of row that make it, so that it stays the plan
// that she began whatever is said of the loom or of the evening since.
type Walk struct {
	Plan    string    `json:"plan"`              // arguments of row, all that decide its moves
	Asked   string    `json:"asked"`             // those that she gave
	Session ID        `json:"session,omitempty"` // whose work it is; "" for a plan of her own
	Row     int       `json:"row"`               // from 1; one more than the rows of the plan when she is done
	Move    int       `json:"move"`              // the one to make next, from 1 within the row
	ByRow   bool      `json:"by_row"`
	Begun   time.Time `json:"begun"`
	Moved   time.Time `json:"moved"`          // when she last went on
	Came    string    `json:"came,omitempty"` // the press by which she came here, "" for what else she did

	// Laid are the rows of the whole piece, where she has changed the plan on the
	// way: then Plan says all but these. Changes counts how often.
	Laid    []Laid `json:"laid,omitempty"`
	Changes int    `json:"changes,omitempty"`

	// Rows is when she came to the end of each row, the last MostRowTimes of them.
	Rows []RowTime `json:"rows,omitempty"`
}

// Laid is so many rows, which begin again after those of Groups.
type Laid struct {
	Groups [][]int `json:"groups"` // pairs of ends of each group, in working order
	Rows   int     `json:"rows"`
}

// RowTime is when a row was begun and ended.
type RowTime struct {
	Row   int       `json:"row"`
	Begun time.Time `json:"begun"`
	Ended time.Time `json:"ended"`
}

// MostRowTimes bounds what is kept of the past of a Walk.
const MostRowTimes = 50

// Walks keeps one walk of each person.
type Walks interface {
	// Walk is the one of the person behind an account; ErrNone when there is none.
	Walk(ctx context.Context, a bot.Account) (Walk, error)

	// KeepWalk replaces it. An account that nobody is behind yet gets a person
	// without a name.
	KeepWalk(ctx context.Context, a bot.Account, w Walk) error

	// WalksOf are the walks of a class's members, by person.
	WalksOf(ctx context.Context, class ID) (map[ID]Walk, error)
}
