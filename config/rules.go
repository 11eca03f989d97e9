package config

import (
	"fmt"
	"net/netip"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// rule is what one setting may be. A test holds that every field has one.
type rule struct {
	key     string
	allowed string
	example string // as it stands in the file
	of      func(*Config) *string
	ok      func(string) bool
}

var rules = []rule{
	{
		"console.name", "a name of up to 64 letters", `name = "you" under [console]`,
		func(c *Config) *string { return &c.Console.Name },
		func(s string) bool { return s != "" && utf8.RuneCountInString(s) <= 64 && printable(s) },
	},
	{
		"console.history", "a file name", `history = "~/.weftroom_history" under [console]`,
		func(c *Config) *string { return &c.Console.History }, pathOrNone,
	},
	{
		"console.files", "a folder name", `files = "out" under [console]`,
		func(c *Config) *string { return &c.Console.Files },
		func(s string) bool { return s != "" && pathOrNone(s) },
	},
	{
		"state.file", "a file name", `file = "~/.weftroom_state" under [state]`,
		func(c *Config) *string { return &c.State.File }, pathOrNone,
	},
	{
		"state.url", "a PostgreSQL URL", `url = "postgres://weftroom@localhost/weftroom" under [state]`,
		func(c *Config) *string { return &c.State.URL },
		func(s string) bool {
			return s == "" || pathOrNone(s) && (strings.HasPrefix(s, "postgres://") || strings.HasPrefix(s, "postgresql://"))
		},
	},
	{
		"state.forgotten", "a file name", `forgotten = "weftroom.forgotten" under [state]`,
		func(c *Config) *string { return &c.State.Forgotten }, pathOrNone,
	},
	{
		"serve.listen", "a loopback address with a port", `listen = "127.0.0.1:9464" under [serve]`,
		func(c *Config) *string { return &c.Serve.Listen },
		func(s string) bool { return s == "" || loopback(s) },
	},
	{
		"units", "inches or centimetres", `units = "centimetres" above the first [group]`,
		func(c *Config) *string { return &c.Units },
		func(s string) bool { return s == "" || s == "inches" || s == "centimetres" },
	},
	{
		"log.level", "debug, info, warn or error", `level = "info" under [log]`,
		func(c *Config) *string { return &c.Log.Level },
		func(s string) bool { return s == "debug" || s == "info" || s == "warn" || s == "error" },
	},
}

func (r rule) refusal(value string) string {
	return fmt.Sprintf("%s cannot be %s; it must be %s, for example %s", r.key, quoted(value), r.allowed, r.example)
}

func (r rule) variable() string {
	return EnvPrefix + strings.ToUpper(strings.ReplaceAll(r.key, ".", "_"))
}

func keys() []string {
	var all []string
	for _, r := range rules {
		all = append(all, r.key)
	}
	return all
}

// pathOrNone allows what can be the name of a file, and "".
func pathOrNone(s string) bool { return len(s) <= 4096 && printable(s) }

// loopback tells an address that only this machine can reach.
func loopback(s string) bool {
	a, err := netip.ParseAddrPort(s)
	return err == nil && a.Addr().IsLoopback()
}

func printable(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, func(r rune) bool {
		return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)
	})
}

// quoted repeats what was written, shortened, with nothing in it that could
// disturb a terminal.
func quoted(s string) string {
	const most = 40
	if runes := []rune(s); len(runes) > most {
		s = string(runes[:most]) + "…"
	}
	return strconv.QuoteToGraphic(s)
}

// oneLine makes a library's message fit into a sentence.
func oneLine(s string) string {
	const most = 200
	s = strings.Map(func(r rune) rune {
		if !unicode.IsGraphic(r) || unicode.Is(unicode.Bidi_Control, r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	s = strings.Join(strings.Fields(s), " ")
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return s
}

// nearest is the setting that a wrong key may have meant: one misspelt by a
// third of its letters at most, in its group or without it.
func nearest(key string) (rule, bool) {
	var best rule
	least := -1
	for _, r := range rules {
		group, _, _ := strings.Cut(r.key, ".")
		for _, name := range []string{r.key, r.key[strings.LastIndex(r.key, ".")+1:], group} {
			if d := distance(key, name); d <= (len(name)+2)/3 && (least < 0 || d < least) {
				best, least = r, d
			}
		}
	}
	return best, least >= 0
}

// distance counts the single-letter edits from a to b.
func distance(a, b string) int {
	x, y := []rune(strings.ToLower(a)), []rune(b)
	if len(x) > 60 {
		return len(x)
	}
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		before := row[0]
		row[0] = i + 1
		for j := range y {
			d := before
			if x[i] != y[j] {
				d++
			}
			before = row[j+1]
			row[j+1] = min(d, row[j]+1, before+1)
		}
	}
	return row[len(y)]
}
