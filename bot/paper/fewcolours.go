package paper

import (
	"cmp"
	"image"
	"image/color"
	"slices"
)

// mostColours is how many a picture with a palette may have.
const mostColours = 256

// paletted is a picture by a palette: a drawing has few inks, and the blends at
// their edges are many but rare. Its commonest colours stay as they are, and each
// of the others becomes the nearest of them. So a picture is a third as large and
// encoded in a third of the time, and nobody sees a difference. Its pixels take
// the place of pix, where that has room.
func paletted(m *image.RGBA, pix []uint8) *image.Paletted {
	colours := commonest(m)
	n := m.Rect.Dx() * m.Rect.Dy()
	if cap(pix) < n {
		pix = make([]uint8, n)
	}
	out := &image.Paletted{Pix: pix[:n], Stride: m.Rect.Dx(), Rect: m.Rect, Palette: make(color.Palette, len(colours))}
	index := make(map[uint32]uint8, 2*len(colours))
	for i, c := range colours {
		out.Palette[i] = color.RGBA{uint8(c >> 16), uint8(c >> 8), uint8(c), 0xff}
		index[c] = uint8(i)
	}
	before, is := ^uint32(0), uint8(0)
	for i := range out.Pix {
		c := colourAt(m.Pix, 4*i)
		if c != before {
			known := false
			if is, known = index[c]; !known {
				is = nearest(colours, c)
				index[c] = is
			}
			before = c
		}
		out.Pix[i] = is
	}
	return out
}

// colourAt is the colour of an opaque pixel, red above green above blue.
func colourAt(pix []uint8, at int) uint32 {
	return uint32(pix[at])<<16 | uint32(pix[at+1])<<8 | uint32(pix[at+2])
}

// commonest are up to mostColours colours of a picture, the commonest first and
// of equals the darker.
func commonest(m *image.RGBA) []uint32 {
	times := map[uint32]int{}
	from, n := colourAt(m.Pix, 0), 0
	for i := range len(m.Pix) / 4 {
		c := colourAt(m.Pix, 4*i)
		if c != from {
			times[from] += n
			from, n = c, 0
		}
		n++
	}
	times[from] += n
	colours := make([]uint32, 0, len(times))
	for c := range times {
		colours = append(colours, c)
	}
	slices.SortFunc(colours, func(a, b uint32) int { return cmp.Or(cmp.Compare(times[b], times[a]), cmp.Compare(a, b)) })
	return colours[:min(len(colours), mostColours)]
}

// nearest is which of the colours differs least from c.
func nearest(colours []uint32, c uint32) uint8 {
	best, least := 0, 1<<30
	for i, other := range colours {
		d := 0
		for shift := 0; shift < 24; shift += 8 {
			by := int(c>>shift&0xff) - int(other>>shift&0xff)
			d += by * by
		}
		if d < least {
			best, least = i, d
		}
	}
	return uint8(best)
}
