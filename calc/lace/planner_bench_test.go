package lace

import "testing"

var benchmarkPieces = []struct {
	name string
	ask  Pattern
}{
	{"200x500", Pattern{Ends: 200, Rows: 500}},
	{"200x500-halfdrop", Pattern{Ends: 200, Rows: 500, Repeat: HalfDrop}},
	{"400x500", Pattern{Ends: 400, Rows: 500}},
	{"200x1000", Pattern{Ends: 200, Rows: 1000}},
}

func benchmarkDesigns(b *testing.B, work func(Design) (*Plan, error)) {
	for _, piece := range benchmarkPieces {
		b.Run(piece.name, func(b *testing.B) {
			piece.ask.Raised, piece.ask.Passes = 3, 3
			d, err := piece.ask.Design()
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := work(d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkMake plans and proves; the names are ends × rows.
func BenchmarkMake(b *testing.B) { benchmarkDesigns(b, Make) }

// BenchmarkPlan is the planner's part of BenchmarkMake.
func BenchmarkPlan(b *testing.B) { benchmarkDesigns(b, plan) }
