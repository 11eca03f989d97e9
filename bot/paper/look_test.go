package paper

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the pictures in testdata/look anew")

// pixels are a sheet as it is drawn, before its colours are made few.
func pixels(s *Sheet, width int) (*image.RGBA, error) { return new(canvas).draw(s, width) }

// looksLike compares a sheet, so many pixels wide, with the picture kept in
// testdata/look, as an eye does: a little of blur and shade is no difference, a
// line more or fewer is.
//
// The pictures are kept small; `go test ./bot/paper -update` writes them anew,
// and whoever does so looks at them.
func looksLike(t *testing.T, name string, s *Sheet, width int) {
	t.Helper()
	got, err := pixels(s, width)
	if err != nil {
		t.Fatal(err)
	}
	kept := filepath.Join("testdata", "look", name+".png")
	if *update {
		writePicture(t, kept, got)
		return
	}
	file, err := os.ReadFile(kept)
	if err != nil {
		t.Fatal(err)
	}
	want, err := png.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	if diff := lookDiff(got, want); diff != "" {
		now := filepath.Join(t.ArtifactDir(), name+".png")
		writePicture(t, now, got)
		t.Errorf("%s does not look as it did: %s; drawn now: %s", name, diff, now)
	}
}

func writePicture(t *testing.T, name string, m image.Image) {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
}

// The squares that are compared, in pixels, and how far the mean of one may be
// off, as a share of black to white.
const (
	lookSquare = 4
	lookNear   = 0.12
)

// lookDiff compares two pictures square by square, and says where they differ
// most, or nothing.
func lookDiff(a, b image.Image) string {
	if a.Bounds().Size() != b.Bounds().Size() {
		return fmt.Sprintf("%v instead of %v pixels", a.Bounds().Size(), b.Bounds().Size())
	}
	return diffSquares(a, b, lookSquare, lookNear)
}

// diffSquares compares the means of squares of so many pixels.
func diffSquares(one, other image.Image, square int, near float64) string {
	a, b := inRGBA(one), inRGBA(other)
	worst, where := 0.0, image.Point{}
	size := a.Bounds().Size()
	for y := 0; y < size.Y; y += square {
		for x := 0; x < size.X; x += square {
			if d := squareDiff(a, b, image.Rect(x, y, x+square, y+square)); d > worst {
				worst, where = d, image.Pt(x, y)
			}
		}
	}
	if worst <= near {
		return ""
	}
	return fmt.Sprintf("at %v by %.0f %% of black to white (allowed %.0f %%)", where, 100*worst, 100*near)
}

// squareDiff is the greatest difference of the mean of a channel.
func squareDiff(a, b *image.RGBA, square image.Rectangle) float64 {
	var sum [3]int
	square = square.Intersect(a.Rect).Intersect(b.Rect)
	for y := square.Min.Y; y < square.Max.Y; y++ {
		p, q := a.Pix[a.PixOffset(square.Min.X, y):], b.Pix[b.PixOffset(square.Min.X, y):]
		for x := range square.Dx() {
			for k := range sum {
				sum[k] += int(p[4*x+k]) - int(q[4*x+k])
			}
		}
	}
	worst := max(sum[0], -sum[0], sum[1], -sum[1], sum[2], -sum[2])
	return float64(worst) / 255 / float64(max(square.Dx()*square.Dy(), 1))
}

// inRGBA is a picture with its pixels in the form that is compared.
func inRGBA(m image.Image) *image.RGBA {
	if m, ok := m.(*image.RGBA); ok && m.Rect.Min == (image.Point{}) {
		return m
	}
	out := image.NewRGBA(image.Rectangle{Max: m.Bounds().Size()})
	draw.Draw(out, out.Rect, m, m.Bounds().Min, draw.Src)
	return out
}

// TestLookDiffSees holds the comparison to its purpose: it must let a shift of
// a tenth of a pixel pass and see one thread gone, a number changed and another
// ink.
func TestLookDiffSees(t *testing.T) {
	threads := func(gone int, shift float64, number string, ink Ink) image.Image {
		s := NewSheet(300, 200)
		for i := range 20 {
			if i != gone {
				s.Line(20+10*float64(i)+shift, 10, 20+10*float64(i)+shift, 150, Pen{Ink: ink, Width: 3})
			}
		}
		s.Text(20, 180, 14, Regular, Start, Black, number)
		m, err := pixels(s, 300)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	grey := Ink{0x60, 0x60, 0x60}
	kept := threads(-1, 0, "12", grey)
	if diff := lookDiff(threads(-1, 0.1, "12", grey), kept); diff != "" {
		t.Errorf("a tenth of a pixel: %s", diff)
	}
	for name, other := range map[string]image.Image{
		"a thread gone":   threads(7, 0, "12", grey),
		"another number":  threads(-1, 0, "13", grey),
		"another ink":     threads(-1, 0, "12", Ink{0x60, 0x60, 0xc0}),
		"one pixel aside": threads(-1, 1, "12", grey),
	} {
		if lookDiff(other, kept) == "" {
			t.Errorf("%s was not seen", name)
		}
	}
}
