package lesson

import "weftroom/bot"

// englishPosts are what the clock posts.
var englishPosts = bot.Texts{
	"post.direct":            "%s: %s",
	"post.starts":            "It starts on %s, and lasts %s.",
	"post.have_ready":        "Have ready: your loom, dressed, for %s. For your own plan, say: row",
	"post.ready":             "When your loom is dressed, tell the teacher: ready",
	"post.coming":            "You said that you are coming.",
	"post.away":              "You said that you will be away; if you come after all, say: coming",
	"post.unanswered":        "Will you be there?",
	"post.unanswered_in":     "Will you be there? Say it in the room of %[1]s: coming session:%[2]d or away session:%[2]d",
	"post.button_coming":     "I am coming",
	"post.button_away":       "I will be away",
	"post.coming_count.one":  "%d is coming",
	"post.coming_count.many": "%d are coming",
	"post.away_count.one":    "%d is away",
	"post.away_count.many":   "%d are away",
	"post.count":             "So far %s, %s.",
	"post.count_one":         "So far %s.",
	"post.event":             "Members ask me for their own plan, their own time and the meeting link: when",
	"post.link_ask":          "Members get the meeting link from me in a direct message: when",
	"post.link_gone":         "The meeting link was taken back; a new one is still to come.",

	"post.over":         "Over: %s",
	"post.next":         "Next is %s: %s.",
	"post.nothing_next": "No further session is set.",
	"post.ask":          "What you would like to ask the teacher next time: question",

	"post.added":             "New: %s",
	"post.added_series.one":  "%d new session: %s",
	"post.added_series.many": "%d new sessions: %s",
	"post.own_clock":         "For the time on your own clock, ask me: when",

	"post.note":      "A note to all",
	"post.note_when": "It starts on %s.",
	"post.note_why":  "Not everybody in this class takes direct messages from me, so this stands here as well. To get reminders and the meeting link, allow messages from me, or ask me: when",
}
