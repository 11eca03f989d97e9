package bot

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/calc"
)

// MaxLine is the most bytes that one request may hold.
const MaxLine = 4000

// Sentences of the line reader.
const (
	KeyTooLong   calc.Key = "line.too_long"         // bytes given, bytes allowed
	KeyNotText   calc.Key = "line.not_text"         // no arguments: the bytes are not UTF-8
	KeyInvisible calc.Key = "line.invisible"        // the code point, as U+202E
	KeyOpenQuote calc.Key = "line.open_quote"       // the text from the quote on
	KeyUnknown   calc.Key = "line.unknown_command"  // the word
	KeyMeant     calc.Key = "line.meant_command"    // the word, the command that it is nearest to
	KeyNoCommand calc.Key = "line.no_command"       // no arguments
	KeyArgument  calc.Key = "line.unknown_argument" // the word, the command, what it takes
	KeyMeantArg  calc.Key = "line.meant_argument"   // the word, the command, the argument that it is nearest to
	KeyNoArgs    calc.Key = "line.no_arguments"     // the word, the command, which takes none
	KeyTwice     calc.Key = "line.twice"            // the argument
	KeyEmpty     calc.Key = "line.empty_value"      // the argument
	KeyMissing   calc.Key = "line.missing"          // the argument, the command
)

// check refuses a request that is not plain text of a sane size, before any
// work is done on it.
func check(r Request) error {
	if err := checkText(r.Line); err != nil {
		return err
	}
	size := len(r.Line) + len(r.Command)
	for name, value := range r.Values {
		size += len(name) + len(value)
	}
	if size > MaxLine {
		return tooLong(size)
	}
	for _, value := range r.Values {
		if err := checkText(value); err != nil {
			return err
		}
	}
	return checkText(r.Command)
}

func checkText(s string) error {
	if len(s) > MaxLine {
		return tooLong(len(s))
	}
	if !utf8.ValidString(s) {
		return &calc.Fault{Code: calc.BadValue, Key: KeyNotText, Example: "help"}
	}
	for _, r := range s {
		if invisible(r) {
			return &calc.Fault{Code: calc.BadValue, Key: KeyInvisible, Args: []any{fmt.Sprintf("%U", r)}, Example: "help"}
		}
	}
	return nil
}

func tooLong(size int) error {
	return &calc.Fault{Code: calc.OutOfRange, Key: KeyTooLong, Args: []any{size, MaxLine}, Example: "help"}
}

// invisible tells the characters that change how a text is shown, or what it
// means, without being seen: controls that are no blanks, direction marks, and
// such as the zero-width space. Joiners stay, since some scripts and many
// pictographs need them, and so do format characters that print.
func invisible(r rune) bool {
	switch {
	case r == '\u200c' || r == '\u200d' || unicode.Is(unicode.Prepended_Concatenation_Mark, r):
		return false
	case unicode.IsSpace(r):
		return false
	}
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r)
}

// clip shortens a text that is quoted back to its writer.
func clip(s string) string {
	const most = 40
	s = strings.Join(strings.Fields(s), " ")
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}

// lead are the first words of a line, no more than name any command: in lower
// case, without a colon or punctuation behind them.
func lead(line string) []string {
	const most = 3
	var words []string
	for s := (scanner{line: line}); len(words) < most && s.skipSpace(); {
		words = append(words, strings.TrimRight(strings.ToLower(s.plain().text), "!.?,"))
	}
	return words
}

// Written is an argument as a person would write it.
func Written(name, value string) string { return name + ":" + form(value) }

// form is a value in a form that reads back as the same, in quotes where it
// needs them.
func form(value string) string {
	for _, f := range []string{value, `"` + value + `"`, `'` + value + `'`} {
		words, err := split("name:" + f)
		if err == nil && len(words) == 2 && words[1].text == value && !words[1].name {
			return f
		}
	}
	return `"` + escaped(value) + `"`
}

func escaped(value string) string {
	var b strings.Builder
	for _, r := range value {
		if strings.ContainsRune(doubleQuotes+`\`, r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
