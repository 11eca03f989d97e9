package warp

import "weftroom/calc"

// Mistakes that a person can mend. The field of the Fault says which argument.
const (
	KeyLengthRange   calc.Key = "warp.length_range"    // measure.Length given, lowest, highest
	KeyCountRange    calc.Key = "warp.count_range"     // int given, lowest, highest
	KeyRatioRange    calc.Key = "warp.ratio_range"     // measure.Ratio given, lowest, highest
	KeyRatioBelow    calc.Key = "warp.ratio_below"     // measure.Ratio given, lowest, and what it must stay below
	KeySettRange     calc.Key = "warp.sett_range"      // measure.Sett given, lowest, highest
	KeyDiameterRange calc.Key = "warp.diameter_range"  // measure.Length of the yarn, all strands together; what it must be above; thickest
	KeyTexRange      calc.Key = "warp.tex_range"       // measure.Tex given, lowest, highest
	KeyPriceRange    calc.Key = "warp.price_range"     // int64 minor units given, lowest, highest
	KeyEndsDisagree  calc.Key = "warp.ends_disagree"   // int ends counted, int ends that fit, measure.Length width, measure.Sett sett
	KeyJammed        calc.Key = "warp.jammed"          // measure.Sett asked, measure.Sett closest that the yarn allows
	KeyNeedSett      calc.Key = "warp.need_sett"       // none: neither heddle nor sett is given
	KeyNeedEnds      calc.Key = "warp.need_ends"       // none: neither ends, nor width with a sett
	KeyNeedWidth     calc.Key = "warp.need_width"      // none: weft is asked for, and no width can be found
	KeyNeedPicks     calc.Key = "warp.need_picks"      // none: the geometry, or a woven length, needs picks per inch
	KeyNeedCloth     calc.Key = "warp.need_cloth"      // none: picks per inch without a woven length
	KeyNeedYarn      calc.Key = "warp.need_yarn"       // none: take-up by geometry without a yarn
	KeyTooFewEnds    calc.Key = "warp.too_few_ends"    // int ends that come out, int fewest, measure.Length reed width, measure.Sett sett
	KeyTooManyEnds   calc.Key = "warp.too_many_ends"   // int ends that come out, int most, measure.Length reed width, measure.Sett sett
	KeyReedTooWide   calc.Key = "warp.reed_too_wide"   // measure.Length reed width that comes out, widest
	KeyWarpTooLong   calc.Key = "warp.warp_too_long"   // measure.Length warp that comes out, longest
	KeyCostTooLarge  calc.Key = "warp.cost_too_large"  // none: more than can be counted in minor units
	KeySkeinsTooMany calc.Key = "warp.skeins_too_many" // int most
)

// Labels of the lines of a plan, each with the type of its value.
const (
	KeyLineOnLoomWidth  calc.Key = "warp.line.on_loom_width"  // measure.Length: finished width before shrinkage
	KeyLineReedWidth    calc.Key = "warp.line.reed_width"     // measure.Length: on-loom width before draw-in
	KeyLineEnds         calc.Key = "warp.line.ends"           // int: reed width times sett, nearest whole
	KeyLineEndsWidth    calc.Key = "warp.line.ends_width"     // measure.Length: those ends in the heddle or reed, exactly
	KeyLineOnLoomLength calc.Key = "warp.line.on_loom_length" // measure.Length: one item with its hems before shrinkage
	KeyLineTakeUp       calc.Key = "warp.line.take_up"        // measure.Ratio: the take-up used; How says where from
	KeyLineWarpCrimp    calc.Key = "warp.line.warp_crimp"     // measure.Ratio: only with the geometry
	KeyLineItemWarp     calc.Key = "warp.line.item_warp"      // measure.Length: warp for the cloth of one item
	KeyLineItemFringe   calc.Key = "warp.line.item_fringe"    // measure.Length: both fringes of one item
	KeyLineItems        calc.Key = "warp.line.items"          // int
	KeyLineAllItems     calc.Key = "warp.line.all_items"      // measure.Length: warp and fringes of all items
	KeyLineHeader       calc.Key = "warp.line.header"         // measure.Length: once for the whole warp
	KeyLineSample       calc.Key = "warp.line.sample"         // measure.Length: once for the whole warp
	KeyLineWaste        calc.Key = "warp.line.waste"          // measure.Length: loom waste, once for the whole warp
	KeyLineWarpLength   calc.Key = "warp.line.warp_length"    // measure.Length
	KeyLineWarpYarn     calc.Key = "warp.line.warp_yarn"      // measure.Length: ends times warp length
	KeyLinePicks        calc.Key = "warp.line.picks"          // int: picks of all items, nearest whole
	KeyLineWeftCrimp    calc.Key = "warp.line.weft_crimp"     // measure.Ratio: only with the geometry
	KeyLineStrands      calc.Key = "warp.line.strands"        // int: weft strands wound together
	KeyLineWeftYarn     calc.Key = "warp.line.weft_yarn"      // measure.Length: weft of the items, all strands, without that of header and sample; How says by which rule
	KeyLineWarpMass     calc.Key = "warp.line.warp_mass"      // measure.Mass
	KeyLineWeftMass     calc.Key = "warp.line.weft_mass"      // measure.Mass
)

// How a line's value came about, where that is not plain from its label.
const (
	KeyHowGiven    calc.Key = "warp.how.given"     // take-up as given
	KeyHowGeometry calc.Key = "warp.how.geometry"  // by Peirce's geometry, from the yarn and both setts
	KeyHowMillRule calc.Key = "warp.how.mill_rule" // weft by the mill rule: a pick takes its reed width (Taylor)
)

// Things worth saying beside a plan.
const (
	KeyNoteFringeCounted calc.Key = "warp.note.fringe_counted"  // measure.Length all fringes: counted in full, on top of the loom waste
	KeyNoteFringeInWaste calc.Key = "warp.note.fringe_in_waste" // measure.Length: rigid heddle; what the warp gets shorter when the outer two fringes come out of the loom waste
	KeyNoteNoFringe      calc.Key = "warp.note.no_fringe"       // none: rigid heddle, no fringe counted; a fringe at both ends of the warp may come out of the loom waste
	KeyNoteWasteLow      calc.Key = "warp.note.waste_low"       // measure.Length given, usual lowest, usual highest for this kind of loom
	KeyNoteNotOneEach    calc.Key = "warp.note.not_one_each"    // measure.Sett heddle, measure.Sett ends: rigid heddle, yet not one end to each hole and slot
	KeyNoteNoSley        calc.Key = "warp.note.no_sley"         // measure.Sett ends, measure.Sett reed, measure.Sett nearest that has one: no sleying order gives these ends
	KeyNoteWeftItemsOnly calc.Key = "warp.note.weft_items_only" // measure.Length header, measure.Length sample: their weft is not counted
)

// Where a usual value comes from.
const (
	KeySourceCommon calc.Key = "warp.source.common" // none: common practice, no published source
)

// Remarks in the tables of usual values.
const (
	KeyRemarkFulled calc.Key = "warp.remark.fulled" // none: more when the cloth is fulled
)

// Keys lists every key that this package can return.
var Keys = []calc.Key{
	KeyLengthRange, KeyCountRange, KeyRatioRange, KeyRatioBelow, KeySettRange, KeyDiameterRange, KeyTexRange, KeyPriceRange,
	KeyEndsDisagree, KeyJammed,
	KeyNeedSett, KeyNeedEnds, KeyNeedWidth, KeyNeedPicks, KeyNeedCloth, KeyNeedYarn,
	KeyTooFewEnds, KeyTooManyEnds, KeyReedTooWide, KeyWarpTooLong, KeyCostTooLarge, KeySkeinsTooMany,

	KeyLineOnLoomWidth, KeyLineReedWidth, KeyLineEnds, KeyLineEndsWidth, KeyLineOnLoomLength,
	KeyLineTakeUp, KeyLineWarpCrimp, KeyLineItemWarp, KeyLineItemFringe, KeyLineItems, KeyLineAllItems,
	KeyLineHeader, KeyLineSample, KeyLineWaste, KeyLineWarpLength, KeyLineWarpYarn,
	KeyLinePicks, KeyLineWeftCrimp, KeyLineStrands, KeyLineWeftYarn, KeyLineWarpMass, KeyLineWeftMass,

	KeyHowGiven, KeyHowGeometry, KeyHowMillRule,

	KeyNoteFringeCounted, KeyNoteFringeInWaste, KeyNoteNoFringe, KeyNoteWasteLow,
	KeyNoteNotOneEach, KeyNoteNoSley,
	KeyNoteWeftItemsOnly,

	KeySourceCommon, KeyRemarkFulled,
}
