package lesson

import "weftroom/bot"

var englishPace = bot.Texts{
	"cmd.pace": "how long a row takes you, and how far you come by the end of the session",

	"cmd.progress": "who is where in her plan and who seems stuck, for your eyes only",

	"arg.settings.place": "whether your teachers can see where you are in a plan",

	"join.place":            "While you walk a plan step by step, the teacher and her helpers can see where you are and how long a row takes you; the other members cannot. To hide it: settings place:hidden",
	"join.place_hidden":     "Your place in a plan is hidden from the teacher, as you have set it. To show it: settings place:shown",
	"settings.place_shown":  "Your place in a plan, and your pace: the teacher and her helpers can see them, nobody else; in a class of minors nobody can",
	"settings.place_hidden": "Your place in a plan, and your pace: nobody can see them but you",
	"me.place_hidden":       "Your place in a plan is hidden from your teachers",

	"progress.alone":      "Where members are in their plans is for your eyes only; ask me in a direct message",
	"progress.minors":     "%s is a class of minors, of whom nobody's place or pace is shown",
	"progress.title":      "Who is where in %s",
	"progress.nobody":     "There is nobody to show: no member walks a plan step by step, or they have hidden their places.",
	"progress.name":       "name",
	"progress.plan":       "plan",
	"progress.place":      "place",
	"progress.row_takes":  "a row takes",
	"progress.last":       "last step",
	"progress.pattern":    "%d ends, groups of %d, %d passes",
	"progress.in_row":     "row %d of %d",
	"progress.at_move":    "row %d of %d, move %d of %d",
	"progress.done":       "all %d rows are woven",
	"progress.unknown":    "not known yet",
	"progress.ago":        "%s ago",
	"progress.days.one":   "%d day",
	"progress.days.many":  "%d days",
	"progress.stuck":      "Seem stuck, with no step for more than %d times as long as their own usually takes, and %d minutes at least: %s.",
	"progress.no_stuck":   "Nobody seems stuck.",
	"progress.no_session": "No session goes on, so I do not say who seems stuck.",
	"progress.quiet":      "This is for you and your helpers. Who has hidden her place is not in it, nor who walks no plan; who has made no step since the session began, or has woven too little for a pace, is not called stuck.",

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
