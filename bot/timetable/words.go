package timetable

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
)

// maxText is the longest text, in bytes, that any reader here looks at.
const maxText = 120

// fault is a mistake in text; args follow the text itself.
func fault(code calc.Code, key calc.Key, text, example string, args ...any) *calc.Fault {
	return &calc.Fault{Code: code, Key: key, Args: append([]any{clip(text)}, args...), Example: example}
}

// clip makes what a person wrote fit to be shown again.
func clip(text string) string {
	const most = 40
	text = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
	if utf8.RuneCountInString(text) > most {
		text = string([]rune(text)[:most]) + "…"
	}
	return text
}

// split gives the words of a text in lower case. Commas between words are
// dropped, and "7 pm" and "7 p.m." become the one word "7pm".
func split(text, example string) ([]string, error) {
	if len(text) > maxText {
		return nil, fault(calc.BadValue, KeyTooLong, text, example, maxText)
	}
	if !utf8.ValidString(text) || strings.ContainsFunc(text, hidden) {
		return nil, fault(calc.BadValue, KeyText, text, example)
	}
	var words []string
	for _, w := range strings.Fields(strings.ToLower(text)) {
		w = strings.TrimRight(w, ",")
		if w == "" {
			continue
		}
		w = dotless(w)
		if last := len(words) - 1; (w == "am" || w == "pm") && last >= 0 && digitAt(words[last], len(words[last])-1) {
			words[last] += w
			continue
		}
		words = append(words, w)
	}
	if len(words) == 0 {
		return nil, fault(calc.BadValue, KeyEmpty, text, example)
	}
	return words, nil
}

func hidden(r rune) bool {
	return unicode.Is(unicode.Cf, r) || unicode.IsControl(r) && !unicode.IsSpace(r)
}

// dotless turns "7p.m." into "7pm" and "dec." into "dec".
func dotless(w string) string {
	for _, half := range []string{"a.m.", "p.m.", "a.m", "p.m"} {
		if head, ok := strings.CutSuffix(w, half); ok {
			return head + half[:1] + "m"
		}
	}
	if head, ok := strings.CutSuffix(w, "."); ok && letters(head) {
		return head
	}
	return w
}

func letters(w string) bool {
	return w != "" && !strings.ContainsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) })
}

func digits(w string) bool {
	return w != "" && !strings.ContainsFunc(w, func(r rune) bool { return r < '0' || r > '9' })
}

func digitAt(w string, i int) bool { return i >= 0 && i < len(w) && w[i] >= '0' && w[i] <= '9' }

// weekdays and months as people shorten them.
var weekdays = map[string]time.Weekday{
	"mon": time.Monday, "monday": time.Monday,
	"tue": time.Tuesday, "tues": time.Tuesday, "tuesday": time.Tuesday,
	"wed": time.Wednesday, "weds": time.Wednesday, "wednesday": time.Wednesday,
	"thu": time.Thursday, "thur": time.Thursday, "thurs": time.Thursday, "thursday": time.Thursday,
	"fri": time.Friday, "friday": time.Friday,
	"sat": time.Saturday, "saturday": time.Saturday,
	"sun": time.Sunday, "sunday": time.Sunday,
}

var months = map[string]time.Month{
	"jan": time.January, "january": time.January, "feb": time.February, "february": time.February,
	"mar": time.March, "march": time.March, "apr": time.April, "april": time.April, "may": time.May,
	"jun": time.June, "june": time.June, "jul": time.July, "july": time.July,
	"aug": time.August, "august": time.August,
	"sep": time.September, "sept": time.September, "september": time.September,
	"oct": time.October, "october": time.October, "nov": time.November, "november": time.November,
	"dec": time.December, "december": time.December,
}
