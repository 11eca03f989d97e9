package config

import (
	"log/slog"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"
)

// with is the default with a change.
func with(change func(*Config)) *Config {
	c := Default()
	change(c)
	return c
}

func TestLoad(t *testing.T) {
	for _, c := range []struct {
		name    string
		file    string
		environ []string
		want    *Config
	}{
		{name: "an empty file gives the defaults", want: Default()},
		{
			name: "every setting",
			file: "units = 'inches'\n[console]\nname = 'Ada'\nhistory = 'h'\nfiles = 'f'\n" +
				"[state]\nfile = 's'\nurl = 'postgres://h/d'\nforgotten = 'g'\n[serve]\nlisten = '127.0.0.1:9464'\n[log]\nlevel = 'warn'\n" +
				"[matrix]\nhomeserver = 'https://h'\nuser = '@w:h'\npassword = 'p'\nrecovery = 'r'\nkeys = 'k'\nprefix = '%'\ninvites = '*'\nopen = 'no'\n" +
				"[discord]\ntoken = 't'\nshards = '2'\nopen = 'no'\n",
			want: &Config{
				Console{"Ada", "h", "f"}, State{"s", "postgres://h/d", "g"}, Serve{"127.0.0.1:9464"},
				Matrix{"https://h", "@w:h", "p", "r", "k", "%", "*", "no"}, Discord{"t", "2", "no"}, "inches", Log{"warn"},
			},
		},
		{
			name:    "the environment wins over the file",
			file:    "units = 'inches'\n[state]\nfile = 's'\n",
			environ: []string{"WEFTROOM_UNITS=centimetres", "WEFTROOM_CONSOLE_HISTORY=h=1"},
			want: with(func(c *Config) {
				c.Units, c.State.File, c.Console.History = "centimetres", "s", "h=1"
			}),
		},
		{
			name:    "an empty variable overrides nothing",
			file:    "units = 'inches'\n",
			environ: []string{"WEFTROOM_UNITS=", "UNITS=centimetres", "no equals sign"},
			want:    with(func(c *Config) { c.Units = "inches" }),
		},
		{
			name: "dotted keys and comments",
			file: "# at home\nconsole.name = \"Zoë\"\nlog.level = \"debug\" # for a while\n",
			want: with(func(c *Config) { c.Console.Name, c.Log.Level = "Zoë", "debug" }),
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Load(written(t, c.file), c.environ)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestLoadRefuses(t *testing.T) {
	const file = "weftroom.toml"
	for _, c := range []struct {
		name    string
		file    string
		environ []string
		want    string
	}{
		{
			name: "a key misspelt in its group", file: "\n[console]\nhistroy = 'h'\n",
			want: file + `:3: there is no setting "console.histroy"; did you mean console.history, as in history = "~/.weftroom_history" under [console]?`,
		},
		{
			name: "a key outside its group", file: "history = 'h'\n",
			want: file + `:1: there is no setting "history"; did you mean console.history, as in history = "~/.weftroom_history" under [console]?`,
		},
		{
			name: "a group misspelt", file: "[stat]\nfile = 's'\n",
			want: file + `:1: there is no setting "stat"; did you mean state.file, as in file = "~/.weftroom_state" under [state]?`,
		},
		{
			name: "a key like no other", file: "# a comment\n\ncolour = 'red'\n",
			want: file + `:3: there is no setting "colour"; there are console.name, console.history, console.files, state.file, state.url, state.forgotten, serve.listen, matrix.homeserver, matrix.user, matrix.password, matrix.recovery, matrix.keys, matrix.prefix, matrix.invites, matrix.open, discord.token, discord.shards, discord.open, units, log.level`,
		},
		{
			name: "units that are none", file: "units = 'furlongs'\n",
			want: file + `: units cannot be "furlongs"; it must be inches or centimetres, for example units = "centimetres" above the first [group]`,
		},
		{
			name: "a number for a text", file: "[log]\nlevel = 3\n",
			want: file + `:2: log.level must be debug, info, warn or error, for example level = "info" under [log]`,
		},
		{
			name: "a text for a group", file: "console = 'mine'\n",
			want: file + `:1: console is a group of settings, for example name = "you" under [console]`,
		},
		{
			name: "no TOML", file: "units = inches\n",
			want: file + ":1: this cannot be read as TOML at character ",
		},
		{
			name: "a key twice", file: "units = 'inches'\nunits = 'inches'\n",
			want: file + ":2: ",
		},
		{
			name: "a log level that is none", file: "log.level = 'loud'\n",
			want: file + `: log.level cannot be "loud"; it must be debug, info, warn or error, for example level = "info" under [log]`,
		},
		{
			name: "a name with an escape sequence", file: `console.name = "\u001b[2J"`,
			want: file + `: console.name cannot be "\x1b[2J"; it must be a name of up to 64 letters, for example name = "you" under [console]`,
		},
		{
			name: "an empty name", file: "console.name = ''",
			want: file + `: console.name cannot be ""; it must be a name of up to 64 letters`,
		},
		{
			name: "no folder for files", file: "console.files = ''",
			want: file + `: console.files cannot be ""; it must be a folder name`,
		},
		{
			name: "a file name with a right-to-left mark", file: "state.file = \"a\u202eb\"",
			want: file + `: state.file cannot be "a\u202eb"; it must be a file name`,
		},
		{
			name: "a URL of another database, which is not shown", environ: []string{"WEFTROOM_STATE_URL=mysql://weftroom:p4ssw0rd@h/d"},
			want: `WEFTROOM_STATE_URL: state.url cannot be what is said there; it must be a PostgreSQL URL, for example url = "postgres://`,
		},
		{
			name: "the same in the file", file: "state.url = 'mysql://weftroom:p4ssw0rd@h/d'",
			want: file + `: state.url cannot be what is said there; it must be a PostgreSQL URL`,
		},
		{
			name: "an address that others can reach", file: "serve.listen = '0.0.0.0:9464'",
			want: file + `: serve.listen cannot be "0.0.0.0:9464"; it must be a loopback address with a port, for example listen = "127.0.0.1:9464" under [serve]`,
		},
		{
			name: "every address", file: "serve.listen = ':9464'",
			want: file + `: serve.listen cannot be ":9464"`,
		},
		{
			name: "an address in the house", environ: []string{"WEFTROOM_SERVE_LISTEN=192.168.0.7:9464"},
			want: `WEFTROOM_SERVE_LISTEN: serve.listen cannot be "192.168.0.7:9464"`,
		},
		{
			name: "every address of IPv6", file: "serve.listen = '[::]:9464'",
			want: file + `: serve.listen cannot be "[::]:9464"`,
		},
		{
			name: "a name, which may come to mean another address", file: "serve.listen = 'localhost:9464'",
			want: file + `: serve.listen cannot be "localhost:9464"`,
		},
		{
			name: "a secret's file that is not there", environ: []string{"WEFTROOM_STATE_URL_FILE=/nowhere/url"},
			want: "WEFTROOM_STATE_URL_FILE: the settings cannot be read: open /nowhere/url: no such file or directory",
		},
		{
			name: "a secret twice", environ: []string{"WEFTROOM_STATE_URL_FILE=/nowhere/url", "WEFTROOM_STATE_URL=postgres://h/d"},
			want: "WEFTROOM_STATE_URL and WEFTROOM_STATE_URL_FILE are both there; keep one of them",
		},
		{
			name: "a wrong variable", environ: []string{"WEFTROOM_UNITS=inch"},
			want: `WEFTROOM_UNITS: units cannot be "inch"; it must be inches or centimetres`,
		},
		{
			name: "a variable with a long value", environ: []string{"WEFTROOM_CONSOLE_NAME=" + strings.Repeat("a", 100)},
			want: `WEFTROOM_CONSOLE_NAME: console.name cannot be "` + strings.Repeat("a", 40) + `…"; it must be`,
		},
		{
			name: "a file too long", file: "#" + strings.Repeat(" ", maxFile),
			want: file + " is too long for a settings file: up to 1048576 bytes are read",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := written(t, c.file)
			_, err := Load(path, c.environ)
			if err == nil {
				t.Fatal("accepted")
			}
			got := strings.ReplaceAll(err.Error(), path, file)
			if !strings.HasPrefix(got, c.want) {
				t.Errorf("\n got %s\nwant %s", got, c.want)
			}
			if strings.Contains(got, "p4ssw0rd") {
				t.Errorf("a password is shown: %s", got)
			}
			if strings.Contains(got, "\n") {
				t.Errorf("more than one line: %s", got)
			}
		})
	}
}

// TestSecretsFile: a secret may stand in a file of its own, and nothing else may.
func TestSecretsFile(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{"url": "postgres://weftroom:p4ssw0rd@h/d\n", "empty": "\n", "other": "mysql://weftroom:p4ssw0rd@h/d\n"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Load("", []string{"WEFTROOM_STATE_URL_FILE=url", "WEFTROOM_UNITS_FILE=url"})
	if err != nil || c.State.URL != "postgres://weftroom:p4ssw0rd@h/d" || c.Units != "" {
		t.Errorf("%+v, %v", c, err)
	}
	for file, want := range map[string]string{
		"empty": "WEFTROOM_STATE_URL_FILE: the file is empty; it must hold a PostgreSQL URL",
		"other": "WEFTROOM_STATE_URL: state.url cannot be what is said there; it must be",
	} {
		_, err := Load("", []string{"WEFTROOM_STATE_URL_FILE=" + file})
		if err == nil || !strings.HasPrefix(err.Error(), want) || strings.Contains(err.Error(), "p4ssw0rd") {
			t.Errorf("%s: %v, want %s", file, err, want)
		}
	}
}

func TestAllowed(t *testing.T) {
	if err := Allowed("serve.listen", "[::1]:0"); err != nil {
		t.Error(err)
	}
	if err := Allowed("serve.listen", "0.0.0.0:80"); err == nil || !strings.Contains(err.Error(), "a loopback address") {
		t.Errorf("an open address: %v", err)
	}
}

func TestLoadWithoutAFile(t *testing.T) {
	t.Chdir(t.TempDir())
	c, err := Load("", []string{"WEFTROOM_LOG_LEVEL=error"})
	if err != nil {
		t.Fatal(err)
	}
	if c.Log.Slog() != slog.LevelError {
		t.Errorf("log level %v", c.Log.Slog())
	}
	if _, err := Load("weftroom.toml", nil); err == nil || !strings.Contains(err.Error(), "weftroom.toml") {
		t.Errorf("a file that was named and is not there: %v", err)
	}
	if err := os.Mkdir(DefaultPath, 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := Load("", nil); err == nil {
		t.Error("a folder in place of the file was accepted")
	}
}

func TestLoadFindsTheDefaultFile(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.WriteFile(DefaultPath, []byte("units = 'inches'"), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := Load("", nil)
	if err != nil || c.Units != "inches" {
		t.Errorf("got %+v, %v", c, err)
	}
}

// TestRules holds one rule for each setting, by the name that it has in the
// file and in the environment, and that every default and example is allowed.
func TestRules(t *testing.T) {
	var want []string
	var walk func(reflect.Type, string, string)
	walk = func(typ reflect.Type, key, variable string) {
		for f := range typ.Fields() {
			name := f.Tag.Get("toml")
			if f.Type.Kind() == reflect.Struct {
				walk(f.Type, key+name+".", variable+f.Tag.Get("envPrefix"))
				continue
			}
			want = append(want, key+name+" "+variable+f.Tag.Get("env"))
		}
	}
	walk(reflect.TypeFor[Config](), "", EnvPrefix)
	var got []string
	for _, r := range rules {
		got = append(got, r.key+" "+r.variable())
		if value := *r.of(Default()); !r.ok(value) {
			t.Errorf("the default of %s, %q, is not allowed", r.key, value)
		}
		setting, group, _ := strings.Cut(r.example, " under ")
		setting, _, _ = strings.Cut(setting, " above ")
		if _, err := Load(written(t, group+"\n"+setting+"\n"), nil); err != nil {
			t.Errorf("the example of %s: %v", r.key, err)
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

// FuzzLoad holds that whatever stands in the file or the environment, an error
// is one printable line, and accepted settings survive being written and read.
func FuzzLoad(f *testing.F) {
	f.Add([]byte("units = 'inches'\n[console]\nname = 'Ada'\nhistory = 'h'\n[log]\nlevel='warn'"), "centimetres")
	f.Add([]byte("console = 3"), "")
	f.Add([]byte("[console]\nhistroy = \"\"\"\nh\"\"\""), "furlongs")
	f.Add([]byte("units = \"\\u001b[2J\""), "\x1b[2J")
	f.Add([]byte("[[console]]\n[units.inches]\nx={a=1,b=[1,2]}"), "a\x00b")
	f.Add([]byte("\xff\xfe"), "\xff")
	path := filepath.Join(f.TempDir(), "f.toml")
	f.Fuzz(func(t *testing.T, file []byte, units string) {
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		c, err := Load(path, []string{"WEFTROOM_UNITS=" + units})
		if err != nil {
			wantSentence(t, err.Error())
			return
		}
		again, err := toml.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, again, 0o600); err != nil {
			t.Fatal(err)
		}
		c2, err := Load(path, nil)
		if err != nil {
			t.Fatalf("%v\n%s", err, again)
		}
		if d := cmp.Diff(c, c2); d != "" {
			t.Error(d)
		}
	})
}

func wantSentence(t *testing.T, s string) {
	t.Helper()
	if !utf8.ValidString(s) || len(s) > 2000 {
		t.Errorf("no sentence: %q", s)
	}
	for _, r := range s {
		if !unicode.IsGraphic(r) || unicode.Is(unicode.Bidi_Control, r) {
			t.Errorf("%U in %q", r, s)
		}
	}
}

func written(t *testing.T, file string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "weftroom.toml")
	if err := os.WriteFile(path, []byte(file), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
