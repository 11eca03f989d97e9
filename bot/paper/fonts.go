package paper

import (
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The fonts are the Go family, which golang.org/x/image carries under a BSD
// licence: Latin with accents, Greek, Cyrillic, the common fractions, arrows and
// geometric signs. A few signs that a weaver's plan needs and the family lacks
// are drawn in signs.go.

// fontBytes are the fonts by Style.
var fontBytes = [...][]byte{Regular: goregular.TTF, Bold: gobold.TTF, Italic: goitalic.TTF, Mono: gomono.TTF}

// glyph is one letter or sign in a font: its outline on an em of 1, the baseline
// at 0, y down; and how far the next letter is from it.
type glyph struct {
	outline *Path
	advance float64
	own     bool // drawn in signs.go, so a PDF's font does not have it
}

// face is a font with the glyphs that were asked of it before.
type face struct {
	font   *sfnt.Font
	em     float64 // font units
	mu     sync.Mutex
	buf    sfnt.Buffer
	glyphs map[rune]*glyph // bounded by what the font has and signs.go draws
	none   *glyph          // stands for what neither has
}

var faces = sync.OnceValue(func() (all [len(fontBytes)]*face) {
	for style, ttf := range fontBytes {
		all[style] = newFace(ttf)
	}
	return all
})

// newFace reads one of the embedded fonts; that they can be read is a test.
func newFace(ttf []byte) *face {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(err)
	}
	fc := &face{font: f, em: float64(f.UnitsPerEm()), glyphs: map[rune]*glyph{}}
	fc.none = fc.load(0)
	fc.none.own = true
	return fc
}

func faceOf(s Style) *face {
	if s < 0 || int(s) >= len(fontBytes) {
		s = Regular
	}
	return faces()[s]
}

// glyph gives a letter, or the sign that stands for one that the font does not have.
func (f *face) glyph(r rune) *glyph {
	f.mu.Lock()
	defer f.mu.Unlock()
	if g := f.find(r); g != nil {
		return g
	}
	return f.none
}

// find gives a letter or nil; f.mu is held.
func (f *face) find(r rune) *glyph {
	if g := f.glyphs[r]; g != nil {
		return g
	}
	index, err := f.font.GlyphIndex(&f.buf, r)
	g := f.sign(r)
	if err == nil && index != 0 {
		g = f.load(index)
	}
	if g != nil {
		f.glyphs[r] = g
	}
	return g
}

// load reads an outline at one unit of the font to the pixel, so that nothing
// is rounded or hinted.
func (f *face) load(index sfnt.GlyphIndex) *glyph {
	unit := fixed.I(int(f.em))
	segments, err := f.font.LoadGlyph(&f.buf, index, unit, nil)
	if err != nil {
		panic(err)
	}
	g := &glyph{outline: outline(segments, f.em*64)}
	if advance, err := f.font.GlyphAdvance(&f.buf, index, unit, font.HintingNone); err == nil {
		g.advance = float64(advance) / (f.em * 64)
	}
	return g
}

// outline turns a font's segments into a path; its quadratic curves become cubic.
func outline(segments sfnt.Segments, unit float64) *Path {
	p := &Path{}
	at := func(q fixed.Point26_6) Point { return Point{float64(q.X) / unit, float64(q.Y) / unit} }
	var pen Point
	for _, s := range segments {
		a, b, c := at(s.Args[0]), at(s.Args[1]), at(s.Args[2])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			p.MoveTo(a.X, a.Y)
			pen = a
		case sfnt.SegmentOpLineTo:
			p.LineTo(a.X, a.Y)
			pen = a
		case sfnt.SegmentOpQuadTo:
			p.CurveTo(pen.X+2*(a.X-pen.X)/3, pen.Y+2*(a.Y-pen.Y)/3, b.X+2*(a.X-b.X)/3, b.Y+2*(a.Y-b.Y)/3, b.X, b.Y)
			pen = b
		case sfnt.SegmentOpCubeTo:
			p.CurveTo(a.X, a.Y, b.X, b.Y, c.X, c.Y)
			pen = c
		}
	}
	return p
}
