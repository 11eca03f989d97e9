//go:build unix

package lace

import (
	"math/rand/v2"
	"testing"
	"time"

	"weftroom/calc/cputime"
)

// tonesOn is a picture of grain, laid out over a whole warp at cells of two pairs.
func tonesOn(ends, rows int) Motif {
	rng := rand.New(rand.NewPCG(1, 2))
	m := Motif{Ends: ends, Passes: 3, Cell: 2, Across: 1, Margin: -1}
	for range rows {
		row := make([]float64, (ends/2-2*MinRaised)/m.Cell+1)
		for j := range row {
			row[j] = rng.Float64()
		}
		m.Asked = append(m.Asked, row)
	}
	return m
}

// BenchmarkFit measures how a fit grows with the ends and with the rows, against
// the fit of 400 ends × 120 rows in the same run.
func BenchmarkFit(b *testing.B) {
	for _, bigger := range []struct {
		name       string
		ends, rows int
	}{{"twice the ends", 800, 120}, {"twice the rows", 400, 240}, {"four times both", 1600, 480}} {
		b.Run(bigger.name, func(b *testing.B) {
			fit := func(ends, rows int) func() {
				m := tonesOn(ends, rows)
				return func() { must(m.Fit()) }
			}
			compare(b, fit(bigger.ends, bigger.rows), fit(400, 120))
		})
	}
}

// BenchmarkFitAndMake measures a design of 20 rows that differ, fitted, planned
// and proved, against plan and proof of 20 rows of groups of three.
func BenchmarkFitAndMake(b *testing.B) {
	m := tonesOn(400, 20)
	plain := must(Pattern{Ends: 400, Raised: 3, Passes: 3, Rows: 20}.Design())
	compare(b, func() {
		f := must(m.Fit())
		must(Make(must(f.Pattern.Design())))
	}, func() { must(Make(plain)) })
}

// compare runs work and floor by turns and reports the ratio of the processor
// time that they take, which does not grow when others use the machine.
func compare(b *testing.B, work, floor func()) {
	var whole, least time.Duration
	for b.Loop() {
		least += cputime.Spent(b, floor)
		whole += cputime.Spent(b, work)
	}
	b.ReportMetric(float64(whole)/float64(least), "×floor")
	b.ReportMetric(float64(least.Microseconds())/float64(b.N), "µs-floor")
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
