package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/calc/measure"
)

var (
	she = bot.Account{Chat: "ask", User: "she"}
	he  = bot.Account{Chat: "console", User: "he"}

	fullLoom = class.Loom{
		Kind: class.RigidHeddle, Width: 15 * measure.Inch, Heddle: 10 * measure.PerInch, Sett: 20 * measure.PerInch, Ends: 300,
		Rightmost: class.Slot, From: "left", Units: measure.Imperial, Unsure: []string{"kind", "ends"},
	}
)

func openMemory(t *testing.T, path string) *store.Memory {
	t.Helper()
	m, err := store.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func keep(t *testing.T, m *store.Memory, a bot.Account, l class.Loom) {
	t.Helper()
	if err := m.KeepLoom(context.Background(), a, l); err != nil {
		t.Fatal(err)
	}
}

func kept(t *testing.T, m *store.Memory, a bot.Account) class.Loom {
	t.Helper()
	l, err := m.Loom(context.Background(), a)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestMemoryRoundTrip: what is kept is there when the file is opened again, to
// the last digit, and each person has her own.
func TestMemoryRoundTrip(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state")
	m := openMemory(t, path)
	if _, err := os.Stat(path); !os.IsNotExist(err) {
		t.Errorf("a file before anything was kept: %v", err)
	}
	keep(t, m, she, fullLoom)
	keep(t, m, he, class.Loom{Ends: 97})
	again := openMemory(t, path)
	if diff := cmp.Diff(fullLoom, kept(t, again, she)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(class.Loom{Ends: 97}, kept(t, again, he)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(class.Loom{}, kept(t, again, bot.Account{Chat: "console", User: "she"})); diff != "" {
		t.Errorf("the same name in another chat: %s", diff)
	}
	asker, err := again.Asker(context.Background(), bot.Request{From: she})
	if err != nil || asker.Units != measure.Imperial {
		t.Errorf("asker %+v, %v", asker, err)
	}
}

// TestMemoryFile: nobody else can read the file, the same contents are the same
// bytes, and nothing is left beside it.
func TestMemoryFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "state")
	m := openMemory(t, path)
	keep(t, m, she, fullLoom)
	keep(t, m, he, fullLoom)
	first, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for range 20 { // a map would be written in another order
		keep(t, m, he, fullLoom)
		if next, err := os.ReadFile(path); err != nil || string(next) != string(first) {
			t.Fatalf("%v: the file changed without a change:\n%s", err, next)
		}
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v: mode %v", err, info.Mode())
	}
	if files, err := os.ReadDir(dir); err != nil || len(files) != 1 {
		t.Errorf("%v: %v", err, files)
	}
}

func TestMemoryRefusesBrokenFiles(t *testing.T) {
	rows := []struct{ shows, file, says string }{
		{"cut off", `[{"chat":"ask","user":"she","loom":{"ends":9`, "unexpected EOF"},
		{"empty", "", "EOF"},
		{"something else", "units = \"inches\"\n", "invalid character"},
		{"another shape", `{"looms":[]}`, "cannot unmarshal object"},
		{"a text for a number", `[{"chat":"ask","user":"she","loom":{"ends":"97"}}]`, "cannot unmarshal string"},
		{"more than was written", `[{"chat":"ask","user":"she","loom":{"ends":97,"colour":"red"}}]`, "colour"},
		{"two files in one", `[][]`, "more after its end"},
	}
	for _, row := range rows {
		path := filepath.Join(t.TempDir(), "state")
		if err := os.WriteFile(path, []byte(row.file), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := store.Open(path)
		if err == nil || !strings.Contains(err.Error(), path+" cannot be read and is left as it is") || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v, want %q", row.shows, err, row.says)
		}
		if after, err := os.ReadFile(path); err != nil || string(after) != row.file {
			t.Errorf("%s: %v: the file is now %q", row.shows, err, after)
		}
	}
	if _, err := store.Open(t.TempDir()); err == nil {
		t.Error("a folder was opened as a file")
	}
}

// TestMemoryFailedWrite: what could not be written is not remembered either.
func TestMemoryFailedWrite(t *testing.T) {
	rows := []struct {
		shows string
		spoil func(path string) error // so that path cannot be written any more
	}{
		{"the folder is gone", func(path string) error { return os.RemoveAll(filepath.Dir(path)) }},
		{"a folder stands in its place", func(path string) error {
			if err := os.Remove(path); err != nil {
				return err
			}
			return os.MkdirAll(filepath.Join(path, "full"), 0o700)
		}},
	}
	for _, row := range rows {
		dir := filepath.Join(t.TempDir(), "folder")
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, "state")
		m := openMemory(t, path)
		keep(t, m, she, fullLoom)
		if err := row.spoil(path); err != nil {
			t.Fatal(err)
		}
		for a, want := range map[bot.Account]class.Loom{she: fullLoom, he: {}} {
			if err := m.KeepLoom(context.Background(), a, class.Loom{Ends: 8}); err == nil {
				t.Errorf("%s: written all the same", row.shows)
			}
			if diff := cmp.Diff(want, kept(t, m, a)); diff != "" {
				t.Errorf("%s: %s", row.shows, diff)
			}
		}
		if files, err := os.ReadDir(dir); err == nil && len(files) != 1 {
			t.Errorf("%s: left lying: %v", row.shows, files)
		}
	}
}

// TestMemoryIsApart: changing a loom that was got or given changes nothing kept.
func TestMemoryIsApart(t *testing.T) {
	m := store.NewMemory()
	given := class.Loom{Unsure: []string{"kind", "ends"}}
	keep(t, m, she, given)
	given.Unsure[0] = "width"
	kept(t, m, she).Unsure[1] = "width"
	if diff := cmp.Diff([]string{"kind", "ends"}, kept(t, m, she).Unsure); diff != "" {
		t.Error(diff)
	}
}

// TestMemoryFromManySides is for the race detector: readers always see one
// whole loom, and the file at the end has everybody's last.
func TestMemoryFromManySides(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state")
	m := openMemory(t, path)
	const people, times = 8, 20
	var all sync.WaitGroup
	for p := range people {
		a := bot.Account{Chat: "ask", User: fmt.Sprint(p)}
		all.Go(func() {
			for n := 1; n <= times; n++ {
				if err := m.KeepLoom(context.Background(), a, class.Loom{Ends: n, Unsure: []string{fmt.Sprint(n)}}); err != nil {
					t.Error(err)
				}
			}
		})
		all.Go(func() {
			for range times {
				l, err := m.Loom(context.Background(), a)
				if err != nil || l.Ends > 0 && l.Unsure[0] != fmt.Sprint(l.Ends) {
					t.Errorf("%v: half a loom: %+v", err, l)
				}
			}
		})
	}
	all.Wait()
	again := openMemory(t, path)
	for p := range people {
		if l := kept(t, again, bot.Account{Chat: "ask", User: fmt.Sprint(p)}); l.Ends != times {
			t.Errorf("person %d: %+v", p, l)
		}
	}
}
