package paper

import (
	"bytes"
	"math"
	"testing"
)

// everything is a sheet with every kind of item, pen and font.
func everything() *Sheet {
	s := NewSheet(600, 400)
	s.Rect(10, 10, 100, 50, Ink{200, 120, 60})
	s.Circle(200, 60, 40, Ink{40, 60, 120})
	s.Stroke(new(Path).MoveTo(20, 150).CurveTo(100, 80, 200, 250, 300, 150), Pen{Ink: Black, Width: 6, Cap: Round})
	s.Polyline(Pen{Ink: Ink{90, 90, 90}, Width: 3, Dash: []float64{8, 6}}, Point{320, 20}, Point{500, 20}, Point{560, 120}, Point{330, 130})
	s.Stroke(new(Path).RoundRect(330, 150, 80, 50, 8), Pen{Ink: Black, Width: 4})
	s.Polyline(Pen{Ink: Ink{160, 30, 30}, Width: 8, Cap: Round}, Point{430, 150}, Point{480, 200}, Point{431, 152})
	s.Fill(new(Path).ring(540, 180, 20, 8), Black)
	for i, style := range []Style{Regular, Bold, Italic, Mono} {
		s.Text(20, 230+float64(i)*24, 16, style, Start, Black, "Under 3 ½ ⅓ ⅔ ⅝ ← → ▲ ▼ ● ○ ① ② ⑨ ↻ 15″ × 4′ Ångström 織")
	}
	s.Text(300, 340, 12, Regular, Middle, Black, "in the middle")
	s.Text(590, 340, 12, Regular, End, Black, "at the end")
	inner := NewSheet(100, 50)
	inner.Stroke(new(Path).MoveTo(0, 25).CurveTo(4.2, 21.7, 16.7, 1.7, 25, 5).CurveTo(33.3, 8.3, 37.5, 41.7, 50, 45).CurveTo(62.5, 48.3, 91.7, 28.3, 100, 25), Pen{Ink: Black, Width: 2})
	inner.Text(50, 48, 10, Bold, Middle, Black, "placed")
	s.Place(inner, 20, 340, 1)
	s.Place(inner, 140, 345, 0.5)
	return s
}

func TestEverythingLooks(t *testing.T) { looksLike(t, "everything", everything(), 600) }

func TestPNGIsTheSameEveryTime(t *testing.T) {
	first, err := PNG(everything(), 1200)
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		again, err := PNG(everything(), 1200)
		if err != nil || !bytes.Equal(first, again) {
			t.Fatalf("other bytes: %v", err)
		}
	}
}

func TestPNGBounds(t *testing.T) {
	for name, c := range map[string]struct {
		sheet *Sheet
		width int
	}{
		"no width":       {NewSheet(0, 10), 100},
		"no height":      {NewSheet(10, 0), 100},
		"no pixels":      {NewSheet(10, 10), 0},
		"too wide":       {NewSheet(10, 10), maxPictureSide + 1},
		"too high":       {NewSheet(10, 10_000), 100},
		"too many":       {NewSheet(10, 20), 4000},
		"not a number":   {NewSheet(math.NaN(), 10), 100},
		"without bounds": {NewSheet(10, math.Inf(1)), 100},
	} {
		if _, err := PNG(c.sheet, c.width); err == nil {
			t.Errorf("%s: drawn", name)
		}
	}
}

// A drawing that divides by nothing, or goes far beyond its sheet, must neither
// take long nor spoil what else is on the sheet.
func TestPNGOfPlacesThatCannotBe(t *testing.T) {
	s := NewSheet(100, 100)
	s.Line(math.NaN(), 5, 50, 5, Pen{Ink: Black, Width: 2})
	s.Line(-1e30, 50, 1e30, 50, Pen{Ink: Black, Width: 2})
	s.Line(0, 0, 1e12, 1, Pen{Ink: Black, Width: 2, Dash: []float64{1e-9, 1e-9}})
	s.Circle(50, math.Inf(1), 3, Black)
	s.Text(math.Inf(-1), 20, 10, Regular, Start, Black, "far away")
	s.Place(s, 0, 0, 0.5) // itself
	s.Circle(80, 80, 10, Ink{0xff, 0, 0})
	m, err := pixels(s, 100)
	if err != nil {
		t.Fatal(err)
	}
	if got := m.RGBAAt(80, 80); got.R != 0xff || got.G != 0 {
		t.Errorf("the circle's middle is %v", got)
	}
	if got := m.RGBAAt(95, 50); got.R > 0x40 {
		t.Errorf("the long line is %v at its middle", got)
	}
}
