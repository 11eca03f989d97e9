package config

import (
	"errors"
	"fmt"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// rule is what one setting may be. A test holds that every field has one.
type rule struct {
	key     string
	meaning string
	allowed string
	example string // as it stands in the file
	secret  bool   // never shown, and may come from a file of its own
	of      func(*Config) *string
	ok      func(string) bool
}

var rules = []rule{
	{
		key: "console.name", meaning: "who types at the terminal; what she says is kept under this name",
		allowed: "a name of up to 64 letters", example: `name = "you" under [console]`,
		of: func(c *Config) *string { return &c.Console.Name },
		ok: func(s string) bool { return s != "" && utf8.RuneCountInString(s) <= 64 && printable(s) },
	},
	{
		key: "console.history", meaning: "the file that keeps the lines typed at the terminal",
		allowed: "a file name", example: `history = "~/.weftroom_history" under [console]`,
		of: func(c *Config) *string { return &c.Console.History }, ok: pathOrNone,
	},
	{
		key: "console.files", meaning: "the folder for the files of answers",
		allowed: "a folder name", example: `files = "out" under [console]`,
		of: func(c *Config) *string { return &c.Console.Files },
		ok: func(s string) bool { return s != "" && pathOrNone(s) },
	},
	{
		key: "state.file", meaning: "the SQLite file in which the class is kept",
		allowed: "a file name", example: `file = "~/.weftroom_state" under [state]`,
		of: func(c *Config) *string { return &c.State.File }, ok: pathOrNone,
	},
	{
		key: "state.url", meaning: "a PostgreSQL database instead of that file",
		allowed: "a PostgreSQL URL", example: `url = "postgres://weftroom@localhost/weftroom" under [state]`, secret: true,
		of: func(c *Config) *string { return &c.State.URL },
		ok: func(s string) bool {
			return s == "" || pathOrNone(s) && (strings.HasPrefix(s, "postgres://") || strings.HasPrefix(s, "postgresql://"))
		},
	},
	{
		key: "state.forgotten", meaning: "the list, apart from the database, of who was forgotten (ids, no names), so that a restored backup forgets them again; beside a SQLite file if nothing is said",
		allowed: "a file name", example: `forgotten = "weftroom.forgotten" under [state]`,
		of: func(c *Config) *string { return &c.State.Forgotten }, ok: pathOrNone,
	},
	{
		key: "serve.listen", meaning: "where serve answers /healthz, /readyz and /metrics; nowhere if nothing is said",
		allowed: "a loopback address with a port", example: `listen = "127.0.0.1:9464" under [serve]`,
		of: func(c *Config) *string { return &c.Serve.Listen },
		ok: func(s string) bool { return s == "" || loopback(s) },
	},
	{
		key: "matrix.homeserver", meaning: "the Matrix server of the assistant's account; without it Matrix is not joined",
		allowed: "a URL with https, or with http on loopback", example: `homeserver = "https://matrix.example.org" under [matrix]`,
		of: func(c *Config) *string { return &c.Matrix.Homeserver }, ok: func(s string) bool { return s == "" || serverURL(s) },
	},
	{
		key: "matrix.user", meaning: "the assistant's own account in Matrix",
		allowed: "an address such as @name:server", example: `user = "@weftroom:example.org" under [matrix]`,
		of: func(c *Config) *string { return &c.Matrix.User }, ok: func(s string) bool { return s == "" || matrixUser(s) },
	},
	{
		key: "matrix.password", meaning: "that account's password, for the first login and the first start",
		allowed: "a password", example: `password = "…" under [matrix]`, secret: true,
		of: func(c *Config) *string { return &c.Matrix.Password }, ok: pathOrNone,
	},
	{
		key: "matrix.recovery", meaning: "that account's recovery key, when a new device must be signed; new makes another key when it is lost, and everybody must then verify the account again",
		allowed: "the recovery key as it was shown, or new", example: `recovery = "EsTc …" under [matrix]`, secret: true,
		of: func(c *Config) *string { return &c.Matrix.Recovery }, ok: pathOrNone,
	},
	{
		key: "matrix.keys", meaning: "the folder for the keys and tokens of Matrix, apart from the class; it is not part of a backup",
		allowed: "a folder name", example: `keys = "weftroom-matrix" under [matrix]`,
		of: func(c *Config) *string { return &c.Matrix.Keys },
		ok: func(s string) bool { return s != "" && pathOrNone(s) },
	},
	{
		key: "matrix.prefix", meaning: "what begins a command in a room; a mention does as well, and alone with the assistant neither is needed",
		allowed: "up to 8 letters or signs without a blank", example: `prefix = "!" under [matrix]`,
		of: func(c *Config) *string { return &c.Matrix.Prefix },
		ok: func(s string) bool {
			return s != "" && utf8.RuneCountInString(s) <= 8 && printable(s) && !strings.ContainsFunc(s, unicode.IsSpace)
		},
	},
	{
		key: "matrix.invites", meaning: "whose invitations are followed; those of the account's own server if nothing is said",
		allowed: "users and servers between blanks, or * for everyone", example: `invites = "@maya:example.org tarnholm.example" under [matrix]`,
		of: func(c *Config) *string { return &c.Matrix.Invites }, ok: pathOrNone,
	},
	{
		key: "matrix.open", meaning: "whether someone with power in a room may open a class there",
		allowed: "yes or no", example: `open = "yes" under [matrix]`,
		of: func(c *Config) *string { return &c.Matrix.Open }, ok: yesOrNo,
	},
	{
		key: "discord.token", meaning: "the token of the application's bot in Discord; without it Discord is not joined",
		allowed: "the token as the developer portal shows it", example: `token = "…" under [discord]`, secret: true,
		of: func(c *Config) *string { return &c.Discord.Token },
		ok: func(s string) bool { return pathOrNone(s) && !strings.ContainsFunc(s, unicode.IsSpace) },
	},
	{
		key: "discord.shards", meaning: "into how many connections the servers are divided; more than 1 from about 2,500 servers on",
		allowed: "a number from 1 to 1000", example: `shards = "1" under [discord]`,
		of: func(c *Config) *string { return &c.Discord.Shards },
		ok: func(s string) bool { n, err := strconv.Atoi(s); return err == nil && 1 <= n && n <= 1000 },
	},
	{
		key: "discord.open", meaning: "whether someone who may manage a server may open a class there",
		allowed: "yes or no", example: `open = "yes" under [discord]`,
		of: func(c *Config) *string { return &c.Discord.Open }, ok: yesOrNo,
	},
	{
		key: "units", meaning: "the units to answer in first, for who has not said hers",
		allowed: "inches or centimetres", example: `units = "centimetres" above the first [group]`,
		of: func(c *Config) *string { return &c.Units },
		ok: func(s string) bool { return s == "" || s == "inches" || s == "centimetres" },
	},
	{
		key: "log.level", meaning: "how much is logged",
		allowed: "debug, info, warn or error", example: `level = "info" under [log]`,
		of: func(c *Config) *string { return &c.Log.Level },
		ok: func(s string) bool { return s == "debug" || s == "info" || s == "warn" || s == "error" },
	},
}

// Setting is one of the settings, for those who document them.
type Setting struct {
	Key      string // "state.file": file under [state]
	Variable string // of the environment, which wins over the file
	Secret   bool   // Variable + "_FILE" may name a file that holds it
	Meaning  string
	Allowed  string
	Default  string // "" for none
}

// Settings are all settings, in the order of Config.
func Settings() []Setting {
	var all []Setting
	for _, r := range rules {
		all = append(all, Setting{r.key, r.variable(), r.secret, r.meaning, r.allowed, *r.of(Default())})
	}
	return all
}

// Allowed tells, as an error, why a setting cannot have a value that was said
// elsewhere than in the file and the environment, as a flag; nil when it can.
func Allowed(key, value string) error {
	for _, r := range rules {
		if r.key == key && !r.ok(value) {
			return errors.New(r.refusal(value))
		}
	}
	return nil
}

func (r rule) refusal(value string) string {
	if r.secret {
		return fmt.Sprintf("%s cannot be what is said there; it must be %s, for example %s", r.key, r.allowed, r.example)
	}
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

func yesOrNo(s string) bool { return s == "yes" || s == "no" }

// serverURL tells the address of a server to which a password may be sent.
func serverURL(s string) bool {
	u, err := url.Parse(s)
	if err != nil || u.Host == "" || u.User != nil || len(s) > 400 {
		return false
	}
	return u.Scheme == "https" || u.Scheme == "http" && (u.Hostname() == "localhost" || loopback(u.Hostname()+":1") || u.Hostname() == "::1")
}

// matrixUser tells @name:server.
func matrixUser(s string) bool {
	name, server, ok := strings.Cut(strings.TrimPrefix(s, "@"), ":")
	return ok && s[0] == '@' && name != "" && server != "" && len(s) <= 255 && printable(s) && !strings.ContainsFunc(s, unicode.IsSpace)
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
