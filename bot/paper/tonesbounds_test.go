package paper

import (
	"image"
	"image/color"
	"testing"
)

// TestDarknessOfAShade: the threshold is half a hole wherever it lies between the
// two classes, and the shades to either side of it go evenly.
func TestDarknessOfAShade(t *testing.T) {
	for _, row := range []struct{ shade, threshold, dark, light, want float64 }{
		{0, 50, 10, 210, 1},
		{10, 50, 10, 210, 1},
		{30, 50, 10, 210, 0.75},
		{50, 50, 10, 210, 0.5},
		{130, 50, 10, 210, 0.25},
		{210, 50, 10, 210, 0},
		{255, 50, 10, 210, 0},
		{155, 200, 110, 210, 0.75},
		{205, 200, 110, 210, 0.25},
	} {
		if got := darkness(row.shade, row.threshold, row.dark, row.light); got != row.want {
			t.Errorf("shade %v about %v, from %v to %v: %v, want %v", row.shade, row.threshold, row.dark, row.light, got, row.want)
		}
	}
}

// TestASizeThatTwoReadersReadDifferentlyIsRefused before anything is decoded: the
// bounds would be held of one and the memory taken by the other.
func TestASizeThatTwoReadersReadDifferentlyIsRefused(t *testing.T) {
	m := image.NewGray(hookFrame)
	hooked(m, color.Black, color.White)
	file := encodedPNG(m)
	k := pictureKinds[0]
	if _, err := k.look(file); err != nil {
		t.Fatal(err)
	}
	for _, off := range []facts{{width: hookWide + 1, height: hookHigh}, {width: hookWide, height: hookHigh - 1}} {
		k.facts = func([]byte) (facts, error) { return off, nil }
		if f, err := k.look(file); err == nil {
			t.Errorf("%d × %d is taken for %d × %d", hookWide, hookHigh, f.width, f.height)
		}
	}
}
