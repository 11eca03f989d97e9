package paper

import (
	"image"
	"image/color"
	"testing"

	"weftroom/calc/lace"
)

// TestFewColoursStayAsTheyAre: a picture of as many colours as a palette holds
// loses none.
func TestFewColoursStayAsTheyAre(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 16, 16))
	for i := range 256 {
		m.SetRGBA(i%16, i/16, color.RGBA{uint8(i), uint8(255 - i), uint8(i / 3), 0xff})
	}
	got := paletted(m, nil)
	for i := range 256 {
		if x, y := i%16, i/16; got.At(x, y) != m.At(x, y) {
			t.Fatalf("%v became %v", m.At(x, y), got.At(x, y))
		}
	}
}

// TestRareColoursBecomeTheNearest: the commonest stay, the others go to what is
// nearest.
func TestRareColoursBecomeTheNearest(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 300, 2))
	for x := range 300 {
		m.SetRGBA(x, 0, color.RGBA{uint8(x / 2), 0, uint8(x % 2), 0xff}) // all once
		m.SetRGBA(x, 1, color.RGBA{200, 200, 200, 0xff})
	}
	got := paletted(m, nil)
	if len(got.Palette) != mostColours || got.Palette[0] != (color.RGBA{200, 200, 200, 0xff}) {
		t.Fatalf("a palette of %d colours that begins with %v", len(got.Palette), got.Palette[0])
	}
	for x := range 300 {
		want, is := m.RGBAAt(x, 0), got.At(x, 0).(color.RGBA)
		if d := int(want.R) - int(is.R); d < 0 || d > 30 || is.G != 0 {
			t.Errorf("%v became %v", want, is)
		}
	}
}

// TestPaletteIsNotSeen: in no picture of ours does any pixel become another by
// more than an eye would see at an edge.
func TestPaletteIsNotSeen(t *testing.T) {
	plan := planOf(t, lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 4, Repeat: lace.HalfDrop})
	for name, draw := range map[string]func() (*Sheet, error){
		"row": rowDiagram(plan, 1).Sheet, "cloth": Preview{Plan: plan, Words: previewWords()}.Sheet,
	} {
		m, err := pixels(must(draw()), PictureWidth)
		if err != nil {
			t.Fatal(err)
		}
		got := paletted(m, nil)
		most, changed := 0, 0
		for y := range m.Rect.Dy() {
			for x := range m.Rect.Dx() {
				a, b := m.RGBAAt(x, y), got.At(x, y).(color.RGBA)
				d := max(far(a.R, b.R), far(a.G, b.G), far(a.B, b.B))
				most = max(most, d)
				if d > 0 {
					changed++
				}
			}
		}
		t.Logf("%s: %d colours; %.2f %% of the pixels are another by up to %d of 255", name, len(got.Palette), 100*float64(changed)/float64(len(got.Pix)), most)
		if most > 32 { // an eighth of the way from black to white, at the edge of a line
			t.Errorf("%s: a pixel becomes another by %d of 255", name, most)
		}
	}
}

func far(a, b uint8) int { return int(max(a, b)) - int(min(a, b)) }
