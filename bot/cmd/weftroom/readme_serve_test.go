package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"

	"weftroom/config"
)

// settingsTable is where the README has the settings.
var settingsTable = regexp.MustCompile(`(?s)<!-- settings -->\n.*?<!-- end of settings -->\n`)

// TestReadmeSettings holds the table of settings to the rules that they are
// read by.
func TestReadmeSettings(t *testing.T) {
	text := readmeText(t)
	if len(settingsTable.FindAllString(text, -1)) != 1 {
		t.Fatal("README.md has no one place for the settings")
	}
	var b strings.Builder
	b.WriteString("<!-- settings -->\n| setting | variable | what it says | what it may be | if nothing is said |\n|---|---|---|---|---|\n")
	for _, s := range config.Settings() {
		variable := "`" + s.Variable + "`"
		if s.Secret {
			variable += " or `" + s.Variable + config.FileSuffix + "`"
		}
		byDefault := ""
		if s.Default != "" {
			byDefault = "`" + s.Default + "`"
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s |\n", s.Key, variable, s.Meaning, s.Allowed, byDefault)
	}
	b.WriteString("<!-- end of settings -->\n")
	fresh := settingsTable.ReplaceAllLiteralString(text, b.String())
	if fresh == text {
		return
	}
	if !*update {
		t.Fatal("README.md: the settings are out of date; make docs rewrites them")
	}
	if err := os.WriteFile(readme, []byte(fresh), 0o644); err != nil {
		t.Fatal(err)
	}
}

func readmeText(t *testing.T) string {
	t.Helper()
	raw, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// TestReadmeMetrics: what an operator is told to watch is there, and all of it
// is told.
func TestReadmeMetrics(t *testing.T) {
	text := readmeText(t)
	for _, m := range regexp.MustCompile("`(weftroom_\\w+)").FindAllStringSubmatch(text, -1) {
		if !slices.Contains(ourMetrics, m[1]) {
			t.Errorf("README.md names %s, which there is not", m[1])
		}
	}
	for _, name := range ourMetrics {
		if !strings.Contains(text, "| `"+name+"`") {
			t.Errorf("README.md does not tell of %s", name)
		}
	}
}

// TestReadmeTried: a test that the README leans on is there.
func TestReadmeTried(t *testing.T) {
	tests := map[string]bool{}
	err := filepath.WalkDir(top, func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		raw, err := os.ReadFile(path)
		for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(t \*testing\.T\)`).FindAllStringSubmatch(string(raw), -1) {
			tests[m[1]] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	named := regexp.MustCompile("`(Test\\w+)`").FindAllStringSubmatch(readmeText(t), -1)
	if len(named) < 15 {
		t.Fatalf("only %d tests are named", len(named))
	}
	for _, m := range named {
		if !tests[m[1]] {
			t.Errorf("README.md leans on %s, which there is not", m[1])
		}
	}
}

// TestReadmeCommands: every command line of the program in the README is one
// that it takes.
func TestReadmeCommands(t *testing.T) {
	text := readmeText(t)
	t.Chdir(t.TempDir())
	for _, name := range []string{"FILE", "class.db.forgotten", "2026-12-01.db"} {
		if err := os.WriteFile(name, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	lines := regexp.MustCompile(`(?m)^(?:ExecStart(?:Pre)?=|    |.*sudo -u weftroom )(?:\S*/)?weftroom ([a-z].*?)\x60?\.?$`).FindAllStringSubmatch(text, -1)
	if len(lines) < 12 {
		t.Fatalf("only %d command lines: %q", len(lines), lines)
	}
	for _, m := range lines {
		line, _, _ := strings.Cut(m[1], "  #")
		line = strings.NewReplacer("NUMBER...", "7", "$(date +%F)", "today", "/var/backups/weftroom/2026", "2026", "[", "", "]", "", `"COMMAND LINE"`, "row").Replace(line)
		parser, err := kong.New(&cli{}, kong.Writers(io.Discard, io.Discard), kong.Exit(func(int) {}))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := parser.Parse(strings.Fields(line)); err != nil {
			t.Errorf("weftroom %s: %v", line, err)
		}
	}
}

// TestReadmeTimes: a service manager and a container wait longer for the end
// than the program takes at most, and the build is the one that is tested.
func TestReadmeTimes(t *testing.T) {
	text := readmeText(t)
	for _, form := range []string{`(?m)^TimeoutStopSec=(\d+)$`, `--stop-timeout (\d+)`} {
		m := regexp.MustCompile(form).FindStringSubmatch(text)
		if m == nil {
			t.Errorf("no %s", form)
			continue
		}
		if wait, err := time.ParseDuration(m[1] + "s"); err != nil || wait < defaultStopGrace+10*time.Second {
			t.Errorf("%s is not longer than %v", m[0], defaultStopGrace)
		}
	}
	if !strings.Contains(text, "CGO_ENABLED=0 go build -trimpath -tags goolm -o /out/weftroom ./bot/cmd/weftroom") {
		t.Error("the container's build is another")
	}
}
