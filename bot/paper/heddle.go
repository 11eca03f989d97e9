package paper

import (
	"strconv"

	"weftroom/calc/lace"
)

// Holder is what the ends go through.
type Holder int

// A rigid heddle, with a hole in every slat and a slot between two; or two
// shafts with a heddle for each end.
const (
	RigidHeddle Holder = iota
	TwoShafts
)

// WhichUp is the picture that goes with the question about the rightmost end:
// the two ways in which it can sit, side by side, each as it looks when she
// opens the shed.
type WhichUp struct {
	Holder Holder
	Words  WhichUpWords
}

// WhichUpWords are the words on it; the first of two is for the end that goes up.
type WhichUpWords struct {
	Title string
	Sits  [2]string // over each side: "in a hole", "in a slot"
	Moves [2]string // under each side: what that end does
	Here  string    // at the end in question
	Notes []string
}

// Sheet draws the picture.
func (w WhichUp) Sheet() *Sheet {
	s := NewSheet(phoneWidth, 0)
	col := &column{s: s, x: margin, w: phoneWidth - 2*margin, y: margin - 4, lines: 4}
	col.para(w.Words.Title, sizeTitle, Bold, Black)
	col.skip(6)
	const between = 14.0
	wide, high := (phoneWidth-2*margin-between)/2, 172.0
	bottom := col.y
	for i := range 2 {
		side := &column{s: s, x: margin + float64(i)*(wide+between), w: wide, y: col.y, lines: 3}
		side.para(w.Words.Sits[i], sizeText+1, Bold, Black)
		side.skip(4)
		h := heddle{holder: w.Holder, b: box{side.x, side.y, wide, high}, up: i == 0, here: w.Words.Here}
		h.draw(s)
		side.skip(high + 2)
		side.para(w.Words.Moves[i], sizeText, Regular, Black)
		bottom = max(bottom, side.y)
	}
	col.y = bottom + 4
	for _, note := range w.Words.Notes {
		col.para(note, sizeText, Regular, Black)
		col.skip(3)
	}
	s.H = col.y + margin - 4
	return s
}

// heddle is the right edge of a heddle, or of two shafts, with one shed open.
type heddle struct {
	holder Holder
	b      box
	up     bool // the rightmost end goes up
	here   string
}

const (
	heddlePitch = 20.0 // from end to end
	heddleEnds  = 6
)

// raised tells whether an end, counted from the right from 0, is up.
func (h heddle) raised(i int) bool { return (i%2 == 0) == h.up }

func (h heddle) x(i int) float64 { return h.b.x + h.b.w - 42 - float64(i)*heddlePitch }

// The heights at which raised and lowered ends pass.
func (h heddle) high() float64 { return h.b.y + 64 }
func (h heddle) low() float64  { return h.b.y + 94 }

func (h heddle) draw(s *Sheet) {
	s.Fill(new(Path).RoundRect(h.b.x, h.b.y, h.b.w, h.b.h, 5), inkShade)
	if h.holder == RigidHeddle {
		h.rigid(s)
	} else {
		h.shafts(s)
	}
	for i := range heddleEnds {
		y := h.low()
		if h.raised(i) {
			y = h.high()
		}
		s.Circle(h.x(i), y, 6, inkLine)
		s.Circle(h.x(i), y, 4.6, inkWarp)
	}
	h.mark(s)
	h.b.tearSide(s, lace.Left)
}

// rigid draws slats with holes, a slot between two: ends in holes are held up,
// ends in slots have stayed down.
func (h heddle) rigid(s *Sheet) {
	top, bottom := h.b.y+14, h.b.y+h.b.h-30
	left, right := h.b.x+3, h.x(0)+8
	if !h.up { // beyond the last slot there is one more slat
		right += heddlePitch - 3
	}
	s.Rect(left, top-6, right-left, 8, inkWeft)
	s.Rect(left, bottom-2, right-left, 8, inkWeft)
	for i := -1; i <= heddleEnds; i++ {
		if x := h.x(i); h.raised(i+2) && x > left+6 && x < right {
			s.Rect(x-6.5, top, 13, bottom-top, inkWeft)
			s.Stroke(new(Path).Rect(x-6.5, top, 13, bottom-top), Pen{Ink: inkLine, Width: 0.8})
			s.Fill(new(Path).Ellipse(x, h.high(), 4.8, 9), inkShade)
		}
	}
}

// shafts draws the two shafts: the heddles of the lifted one hang higher.
func (h heddle) shafts(s *Sheet) {
	const eye, tall = 7.0, 50.0
	left, right := h.b.x+3, h.x(0)+10
	for _, up := range []bool{false, true} {
		y, ink := h.low(), inkFaint
		if up {
			y, ink = h.high(), inkWeft
		}
		for i := range heddleEnds {
			if h.raised(i) != up {
				continue
			}
			x := h.x(i)
			s.Line(x, y-tall, x, y-eye, Pen{Ink: ink, Width: 1.6})
			s.Line(x, y+eye, x, y+tall, Pen{Ink: ink, Width: 1.6})
			s.Stroke(new(Path).Ellipse(x, y, 5.5, eye+1.5), Pen{Ink: ink, Width: 1.6})
		}
		s.Rect(left, y-tall-5, right-left, 6, ink)
		s.Rect(left, y+tall-1, right-left, 6, ink)
	}
}

// mark points at the rightmost end.
func (h heddle) mark(s *Sheet) {
	x, y := h.x(0), h.low()
	if h.up {
		y = h.high()
	}
	for _, pen := range []Pen{{Ink: inkShade, Width: 5}, {Ink: White, Width: 2}} {
		s.Stroke(new(Path).Circle(x, y, 9.5), pen)
		s.Line(x+30, y, x+13, y, pen)
		s.Polyline(pen, Point{x + 18, y - 5}, Point{x + 12.5, y}, Point{x + 18, y + 5})
	}
	if h.here != "" {
		s.Text(h.b.x+h.b.w-8, h.b.y+h.b.h-9, sizeSmall, Bold, End, White, h.here)
	}
}

// Sleying is a picture of the ends in a rigid heddle or in a reed, at both edges,
// each end with its number from the right.
type Sleying struct {
	Ends  int
	Hole  bool  // the rightmost end is in a hole; of a rigid heddle
	Dents []int // ends in each dent from the right, over and over; nil for a rigid heddle
	Words SleyingWords
}

// SleyingWords are the words on it; what is empty is left out.
type SleyingWords struct {
	Title       string
	Right, Left string // over the edges
	Notes       []string
}

const (
	sleyed     = 9    // places that are shown at an edge
	sleyedWide = 34.0 // of one
)

// Sheet draws the picture.
func (d Sleying) Sheet() *Sheet {
	s := NewSheet(phoneWidth, 0)
	col := &column{s: s, x: margin, w: phoneWidth - 2*margin, y: margin - 4, lines: 4}
	col.para(d.Words.Title, sizeTitle, Bold, Black)
	col.skip(4)
	if places := d.places(); places <= sleyed {
		d.edge(col, d.Words.Right, 0, places, places)
	} else {
		d.edge(col, d.Words.Right, 0, sleyed, places)
		col.skip(6)
		d.edge(col, d.Words.Left, places-sleyed, places, places)
	}
	col.skip(4)
	for _, note := range d.Words.Notes {
		col.para(note, sizeText, Regular, Black)
		col.skip(3)
	}
	s.H = col.y + margin - 4
	return s
}

// edge draws the places from one up to another, the first at the right.
func (d Sleying) edge(col *column, title string, from, to, of int) {
	const high = 74.0
	s, right := col.s, from == 0
	align, x := Start, col.x
	if right {
		align, x = End, col.x+col.w
	}
	s.Text(x, col.y+sizeText, sizeText, Bold, align, Black, title)
	b := box{col.x, col.y + sizeText*lineHigh + 3, sleyedWide * float64(to-from+1), high}
	if right {
		b.x = col.x + col.w - b.w
	}
	s.Fill(new(Path).RoundRect(b.x, b.y, b.w, b.h, 5), inkShade)
	s.Rect(b.x+2, b.y+6, b.w-4, 6, inkWeft)
	s.Rect(b.x+2, b.y+b.h-12, b.w-4, 6, inkWeft)
	for place := from; place < to; place++ {
		d.place(s, b, place, b.x+b.w-sleyedWide*float64(place-from+1))
	}
	if to < of {
		b.tearSide(s, lace.Left)
	}
	if !right {
		b.tearSide(s, lace.Right)
	}
	col.y = b.y + b.h + sizeSmall + 6
}

// place draws one place and the ends in it. In a rigid heddle a hole is in a slat,
// and below stands the end's number; in a reed wires stand at both sides of a
// dent, and below stands how many ends are in it.
func (d Sleying) place(s *Sheet, b box, place int, x float64) {
	middle, top, bottom := b.y+b.h/2, b.y+12, b.y+b.h-12
	first, last := d.endsIn(place)
	n := last - first + 1
	label := strconv.Itoa(first)
	switch {
	case d.Dents != nil:
		label = strconv.Itoa(n)
		for _, wire := range []float64{x - sleyedWide/2, x + sleyedWide/2} {
			s.Line(wire, top, wire, bottom, Pen{Ink: inkWeft, Width: 2.5})
		}
	case (place%2 == 0) == d.Hole:
		s.Rect(x-sleyedWide*0.3, top, sleyedWide*0.6, bottom-top, inkWeft)
		s.Fill(new(Path).Ellipse(x, middle, 5.4, 9.5), inkShade)
	}
	for i := range n {
		at := x + sleyedWide*0.8*((float64(n)-1)/2-float64(i))/float64(n)
		r := min(4.8, 0.38*sleyedWide/float64(n))
		s.Circle(at, middle, r*1.25, inkLine)
		s.Circle(at, middle, r, inkWarp)
	}
	s.Text(x, b.y+b.h+sizeSmall+1, sizeSmall, Regular, Middle, Black, label)
}

// places is how many holes and slots, or dents, the ends take.
func (d Sleying) places() int {
	if d.Dents == nil {
		return d.Ends
	}
	round := 0
	for _, n := range d.Dents {
		round += n
	}
	if round <= 0 {
		return 0
	}
	places := d.Ends / round * len(d.Dents)
	for left := d.Ends % round; left > 0; places++ {
		left -= d.Dents[places%len(d.Dents)]
	}
	return places
}

// endsIn is the first and the last end in a place; first > last when it is empty.
func (d Sleying) endsIn(place int) (first, last int) {
	if d.Dents == nil {
		return place + 1, place + 1
	}
	round, before := 0, 0
	for i, n := range d.Dents {
		round += n
		if i < place%len(d.Dents) {
			before += n
		}
	}
	before += place / len(d.Dents) * round
	return before + 1, min(before+d.Dents[place%len(d.Dents)], d.Ends)
}
