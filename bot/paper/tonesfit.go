package paper

import (
	"image"
	"math"

	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// lightOf is the light of a decoded picture of a size, made smaller where its longer
// side is over TonesLong. What lies outside the picture, in a GIF that fills only a
// part of its screen, is clear, and so is white.
func lightOf(m image.RGBA64Image, width, height int) Tones {
	t := Tones{Width: width, Height: height}
	if long := max(width, height); long > TonesLong {
		t.Width = max(1, (width*TonesLong+long/2)/long)
		t.Height = max(1, (height*TonesLong+long/2)/long)
	}
	t.Light = make([]uint8, t.Width*t.Height)
	whole := uint64(width) * uint64(height) * 0xffff
	average(lightLines(m), width, height, t.Width, t.Height, func(x, y int, sum uint64) {
		t.Light[y*t.Width+x] = uint8((sum*255 + whole/2) / whole)
	})
	return t
}

// lightLines gives the light of a line of a picture, 0 to 65535 for each pixel.
func lightLines(m image.RGBA64Image) func(y int, line []uint64) {
	bounds := m.Bounds()
	return func(y int, line []uint64) {
		for x := range line {
			if !(image.Point{X: x, Y: y}).In(bounds) {
				line[x] = 0xffff
				continue
			}
			c := m.RGBA64At(x, y)
			line[x] = luma(uint64(c.R), uint64(c.G), uint64(c.B)) + 0xffff - uint64(c.A) // R, G and B are already weighed by A
		}
	}
}

// luma is that of ITU-R BT.709-6, item 3.2.
func luma(r, g, b uint64) uint64 { return (2126*r + 7152*g + 722*b + 5000) / 10000 }

// average lays a grid of columns × rows over a picture of width × height and gives,
// for each place, the sum of what it covers, each pixel counted by its share. All
// shares of a place add up to width × height, and nothing is rounded.
func average(shades func(y int, line []uint64), width, height, columns, rows int, place func(x, y int, sum uint64)) {
	line, across, sums := make([]uint64, width), make([]uint64, columns), make([]uint64, columns)
	known := -1 // the line that is summed in across: the next row may begin within it
	for row := range rows {
		clear(sums)
		for y := row * height / rows; y*rows < (row+1)*height; y++ {
			if y != known {
				shades(y, line)
				sumAcross(line, across)
				known = y
			}
			share := overlap(y, row, height, rows)
			for column, sum := range across {
				sums[column] += share * sum
			}
		}
		for column, sum := range sums {
			place(column, row, sum)
		}
	}
}

// sumAcross sums a line of pixels by places.
func sumAcross(line, across []uint64) {
	pixels, places := len(line), len(across)
	for place := range across {
		first, after := place*pixels/places, ((place+1)*pixels+places-1)/places
		sum := uint64(0)
		for _, shade := range line[first:after] {
			sum += shade
		}
		sum *= uint64(places)
		sum -= line[first] * (uint64(places) - overlap(first, place, pixels, places))
		if last := after - 1; last > first {
			sum -= line[last] * (uint64(places) - overlap(last, place, pixels, places))
		}
		across[place] = sum
	}
}

// overlap is how much of a pixel lies in a place, of a line of pixels that is cut
// into places: in parts of which a pixel has as many as there are places, and a
// place as many as there are pixels.
func overlap(pixel, place, pixels, places int) uint64 {
	return uint64(min((place+1)*pixels, (pixel+1)*places) - max(place*pixels, pixel*places))
}

// turned is the picture as an Exif orientation says that it is to be seen (CIPA
// DC-008, 4.6.4): 2 to 4 mirror and turn it, from 5 on rows become columns.
func (t Tones) turned(turn int) Tones {
	if turn < 2 || turn > 8 {
		return t
	}
	out := Tones{Width: t.Width, Height: t.Height, Light: make([]uint8, len(t.Light))}
	if turn >= 5 {
		out.Width, out.Height = t.Height, t.Width
	}
	for y := range out.Height {
		for x := range out.Width {
			fromX, fromY := x, y
			if turn >= 5 {
				fromX, fromY = y, x
			}
			if turn == 2 || turn == 3 || turn == 7 || turn == 8 {
				fromX = t.Width - 1 - fromX
			}
			if turn == 3 || turn == 4 || turn == 6 || turn == 7 {
				fromY = t.Height - 1 - fromY
			}
			out.Light[y*out.Width+x] = t.Light[fromY*t.Width+fromX]
		}
	}
	return out
}

// split parts the picture's shades into a dark class and a light one so that the
// two differ most: N. Otsu, A Threshold Selection Method from Gray-Level
// Histograms, IEEE Trans. SMC 9(1), 1979, 62–66. The threshold lies between two
// shades, and in the middle of the span where all part alike. With it come the mean of
// the dark class and how far that of the light class lies above it.
func (t Tones) split() (threshold, dark, apart float64) {
	var count, weight [256]float64
	var n, sum float64
	for _, v := range t.Light {
		count[v]++
	}
	for v, c := range count {
		weight[v] = float64(v) * c
		n, sum = n+c, sum+weight[v]
	}
	best, below, belowSum := 0.0, 0.0, 0.0
	from, to := 0, 0
	for v := range 255 {
		below, belowSum = below+count[v], belowSum+weight[v]
		if below == 0 || below == n {
			continue
		}
		mean, rest := belowSum/below, (sum-belowSum)/(n-below)
		between := below * (n - below) * (rest - mean) * (rest - mean)
		switch {
		case between > best:
			best, from, to = between, v, v
			dark, apart = mean, rest-mean
		case between == best && to == v-1:
			to = v
		}
	}
	return float64(from+to)/2 + 0.5, dark, apart
}

// Fit lays the picture on a grid of places: how much each should be a hole, 0 to 1,
// as lace.Motif takes it: the first row is the one woven first, the picture's
// foot; columns run from left to right. A place is the average of what it covers,
// whole and part pixels. Otsu's threshold becomes 0.5, the mean of the dark class
// and all that is darker 1, the mean of the light class and all that is lighter 0,
// and what lies between goes evenly. With light, it is the light parts that
// become holes. A grid without rows or columns, or with more than a lace.Chart may
// have, gives nil.
func (t Tones) Fit(rows, columns int, light bool) [][]float64 {
	if rows < 1 || columns < 1 || rows > lace.MaxChartRows || columns > lace.MaxChartColumns || len(t.Light) == 0 {
		return nil
	}
	threshold, dark, apart := t.split()
	fitted := make([][]float64, rows)
	for r := range fitted {
		fitted[r] = make([]float64, columns)
	}
	average(t.line, t.Width, t.Height, columns, rows, func(column, row int, sum uint64) {
		hole := darkness(float64(sum)/float64(t.Width*t.Height), threshold, dark, dark+apart)
		if light {
			hole = 1 - hole
		}
		fitted[rows-1-row][column] = hole
	})
	return fitted
}

func (t Tones) line(y int, line []uint64) {
	for x := range line {
		line[x] = uint64(t.Light[y*t.Width+x])
	}
}

// darkness of a shade: 1 at the dark mean, 0.5 at the threshold, 0 at the light mean.
func darkness(shade, threshold, dark, light float64) float64 {
	switch {
	case shade <= dark:
		return 1
	case shade >= light:
		return 0
	case shade <= threshold:
		return 1 - 0.5*(shade-dark)/(threshold-dark)
	}
	return 0.5 * (light - shade) / (light - threshold)
}

// Grain is the size of one place of a design on the cloth.
type Grain struct {
	Ends  int          // of a place: twice its pairs
	Picks int          // of a row, with the pick home where there is one
	Sett  measure.Sett // ends; where both are 0 or only one is known, a pick is as high as an end is wide
	PPI   measure.Sett // picks
}

// Rows is how many rows a picture takes so that it is not squashed when it is so
// many columns wide: at least 1, at most lace.MaxChartRows. It is 0 for a grain or
// a width that is none.
func (t Tones) Rows(columns int, g Grain) int {
	if columns < 1 || g.Ends < 1 || g.Picks < 1 || t.Width < 1 || t.Height < 1 {
		return 0
	}
	wide, high := float64(g.Ends), float64(g.Picks)
	if g.Sett > 0 && g.PPI > 0 {
		wide, high = wide/float64(g.Sett), high/float64(g.PPI)
	}
	rows := math.Round(float64(columns) * wide / high * float64(t.Height) / float64(t.Width))
	return int(min(max(rows, 1), lace.MaxChartRows))
}
