package paper

// Sheet is a drawing before anyone has rasterised or printed it: a width and a
// height in points (1/72 in) and what is on it, from the back to the front. The
// origin is the upper left corner; x grows to the right and y down. The ground is
// white.
type Sheet struct {
	W, H  float64
	Items []Item
}

// NewSheet gives an empty sheet of a size in points.
func NewSheet(w, h float64) *Sheet { return &Sheet{W: w, H: h} }

// Item is one thing on a Sheet: Filled, Stroked, Lettered or Placed.
type Item interface{ item() }

// Filled is a shape filled with one ink, by the non-zero rule. Parts of a shape
// that run the other way round cut holes.
type Filled struct {
	Path *Path
	Ink  Ink
}

// Stroked is a line along a path, with round joins.
type Stroked struct {
	Path *Path
	Pen  Pen
}

// Lettered is one line of text without line breaks.
type Lettered struct {
	X, Y  float64 // the point that Align speaks of, on the baseline
	Size  float64 // of the em, in points
	Style Style
	Align Align
	Ink   Ink
	Text  string
}

// Placed is another sheet set upon this one, its upper left corner at X, Y and
// its points Scale points of this one.
type Placed struct {
	Sheet *Sheet
	X, Y  float64
	Scale float64
}

func (Filled) item()   {}
func (Stroked) item()  {}
func (Lettered) item() {}
func (Placed) item()   {}

// Ink is an opaque colour. Two inks that lie side by side must also differ in
// grey, and no meaning may hang on an ink alone.
type Ink struct{ R, G, B uint8 }

// The inks that every sheet has: of text and of the ground.
var (
	Black = Ink{0x14, 0x14, 0x18}
	White = Ink{0xff, 0xff, 0xff}
)

// Pen is how a line is drawn.
type Pen struct {
	Ink   Ink
	Width float64   // points
	Dash  []float64 // points on, points off, and so on in turn; nil for an unbroken line
	Cap   Cap       // how the line, and each dash of it, ends
}

// Cap is the end of a line.
type Cap int

// Butt ends at the last point; Round ends with half a circle about it.
const (
	Butt Cap = iota
	Round
)

// Style is a font of the embedded family.
type Style int

// The fonts. All have the same letters and signs.
const (
	Regular Style = iota
	Bold
	Italic
	Mono
)

// Align says which part of a text is at its X.
type Align int

// The beginning of the text, its middle, or its end.
const (
	Start Align = iota
	Middle
	End
)

// Fill fills a path.
func (s *Sheet) Fill(p *Path, ink Ink) { s.Items = append(s.Items, Filled{p, ink}) }

// Stroke draws along a path.
func (s *Sheet) Stroke(p *Path, pen Pen) { s.Items = append(s.Items, Stroked{p, pen}) }

// Line draws from one point to another.
func (s *Sheet) Line(x1, y1, x2, y2 float64, pen Pen) {
	s.Stroke(new(Path).MoveTo(x1, y1).LineTo(x2, y2), pen)
}

// Polyline draws from point to point.
func (s *Sheet) Polyline(pen Pen, points ...Point) {
	if len(points) > 1 {
		s.Stroke(new(Path).Through(points...), pen)
	}
}

// Rect fills a rectangle.
func (s *Sheet) Rect(x, y, w, h float64, ink Ink) { s.Fill(new(Path).Rect(x, y, w, h), ink) }

// Circle fills a circle.
func (s *Sheet) Circle(x, y, r float64, ink Ink) { s.Fill(new(Path).Circle(x, y, r), ink) }

// Text sets one line of text; see Lettered. What the fonts do not have
// is an empty box; see Covered.
func (s *Sheet) Text(x, y, size float64, style Style, align Align, ink Ink, text string) {
	s.Items = append(s.Items, Lettered{x, y, size, style, align, ink, text})
}

// Place sets another sheet upon this one.
func (s *Sheet) Place(other *Sheet, x, y, scale float64) {
	s.Items = append(s.Items, Placed{other, x, y, scale})
}
