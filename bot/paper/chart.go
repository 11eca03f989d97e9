package paper

import (
	"strconv"

	"weftroom/calc/lace"
)

// Chart is a picture of a whole design as weavers read one: a square for each
// place of each row, an open circle where there is a hole. It lies as the cloth
// does before her, so the first row is at the foot, and has the numbers of the
// rows at both sides and those of the places below.
//
// What has more rows or places than can be told apart is shown in part, from the
// corner where the work begins; Part tells how much.
type Chart struct {
	Holes lace.Chart // the first woven row first, places from left to right
	From  lace.Side  // where the first row begins
	Way   lace.Way
	Words ChartWords
}

// ChartWords are the words on a chart; what is empty is left out.
type ChartWords struct {
	Title string
	Begin string // below the side where the first row begins
	Hole  string // legend
	Plain string // legend
	Notes []string
}

// ChartPart is how much of a design a chart shows, from the corner where the work
// begins.
type ChartPart struct{ Columns, OfColumns, Rows, OfRows int }

// Whole tells that nothing is left out.
func (p ChartPart) Whole() bool { return p.Columns == p.OfColumns && p.Rows == p.OfRows }

// The sizes of a chart, in points. The least square is some ten pixels of a
// picture and a tenth of an inch on a full page: rings are still told apart.
const (
	mostSquare  = 17.0
	leastSquare = 3.5
	chartHigh   = 900.0 // of the squares together, at most
	markWide    = 11.0  // of the mark where a row begins
	linedSquare = 5.0   // a smaller one has no lines about it
)

// chartPlan is a chart on its way to a sheet.
type chartPlan struct {
	Chart
	part   ChartPart
	square float64
	gutter float64 // for the numbers of the rows
	b      box     // of the squares
}

// Part is how much the picture shows.
func (c Chart) Part() ChartPart { return c.plan().part }

func (c Chart) plan() *chartPlan {
	rows, columns := len(c.Holes), c.Holes.Columns()
	p := &chartPlan{Chart: c, gutter: TextWidth(strconv.Itoa(rows), sizeSmall, Regular) + 8}
	room := phoneWidth - 2*margin - 2*(p.gutter+markWide)
	p.square = max(leastSquare, min(mostSquare, room/float64(max(columns, 1)), chartHigh/float64(max(rows, 1))))
	p.part = ChartPart{
		Columns: min(columns, int(room/p.square+1e-9)), OfColumns: columns,
		Rows: min(rows, int(chartHigh/p.square+1e-9)), OfRows: rows,
	}
	return p
}

// Sheet draws the picture.
func (c Chart) Sheet() *Sheet {
	p := c.plan()
	s := NewSheet(phoneWidth, 0)
	col := &column{s: s, x: margin, w: phoneWidth - 2*margin, y: margin - 4, lines: 4}
	col.para(c.Words.Title, sizeTitle, Bold, Black)
	col.skip(8)
	if p.part.Rows > 0 && p.part.Columns > 0 {
		p.draw(col)
	}
	p.legend(col)
	s.H = col.y + margin - 4
	return s
}

// draw sets the squares and all that stands about them.
func (p *chartPlan) draw(col *column) {
	s := col.s
	wide := p.square * float64(p.part.Columns)
	p.b = box{(phoneWidth - wide) / 2, col.y, wide, p.square * float64(p.part.Rows)}
	s.Rect(p.b.x, p.b.y, p.b.w, p.b.h, inkPale)
	p.lines(s)
	p.holes(s)
	p.frame(s)
	p.rowNumbers(s)
	p.marks(s)
	col.y = p.b.y + p.b.h
	p.columnNumbers(col)
	p.begin(col)
}

// first is the first column that is shown, from 0 at the left.
func (p *chartPlan) first() int {
	if p.From == lace.Right {
		return p.part.OfColumns - p.part.Columns
	}
	return 0
}

// at is the middle of a square, by its column, from 0 at the left of all, and its
// row, from 0 at the foot.
func (p *chartPlan) at(column, row int) Point {
	return Point{p.b.x + p.square*(float64(column-p.first())+0.5), p.b.y + p.b.h - p.square*(float64(row)+0.5)}
}

// lines part the squares, every fifth column and row by a stronger line where
// they are counted.
func (p *chartPlan) lines(s *Sheet) {
	thin, strong := new(Path), new(Path)
	add := func(n int, x1, y1, x2, y2 float64) {
		switch {
		case n%p.strong() == 0:
			strong.MoveTo(x1, y1).LineTo(x2, y2)
		case p.square >= linedSquare:
			thin.MoveTo(x1, y1).LineTo(x2, y2)
		}
	}
	for i := 1; i < p.part.Columns; i++ {
		x := p.b.x + p.square*float64(i)
		add(p.first()+i, x, p.b.y, x, p.b.y+p.b.h)
	}
	for i := 1; i < p.part.Rows; i++ {
		y := p.b.y + p.b.h - p.square*float64(i)
		add(i, p.b.x, y, p.b.x+p.b.w, y)
	}
	s.Stroke(thin, Pen{Ink: inkFaint, Width: 0.5})
	s.Stroke(strong, Pen{Ink: inkWeft, Width: 0.8})
}

// strong is after how many squares a stronger line follows.
func (p *chartPlan) strong() int {
	if p.square >= linedSquare {
		return 5
	}
	return 10
}

// holes are rings: a dot of the pen, and a lighter one upon it. Drawn so, a page
// of some ten thousand of them is small.
func (p *chartPlan) holes(s *Sheet) {
	dots := new(Path)
	for row, holes := range p.Holes[:p.part.Rows] {
		for column := p.first(); column < p.first()+p.part.Columns; column++ {
			if holes[column] {
				at := p.at(column, row)
				dots.MoveTo(at.X, at.Y).LineTo(at.X, at.Y)
			}
		}
	}
	ring(s, dots, p.square)
}

// ring draws open circles in squares of a size.
func ring(s *Sheet, dots *Path, square float64) {
	s.Stroke(dots, Pen{Ink: Black, Width: 0.8 * square, Cap: Round})
	s.Stroke(dots, Pen{Ink: White, Width: 0.8*square - max(1.2, 0.24*square), Cap: Round})
}

// frame encloses the squares, torn where the design goes on.
func (p *chartPlan) frame(s *Sheet) {
	s.Stroke(new(Path).Rect(p.b.x, p.b.y, p.b.w, p.b.h), Pen{Ink: inkLine, Width: 0.8})
	if p.part.Columns < p.part.OfColumns {
		p.b.tearSide(s, p.From.Other())
	}
	if p.part.Rows < p.part.OfRows {
		p.b.tearTop(s)
	}
}

// numbered are the numbers, from 1, that are written along squares: 1, and every
// n-th from there on that the squares have room for, each number taking so much
// of it.
func numbered(first, count int, square, room float64) []int {
	step := 1
	for _, step = range []int{1, 5, 10, 20, 50, 100, 200, 500} {
		if float64(step)*square >= room {
			break
		}
	}
	var all []int
	for n := first; n < first+count; n++ {
		switch {
		case n == 1, n%step == 0 && (first > 1 || float64(n-1)*square >= room):
			all = append(all, n)
		}
	}
	return all
}

// rowNumbers stand at both sides.
func (p *chartPlan) rowNumbers(s *Sheet) {
	for _, n := range numbered(1, p.part.Rows, p.square, sizeSmall+1) {
		y := p.at(0, n-1).Y + sizeSmall*0.35
		s.Text(p.b.x-4, y, sizeSmall, Regular, End, Black, strconv.Itoa(n))
		s.Text(p.b.x+p.b.w+4, y, sizeSmall, Regular, Start, Black, strconv.Itoa(n))
	}
}

// columnNumbers stand below.
func (p *chartPlan) columnNumbers(col *column) {
	room := TextWidth(strconv.Itoa(p.part.OfColumns), sizeSmall, Regular) + 4
	for _, n := range numbered(p.first()+1, p.part.Columns, p.square, room) {
		col.s.Text(p.at(n-1, 0).X, col.y+sizeSmall+2, sizeSmall, Regular, Middle, Black, strconv.Itoa(n))
	}
	col.skip(sizeSmall + 6)
}

// marks point into the first row where it begins and, two-way, into the second
// from the other side. Where squares are too low for two marks, the first alone
// is drawn.
func (p *chartPlan) marks(s *Sheet) {
	p.mark(s, 0, p.From)
	if p.Way == lace.TwoWay && p.part.Rows > 1 && p.square >= markWide {
		p.mark(s, 1, p.From.Other())
	}
}

func (p *chartPlan) mark(s *Sheet, row int, from lace.Side) {
	const half = 4.0
	out, x := -1.0, p.b.x-p.gutter
	if from == lace.Right {
		out, x = 1, p.b.x+p.b.w+p.gutter
	}
	y := p.at(0, row).Y
	s.Fill(new(Path).Through(Point{x, y}, Point{x + out*markWide*0.8, y - half}, Point{x + out*markWide*0.8, y + half}).Close(), Black)
}

// begin says below the mark that the work begins there.
func (p *chartPlan) begin(col *column) {
	if p.Words.Begin == "" {
		return
	}
	// The words begin or end at the mark, or where the sheet does.
	x, align := p.b.x-p.gutter-markWide, Start
	if p.From == lace.Right {
		x, align = p.b.x+p.b.w+p.gutter+markWide, End
	}
	word := TextWidth(p.Words.Begin, sizeSmall, Regular)
	if align == Start {
		x = min(x, col.x+col.w-word)
	} else {
		x = max(x, col.x+word)
	}
	col.s.Text(x, col.y+sizeSmall, sizeSmall, Regular, align, Black, p.Words.Begin)
	col.skip(sizeSmall + 6)
}

// legend explains rings and empty squares.
func (p *chartPlan) legend(col *column) {
	col.skip(4)
	square := func(s *Sheet, x, y float64) {
		s.Rect(x-7, y-7, 14, 14, inkPale)
		s.Stroke(new(Path).Rect(x-7, y-7, 14, 14), Pen{Ink: inkLine, Width: 0.6})
	}
	col.keys(
		key{p.Words.Hole, func(s *Sheet, x, y float64) {
			square(s, x, y)
			ring(s, new(Path).MoveTo(x, y).LineTo(x, y), 14)
		}},
		key{p.Words.Plain, square},
	)
	for _, note := range p.Words.Notes {
		col.para(note, sizeText, Regular, Black)
		col.skip(3)
	}
}
