package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math"
	"sync"

	"golang.org/x/image/vector"
	"golang.org/x/text/unicode/norm"
)

// The bounds of a picture in pixels. What is beyond them is a mistake of a
// drawing, so it is an error and no sentence for people.
const (
	MaxPicturePixels = 8_000_000 // 32 MB while it is drawn
	maxPictureSide   = 8_000
)

// PNG draws a sheet as a picture so many pixels wide. The same sheet gives the
// same bytes. An error is ours: a size that cannot be.
func PNG(s *Sheet, width int) ([]byte, error) {
	c := canvases.Get().(*canvas)
	m, err := c.draw(s, width)
	if err != nil {
		return nil, err
	}
	few := paletted(m, c.few)
	c.few = few.Pix
	var out bytes.Buffer
	if err := encoder.Encode(&out, few); err != nil {
		return nil, err
	}
	if cap(m.Pix) <= usualPixels {
		canvases.Put(c)
	}
	return bytes.Clone(out.Bytes()), nil // what is kept has no room to spare
}

// canvases and encoder use the memory of pictures before for those after them:
// some ten megabytes for each. usualPixels is the most bytes of pixels that one may
// have to be kept.
var (
	canvases = sync.Pool{New: func() any { return new(canvas) }}
	encoder  = png.Encoder{BufferPool: new(encoderBuffers)}
)

const usualPixels = 16 << 20

// encoderBuffers is a png.EncoderBufferPool.
type encoderBuffers struct{ pool sync.Pool }

// Get implements png.EncoderBufferPool.
func (b *encoderBuffers) Get() *png.EncoderBuffer {
	e, _ := b.pool.Get().(*png.EncoderBuffer)
	return e // nil is a new one
}

// Put implements png.EncoderBufferPool.
func (b *encoderBuffers) Put(e *png.EncoderBuffer) { b.pool.Put(e) }

func pictureHeight(s *Sheet, width int) (int, error) {
	if !(s.W > 0 && s.H > 0) || width < 1 || width > maxPictureSide {
		return 0, fmt.Errorf("a picture of %g × %g points, %d pixels wide", s.W, s.H, width)
	}
	height := math.Ceil(s.H*float64(width)/s.W - 1e-9)
	if height > maxPictureSide || height*float64(width) > MaxPicturePixels {
		return 0, fmt.Errorf("a picture of %d × %.0f pixels", width, height)
	}
	return int(height), nil
}

// placing is where the points of a sheet come to be in pixels.
type placing struct{ scale, dx, dy float64 }

func (p placing) at(q Point) Point {
	return Point{q.X*p.scale + p.dx, q.Y*p.scale + p.dy}
}

// maxNested is how deep sheets may lie upon sheets.
const maxNested = 8

// canvas is a picture in work. Every shape is rasterised within its own bounds,
// which takes a third of the time of doing so over the whole picture, and its
// coverage is then laid over the pixels with its ink.
type canvas struct {
	image  *image.RGBA
	few    []uint8 // the picture by its palette
	raster vector.Rasterizer
	mask   []uint8
	shape  []Point // the polygons of one shape, one after the other
	ends   []int   // where in shape each polygon ends
}

// draw draws a sheet from the beginning. What it gives is the canvas's own.
func (c *canvas) draw(s *Sheet, width int) (*image.RGBA, error) {
	height, err := pictureHeight(s, width)
	if err != nil {
		return nil, err
	}
	if n := 4 * width * height; c.image == nil || cap(c.image.Pix) < n {
		c.image = image.NewRGBA(image.Rect(0, 0, width, height))
	} else {
		c.image = &image.RGBA{Pix: c.image.Pix[:n], Stride: 4 * width, Rect: image.Rect(0, 0, width, height)}
	}
	for i := range c.image.Pix {
		c.image.Pix[i] = 0xff
	}
	c.shape, c.ends = c.shape[:0], c.ends[:0]
	c.sheet(s, placing{scale: float64(width) / s.W}, 0)
	return c.image, nil
}

func (c *canvas) sheet(s *Sheet, p placing, depth int) {
	if depth > maxNested {
		return
	}
	for _, item := range s.Items {
		switch it := item.(type) {
		case Filled:
			c.fill(it.Path, p.at, it.Ink)
		case Stroked:
			c.stroke(it, p)
		case Lettered:
			c.letters(it, p)
		case Placed:
			at := p.at(Point{it.X, it.Y})
			c.sheet(it.Sheet, placing{p.scale * it.Scale, at.X, at.Y}, depth+1)
		}
	}
}

func (c *canvas) fill(path *Path, at func(Point) Point, ink Ink) {
	for _, part := range flatten(path, at) {
		c.polygon(part...)
	}
	c.ink(ink)
}

func (c *canvas) stroke(s Stroked, p placing) {
	dash := make([]float64, len(s.Pen.Dash))
	for i, d := range s.Pen.Dash {
		dash[i] = d * p.scale
	}
	for _, line := range flatten(s.Path, p.at) {
		pieces := [][]Point{line}
		if len(dash) > 0 {
			pieces = dashes(line, dash)
		}
		for _, piece := range pieces {
			penShape(piece, s.Pen.Width*p.scale/2, s.Pen.Cap, c.polygon)
		}
	}
	c.ink(s.Pen.Ink)
}

func (c *canvas) letters(l Lettered, p placing) {
	f := faceOf(l.Style)
	x := l.X - alignShift(l)
	for _, r := range norm.NFC.String(l.Text) {
		g := f.glyph(r)
		c.fill(g.outline, func(q Point) Point { return p.at(Point{x + q.X*l.Size, l.Y + q.Y*l.Size}) }, l.Ink)
		x += g.advance * l.Size
	}
}

// polygon adds one to the shape.
func (c *canvas) polygon(points ...Point) {
	c.shape = append(c.shape, points...)
	c.ends = append(c.ends, len(c.shape))
}

// ink lays the shape over the picture and begins a new one.
func (c *canvas) ink(ink Ink) {
	if b := c.bounds(); !b.Empty() {
		c.cover(b)
		c.blend(b, ink)
	}
	c.shape, c.ends = c.shape[:0], c.ends[:0]
}

// bounds are the pixels that the shape may touch. What cannot be a place,
// because a drawing divided by nothing, is left out.
func (c *canvas) bounds() image.Rectangle {
	low, high := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for i, p := range c.shape {
		p = Point{within(p.X), within(p.Y)}
		c.shape[i] = p
		low = Point{min(low.X, p.X), min(low.Y, p.Y)}
		high = Point{max(high.X, p.X), max(high.Y, p.Y)}
	}
	if len(c.shape) == 0 {
		return image.Rectangle{}
	}
	b := image.Rect(int(math.Floor(low.X)), int(math.Floor(low.Y)), int(math.Ceil(high.X)), int(math.Ceil(high.Y)))
	return b.Intersect(c.image.Rect)
}

// within keeps a coordinate near enough to a picture for the rasteriser.
func within(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return min(max(v, -2*maxPictureSide), 2*maxPictureSide)
}

// cover rasterises the shape within b into the mask.
func (c *canvas) cover(b image.Rectangle) {
	c.raster.Reset(b.Dx(), b.Dy())
	c.raster.DrawOp = draw.Src
	from := 0
	for _, end := range c.ends {
		for i, p := range c.shape[from:end] {
			x, y := float32(p.X-float64(b.Min.X)), float32(p.Y-float64(b.Min.Y))
			if i == 0 {
				c.raster.MoveTo(x, y)
				continue
			}
			c.raster.LineTo(x, y)
		}
		c.raster.ClosePath()
		from = end
	}
	if n := b.Dx() * b.Dy(); cap(c.mask) < n {
		c.mask = make([]uint8, n)
	} else {
		c.mask = c.mask[:n]
	}
	mask := image.Alpha{Pix: c.mask, Stride: b.Dx(), Rect: image.Rect(0, 0, b.Dx(), b.Dy())}
	c.raster.Draw(&mask, mask.Rect, image.Opaque, image.Point{})
}

// blend lays an ink over the pixels in b as far as the mask says.
func (c *canvas) blend(b image.Rectangle, ink Ink) {
	width := b.Dx()
	for y := range b.Dy() {
		row := c.mask[y*width : (y+1)*width]
		pix := c.image.Pix[c.image.PixOffset(b.Min.X, b.Min.Y+y):]
		for x, a := range row {
			switch a {
			case 0:
			case 0xff:
				px := pix[4*x : 4*x+3 : 4*x+3]
				px[0], px[1], px[2] = ink.R, ink.G, ink.B
			default:
				px := pix[4*x : 4*x+3 : 4*x+3]
				px[0], px[1], px[2] = mix(px[0], ink.R, a), mix(px[1], ink.G, a), mix(px[2], ink.B, a)
			}
		}
	}
}

// mix goes from one value toward another by a of 255, rounded.
func mix(from, to, a uint8) uint8 {
	return uint8((uint32(from)*uint32(255-a) + uint32(to)*uint32(a) + 127) / 255)
}
