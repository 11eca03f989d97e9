package lesson

import "weftroom/bot"

var englishPace = bot.Texts{
	"cmd.pace": "how long a row takes you, and how far you come by the end of the session",

	"pace.title":         "Your pace",
	"pace.rows":          "%d of %d rows are woven.",
	"pace.row":           "A row takes you about %s; half of the last %d rows took from %s to %s.",
	"pace.too_little":    "There is too little yet to tell your pace by: I need %d rows woven step by step, and have %d.",
	"pace.left_out.one":  "%d row took more than three times as long as most, or less than a third of that, and is left out: a break, or a row jumped over.",
	"pace.left_out.many": "%d rows took more than three times as long as most, or less than a third of that, and are left out: breaks, or rows jumped over.",
	"pace.left":          "The rest of the piece takes you about %s at the loom.",
	"pace.session_now":   "%s goes on now (it began on %s): by its end about %d of %d rows are woven.",
	"pace.session_next":  "%s, on %s: if you go on then, about %d of %d rows are woven by its end.",
	"pace.done_in":       "Woven in class alone, the piece is done in %s, on %s.",
	"pace.beyond":        "The sessions that are set do not last for the whole piece: about %s at the loom are left after them.",
	"pace.how":           "It is an estimate from the times between your steps: the median of the last rows, so that a tea break does not count.",
	"pace.seconds.one":   "%d second",
	"pace.seconds.many":  "%d seconds",
	"pace.hours":         "%d h %d min",
}
