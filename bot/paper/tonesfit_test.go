package paper

import (
	"image"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// shades is a picture of one row, so many pixels of each shade.
func shades(pairs ...int) Tones {
	t := Tones{Height: 1}
	for i := 0; i < len(pairs); i += 2 {
		t.Light = append(t.Light, slices.Repeat([]uint8{uint8(pairs[i])}, pairs[i+1])...)
	}
	t.Width = len(t.Light)
	return t
}

// TestOtsusThreshold: Otsu 1979, equation 14: the between-class variance is
// ω₀·ω₁·(μ₁ − μ₀)²; here times the square of the number of pixels, reckoned by hand.
func TestOtsusThreshold(t *testing.T) {
	for _, tt := range []struct {
		name                   string
		t                      Tones
		threshold, dark, apart float64
	}{
		// After 10: 4·8·(165 − 10)² = 768,800. After 20: 6·6·(213⅓ − 13⅓)² = 1,440,000,
		// and so for each shade to 199. After 200: 8·4·(220 − 60)² = 819,200.
		{"two heaps of two", shades(10, 4, 20, 2, 200, 2, 220, 4), (20+199)/2.0 + 0.5, 40.0 / 3, 200},
		// After 100: 3·6·(102⅓ − 100)² = 98. After 101: 4·5·(102.6 − 100.25)² = 110.45.
		// After 102: 6·3·(103 − 100⅚)² = 84.5.
		{"side by side", shades(100, 3, 101, 1, 102, 2, 103, 3), 101.5, 100.25, 2.35},
		{"black and white", shades(0, 1, 255, 9), 127.5, 0, 255},
		{"one shade", shades(90, 5), 0.5, 0, 0},
	} {
		threshold, dark, apart := tt.t.split()
		got, want := []float64{threshold, dark, apart}, []float64{tt.threshold, tt.dark, tt.apart}
		if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
			t.Errorf("%s: %s", tt.name, diff)
		}
	}
}

func TestTheThresholdIsHalfAHole(t *testing.T) {
	for _, tt := range []struct{ shade, want float64 }{
		{0, 1}, {20, 1}, {60, 0.75}, {100, 0.5}, {125, 0.375}, {150, 0.25}, {200, 0}, {255, 0},
	} {
		if got := darkness(tt.shade, 100, 20, 200); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%v between 20 and 200 with 100 in the middle is %v, want %v", tt.shade, got, tt.want)
		}
	}
}

// TestAPictureIsLaidOnPlaces: the hook's foot is woven first, columns run as seen.
func TestAPictureIsLaidOnPlaces(t *testing.T) {
	hook := hookTones()
	for _, tt := range []struct {
		name          string
		rows, columns int
		light         bool
		want          [][]float64
	}{
		{"a place each 16 × 8", 4, 3, false, [][]float64{{1, 0, 0}, {1, 0, 0}, {1, 0, 0}, {1, 1, 0}}},
		{"light is the hole", 4, 3, true, [][]float64{{0, 1, 1}, {0, 1, 1}, {0, 1, 1}, {0, 0, 1}}},
		{"the average of what a place covers", 1, 3, false, [][]float64{{1, 0.25, 0}}},
		{"part pixels", 2, 1, false, [][]float64{{1.0 / 3}, {2.0/3*0.5 + 1.0/3*0.5}}},
		{"no rows", 0, 3, false, nil},
		{"no columns", 2, -1, false, nil},
		{"more rows than a chart has", lace.MaxChartRows + 1, 1, false, nil},
		{"more columns than any", 1, math.MaxInt, false, nil},
	} {
		if diff := cmp.Diff(tt.want, hook.Fit(tt.rows, tt.columns, tt.light), cmpopts.EquateApprox(0, 1e-9)); diff != "" {
			t.Errorf("%s: %s", tt.name, diff)
		}
	}
	if got := (Tones{}).Fit(2, 2, false); got != nil {
		t.Errorf("no picture is %v", got)
	}
}

// TestPlacesShareAPictureOut: whatever the sizes, each place is the average of what it
// covers by area (a grid fine enough for both, counted), and all of it is used.
func TestPlacesShareAPictureOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(1, 9)
		p := Tones{Width: size.Draw(t, "width"), Height: size.Draw(t, "height")}
		p.Light = rapid.SliceOfN(rapid.Byte(), p.Width*p.Height, p.Width*p.Height).Draw(t, "light")
		columns, rows := size.Draw(t, "columns"), size.Draw(t, "rows")
		want := make([]uint64, columns*rows)
		for y := range p.Height * rows {
			for x := range p.Width * columns {
				want[y/p.Height*columns+x/p.Width] += uint64(p.Light[y/rows*p.Width+x/columns])
			}
		}
		got := make([]uint64, columns*rows)
		average(p.line, p.Width, p.Height, columns, rows, func(x, y int, sum uint64) { got[y*columns+x] += sum })
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
	})
}

// TestFitStaysWithinBounds, light is what dark is not, and the threshold parts them.
func TestFitStaysWithinBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(1, 20)
		p := rapid.Custom(func(t *rapid.T) Tones {
			p := Tones{Width: size.Draw(t, "width"), Height: size.Draw(t, "height")}
			p.Light = rapid.SliceOfN(rapid.Byte(), p.Width*p.Height, p.Width*p.Height).Draw(t, "shades")
			return p
		}).Filter(func(p Tones) bool { // as ReadTones gives them
			_, _, apart := p.split()
			return apart >= MinContrast
		}).Draw(t, "tones")
		rows, columns := size.Draw(t, "rows"), size.Draw(t, "columns")
		dark, light := p.Fit(rows, columns, false), p.Fit(rows, columns, true)
		for r := range rows {
			for c := range columns {
				if d := dark[r][c]; !(d >= 0 && d <= 1) || math.Abs(d+light[r][c]-1) > 1e-12 {
					t.Fatalf("dark %v, light %v", d, light[r][c])
				}
			}
		}
		threshold, _, _ := p.split()
		for y, row := range p.Fit(p.Height, p.Width, false) {
			for x, d := range row {
				if v := float64(p.Light[(p.Height-1-y)*p.Width+x]); (v < threshold) != (d > 0.5) {
					t.Fatalf("shade %v is %v with the threshold at %v", v, d, threshold)
				}
			}
		}
	})
}

// TestALargePictureIsMadeSmaller: where a half is whole pixels, no shade is blended.
func TestALargePictureIsMadeSmaller(t *testing.T) {
	for _, tt := range []struct {
		name               string
		width, height      int
		keptWide, keptHigh int
		blended            bool
	}{
		{"as it is", 512, 40, 512, 40, false},
		{"a half", 1024, 768, 512, 384, false},
		{"upright", 300, 1024, 150, 512, false},
		{"no whole number", 1000, 700, 512, 358, true},
		{"a line", 5000, 1, 512, 1, true},
	} {
		m := image.NewGray(image.Rect(0, 0, tt.width, tt.height))
		for i := range m.Pix {
			m.Pix[i] = 255
			if i%tt.width < tt.width/2 {
				m.Pix[i] = 0
			}
		}
		got, err := ReadTones(encodedPNG(m))
		if err != nil || got.Width != tt.keptWide || got.Height != tt.keptHigh {
			t.Errorf("%s: %d × %d, %v", tt.name, got.Width, got.Height, err)
			continue
		}
		for i, v := range got.Light {
			want := uint8(0)
			if i%got.Width >= got.Width/2 {
				want = 255
			}
			if v != want && !tt.blended {
				t.Errorf("%s: %d at %d, want %d", tt.name, v, i, want)
				break
			}
		}
	}
}

// TestAPictureIsNotSquashed: what is round stays round on the cloth.
func TestAPictureIsNotSquashed(t *testing.T) {
	square, wide := Tones{Width: 100, Height: 100}, Tones{Width: 400, Height: 100}
	for _, tt := range []struct {
		name    string
		t       Tones
		columns int
		g       Grain
		want    int
	}{
		// 20 columns of 4 ends are 80 ends, as high as 80 picks, which are 20 rows of 4.
		{"square picks", square, 20, Grain{Ends: 4, Picks: 4}, 20},
		{"wide places", square, 20, Grain{Ends: 6, Picks: 4}, 30},
		{"wide picture", wide, 20, Grain{Ends: 4, Picks: 4}, 5},
		// 80 ends at 10 per inch are 8 in; rows of 4 picks at 8 per inch are half an inch.
		{"picks of their own height", square, 20, Grain{Ends: 4, Picks: 4, Sett: 10 * measure.PerInch, PPI: 8 * measure.PerInch}, 16},
		{"only one known", square, 20, Grain{Ends: 4, Picks: 4, PPI: 8 * measure.PerInch}, 20},
		{"at least a row", Tones{Width: 500, Height: 1}, 3, Grain{Ends: 4, Picks: 100}, 1},
		{"at most what a chart holds", Tones{Width: 1, Height: 500}, 2000, Grain{Ends: 6, Picks: 4}, lace.MaxChartRows},
		{"no columns", square, 0, Grain{Ends: 4, Picks: 4}, 0},
		{"no grain", square, 9, Grain{}, 0},
		{"no picture", Tones{}, 9, Grain{Ends: 4, Picks: 4}, 0},
	} {
		if got := tt.t.Rows(tt.columns, tt.g); got != tt.want {
			t.Errorf("%s: %d rows, want %d", tt.name, got, tt.want)
		}
	}
}
