package paper

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"time"
	"unicode/utf16"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/text/unicode/norm"
)

// About is what a PDF says of itself.
type About struct {
	Title    string
	Subject  string
	Language string // as in BCP 47, "en"
}

// producer is the program that a PDF names as its maker.
const producer = "weftroom"

// The bounds of a PDF.
const (
	MaxPages    = 200
	maxPageSide = 14_400 // points; no reader needs to show more (ISO 32000-1, annex C)
)

// PDF prints sheets as pages, in order. The fonts that the pages use are
// embedded, with the letters that they use. The same pages give the same bytes:
// a PDF carries no date. An error is ours: no pages, too many, or a size that
// cannot be.
func PDF(pages []*Sheet, about About) ([]byte, error) {
	if len(pages) == 0 || len(pages) > MaxPages {
		return nil, fmt.Errorf("a document of %d pages", len(pages))
	}
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: size(pages[0])})
	doc.SetCatalogSort(true)
	doc.SetCreationDate(noDate)
	doc.SetModificationDate(noDate)
	doc.SetProducer(producer, true)
	doc.SetTitle(about.Title, true)
	if about.Subject != "" {
		doc.SetSubject(about.Subject, true)
	}
	doc.SetLang(about.Language)
	doc.SetAutoPageBreak(false, 0)
	doc.SetMargins(0, 0, 0)
	var loaded [len(fontBytes)]bool
	for _, s := range pages {
		if !(s.W > 0 && s.H > 0 && s.W <= maxPageSide && s.H <= maxPageSide) {
			return nil, fmt.Errorf("a page of %g × %g points", s.W, s.H)
		}
		doc.AddPageFormat("P", size(s))
		p := page{doc: doc, height: s.H, loaded: &loaded}
		p.number(1/float64(unit), hundredth)
		p.op("0 0 " + strconv.FormatFloat(1/float64(unit), 'f', -1, 64) + " 0 0 cm 1 j") // every bend is round
		p.sheet(s, placing{scale: 1}, 0)
	}
	var out bytes.Buffer
	if err := doc.Output(&out); err != nil {
		return nil, err
	}
	return finish(out.Bytes())
}

func size(s *Sheet) fpdf.SizeType { return fpdf.SizeType{Wd: s.W, Ht: s.H} }

// noDate is what the library is given where it insists on a date.
var noDate = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// finish corrects what the library writes of itself, byte for byte, so that every
// place in the file stays where its table says. It blanks the dates, which are
// optional (ISO 32000-1, 14.3.3), and says which version of PDF has what
// is used here: ActualText came with 1.5.
func finish(pdf []byte) ([]byte, error) {
	const version, newest = "%PDF-1.3\n", "%PDF-1.7\n"
	if !bytes.HasPrefix(pdf, []byte(version)) {
		return nil, errors.New("the PDF is of another version than 1.3")
	}
	copy(pdf, newest)
	for _, entry := range []string{"/CreationDate (D:20000101000000)", "/ModDate (D:20000101000000)"} {
		at := bytes.LastIndex(pdf, []byte(entry))
		if at < 0 {
			return nil, errors.New("the PDF has no " + entry)
		}
		copy(pdf[at:], bytes.Repeat([]byte{' '}, len(entry)))
	}
	return pdf, nil
}

// page writes a sheet's items as a page's content. Shapes and colours it writes
// itself, text through the library, which must know the letters to embed.
type page struct {
	doc    *fpdf.Fpdf
	height float64
	line   []byte
	fill   *Ink
	pen    *Ink
	width  float64 // of the pen, 0 before it is set
	cap    Cap
	style  Style
	size   float64
	begun  bool // a font is set
	loaded *[len(fontBytes)]bool
}

func (p *page) sheet(s *Sheet, pl placing, depth int) {
	if depth > maxNested {
		return
	}
	for _, item := range s.Items {
		switch it := item.(type) {
		case Filled:
			p.inkFill(it.Ink)
			p.path(it.Path, pl.at, whole, false)
			p.op("f")
		case Stroked:
			p.stroke(it, pl)
		case Lettered:
			p.letters(it, pl)
		case Placed:
			at := pl.at(Point{it.X, it.Y})
			p.sheet(it.Sheet, placing{pl.scale * it.Scale, at.X, at.Y}, depth+1)
		}
	}
}

func (p *page) stroke(s Stroked, pl placing) {
	p.inkPen(s.Pen.Ink)
	if width := s.Pen.Width * pl.scale; width != p.width {
		p.length(width, tenth)
		p.op("w")
		p.width = width
	}
	if p.cap != s.Pen.Cap {
		p.number(float64(s.Pen.Cap), whole)
		p.op("J")
		p.cap = s.Pen.Cap
	}
	if len(s.Pen.Dash) > 0 {
		p.line = append(p.line, '[')
		for _, d := range s.Pen.Dash {
			p.length(d*pl.scale, tenth)
		}
		p.op("] 0 d")
	}
	p.path(s.Path, pl.at, whole, true)
	p.op("S")
	if len(s.Pen.Dash) > 0 {
		p.op("[] 0 d")
	}
}

// path writes the pieces of a path to a precision; the page's y goes up. A shape
// to be filled need not be closed, since filling does so.
func (p *page) path(path *Path, at func(Point) Point, to precision, closing bool) {
	moved := make([]Point, len(path.points))
	for i, q := range path.points {
		moved[i] = at(q)
	}
	steps, points := straightened(path.steps, moved)
	next := func() {
		q := points[0]
		p.length(q.X, to)
		p.length(p.height-q.Y, to)
		points = points[1:]
	}
	for _, s := range steps {
		switch s {
		case moveTo:
			next()
			p.op("m")
		case lineTo:
			next()
			p.op("l")
		case curveTo:
			next()
			next()
			next()
			p.op("c")
		case closed:
			if closing {
				p.op("h")
			}
		}
	}
}

func (p *page) inkFill(k Ink) {
	if p.fill == nil || *p.fill != k {
		p.ink(k)
		p.op("rg")
		p.fill = &k
	}
}

func (p *page) inkPen(k Ink) {
	if p.pen == nil || *p.pen != k {
		p.ink(k)
		p.op("RG")
		p.pen = &k
	}
}

func (p *page) ink(k Ink) {
	for _, v := range [3]uint8{k.R, k.G, k.B} {
		p.line = strconv.AppendFloat(p.line, float64(v)/255, 'f', 3, 64)
		p.line = append(p.line, ' ')
	}
}

// precision is how many parts of a unit a number is written to.
type precision float64

// A page is written in units of a tenth of a point. Pictures are drawn to whole
// units, 1/720 in, which is finer than a printer draws a thread: a picture of
// lace has some ten thousand numbers. Signs among text are drawn to 1/7200 in.
const (
	unit                = 10 // to the point
	whole     precision = 1
	tenth     precision = 10
	hundredth precision = 100
)

// length writes a length, given in points.
func (p *page) length(v float64, to precision) { p.number(within(v)*unit, to) }

// number writes a number. What cannot be a place is written as one far outside or
// as 0, as in a picture.
func (p *page) number(v float64, to precision) {
	v = math.Round(v*float64(to)) / float64(to)
	p.line = strconv.AppendFloat(p.line, v, 'f', -1, 64)
	p.line = append(p.line, ' ')
}

// op ends an operation with its operator.
func (p *page) op(name string) {
	p.line = append(p.line, name...)
	p.doc.RawWriteStr(string(p.line))
	p.line = p.line[:0]
}

// letters sets a line of text. Runs of letters that the font has go to the
// library; a sign of our own is drawn, and stands in the page's text as itself
// by a space of its width that says what it is.
func (p *page) letters(l Lettered, pl placing) {
	if l.Text == "" || !(l.Size*pl.scale > 0) {
		return
	}
	p.inkFill(l.Ink)
	p.font(l.Style, l.Size*pl.scale)
	f := faceOf(l.Style)
	x := l.X - alignShift(l)
	run, from := []rune(nil), x
	flush := func() {
		if len(run) > 0 {
			at := pl.at(Point{from, l.Y})
			p.text(at, string(run))
		}
		run = nil
	}
	for _, r := range norm.NFC.String(l.Text) {
		g := f.glyph(r)
		if g.own {
			flush()
			p.sign(r, g, Point{x, l.Y}, l.Size, pl, f)
		} else {
			if len(run) == 0 {
				from = x
			}
			run = append(run, r)
		}
		x += g.advance * l.Size
	}
	flush()
}

// text hands text to the library, which counts points down from the top.
func (p *page) text(at Point, text string) {
	p.doc.Text(within(at.X)*unit, p.height-unit*(p.height-within(at.Y)), text)
}

// sign draws a sign of our own.
func (p *page) sign(r rune, g *glyph, at Point, size float64, pl placing, f *face) {
	p.line = append(p.line, "/Span <</ActualText <FEFF"...)
	for _, unit := range utf16.Encode([]rune{r}) {
		p.line = fmt.Appendf(p.line, "%04X", unit)
	}
	p.op(">>> BDC")
	p.number(100*g.advance/f.glyph(' ').advance, hundredth)
	p.op("Tz 3 Tr")
	corner := pl.at(at)
	p.text(corner, " ")
	p.op("100 Tz 0 Tr")
	p.op("q 1 0 0 1")
	p.length(corner.X, tenth)
	p.length(p.height-corner.Y, tenth)
	p.op("cm")
	p.fromCorner(g.outline, size*pl.scale)
	p.op("f Q EMC")
}

// fromCorner writes the path of a sign in the same numbers wherever it stands, so that
// one that comes again takes next to no room once the page is packed.
func (p *page) fromCorner(outline *Path, size float64) {
	height := p.height
	p.height = 0
	p.path(outline, func(q Point) Point { return Point{q.X * size, q.Y * size} }, tenth, false)
	p.height = height
}

// fontNames are how the library knows the fonts, by Style.
var fontNames = [...]string{Regular: "regular", Bold: "bold", Italic: "italic", Mono: "mono"}

func (p *page) font(style Style, size float64) {
	if style < 0 || int(style) >= len(fontNames) {
		style = Regular
	}
	if p.begun && p.style == style && p.size == size {
		return
	}
	if !p.loaded[style] {
		// A copy, since the library writes into the font that it is given when that
		// has fewer metrics than letters, as Mono has.
		p.doc.AddUTF8FontFromBytes(fontNames[style], "", bytes.Clone(fontBytes[style]))
		p.loaded[style] = true
	}
	p.doc.SetFont(fontNames[style], "", size*unit)
	p.style, p.size, p.begun = style, size, true
}
