package lace

// ChartOf reads the chart of a design from its groups: a place where any row has a
// border is a column, and so is every place between at the same distance. cell is
// that distance in pairs, the greatest that all borders are multiples of apart;
// left and right are the pairs from the selvedges to the outermost borders, the
// end over of an odd warp in neither. Where all borders lie one above the other
// the cell is 1, and where there are none the chart has no columns and left is
// the whole warp.
//
// The groups of each row must cover the warp, as Pattern.Design has them.
func ChartOf(d Design) (chart Chart, cell, left, right int) {
	borders := make([][]int, len(d.Rows))
	pairs := d.Ends / 2
	lowest, highest := pairs, 0
	for i := range d.Rows {
		borders[i] = d.borders(i)
		if n := len(borders[i]); n > 0 {
			lowest, highest = min(lowest, borders[i][0]), max(highest, borders[i][n-1])
		}
	}
	chart = make(Chart, len(d.Rows))
	if highest == 0 {
		for i := range chart {
			chart[i] = []bool{}
		}
		return chart, 1, pairs, 0
	}
	for _, row := range borders {
		for _, b := range row {
			cell = divisor(cell, b-lowest)
		}
	}
	cell = max(cell, 1)
	for i, row := range borders {
		chart[i] = make([]bool, (highest-lowest)/cell+1)
		for _, b := range row {
			chart[i][(b-lowest)/cell] = true
		}
	}
	return chart, cell, lowest, pairs - highest
}

// borders are the inner borders of row i, as pairs from the left, in order.
func (d Design) borders(i int) []int {
	groups := d.Rows[i]
	side := d.From
	if d.goesHome(i) {
		side = side.Other()
	}
	if side == Right {
		groups = reversed(groups)
	}
	var borders []int
	at := 0
	for _, g := range groups[:max(len(groups)-1, 0)] {
		at += g
		borders = append(borders, at)
	}
	return borders
}

// divisor is the greatest common divisor.
func divisor(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
