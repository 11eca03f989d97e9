package main

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"weftroom/bot"
)

// readmePictures are those that the README shows: a command line, which of its
// answer's pictures, and the file.
var readmePictures = []struct{ line, name, file string }{
	{"row ends:40 raised:4 rightmost:hole heddle:10", "row-1.png", "row.png"},
	{"row ends:48 raised:3 rows:4 repeat:halfdrop rightmost:hole heddle:10 ppi:10", "lace.png", "lace.png"},
	{`loom kind:"rigid heddle" ends:24 heddle:10`, "", "heddle.png"},
	{"motif text:MAY ends:97 rightmost:hole heddle:10 ppi:10", "chart.png", "chart.png"},
	{"motif text:MAY ends:97 rightmost:hole heddle:10 ppi:10", "lace.png", "letters.png"},
}

// TestReadmePictures holds the pictures in the README to what is drawn now, but
// for what an eye would not see; -update draws them anew.
func TestReadmePictures(t *testing.T) {
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range readmePictures {
		path := filepath.Join(top, "testdata", "pictures", p.file)
		drawn := pictureOf(t, p.line, p.name)
		if *update {
			if err := os.WriteFile(path, drawn, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		kept, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if share := differing(t, kept, drawn); share > 0.002 {
			t.Errorf("%s is out of date: %.1f %% of it is drawn otherwise now; make docs draws it", p.file, 100*share)
		}
		if !strings.Contains(string(text), "](testdata/pictures/"+p.file+")") {
			t.Errorf("the README does not show %s", p.file)
		}
	}
}

func pictureOf(t *testing.T, line, name string) []byte {
	t.Helper()
	reply := readmeDispatcher().Handle(context.Background(), bot.Request{
		ID: line, From: bot.Account{Chat: "readme", User: "maren"}, In: bot.Place{Chat: "readme", Room: "maren"}, Direct: true, Line: line,
	})
	for _, b := range reply.Body {
		if p, ok := b.(bot.Picture); ok && (name == "" || strings.TrimSuffix(p.Name, ".png") == strings.TrimSuffix(name, ".png")) {
			raw, err := p.Draw()
			if err != nil {
				t.Fatal(err)
			}
			return raw
		}
	}
	t.Fatalf("%q shows no picture %s", line, name)
	return nil
}

// differing is the share of pixels that differ so that one could see it.
func differing(t *testing.T, a, b []byte) float64 {
	t.Helper()
	x, y := decoded(t, a), decoded(t, b)
	if x.Bounds() != y.Bounds() {
		return 1
	}
	size, n := x.Bounds(), 0
	for row := size.Min.Y; row < size.Max.Y; row++ {
		for col := size.Min.X; col < size.Max.X; col++ {
			r1, g1, b1, _ := x.At(col, row).RGBA()
			r2, g2, b2, _ := y.At(col, row).RGBA()
			if apart(r1, r2) > 0x2000 || apart(g1, g2) > 0x2000 || apart(b1, b2) > 0x2000 {
				n++
			}
		}
	}
	return float64(n) / float64(size.Dx()*size.Dy())
}

func decoded(t *testing.T, raw []byte) image.Image {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func apart(a, b uint32) uint32 { return max(a, b) - min(a, b) }
