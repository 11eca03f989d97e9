package paper

import "math"

// near is how far a point may be from a straight line to be left out of a
// printed page, in points: 1/720 in.
const near = 0.1

// straightened leaves out of the straight pieces of a path the points that lie
// on the line between their neighbours anyway. A drawing of lace has tens of
// thousands of those, and a page is to be small. The path's ends and its
// curves stay.
func straightened(steps []step, points []Point) ([]step, []Point) {
	outSteps, out := make([]step, 0, len(steps)), make([]Point, 0, len(points))
	for i := 0; i < len(steps); {
		s := steps[i]
		run := 0
		for i+run < len(steps) && steps[i+run] == lineTo {
			run++
		}
		if run > 1 && len(out) > 0 {
			kept := thinned(out[len(out)-1], points[:run])
			for range kept {
				outSteps = append(outSteps, lineTo)
			}
			out = append(out, kept...)
			points, i = points[run:], i+run
			continue
		}
		n := [...]int{moveTo: 1, lineTo: 1, curveTo: 3, closed: 0}[s]
		outSteps, out = append(outSteps, s), append(out, points[:n]...)
		points, i = points[n:], i+1
	}
	return outSteps, out
}

// thinned goes from one point along line as far at a time as everything between
// stays near the straight way.
func thinned(from Point, line []Point) []Point {
	kept := line[:0:0]
	for len(line) > 0 {
		far := 1
		for far < len(line) && allNear(from, line[far], line[:far]) {
			far++
		}
		from = line[far-1]
		kept = append(kept, from)
		line = line[far:]
	}
	return kept
}

func allNear(a, b Point, between []Point) bool {
	dx, dy := b.X-a.X, b.Y-a.Y
	length := math.Hypot(dx, dy)
	for _, p := range between {
		along := (p.X-a.X)*dx + (p.Y-a.Y)*dy
		if along < 0 || along > length*length {
			return false
		}
		if math.Abs((p.X-a.X)*dy-(p.Y-a.Y)*dx) > near*length {
			return false
		}
	}
	return true
}
