package lesson

import "weftroom/bot"

// What is wrong with a design made of holes, before any of it is woven.
var englishChart = bot.Texts{
	"lace.chart_empty":  "chart: there is no row in it; write a dot for a place without a hole and an o for a hole, the first woven row first, each row on a line of its own or behind a slash",
	"lace.chart_sign":   "chart: “%s” in row %d, place %d, is none of its signs; write a dot for a place without a hole and the letter o for a hole",
	"lace.chart_ragged": "chart: all rows must be equally long, and row %d is not: places %d, in the first %d",
	"lace.chart_long":   "chart: rows %[1]d, places in the longest %[3]d; up to %[2]d rows and %[4]d places are allowed",
	"lace.chart_tall": "rows: the whole design of %[1]d rows is more than I weave in simulation at once, up to %[2]d of its rows on a warp of %[3]d ends with %[4]d passes; " +
		"say how many rows to weave",
	"lace.chart_wide": "The design is %[1]d places wide and needs %[2]d ends at a cell of %[3]d (pairs of ends from place to place), but your warp has %[4]d; " +
		"at a cell of %[6]d it holds a width of %[5]d, so make the design smaller, or weave it in %[7]d panels, each up to %[8]d wide",
	"lace.cell_wide":    "cell: at %d pairs of ends from place to place the design of %d places needs %d ends, and your warp has %d; a cell of up to %d fits",
	"lace.cell_range":   "cell: %d pairs of ends from place to place is outside what is allowed, %d (I choose) to %d on a warp of %d ends",
	"lace.across_range": "across: %d repeats are outside what is allowed, %d (as many as fit) to %d on a warp of %d ends for a design that is %d wide in places",
	"lace.margin_range": "margin: %d pairs of ends at each side is outside what is allowed, %d to %d on a warp of %d ends",
	"lace.panel_range":  "panel: there is no panel %d; on this warp the last one is panel %d",
}
