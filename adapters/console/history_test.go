package console

import (
	"bytes"
	"errors"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// memory remembers lines as the line editor does.
type memory struct{ lines []string }

func (m *memory) ReadHistory(r io.Reader) (int, error) {
	raw, err := io.ReadAll(r)
	if bytes.Contains(raw, []byte{0xff}) {
		return 0, errors.New("no text")
	}
	m.lines = strings.Fields(string(raw))
	return len(m.lines), err
}

func (m *memory) WriteHistory(w io.Writer) (int, error) {
	return io.WriteString(w, strings.Join(m.lines, "\n"))
}

func (m *memory) AppendHistory(s string) { m.lines = append(m.lines, s) }

func TestHistoryKeepsWhatIsSafeToShow(t *testing.T) {
	var m memory
	for _, line := range []string{"row", "", "a\x1b[2J", "\xff", "a\u202eb", strings.Repeat("x", 5000), "zwölf"} {
		history{}.add(&m, line)
	}
	if d := cmp.Diff([]string{"row", "zwölf"}, m.lines); d != "" {
		t.Error(d)
	}
}

// TestHistoryThatCannotBeRead leaves the room open.
func TestHistoryThatCannotBeRead(t *testing.T) {
	var log strings.Builder
	path := filepath.Join(t.TempDir(), "history")
	h := history{path, slog.New(slog.NewTextHandler(&log, nil))}
	h.load(&memory{})
	if log.Len() > 0 {
		t.Errorf("no file yet: %s", log.String())
	}
	if err := os.WriteFile(path, []byte{0xff}, 0o600); err != nil {
		t.Fatal(err)
	}
	h.load(&memory{})
	if !strings.Contains(log.String(), "the history could not be read") {
		t.Errorf("logged %q", log.String())
	}
}

func TestHistoryThatCannotBeWritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a file")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := (history{path: filepath.Join(path, "history")}).save(&memory{}); err == nil {
		t.Error("no error")
	}
}
