package lesson

import "weftroom/bot"

// englishClass are the class, its people, its places and its settings.
var englishClass = bot.Texts{
	"members.none":     "Nobody in %[2]s is called “%[1]s”; write the name as the class shows it",
	"members.near":     "Nobody here is called “%s”; did you mean %s",
	"members.many":     "There are several called “%s”; write one of their accounts instead: %s",
	"members.nameless": "someone without a name",
}

// englishSession are the sessions and their work.
var englishSession = bot.Texts{
	"sessions.untitled":      "Session %d",
	"sessions.calendar.one":  "Calendar of %[2]s, %[1]d session",
	"sessions.calendar.many": "Calendar of %[2]s, %[1]d sessions",
}
