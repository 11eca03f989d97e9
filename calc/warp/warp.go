// Package warp plans what goes on the loom: how many ends, how long a warp, how
// much yarn, what it weighs and costs.
//
// Finished sizes come in from whoever asks, yarn as tex (the package knows
// nothing of yarn names), and a Result goes out that keeps every step on the
// way, because a student trusts a number that she can follow:
//
//	finished ──▶ on the loom ──▶ reed width ──▶ ends ─┐
//	finished ──▶ on the loom ──▶ warp length ─────────┴─▶ yarn ──▶ mass ──▶ skeins, cost
//
// Take-up is either given, or found by Peirce's geometry of plain weave when
// the yarn and both setts are known. All functions are pure.
package warp

import "weftroom/calc/measure"

// Loom is the kind of loom, as far as a warp plan cares: how much warp it
// wastes, and whether it has a heddle or a reed.
type Loom int

// The kinds of loom. LoomUnknown means that nobody has said.
const (
	LoomUnknown Loom = iota
	RigidHeddle
	TableLoom
	FloorLoom
)

// tiny is the relative slack that keeps a value which is whole in the units a
// person writes whole after it has been through metres.
const tiny = 1e-12

// inch4 is the quarter inch within which a measured width counts as right.
const inch4 = measure.Inch / 4
