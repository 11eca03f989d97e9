package lesson

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/gif"
	"image/png"
	"slices"
	"strings"
	"testing"

	"weftroom/bot/paper"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

func letters(text string) func() error {
	return func() error { _, err := lace.Letters(text); return err }
}

func ground(name string, n int) func() error {
	return func() error { _, err := lace.Grounds()[1].Chart(map[string]int{name: n}); return err }
}

func tones(file []byte) func() error {
	return func() error { _, err := paper.ReadTones(file); return err }
}

func pngOf(width, height int) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray16(image.Rect(0, 0, width, height))); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func movingPicture() []byte {
	frame := image.NewPaletted(image.Rect(0, 0, 2, 2), color.Palette{color.Black, color.White})
	var b bytes.Buffer
	if err := gif.EncodeAll(&b, &gif.GIF{Image: []*image.Paletted{frame, frame}, Delay: []int{1, 1}}); err != nil {
		panic(err)
	}
	return b.Bytes()
}

var designFaults = []struct {
	faulty
	said string
}{
	{faulty{lace.KeyLetterUnknown, letters("MAЙ")}, "I have no “Й” to weave; there are ABCDEFGHIJKLMNOPQRSTUVWXYZÆÐØÞŁŒẞ"},
	{faulty{lace.KeyLettersNone, letters(" ")}, "There is nothing to weave in that text"},
	{faulty{lace.KeyLettersLong, letters(strings.Repeat("A", 61))}, "That text has 61 signs, blanks among them; up to 60 can"},
	{faulty{lace.KeyGroundSize, ground("size", 1)}, "size: 1 is outside what is allowed for lattice, 2 to 24"},
	{faulty{lace.KeyGroundTakes, ground("gap", 1)}, "lattice has no gap; it takes size"},
	{faulty{paper.KeyTonesFile, tones(make([]byte, paper.MaxSentBytes+100_000))}, "That picture is a file of 21 MB; I open up to 20 MB"},
	{faulty{paper.KeyTonesKind, tones([]byte("a leaf"))}, "That is no picture that I can open"},
	{faulty{paper.KeyTonesBroken, tones(pngOf(9, 9)[:40])}, "That PNG picture cannot be opened"},
	{faulty{paper.KeyTonesMoving, tones(movingPicture())}, "That GIF has several pictures, one after another"},
	{faulty{paper.KeyTonesPixels, tones(gifHeader(6000, 5000))}, "That picture is 6000 × 5000 pixels; I open up to 25 million pixels"},
	{faulty{paper.KeyTonesMemory, tones(progressiveHeader())}, "That picture is 5000 × 4000 pixels of a kind that takes 300 MB to open; I take up to 100 MB"},
	{faulty{paper.KeyTonesFlat, tones(pngOf(9, 9))}, "That picture is nearly all of one shade"},
}

// gifHeader is how a GIF of a size begins, and nothing else of it.
func gifHeader(width, height int) []byte {
	return append([]byte("GIF89a"), byte(width), byte(width>>8), byte(height), byte(height>>8), 0, 0, 0)
}

// progressiveHeader is how a progressive JPEG of three full components and
// 5000 × 4000 pixels begins, to its first scan.
func progressiveHeader() []byte {
	frame := []byte{0xff, 0xc2, 0, 17, 8, 4000 >> 8, 4000 & 0xff, 5000 >> 8, 5000 & 0xff, 3, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0}
	return slices.Concat([]byte{0xff, 0xd8}, frame, []byte{0xff, 0xda, 0, 2})
}

// TestWhatIsWrongWithADesignIsSaid in words, with an example beside each.
func TestWhatIsWrongWithADesignIsSaid(t *testing.T) {
	texts, caused := English(), map[calc.Key]bool{}
	for _, row := range designFaults {
		var f *calc.Fault
		if err := row.cause(); !errors.As(err, &f) || f.Key != row.key {
			t.Errorf("%s: got %v", row.key, err)
			continue
		}
		caused[f.Key] = true
		said := texts.Say(measure.Metric, f.Key, f.Args...)
		wellSaid(t, string(f.Key), said)
		if !strings.HasPrefix(said, row.said) || f.Example == "" {
			t.Errorf("%s: %q, for example %q; want %q", f.Key, said, f.Example, row.said)
		}
	}
	for _, key := range paper.TonesKeys {
		if !caused[key] {
			t.Errorf("%s is not caused", key)
		}
	}
}
