//go:build unix

package paper

import (
	"bytes"
	"image/png"
	"testing"
	"time"

	"weftroom/calc/cputime"
	"weftroom/calc/lace"
)

// BenchmarkDrawing measures each picture, from a plan to PNG bytes at the width
// of a chat, against a floor in the same run: encoding the very same pixels. Both are
// processor time.
func BenchmarkDrawing(b *testing.B) {
	plan := planOf(b, lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 8})
	half := planOf(b, lace.Pattern{Ends: 40, Raised: 3, Passes: 3, Rows: 8, Repeat: lace.HalfDrop})
	large := planOf(b, lace.Pattern{Ends: lace.MaxEnds, Raised: 3, Passes: 3, Rows: lace.MaxRows})
	for _, d := range []struct {
		name string
		draw func() (*Sheet, error)
	}{
		{"row of 97 ends", rowDiagram(plan, 1).Sheet},
		{"cloth of 97 ends", Preview{Plan: plan, Words: previewWords()}.Sheet},
		{"cloth of 40 ends, half-drop", Preview{Plan: half, Words: previewWords()}.Sheet},
		{"cloth of 4000 ends, in part", Preview{Plan: large, Words: previewWords()}.Sheet},
		{"row of 4000 ends", rowDiagram(large, 1).Sheet},
	} {
		b.Run(d.name, func(b *testing.B) {
			m, err := pixels(must(d.draw()), PictureWidth)
			if err != nil {
				b.Fatal(err)
			}
			var whole, floor time.Duration
			for b.Loop() {
				floor += cputime.Spent(b, func() {
					var out bytes.Buffer
					err = png.Encode(&out, m)
				})
				if err != nil {
					b.Fatal(err)
				}
				whole += cputime.Spent(b, func() { _, err = PNG(must(d.draw()), PictureWidth) })
				if err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(whole)/float64(floor), "×encoding")
		})
	}
}

// BenchmarkGallery measures a picture that is kept, asked for anew from its plan,
// against drawing it.
func BenchmarkGallery(b *testing.B) {
	plan := planOf(b, lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 8})
	for _, d := range []struct {
		name string
		draw func() (*Sheet, error)
	}{
		{"row of 97 ends", rowDiagram(plan, 1).Sheet},
		{"cloth of 97 ends", Preview{Plan: plan, Words: previewWords()}.Sheet},
	} {
		b.Run(d.name, func(b *testing.B) {
			g := NewGallery(1 << 20)
			if _, err := g.PNG(d.draw, PictureWidth); err != nil {
				b.Fatal(err)
			}
			var kept, drawn time.Duration
			for b.Loop() {
				kept += cputime.Spent(b, func() { _, _ = g.PNG(d.draw, PictureWidth) })
				drawn += cputime.Spent(b, func() { _, _ = PNG(must(d.draw()), PictureWidth) })
			}
			b.ReportMetric(float64(kept)/float64(drawn), "×drawing")
		})
	}
}

// BenchmarkSettle measures the solver at growing sizes: per crossing of an end
// and a pick, the time must stay what it is.
func BenchmarkSettle(b *testing.B) {
	small := 0.0
	for _, size := range []struct {
		name       string
		ends, rows int
	}{{"96 ends, 10 rows", 96, 10}, {"twice the ends", 192, 10}, {"twice the rows", 96, 20}, {"four times both", 384, 40}} {
		b.Run(size.name, func(b *testing.B) {
			in := interlaced(b, lace.Pattern{Ends: size.ends, Raised: 3, Passes: 3, Rows: size.rows})
			for b.Loop() {
				springsOf(in).settle()
			}
			each := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / float64(size.ends*in.Levels)
			if small == 0 {
				small = each
			}
			b.ReportMetric(each, "ns/crossing")
			b.ReportMetric(each/small, "×small")
		})
	}
}
