package console

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weftroom/bot"
)

// Pictures of an answer are written into the files folder; one that cannot be
// drawn is told and hides nothing else.
func TestPicturesAreWritten(t *testing.T) {
	t.Chdir(t.TempDir())
	o := options(t)
	o.Files = "out"
	drawn := func() ([]byte, error) { return []byte("pixels"), nil }
	fails := func() ([]byte, error) { return nil, errors.New("no paint") }
	got := New(o).reply(bot.Reply{
		Title: "A row",
		Body:  []bot.Block{bot.Picture{Name: "row-1.png", Alt: "the row", Draw: drawn}, bot.Picture{Name: "lace.png", Alt: "the lace", Draw: fails}, bot.Paragraph("After them.")},
		Files: []bot.File{{Name: "row.txt", Bytes: []byte("x")}},
	})
	for _, want := range []string{"[the row]", "[the lace]", "After them.", filepath.FromSlash("Saved as out/row-1.png\n"), "lace.png", filepath.FromSlash("Saved as out/row.txt\n")} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in\n%s", want, got)
		}
	}
	if strings.Contains(got, "no paint") || strings.Contains(got, "Saved as out/lace") || strings.Count(got, "[the row]") != 1 {
		t.Errorf("it reads\n%s", got)
	}
	if raw, err := os.ReadFile(filepath.Join("out", "row-1.png")); err != nil || string(raw) != "pixels" {
		t.Errorf("the picture holds %q, %v", raw, err)
	}
}
