// Package class knows what a class keeps: who is in it and what each has said of
// herself and of her loom, its sessions and who comes to them, the plans that are
// being woven, and designs. Package lesson asks it all of a Store, of which package
// store is the one on a database.
package class

import (
	"context"

	"weftroom/bot"
	"weftroom/calc/measure"
)

// Kind is the kind of loom.
type Kind string

// The kinds of loom that two sheds can be woven on.
const (
	RigidHeddle Kind = "rigid heddle"
	TableLoom   Kind = "table loom"
	FloorLoom   Kind = "floor loom"
)

// Kinds are all kinds, in the order in which people are asked.
var Kinds = []string{string(RigidHeddle), string(TableLoom), string(FloorLoom)}

// Rightmost is where the rightmost end of the warp sits.
type Rightmost string

// The places of the rightmost end: in a hole or a slot of a rigid heddle, or on
// one of two shafts.
const (
	Hole   Rightmost = "hole"
	Slot   Rightmost = "slot"
	Shaft1 Rightmost = "shaft1"
	Shaft2 Rightmost = "shaft2"
)

// Rightmosts are all places, in the order in which people are asked.
var Rightmosts = []string{string(Hole), string(Slot), string(Shaft1), string(Shaft2)}

// Loom is what a person has said of her loom and of the warp on it. The zero
// value of a field means that she has not said it.
type Loom struct {
	Kind      Kind           `json:"kind,omitempty"`
	Width     measure.Length `json:"width_m,omitempty"`       // of the warp in the heddle or reed
	Heddle    measure.Sett   `json:"dents_per_m,omitempty"`   // dents
	Sett      measure.Sett   `json:"ends_per_m,omitempty"`    // ends, when not one to a dent
	Ends      int            `json:"ends,omitempty"`          // as counted
	Rightmost Rightmost      `json:"rightmost,omitempty"`     //
	From      string         `json:"from,omitempty"`          // "right" or "left": the side she starts from
	Units     measure.Units  `json:"units,omitempty"`         //
	Unsure    []string       `json:"does_not_know,omitempty"` // questions she answered with "I don't know"
}

// EndsPerLength is the sett of the warp, 0 when neither sett nor heddle is known.
func (l Loom) EndsPerLength() measure.Sett {
	if l.Sett > 0 {
		return l.Sett
	}
	return l.Heddle
}

// Looms keeps looms. Implementations may block on storage and are safe for use
// from many goroutines.
type Looms interface {
	// Loom is what a has said, the zero Loom when nothing.
	Loom(ctx context.Context, a bot.Account) (Loom, error)

	// KeepLoom replaces what a has said. Keeping the same Loom again changes nothing.
	KeepLoom(ctx context.Context, a bot.Account, l Loom) error
}
