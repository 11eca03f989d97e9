package warp

import (
	"slices"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// LengthRange is a usual range of lengths.
type LengthRange struct{ Low, High measure.Length }

// RatioRange is a usual range of shares.
type RatioRange struct{ Low, High measure.Ratio }

// LoomWaste is the warp that a kind of loom cannot weave: common practice,
// without a published source.
var LoomWaste = []struct {
	Loom   Loom
	Usual  LengthRange
	Source calc.Key
}{
	{RigidHeddle, LengthRange{12 * measure.Inch, 24 * measure.Inch}, KeySourceCommon},
	{TableLoom, LengthRange{18 * measure.Inch, 27 * measure.Inch}, KeySourceCommon},
	{FloorLoom, LengthRange{27 * measure.Inch, 36 * measure.Inch}, KeySourceCommon},
}

// Shrinkage is what cloth loses in the first wash, each way: common practice,
// without a published source.
var Shrinkage = []struct {
	Fibres []measure.Fibre
	Usual  RatioRange
	Remark calc.Key // empty, or something to know beside the numbers
	Source calc.Key
}{
	{[]measure.Fibre{measure.Cotton}, RatioRange{0.08, 0.12}, "", KeySourceCommon},
	{[]measure.Fibre{measure.Linen}, RatioRange{0.05, 0.10}, "", KeySourceCommon},
	{[]measure.Fibre{measure.Wool, measure.Worsted, measure.Woollen}, RatioRange{0.08, 0.15}, KeyRemarkFulled, KeySourceCommon},
	{[]measure.Fibre{measure.Silk, measure.SpunSilk}, RatioRange{0.02, 0.05}, "", KeySourceCommon},
}

// DrawIn is what the cloth is narrower than the reed: common practice, without
// a published source.
var DrawIn = struct {
	Usual  RatioRange
	Source calc.Key
}{RatioRange{0.05, 0.10}, KeySourceCommon}

// UsualWaste is the row of LoomWaste for a loom; not ok for an unknown one.
func UsualWaste(l Loom) (usual LengthRange, ok bool) {
	for _, row := range LoomWaste {
		if row.Loom == l {
			return row.Usual, true
		}
	}
	return LengthRange{}, false
}

// UsualShrinkage is the row of Shrinkage for a fibre; not ok for one that no
// row tells of.
func UsualShrinkage(f measure.Fibre) (usual RatioRange, ok bool) {
	for _, row := range Shrinkage {
		if slices.Contains(row.Fibres, f) {
			return row.Usual, true
		}
	}
	return RatioRange{}, false
}
